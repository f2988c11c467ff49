"""Laws that hold in every settled network, whatever the machine, the setting and the fault."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from halfsplit.circuit import assembly, dense, network
from halfsplit.machine import library, loading, model
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.operate.effect import HEALTHY, Effect, edits, effect
from halfsplit.operate.settle import Operation, Settled
from halfsplit.predict.candidates import singles
from halfsplit.predict.readings import Probe, Readings
from tests.operate import machines

NAMES = library.names()


def settled(name: str, seed: int, count: int = 3) -> Iterator[tuple[Operation, list[Effect], Settled]]:
    """Herds of a machine under all single faults, in settings drawn."""
    machine, rng = loading.load(name), np.random.default_rng(seed)
    operation = Operation(machine)
    effects = [v.effect for v in singles(operation.assembly, listing.faults(machine)).variants]
    settings = conditions.live_settings(machine)
    for k in rng.permutation(len(settings))[:count]:
        for herd in operation.settle(conditions.Condition(settings[k]), effects):
            yield operation, effects, herd


def edited(operation: Operation, made: Effect, herd: Settled) -> network.Network:
    """The network of one member of a herd."""
    plain = operation.assembly.under_power(herd.state)
    return network.apply(plain, edits(made.operations, plain))


def across(net: network.Network, volts: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """Volts (branches,) from tail to head."""
    return np.asarray(volts[net.tail] - volts[net.head])


@pytest.mark.parametrize("name", NAMES)
def test_kirchhoff(name: str) -> None:
    """Currents that meet in a node add up to nothing; volts along a closed branch are those that it drops."""
    for operation, effects, herd in settled(name, 1):
        for row in (0, len(herd.members) - 1):
            net = edited(operation, effects[herd.members[row]], herd)
            if net.branches > len(operation.assembly.tail):
                continue  # a bridge's own amps are not told
            volts, amps = herd.volts[row], herd.amps[row]
            assert np.abs(_into_nodes(net, volts, amps)).max() < 1e-9 * max(1.0, np.abs(amps).max())
            assert np.abs(_along(net, volts, amps)).max() < 1e-7 * np.abs(volts).max()


def _into_nodes(
    net: network.Network, volts: NDArray[np.complex128], amps: NDArray[np.complex128]
) -> NDArray[np.complex128]:
    total = net.stray * volts
    np.add.at(total, net.tail, amps)
    np.add.at(total, net.head, -amps)
    total[net.ground] = 0
    return np.asarray(total)


def _along(net: network.Network, volts: NDArray[np.complex128], amps: NDArray[np.complex128]) -> NDArray[np.complex128]:
    dropped = net.impedance * amps - net.emf
    for k, j, z in net.coupling:
        dropped[k] += z * amps[j]
    return np.asarray((across(net, volts) - dropped)[net.closed])


@pytest.mark.parametrize("name", NAMES)
def test_power_is_balanced(name: str) -> None:
    """What the sources give is what ohms and turning rotors take (Tellegen)."""
    for operation, _, herd in settled(name, 2):
        if 0 in herd.members:
            net = operation.assembly.under_power(herd.state)
            volts, amps = herd.volts[0], herd.amps[0]
            given = (net.emf * amps.conj()).sum()
            taken = (net.impedance * abs(amps) ** 2).sum() + (abs(volts) ** 2 * net.stray.conj()).sum()
            taken += sum(z * amps[j] * amps[k].conj() for k, j, z in net.coupling)
            assert abs(given - taken) < 1e-8 * max(1.0, abs(given))


@pytest.mark.parametrize("name", NAMES)
def test_reciprocity_at_rest(name: str) -> None:
    """A volt in one branch drives through another what a volt there drives through the first."""
    rng = np.random.default_rng(3)
    for operation, effects, herd in settled(name, 3, 2):
        net = edited(operation, effects[herd.members[0]], herd)
        if net.coupling:
            continue
        closed = np.flatnonzero(net.closed)
        for k, j in rng.choice(closed, (3, 2)):
            there, back = _amps(net, int(k), int(j)), _amps(net, int(j), int(k))
            assert abs(there - back) < 1e-9 * max(abs(there), 1e-6)


def _amps(net: network.Network, driven: int, read: int) -> complex:
    emf = np.zeros(net.branches)
    emf[driven] = 1.0
    alone = network.Network(
        net.nodes, net.tail, net.head, net.impedance, net.closed, emf, net.coupling, net.stray, net.ground
    )
    return complex(dense.solve(alone).i[read])


def test_a_running_motor_is_not_reciprocal() -> None:
    """The law of rest fails where a rotor turns: its windings see each other with opposite signs."""
    machine = loading.load("refrigerator")
    operation = Operation(machine)
    (herd,) = operation.settle(conditions.condition(machine, machine.settings["cooling"]), [HEALTHY])
    net, built = operation.assembly.under_power(herd.state), operation.assembly
    k, j = (built.branches[f"compressor.{winding} winding"] for winding in ("run", "start"))
    assert abs(_amps(net, k, j) - _amps(net, j, k)) > 0.1 * abs(_amps(net, k, j))


@pytest.mark.parametrize(
    ("first", "second", "amps", "at_first", "at_second"),
    [(144.0, 72.0, 1.111, 160.0, 80.0), (12.0, 48.0, 4.0, 48.0, 192.0), (240.0, 9.6, 0.9615, 230.8, 9.23)],
)
def test_the_legs_of_an_open_neutral(
    tmp_path: Path, first: float, second: float, amps: float, at_first: float, at_second: float
) -> None:
    """100 W and 200 W, 1200 W and 300 W, 60 W and 1500 W at 120 V: 240 V shared by their ohms, as phasors too.

    The loads of the first are a textbook's; the results are computed: (240 V) R1/(R1 + R2).
    """
    machine = machines.two_loads(tmp_path, first, second)
    operation = Operation(machine)
    _, changes = listing.by_name(machine)["receptacle: N contact loose"].alternatives[0]
    (herd,) = operation.settle(conditions.condition(machine), [effect(operation.assembly, changes)])
    one, neutral, two = (herd.volts[0, operation.assembly.nodes[f"block.{t}"]] for t in ("L1", "N", "L2"))
    assert abs(one - neutral) == pytest.approx(at_first, rel=3e-3)
    assert abs(neutral - two) == pytest.approx(at_second, rel=1e-2)
    assert abs((one - neutral) + (neutral - two)) == pytest.approx(240.0, rel=5e-3)
    assert abs(herd.amps[0, operation.assembly.branches["first.first half"]]) == pytest.approx(amps, rel=5e-3)


def test_with_a_motor_the_magnitudes_add_to_more() -> None:
    """The dryer's neutral open while it is started: |L1-N| + |N-L2| is above |L1-L2|, the phasors add to it."""
    machine = loading.load("vented-dryer")
    operation = Operation(machine)
    _, changes = listing.by_name(machine)["receptacle: N contact loose"].alternatives[0]
    at = conditions.condition(machine, dict(machine.settings["high heat"]) | {"start": "held"})
    (herd,) = operation.settle(at, [effect(operation.assembly, changes)])
    one, neutral, two = (herd.volts[0, operation.assembly.nodes[f"terminal block.{t}"]] for t in ("L1", "N", "L2"))
    assert abs(one - neutral) + abs(neutral - two) >= abs(one - two)
    assert abs(one - two) == pytest.approx(240.0, rel=0.02)


