"""The variants that are likely enough to count in what a step tells, and the ways in which they may show in it.

Knows the posterior and steps; scores nothing. Worked out once for all steps of one set-up: while one step is chosen,
dozens are scored, most of them in the same few.
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

UNLIKELY = 1e-5
"""Variants below this probability are left out of a step's density."""


class Shown(NamedTuple):
    """What the machine may show in a set-up: rows (D,) of variants, ascending; and one entry (N,) for each likely
    variant and each way in which it may show: how probable that is, the repair due, and the place of the row shown."""

    rows: Index
    chance: Array
    repair_of: Index
    place: Index


class Likely:
    """The likely variants of one posterior. `rows` (R,): which they are, ascending."""

    def __init__(self, weighed: Weighed) -> None:
        self._weighed = weighed
        self.rows: Index = np.flatnonzero(weighed.posterior.probability > UNLIKELY)
        self._met: dict[Hashable, Shown] = {}

    def shown(self, step: Step) -> Shown:
        """What they may show in a step."""
        setup = owner.setup(step)
        if setup not in self._met:
            self._met[setup] = self._shown(step)
        return self._met[setup]

    def _shown(self, step: Step) -> Shown:
        ways = owner.ways(self._weighed, step, self.rows)
        rows, likely = rows_of(ways), self.rows
        chance = np.concatenate([self._weighed.posterior.probability[likely] * chance for chance, _ in ways])
        row, repair_of = np.concatenate([row for _, row in ways]), self._weighed.candidates.repair_of[likely]
        some = chance > 0
        return Shown(rows, chance[some], np.tile(repair_of, len(ways))[some], np.searchsorted(rows, row[some]))
