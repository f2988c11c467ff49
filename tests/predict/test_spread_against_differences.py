"""How far readings move with each unknown, against the dense solver with that unknown moved to and fro."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from halfsplit.circuit import dense, network
from halfsplit.circuit.assembly import joint_at
from halfsplit.machine import loading
from halfsplit.modes import listing
from halfsplit.operate.condition import Condition, condition
from halfsplit.operate.effect import HEALTHY, Effect, edits, effect
from halfsplit.operate.settle import Operation, Settled
from halfsplit.predict.readings import SCALES, Probe, Readings
from halfsplit.predict.unknowns import METER_UNKNOWNS

STEP = 0.02
HEAT = {"cycle": "timed", "heat": "high", "start": "pressed"}
CASES = [
    ("vented-dryer", "", "volts terminal block.L1 terminal block.L2", HEAT),
    ("vented-dryer", "", "volts heater.common heater.front", HEAT),
    ("vented-dryer", "", "amps motor.heat 2", HEAT),
    ("vented-dryer", "", "amps thermal fuse.1", HEAT),
    ("vented-dryer", "heater: rear coil open", "amps motor.heat 2", HEAT),
    ("vented-dryer", "", "volts timer.motor timer.clock", {"cycle": "automatic", "start": "pressed", "warmth": "hot"}),
    ("vented-dryer", "heater: rear coil open", "ohms heater.common heater.rear", {"heat": "high"}),
    ("vented-dryer", "", "ohms control thermostat.1 control thermostat.2", {"cycle": "automatic", "warmth": "hot"}),
    ("water-heater", "", "volts upper element.1 upper element.2", {}),
    ("water-heater", "upper element: to frame", "amps limit.2", {}),
    ("water-heater", "", "ohms limit.2 limit.4", {}),
    ("refrigerator", "", "amps cord block.L", {"defrost": "defrost"}),
    ("refrigerator", "", "ohms compressor.C compressor.S", {}),
    ("refrigerator", "", "volts freezer fan.1 freezer fan.2", {"defrost": "cooling"}),
]


class Moved:
    """One reading with one unknown moved by a share of its standard deviation."""

    def __init__(self, name: str, fault: str, probe: str, setting: dict[str, str]) -> None:
        meter, _, rest = probe.partition(" ")
        machine = loading.load(name)
        red, black = _terminals(rest, set(machine.terminals))
        self.probe = Probe(meter, red, black)
        self.operation = Operation(machine)
        self.readings = Readings(self.operation)
        changes = listing.by_name(machine)[fault].alternatives[0][1] if fault else ()
        self.effect: Effect = effect(self.operation.assembly, changes) if fault else HEALTHY
        self.at: Condition = condition(machine, setting, meter == "ohms")
        (self.herd,) = self.operation.settle(self.at, [self.effect])

    def x(self, unknown: int, share: float) -> float:
        """The reading in units of x, solved anew."""
        known = self.readings.unknowns
        net = self._network(self.herd)
        net = replace(
            net,
            impedance=net.impedance * (1 + share * known.relative[unknown]),
            emf=net.emf * (1 + share * known.volts[unknown]),
        )
        value = self._value(network.apply(net, edits(self.effect.operations, net)))
        return float(np.arcsinh(value / SCALES[self.probe.meter]))

    def _network(self, herd: Settled) -> network.Network:
        built = self.operation.assembly
        return built.to_a_meter(herd.state) if self.probe.meter == "ohms" else built.under_power(herd.state)

    def _value(self, net: network.Network) -> float:
        built = self.operation.assembly
        if self.probe.meter == "amps":
            return float(abs(dense.solve(net).i[built.branches[joint_at(self.probe.red)]]))
        a, b = built.nodes[self.probe.red], built.nodes[self.probe.black]
        if self.probe.meter == "volts":
            volts = dense.solve(net).v
            return float(abs(volts[a] - volts[b]))
        return _ohms(net, a, b) + self.readings.meter.lead_ohms

    def jacobian(self) -> NDArray[np.float64]:
        """As predicted (T,)."""
        return np.asarray(self.readings.read(self.probe, self.at, (self.effect,)).jacobian[0], float)


def _terminals(text: str, known: set[str]) -> tuple[str, str]:
    """One or two terminals; their names hold blanks."""
    if text in known:
        return text, ""
    cuts = (place for place, letter in enumerate(text) if letter == " ")
    return next((text[:c], text[c + 1 :]) for c in cuts if text[:c] in known and text[c + 1 :] in known)


def _ohms(net: network.Network, a: int, b: int) -> float:
    """Volts per ampere that 1 V behind 1 kohm drives through the two."""
    tail, head = np.append(net.tail, b), np.append(net.head, a)
    driven = network.Network(
        net.nodes, tail, head, np.append(net.impedance, 1e3), np.append(net.closed, True),
        np.append(np.zeros(net.branches), 1.0), (), net.stray, net.ground,
    )  # fmt: skip
    solved = dense.solve(driven)
    return float(((solved.v[a] - solved.v[b]) / solved.i[-1]).real)


@pytest.mark.parametrize(("name", "fault", "probe", "setting"), CASES)
def test_slopes(name: str, fault: str, probe: str, setting: dict[str, str]) -> None:
    """Every part's and leg's slope within 1 % of the largest; at least one is not nothing."""
    moved = Moved(name, fault, probe, setting)
    names = moved.readings.unknowns.names
    rows = [row for row, unknown in enumerate(names) if unknown not in METER_UNKNOWNS]
    found = np.array([(moved.x(row, STEP) - moved.x(row, -STEP)) / (2 * STEP) for row in rows])
    predicted = moved.jacobian()[rows]
    assert np.abs(found).max() > 1e-4
    worst = int(np.abs(predicted - found).argmax())
    assert abs(predicted - found)[worst] < 0.01 * np.abs(found).max(), (
        names[rows[worst]],
        predicted[worst],
        found[worst],
    )
