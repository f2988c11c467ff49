"""How well one step ahead keeps danger as an order: live steps that could have waited.

    python benchmarks/danger_on_machines.py [--jobs N] [--seed S] [MACHINE ...]

Jobs of a machine are rehearsed twice, with the same hidden fault. Once as advised; once as advised until a live step
leads, and by dead steps alone from there. Where the dead steps settle the repair, and it is made, within the excess
(`worth.EXCESS`) of what the way with live steps takes, the live step could have waited. That is how it came out with
one hidden fault; what was to be expected was decided by the planner that looks many steps ahead (`Setups.in_order`).
Counted too are the jobs in which that had a live step wait which would have led by an estimate.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT)]

import numpy as np  # noqa: E402  (after the number of threads is set)

from halfsplit.evidence import finding as f  # noqa: E402
from halfsplit.evidence.weighing import Bench, Weighed  # noqa: E402
from halfsplit.machine import loading  # noqa: E402
from halfsplit.plan import fitting, pricing, worth  # noqa: E402
from halfsplit.plan.score import Adviser, Scored  # noqa: E402
from halfsplit.plan.setups import Setups  # noqa: E402
from halfsplit.rehearse import compare, play, trials  # noqa: E402
from halfsplit.rehearse.summary import wilson  # noqa: E402
from halfsplit.work.state import JobState  # noqa: E402
from tools import machines  # noqa: E402

MOST = 200
"""So many steps are asked for, all that are scored, before the live ones are left out."""


class Barring(Setups):
    """One step ahead, and how often the plan had a live step wait that would have led by an estimate."""

    barred = 0

    def in_order(self, weighed: Weighed, state: JobState, left: Sequence[Scored]) -> list[Scored]:
        """As it is, counted."""
        by_estimate, ordered = Adviser.in_order(self, weighed, state, left), super().in_order(weighed, state, left)
        self.barred += bool(by_estimate) and by_estimate[0].step.live and not (ordered and ordered[0].step.live)
        return ordered


class DeadOnly(Setups):
    """One step ahead to whom live steps are barred."""

    def next_steps(self, weighed: Weighed, state: JobState, count: int = 1) -> list[Scored]:
        """The best dead steps, best first."""
        every = super().next_steps(weighed, state, count + MOST)
        return [one for one in every if not one.step.live][:count]


class Until:
    """As advised, and once a live step leads by `then`; the minutes from there to the first repair made."""

    def __init__(self, asked: Setups, then: Setups) -> None:
        self.asked, self.then = asked, then
        self.machine = asked.bench.machine
        self.order: worth.Order | None = None
        self.minutes = 0.0
        self.last = JobState()

    def __call__(self, weighed: Weighed, state: JobState) -> play.Choice | None:
        """The next step (`play.Choose`)."""
        searching = not any(isinstance(one, f.Tried) for one in weighed.findings)
        leads = None if self.order else fitting.paying(self.asked, weighed, state)
        if leads and leads.step.live and searching:
            self.order = leads.order
        chosen = play.as_advised(self.then if self.order else self.asked)(weighed, state)
        if searching:
            self.last = state
            self.minutes += chosen[1].minutes if chosen and self.order else 0.0
        return chosen


class Met(NamedTuple):
    """The first live step of a job: what the choice compared; minutes of both ways, and whether each first repair was
    right."""

    order: worth.Order
    dead: float
    with_live: float
    right_dead: bool
    right_with_live: bool
    same: bool

    @property
    def more(self) -> float:
        """Minutes that dead steps alone take more."""
        return self.dead - self.with_live


def met(name: str, jobs: int, seed: int) -> Iterator[tuple[bool, Met | None]]:
    """Of each job whether a live step had to wait, and what became of its first live step; None where it had none."""
    machine = loading.load(name)
    asked = Barring(Bench(machine))
    rehearsal = trials.Rehearsal(asked, trials.Asked(machine, seed))
    for number in range(jobs):
        print(f"\r{name}: job {number + 1}", end="", file=sys.stderr, flush=True)
        live, before = Until(asked, asked), asked.barred
        played = compare.Following(rehearsal, live).trial(number)
        waited = asked.barred > before
        if live.order is None:
            yield waited, None
            continue
        dead = Until(asked, DeadOnly(asked.bench, asked.table))
        without = compare.Following(rehearsal, dead).trial(number)
        yield waited, Met(
            live.order, _until_made(dead, without), _until_made(live, played),
            without.right_first, played.right_first, without.first == played.first,
        )  # fmt: skip
    print(file=sys.stderr)


def _until_made(way: Until, played: play.Played) -> float:
    repairs = [way.asked.bench.repairs[one] for one in played.first]
    made = pricing.repair_cost(way.machine, way.last, *repairs).minutes if repairs else 0.0
    return way.minutes + made


def row(name: str, found: list[tuple[bool, Met | None]]) -> str:
    """A machine as a row of a table."""
    live = [one for _, one in found if one]
    barred = sum(waited for waited, _ in found)
    waits = sum(one.more <= worth.EXCESS for one in live)
    if not live:
        return f"| {name} | {len(found)} | {barred} | 0 | | | | | | | |"
    low, high = (100 * share for share in wilson(waits, len(live)))
    more = np.array([one.more for one in live])
    estimated = [one.order.dead - one.order.quickest for one in live if one.order.dead is not None]
    guess = f"{np.mean(estimated):.0f}" if estimated else "none"
    shares = [100 * np.mean(some) for some in (
        [one.same for one in live], [one.right_dead for one in live], [one.right_with_live for one in live]
    )]  # fmt: skip
    return (
        f"| {name} | {len(found)} | {barred} | {len(live)} | {waits} ({low:.0f} to {high:.0f} %) "
        f"| {np.median(more):.0f} ({more.min():.0f} to {more.max():.0f}) | {guess} | {len(live) - len(estimated)} | "
        + " | ".join(f"{share:.0f} %" for share in shares)
        + " |"
    )


def main() -> None:
    """The command."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("machines", nargs="*", default=machines.in_order())
    asked.add_argument("--jobs", type=int, default=100)
    asked.add_argument("--seed", type=int, default=0)
    given = asked.parse_args()
    print("| machine | jobs | a live step had to wait in | with a live step "
          "| it could have waited | minutes more, dead steps alone: median (range) "
          "| estimated, mean | no dead step left | same repair | right, dead | right, with live |")  # fmt: skip
    print("|---|" + 10 * "---:|")
    for name in given.machines:
        print(row(name, list(met(name, given.jobs, given.seed))), flush=True)


if __name__ == "__main__":
    main()
