"""The variants that are likely enough to count in what a step tells, and the ways in which they may show in it.

Knows the posterior and steps; scores nothing. Worked out once for all steps in which they show in the same ways: while
one step is chosen, dozens are scored, and most set-ups are ones in which nothing was found yet.
"""

from __future__ import annotations

from collections.abc import Hashable
from typing import NamedTuple

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import owner
from halfsplit.plan.steps import Step
from halfsplit.predict.moments import Index, rows_of


class Ways(NamedTuple):
    """The ways in which the machine may show in a set-up: rows (D,) of variants that it may show, ascending; and one
    entry (N,) for each likely variant and way: its chance, the repair due (the likely ones numbered from 0), and the
    place of the row shown."""

    rows: Index
    chance: Array
    repair_of: Index
    place: Index


class Likely:
    """The variants of more than a `least` probability, by the probability (S,) and the repair due (S,) of each.

    `rows` (R,): which they are, ascending.
    """

    def __init__(self, weighed: Weighed, probability: Array, repair_of: Index, least: float) -> None:
        self._weighed = weighed
        self.rows: Index = np.flatnonzero(probability > least)
        self._probability = probability[self.rows]
        self._repair_of = np.unique(repair_of[self.rows], return_inverse=True)[1]
        self._met: dict[Hashable, Ways] = {}

    def ways(self, step: Step) -> Ways:
        """The ways in which they may show in a step."""
        moment = owner.moment(self._weighed, step)
        if moment not in self._met:
            self._met[moment] = self._ways(step)
        return self._met[moment]

    def _ways(self, step: Step) -> Ways:
        ways = owner.ways(self._weighed, step, self.rows)
        rows = rows_of(ways)
        chance = np.concatenate([self._probability * chance for chance, _ in ways])
        row, repair_of = np.concatenate([row for _, row in ways]), np.tile(self._repair_of, len(ways))
        some = chance > 0
        return Ways(rows, chance[some], repair_of[some], np.searchsorted(rows, row[some]))