def test_heat_follows_the_square_of_the_volts() -> None:
    """On 208Y/120 V a heater gives (120 sqrt 3 / 240)^2 = 3/4 of its watts, cable and joints included."""
    cases = Path(__file__).parent.parent / "library" / "cases"
    at_240, at_208 = (_watts(name) for name in ("water-heater", str(cases / "water-heater-208" / "machine.yaml")))
    assert at_208 / at_240 == pytest.approx(0.75, rel=2e-3)
    assert at_240 == pytest.approx(4500.0, rel=0.06)  # what the cable and the hot coil take is missing


def _watts(name: str) -> float:
    machine = loading.load(name)
    operation = Operation(machine)
    (herd,) = operation.settle(conditions.condition(machine), [HEALTHY])
    net, built = operation.assembly.under_power(herd.state), operation.assembly
    halves = [built.branches[f"upper element.{half} half"] for half in ("first", "second")]
    return float((net.impedance[halves].real * abs(herd.amps[0, halves]) ** 2).sum())


def test_start_to_run_is_the_sum_of_the_others() -> None:
    """A compressor's three pins with their wires off: R(S,R) = R(C,S) + R(C,R), the leads' ohms taken off."""
    machine = loading.load("refrigerator")
    readings = Readings(Operation(machine))
    pins = tuple(f"compressor.{pin}" for pin in "CRS")
    at = conditions.condition(machine, isolated=True, lift=pins)
    effects = (HEALTHY,)
    ohms = {
        a + b: readings.read(Probe("ohms", f"compressor.{a}", f"compressor.{b}"), at, effects).value[0]
        - readings.meter.lead_ohms
        for a, b in ("CR", "CS", "SR")
    }
    assert ohms["SR"] == pytest.approx(ohms["CR"] + ohms["CS"], rel=1e-9)


def test_the_loom_leaves_live_nodes_alone() -> None:
    """What an open wire picks up does not move a terminal that is fed: below a millivolt at the block."""
    machine = loading.load("vented-dryer")
    built = assembly.Assembly(machine)
    (herd,) = Operation(machine).settle(conditions.condition(machine, machine.settings["high heat"]), [HEALTHY])
    with_loom, without = (dense.solve(built.under_power(herd.state, loom)).v for loom in (True, False))
    pair = [built.nodes["terminal block.L1"], built.nodes["terminal block.L2"]]
    assert abs(np.diff(with_loom[pair])[0] - np.diff(without[pair])[0]) < 1e-3


def test_models_are_not_changed_by_settling() -> None:
    """The same machine settles the same twice."""
    machine: model.Machine = loading.load("water-heater")
    operation = Operation(machine)
    first, second = (operation.settle(conditions.condition(machine), [HEALTHY])[0] for _ in range(2))
    assert np.array_equal(first.volts, second.volts)
