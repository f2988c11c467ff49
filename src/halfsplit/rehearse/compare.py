"""Ways of working set side by side: each plays the same jobs, number by number, so that differences are paired.

Knows how to play and to sum up; judges nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import fitting
from halfsplit.plan.ahead import Ahead
from halfsplit.rehearse import play, trials
from halfsplit.work import minutes
from halfsplit.work.state import JobState


def looking_ahead(asked: Ahead) -> play.Choose:
    """The planner's step until it advises a repair or the step does not pay, so many steps at most."""

    def choose(weighed: Weighed, state: JobState) -> play.Choice | None:
        if len(state.done) >= play.MOST_STEPS:
            return None
        advised = fitting.next_steps(asked, weighed, state)
        return (advised[0].step, advised[0].cost) if advised and play.worth_it(weighed, advised[0]) else None

    return choose


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
    """One way of working over its trials; `more` is its minutes beyond the first way's, paired, with its error."""

    name: str
    trials: int
    minutes: float
    right_first: float
    needless: float
    steps: float
    live: float
    unsafe: int
    more: float
    error: float


def compare(rehearsal: trials.Rehearsal, ways: Mapping[str, play.Choose], count: int) -> Iterator[Compared]:
    """Each way over trials 0 to count - 1; the first is what the others are measured against."""
    first: np.ndarray | None = None
    for name, way in ways.items():
        played = list(trials.run(Following(rehearsal, way), count))
        taken = np.array([p.minutes for p in played])
        first = taken if first is None else first
        yield compared(name, played, taken - first)


def compared(name: str, played: Sequence[play.Played], more: np.ndarray) -> Compared:
    """The figures of one way. more: (trials,) minutes beyond the first way's."""
    count = len(played)
    return Compared(
        name,
        count,
        float(np.mean([p.minutes for p in played])),
        float(np.mean([p.right_first for p in played])),
        float(np.mean([p.needless_parts for p in played])),
        float(np.mean([p.steps for p in played])),
        float(np.mean([p.live_steps for p in played])),
        sum(p.unsafe_steps for p in played),
        float(more.mean()),
        float(more.std(ddof=1) / sqrt(count)) if count > 1 else 0.0,
    )
