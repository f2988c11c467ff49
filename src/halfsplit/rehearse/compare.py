"""Ways of working set side by side: each plays the same jobs, number by number, so that differences are paired.

Knows how to play and to sum up; judges nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import NamedTuple

import numpy as np

from halfsplit.rehearse import play, trials
from halfsplit.rehearse.summary import wilson
from halfsplit.work import minutes, stopping
from halfsplit.work.state import JobState


class Following(trials.Rehearsal):
    """A rehearsal in which a given way of working is followed, instead of the adviser's."""

    def __init__(self, rehearsal: trials.Rehearsal, choose: play.Choose) -> None:
        super().__init__(rehearsal.adviser, rehearsal.asked)
        self._choose = choose

    def known(self, number: int) -> float:
        """Minutes of the job of this number if its fault were told for nothing: no way that ends it rightly needs fewer.

        What is another trade's to repair is handed over, and takes none of ours.
        """
        lot, _, _ = self._job(np.random.default_rng([self.asked.seed, number]))
        repair = lot.fault.repair
        if stopping.of_repair(repair.by):
            return 0.0
        return minutes.cost(self.asked.machine, JobState(), repair.minutes, repair.bays, None).minutes


def told_for_nothing(rehearsal: trials.Rehearsal, count: int) -> float:
    """Mean minutes of trials 0 to count - 1 with every fault known beforehand: the ceiling of all saving."""
    following = Following(rehearsal, lambda weighed, state: None)
    return float(np.mean([following.known(number) for number in range(count)]))


@dataclass(frozen=True)
class Compared:
    """One way of working over its trials; `more` is its minutes beyond the first way's, paired, with its error.

    `right_low`, `right_high`: the 95 % interval of `right_first` (Wilson 1927).
    """

    name: str
    trials: int
    minutes: float
    right_first: float
    right_low: float
    right_high: float
    needless: float
    steps: float
    live: float
    unsafe: int
    more: float
    error: float


class Figures(NamedTuple):
    """What counts of one job when ways of working are compared."""

    minutes: float
    right_first: bool
    needless_parts: int
    steps: int
    live_steps: int
    unsafe_steps: int

    @classmethod
    def of(cls, played: play.Played) -> Figures:
        """Those of a job that was played."""
        return cls(*(getattr(played, name) for name in cls._fields))


def compare(played: Mapping[str, Sequence[Figures]]) -> Iterator[Compared]:
    """Each way over its trials 0 to n - 1; the first, over the most, is what the others are measured against."""
    first = np.array([figures.minutes for figures in next(iter(played.values()))])
    for name, figures in played.items():
        yield compared(name, figures, np.array([one.minutes for one in figures]) - first[: len(figures)])


def compared(name: str, played: Sequence[Figures], more: np.ndarray) -> Compared:
    """The figures of one way. more: (trials,) minutes beyond the first way's."""
    count = len(played)
    taken, right, needless, steps, live, _ = np.mean(np.array(played, float), axis=0).tolist()
    return Compared(
        name,
        count,
        taken,
        right,
        *wilson(sum(p.right_first for p in played), count),
        needless,
        steps,
        live,
        sum(p.unsafe_steps for p in played),
        float(more.mean()),
        float(more.std(ddof=1) / sqrt(count)) if count > 1 else 0.0,
    )
