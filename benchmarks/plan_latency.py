"""How long the next step takes: the first answer, and the one that looks many steps ahead while the person reads.

    python benchmarks/plan_latency.py [--jobs N] [MACHINE...]

States are those that rehearsals pass through, from the complaint on; all single candidates and the pairs that are
weighed, all steps of the table. Weighing the findings is reported by itself. Aims, at the 95th percentile on the dryer:
first answer 100 ms, the improved one 2 s.
"""

from __future__ import annotations

import argparse
import os
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.machine import loading
from halfsplit.plan import score
from halfsplit.plan.ahead import Ahead
from halfsplit.rehearse import compare, play, trials
from halfsplit.work.state import JobState


class Timed:
    """Follows one step ahead and times both answers in every state passed."""

    def __init__(self, adviser: score.Adviser) -> None:
        self.ahead, self.follow = Ahead(adviser), play.as_advised(adviser)
        self.adviser = adviser
        self.seconds: dict[str, list[float]] = {"weighed": [], "first": [], "improved": []}

    def choose(self, weighed: Weighed, state: JobState) -> play.Choice | None:
        """The step of one step ahead."""
        self.time("weighed", lambda: self.adviser.bench.weigh(weighed.findings).posterior)
        self.time("first", lambda: self.adviser.next_steps(weighed, state))
        self.time("improved", lambda: self.ahead.plan(weighed, state))
        return self.follow(weighed, state)

    def time(self, what: str, done: object) -> None:
        """Adds the seconds of a call."""
        begun = time.perf_counter()
        done()  # type: ignore[operator]
        self.seconds[what].append(time.perf_counter() - begun)


def main() -> None:
    """Measures the machines named, or the dryer."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("machines", nargs="*", default=["vented-dryer"])
    asked.add_argument("--jobs", type=int, default=12)
    given = asked.parse_args()
    for name in given.machines:
        machine = loading.load(name)
        timed = Timed(score.Adviser(Bench(machine)))
        rehearsal = compare.Following(trials.Rehearsal(timed.adviser, trials.Asked(machine, 1)), timed.choose)
        for number in range(given.jobs):
            rehearsal.trial(number)
        for what, seconds in timed.seconds.items():
            middle, late = np.percentile(seconds, [50, 95])
            print(f"{name:<14} {what:<9} median {middle:.3f} s   95th percentile {late:.3f} s   of {len(seconds)}")


if __name__ == "__main__":
    main()
