"""How a machine stands for a picture: what is closed, open, altered or bridged, the volts and the amps.

Knows machines, settling and effects; nothing of pictures. Volts are against the house's earth, without the ghost that
loose wires pick up: a picture says what can drive current, not what a meter of high resistance shows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from halfsplit.circuit import assembly, dense
from halfsplit.machine import model
from halfsplit.operate.condition import Condition
from halfsplit.operate.effect import Operation as Done
from halfsplit.operate.effect import edits
from halfsplit.operate.settle import Operation
from halfsplit.service import asking


@dataclass(frozen=True)
class Standing:
    """A settled machine by names: contacts, elements, wires and joints; terminals.

    `positions`: where the controls ended, plug and breaker included; `opened`, `shut` and `altered` are what faults
    (and lifting) did; `bridges` joins two terminals by ohms; `landing` is the node on which each end of a wire lies (a
    terminal, or `wires at` it); `volts` (of nodes, against earth) and `amps` (of branches) are magnitudes.
    """

    machine: model.Machine
    at: Condition
    faults: tuple[str, ...]
    positions: Mapping[str, str]
    closed: frozenset[str]
    opened: frozenset[str]
    shut: frozenset[str]
    altered: frozenset[str]
    bridges: tuple[tuple[str, str, float], ...]
    landing: Mapping[str, tuple[str, str]]
    volts: Mapping[str, float]
    amps: Mapping[str, float]
    chatters: tuple[str, ...] = ()


def standing(machine: model.Machine, at: Condition, fault_names: Sequence[str] = ()) -> Standing:
    """The machine settled in a condition under faults, each in the likeliest of its alternatives.

    Raises WrongUse for faults that the machine does not have.
    """
    operation = Operation(machine)
    built = operation.assembly
    effect = asking.together(built, asking.faults(machine, fault_names))
    (herd,) = operation.settle(at, [effect])
    network = built.under_power(herd.state, loom=False)
    solved = dense.solve(network, edits(effect.operations, network, built.off(herd.state)))
    earth = solved.v[built.nodes[machine.supply.earth]]
    done = _Done(built, effect.operations)
    lifted = {name for terminal in herd.state.lifted for name in built.taken_off(terminal)}
    opened = done.named("open") | lifted
    opened |= {name for name, k in built.branches.items() if k in {built.branches[one] for one in opened}}
    shut = done.named("shut") - herd.state.closed
    return Standing(
        machine,
        at,
        tuple(fault_names),
        herd.positions,
        (herd.state.closed | shut) - opened,
        frozenset(opened),
        frozenset(shut),
        frozenset(done.named("add") | done.named("scale")),
        done.bridges(),
        {w.name: (_at(built, built.tail, w.name), _at(built, built.head, w.name)) for w in machine.wires},
        {name: float(abs(solved.v[k] - earth)) for name, k in built.nodes.items()},
        {name: float(abs(solved.i[k])) for name, k in built.branches.items()},
        tuple(sorted(herd.chatters)),
    )


def _at(built: assembly.Assembly, ends: np.ndarray, wire: str) -> str:
    return list(built.nodes)[int(ends[built.branches[wire]])]


class _Done:
    """Operations of an effect by the names of what they change."""

    def __init__(self, built: assembly.Assembly, operations: Sequence[Done]) -> None:
        self.built, self.operations = built, operations
        self.nodes = list(built.nodes)

    def named(self, kind: str) -> set[str]:
        """Branches that operations of a kind change, all names of each."""
        touched = {one.k for one in self.operations if one.kind == kind}
        return {name for name, k in self.built.branches.items() if k in touched}

    def bridges(self) -> tuple[tuple[str, str, float], ...]:
        """Bridges as (node, node, ohms)."""
        return tuple(
            (self.nodes[one.a], self.nodes[one.b], one.amount) for one in self.operations if one.kind == "bridge"
        )
