"""Readings of machines whose values were drawn within their tolerances fall within the predicted spread as often as
they should: each drawn machine is assembled and solved anew by the dense solver, and read by a drawn meter.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from halfsplit.circuit import dense, network
from halfsplit.circuit.assembly import Assembly, joint_at
from halfsplit.machine import loading, model, primitives
from halfsplit.modes import listing
from halfsplit.operate.condition import condition
from halfsplit.operate.effect import HEALTHY, edits, effect
from halfsplit.operate.settle import Operation
from halfsplit.predict.readings import Probe, Readings

DRAWS = 40
HEAT = {"cycle": "timed", "heat": "high", "start": "pressed"}
HOT = {"cycle": "automatic", "warmth": "hot"}
CASES: list[tuple[str, str, Probe, dict[str, str]]] = [
    ("vented-dryer", "", Probe("volts", "terminal block.L1", "terminal block.L2"), {}),
    ("vented-dryer", "", Probe("volts", "heater.common", "heater.front"), HEAT),
    ("vented-dryer", "", Probe("amps", "motor.heat 2"), HEAT),
    ("vented-dryer", "heater: rear coil open", Probe("amps", "motor.heat 2"), HEAT),
    ("vented-dryer", "heater: rear coil open", Probe("ohms", "heater.common", "heater.rear"), {"heat": "high"}),
    ("vented-dryer", "", Probe("ohms", "heater.common", "heater.front"), {"heat": "high"}),
    ("vented-dryer", "", Probe("ohms", "control thermostat.1", "control thermostat.2"), HOT),
    ("vented-dryer", "", Probe("volts", "timer.motor", "timer.clock"), HOT | {"start": "pressed"}),
    ("water-heater", "", Probe("amps", "limit.2"), {}),
    ("water-heater", "", Probe("ohms", "upper element.1", "upper element.2"), {}),
    ("refrigerator", "", Probe("amps", "terminator.2"), {"defrost": "defrost"}),
    ("refrigerator", "", Probe("ohms", "compressor.C", "compressor.S"), {}),
]


def drawn(machine: model.Machine, rng: np.random.Generator) -> model.Machine:
    """The machine with every toleranced value drawn, a range being two deviations each way; shared ones together."""
    together: dict[str, float] = {}
    elements = {name: _drawn(element, together, rng) for name, element in machine.elements.items()}
    return replace(machine, elements=elements)


def _drawn(element: primitives.Element, together: dict[str, float], rng: np.random.Generator) -> primitives.Element:
    for field in ("ohms", "volts", "farads"):
        value = getattr(element, field, None)
        if isinstance(value, primitives.Value) and not isinstance(element, primitives.Contact):
            score = together.setdefault(value.shared or element.name, float(rng.standard_normal()))
            nominal = value.nominal + score * (value.high - value.low) / 4
            return replace(element, **{field: primitives.exactly(nominal)})  # type: ignore[arg-type]
    return element


class Bench:
    """One reading, as predicted and as drawn."""

    def __init__(self, name: str, fault: str, probe: Probe, setting: dict[str, str]) -> None:
        self.machine, self.probe = loading.load(name), probe
        operation = Operation(self.machine)
        self.readings = Readings(operation)
        changes = listing.by_name(self.machine)[fault].alternatives[0][1] if fault else ()
        self.effect = effect(operation.assembly, changes) if fault else HEALTHY
        at = condition(self.machine, setting, probe.meter == "ohms")
        (self.herd,) = operation.settle(at, [self.effect])
        self.predicted = self.readings.read(probe, at, (self.effect,))

    def score(self, rng: np.random.Generator) -> float:
        """How many predicted deviations a drawn reading lies from what is predicted."""
        meter = self.readings.meter
        value = self._value(drawn(self.machine, rng))
        if self.probe.meter == "ohms":
            value += meter.lead_ohms + meter.lead_spread * rng.standard_normal()
        value *= 1 + meter.functions[self.probe.meter].ranges[0].percent / 200 * rng.standard_normal()
        x = np.arcsinh(value / self.predicted.scale) + self.predicted.noise[0] * rng.standard_normal()
        spread = np.hypot(np.linalg.norm(self.predicted.jacobian[0]), self.predicted.noise[0])
        return float((x - self.predicted.mean[0]) / spread)

    def _value(self, machine: model.Machine) -> float:
        built = Assembly(machine)
        dead = self.probe.meter == "ohms"
        plain = built.to_a_meter(self.herd.state) if dead else built.under_power(self.herd.state)
        net = network.apply(plain, edits(self.effect.operations, plain))
        if self.probe.meter == "amps":
            return float(abs(dense.solve(net).i[built.branches[joint_at(self.probe.red)]]))
        a, b = built.nodes[self.probe.red], built.nodes[self.probe.black]
        return _ohms(net, a, b) if dead else float(abs(np.diff(dense.solve(net).v[[a, b]])[0]))


def _ohms(net: network.Network, a: int, b: int) -> float:
    """Volts per ampere that 1 V behind 1 kohm drives through the two."""
    tail, head = np.append(net.tail, b), np.append(net.head, a)
    driven = network.Network(
        net.nodes, tail, head, np.append(net.impedance, 1e3), np.append(net.closed, True),
        np.append(np.zeros(net.branches), 1.0), (), net.stray, net.ground,
    )  # fmt: skip
    solved = dense.solve(driven)
    return float(((solved.v[a] - solved.v[b]) / solved.i[-1]).real)


@cache
def scores(number: int) -> NDArray[np.float64]:
    """The drawn readings of one case, in deviations."""
    bench, rng = Bench(*CASES[number]), np.random.default_rng(number)
    return np.array([bench.score(rng) for _ in range(DRAWS)])


@pytest.mark.parametrize("number", range(len(CASES)))
def test_one_and_two_deviations_hold_their_share(number: int) -> None:
    """Of forty readings of each kind 68 % and 95 % lie within one and two deviations, give or take three errors."""
    found = np.abs(scores(number))
    for deviations, share in ((1, 0.683), (2, 0.954)):
        inside = (found < deviations).mean()
        assert abs(inside - share) < 3 * np.sqrt(share * (1 - share) / DRAWS), (CASES[number], deviations, inside)


def test_the_scores_have_no_bias() -> None:
    """Over all cases the mean is nothing and the deviation one, within three standard errors."""
    found = np.concatenate([scores(number) for number in range(len(CASES))])
    assert abs(found.mean()) < 3 / np.sqrt(len(found))
    assert abs(found.std() - 1) < 3 / np.sqrt(2 * len(found)) + 0.02
