"""Ways of working set side by side: each plays the same jobs, number by number, so that differences are paired.

Knows how to play and to sum up; judges nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import NamedTuple

import numpy as np

from halfsplit.plan import pricing
from halfsplit.rehearse import play, trials
from halfsplit.rehearse.summary import wilson
from halfsplit.work import stopping
from halfsplit.work.state import JobState


class Following(trials.Rehearsal):
    """A rehearsal in which a given way of working is followed, instead of the adviser's."""

    def __init__(self, rehearsal: trials.Rehearsal, choose: play.Choose) -> None:
        super().__init__(rehearsal.adviser, rehearsal.asked)
        self._choose = choose

    def known(self, number: int) -> float:
        """Minutes of the job of this number if its fault were told for nothing: no way to its right end needs fewer.

        What is another trade's to repair is handed over, and takes none of ours.
        """
        lot, _, _ = self._job(np.random.default_rng([self.asked.seed, number]))
        repair = lot.fault.repair
        if stopping.of_repair(repair.by):
            return 0.0
        return pricing.repair_cost(self.asked.machine, JobState(), repair).minutes


def told_for_nothing(rehearsal: trials.Rehearsal, count: int, first: int = 0) -> Iterator[float]:
    """Minutes of trials `first` to count - 1, each with its fault known beforehand: the ceiling of all saving."""
    following = Following(rehearsal, lambda weighed, state: None)
    return map(following.known, range(first, count))


@dataclass(frozen=True)
class Compared:
    """One way of working over its trials; `more` is its minutes beyond the first way's, paired, with its error.

    `in_all`: the minutes with what was in vain (`play.Played.in_vain`); `more_in_all` is paired as `more` is.

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
    in_all: float
    more_in_all: float
    error_in_all: float


class Figures(NamedTuple):
    """What counts of one job when ways of working are compared."""

    minutes: float
    right_first: bool
    needless_parts: int
    steps: int
    live_steps: int
    unsafe_steps: int
    in_vain: float

    @classmethod
    def of(cls, played: play.Played) -> Figures:
        """Those of a job that was played."""
        return cls(*(getattr(played, name) for name in cls._fields))


def compare(played: Mapping[str, Sequence[Figures]]) -> Iterator[Compared]:
    """Each way over its trials 0 to n - 1; the first, over the most, is what the others are measured against."""
    first = next(iter(played.values()))
    for name, figures in played.items():
        yield compared(name, figures, first[: len(figures)])


def compared(name: str, played: Sequence[Figures], first: Sequence[Figures]) -> Compared:
    """The figures of one way, against those of the first on the same jobs."""
    count = len(played)
    minutes, right, needless, steps, live, _, in_vain = np.mean(np.array(played, float), axis=0).tolist()
    return Compared(
        name,
        count,
        minutes,
        right,
        *wilson(sum(p.right_first for p in played), count),
        needless,
        steps,
        live,
        sum(p.unsafe_steps for p in played),
        *_paired([a.minutes - b.minutes for a, b in zip(played, first, strict=True)]),
        minutes + in_vain,
        *_paired([a.minutes + a.in_vain - b.minutes - b.in_vain for a, b in zip(played, first, strict=True)]),
    )


def _paired(more: Sequence[float]) -> tuple[float, float]:
    """Mean of paired differences, and its standard error."""
    error = float(np.std(more, ddof=1)) / sqrt(len(more)) if len(more) > 1 else 0.0
    return float(np.mean(more)), error
