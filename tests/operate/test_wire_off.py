"""A wire that has chafed through to the frame, taken off: the short goes with the wire, not with the terminal."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from halfsplit.machine import library, loading, model
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.operate.effect import HEALTHY, Effect, effect
from halfsplit.operate.settle import Operation
from halfsplit.predict.readings import Readings


def _alone(machine: model.Machine) -> Iterator[model.Wire]:
    """Wires inside the machine that land alone on both their terminals, neither of which is on the frame."""
    wired = model.wired_terminals(machine)
    for wire in machine.wires:
        own = not any(machine.parts[model.part_of(end)].house for end in wire.ends)
        if own and wire.rate and all(len(wired[end]) == 1 for end in wire.ends) and machine.frame not in wire.ends:
            yield wire


def _to_frame(operation: Operation, wire: model.Wire, of: Effect, *lift: str) -> list[float]:
    """Ohms to the frame from both ends of a wire, at rest, with the wires of these terminals off."""
    machine, nodes = operation.machine, operation.assembly.nodes
    (herd,) = operation.settle(conditions.condition(machine, isolated=True, lift=lift), [of])
    ready = Readings(operation).ready("meter", herd)
    pairs = np.array([[nodes[end], nodes[machine.frame]] for end in wire.ends])
    return [float(ohms) for ohms in ready.factored.resistances([ready.edits(of)], pairs)[0]]


@pytest.mark.parametrize("name", library.names())
def test_a_short_of_a_wire_goes_with_it(name: str) -> None:
    """Off at one end, the wire is still short where it hangs on; off at both, the rest reads as a healthy machine."""
    machine = loading.load(name)
    operation, faults = Operation(machine), listing.by_name(machine)
    for wire in _alone(machine):
        _, changes = faults[f"{wire.name}: chafed to frame"].alternatives[0]
        chafed, (first, second) = effect(operation.assembly, changes), wire.ends
        assert max(_to_frame(operation, wire, chafed)) < 400, wire.name
        assert _to_frame(operation, wire, chafed, first)[1] < 400, wire.name
        assert _to_frame(operation, wire, chafed, second)[0] < 400, wire.name
        healthy = _to_frame(operation, wire, HEALTHY, first, second)
        assert _to_frame(operation, wire, chafed, first, second) == pytest.approx(healthy), wire.name


def test_a_load_with_its_wires_off_is_not_blamed_for_a_wire_s_short() -> None:
    """The heater of the refrigerator is open to the frame with its wires off, though a wire to it has chafed."""
    machine = loading.load("refrigerator")
    operation, faults = Operation(machine), listing.by_name(machine)
    wire = next(wire for wire in machine.wires if "defrost heater.2" in wire.ends)
    _, changes = faults[f"{wire.name}: chafed to frame"].alternatives[0]
    off = ("defrost heater.1", "defrost heater.2")
    chafed = _to_frame(operation, wire, effect(operation.assembly, changes), *off)
    assert chafed[wire.ends.index("defrost heater.2")] > 1e6
