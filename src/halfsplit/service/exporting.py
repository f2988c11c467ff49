"""`export`: the settled network of a condition as a deck for a circuit simulator."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from halfsplit.circuit import spice
from halfsplit.machine import model
from halfsplit.operate.condition import Condition
from halfsplit.operate.effect import edits
from halfsplit.operate.settle import Operation
from halfsplit.service import asking


def export(machine: model.Machine, at: Condition, fault_names: Sequence[str] = ()) -> dict[str, Any]:
    """The deck, and which devices of the machine stand in their other state in it (warm, running, tripped)."""
    operation = Operation(machine)
    effect = asking.together(operation.assembly, asking.faults(machine, fault_names))
    (herd,) = operation.settle(at, [effect])
    network = operation.assembly.under_power(herd.state)
    names = list(operation.assembly.nodes)
    title = "; ".join([machine.name, _words(at), *fault_names])
    made = edits(effect.operations, network, operation.assembly.off(herd.state))
    deck = spice.deck(network, made, names, machine.supply.hertz, title)
    return {"deck": deck, "other": sorted(herd.other), "chatters": sorted(herd.chatters)}


def _words(at: Condition) -> str:
    stands = ", ".join(f"{control} {position}" for control, position in at.setting)
    return ", ".join([stands, *(["isolated"] if at.isolated else []), *(f"{t} lifted" for t in at.lift)])
