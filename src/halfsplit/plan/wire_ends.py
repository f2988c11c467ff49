"""Ohms to the frame with the wires of one terminal off, along each wire: kept only where nothing else tells apart.

A short to the frame shows at all that is joined to it, so that wires in a row, and the part that they lead to, read the
same as long as they are joined. Knows the machine and codes of outcomes; scores nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence.likelihood import Index
from halfsplit.machine import model
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import leads
from halfsplit.plan.steps import Step, reached_at, with_left
from halfsplit.predict.candidates import Candidates
from halfsplit.predict.readings import Probe


def steps_of(machine: model.Machine, wires: Collection[str]) -> Iterator[Step]:
    """Ohms to the frame from both ends of these wires, dead and at rest, with the wires of one end off.

    >>> from halfsplit.machine import loading
    >>> fridge = loading.load("refrigerator")
    >>> found = list(steps_of(fridge, ["wire overload.2 to compressor.C"]))
    >>> sorted({(*step.condition.lift, step.probe.red) for step in found})[:2]
    [('compressor.C', 'compressor.C'), ('compressor.C', 'overload.2')]
    """
    along = [ends for ends in leads.pairs_along_wires(machine) if machine.frame and machine.frame not in ends]
    named = {wire.ends for wire in machine.wires if wire.name in wires}
    own = {terminal for part in leads.own_parts(machine) for terminal in leads.reachable(machine, part)}
    lifted = [(end, ends) for ends in along if ends in named and own.issuperset(ends) for end in ends]
    lifted.sort(key=lambda one: one[0])  # what is read of one condition is worked out at once
    for rest in with_left(machine, [conditions.condition(machine).setting]):
        for off, ends in lifted:
            for end in ends:
                if reached_at(machine, rest, (off, end, machine.frame)):
                    pair = (end, machine.frame)
                    yield Step("reading", Condition(rest, True, (off,)), Probe("ohms", *pair), places=pair)


def not_told_apart(candidates: Candidates, same: Index) -> set[str]:
    """The subjects of faults that no step tells from faults of another repair. same (S,): numbers of what is alike."""
    found: set[str] = set()
    for rows in _unsure(candidates.repair_of, same):
        found |= {candidates.faults[number].subject for row in rows for number in candidates.variants[row].faults}
    return found


def parting(repair_of: Index, same: Index, codes: Array) -> list[int]:
    """Which of these steps (K, S), one after the other, part variants of different repairs that are still alike."""
    chosen: list[int] = []
    for k, shown in enumerate(codes):
        if any(_parts(repair_of[rows], shown[rows]) for rows in _unsure(repair_of, same)):
            chosen.append(k)
            same = alike_still(same, shown)
    return chosen


def alike_still(same: Index, shown: Array) -> Index:
    """(S,) numbers of what is alike, once a step has shown these codes (S,).

    >>> alike_still(np.array([0, 0, 1]), np.array([2, 3, 3])).tolist()
    [0, 1, 2]
    """
    return np.unique(np.stack([same, shown]), axis=1, return_inverse=True)[1].ravel()


def _unsure(repair_of: Index, same: Index) -> Iterator[Index]:
    """The rows of each set of like variants that has more repairs than one."""
    order = np.argsort(same, kind="stable")
    for rows in np.split(order, np.flatnonzero(np.diff(same[order])) + 1):
        if len(set(repair_of[rows].tolist())) > 1:
            yield rows


def _parts(repair_of: Index, shown: Array) -> bool:
    """Whether what is shown goes with the repair."""
    repairs = [set(repair_of[shown == code].tolist()) for code in np.unique(shown)]
    return any(some != repairs[0] for some in repairs[1:])
