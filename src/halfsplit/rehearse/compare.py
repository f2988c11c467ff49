"""Ways of working set side by side: each plays the same jobs, number by number, so that differences are paired.

Knows how to play and to sum up; judges nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from halfsplit.rehearse import play, trials
from halfsplit.rehearse.summary import wilson
from halfsplit.work import minutes
from halfsplit.work.state import JobState


class Following(trials.Rehearsal):
    """A rehearsal in which a given way of working is followed, instead of the adviser's."""

    def __init__(self, rehearsal: trials.Rehearsal, choose: play.Choose) -> None:
        super().__init__(rehearsal.adviser, rehearsal.asked)
        self._choose = choose

    def known(self, number: int) -> float:
        """Minutes of the job of this number if its fault were told for nothing: no way of working needs fewer."""
        lot, _, _ = self._job(np.random.default_rng([self.asked.seed, number]))
        repair = lot.fault.repair
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


def compare(
    rehearsal: trials.Rehearsal, ways: Mapping[str, tuple[play.Choose, int]], workers: int = 1
) -> Iterator[Compared]:
    """Each way over trials 0 to its count - 1; the first, over the most, is what the others are measured against."""
    first: np.ndarray | None = None
    for name, (way, count) in ways.items():
        played = list(trials.run(Following(rehearsal, way), count, workers))
        taken = np.array([p.minutes for p in played])
        first = taken if first is None else first
        yield compared(name, played, taken - first[:count])


def compared(name: str, played: Sequence[play.Played], more: np.ndarray) -> Compared:
    """The figures of one way. more: (trials,) minutes beyond the first way's."""
    count = len(played)
    return Compared(
        name,
        count,
        float(np.mean([p.minutes for p in played])),
        float(np.mean([p.right_first for p in played])),
        *wilson(sum(p.right_first for p in played), count),
        float(np.mean([p.needless_parts for p in played])),
        float(np.mean([p.steps for p in played])),
        float(np.mean([p.live_steps for p in played])),
        sum(p.unsafe_steps for p in played),
        float(more.mean()),
        float(more.std(ddof=1) / sqrt(count)) if count > 1 else 0.0,
    )
