"""How long the next step takes: what the person waits for, and the better step that comes while they read.

    python benchmarks/plan_latency.py [--jobs N] [--write] [MACHINE ...]

States are those that rehearsals pass through, from the complaint on; all single candidates and the pairs that are
weighed, all steps of the table. Of each state:

weighed   the findings, with pairs where they leave something unexplained; what earlier findings showed is kept
first     the step with the most information a minute, of all steps of the table
shown     from the answer typed to the step on the screen, as `guide` does it: weighed; the first step and comparisons;
          the stops; what each outcome would show, and all of it in words
beside    what would be read next in the same set-up, told below the step that is shown already; and what the steps
          will cost once it is done
improved  many steps ahead

Aims, at the 95th percentile on the dryer: shown 100 ms, improved 2 s. With --write the table is put into
docs/explanation/speed.md; measure on a machine with nothing else running.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT)]

import numpy as np  # noqa: E402  (after the number of threads is set)

from halfsplit import cli  # noqa: E402
from halfsplit.evidence.weighing import Bench, Weighed  # noqa: E402
from halfsplit.plan import setups  # noqa: E402
from halfsplit.plan.ahead import Ahead  # noqa: E402
from halfsplit.rehearse import compare, play, trials  # noqa: E402
from halfsplit.service import advising, machines, remembering  # noqa: E402
from halfsplit.service.guiding import Guided  # noqa: E402
from halfsplit.work.state import JobState  # noqa: E402
from tools import pages  # noqa: E402

PAGE = ROOT / "docs" / "explanation" / "speed.md"
MACHINES = ("vented-dryer", "refrigerator", "water-heater", "coil-cooktop")
LINES = ("weighed", "first", "shown", "beside", "improved")
HEAD = ("machine", "states", *LINES)


class Timed:
    """Follows one step ahead, and times in every state passed what a guide would do there.

    The guide has a bench of its own, so that what it weighs was not weighed by the rehearsal just before. As in a shop,
    the machine was met before: what an owner may tell of it is kept; and it is chosen before the owner tells.
    """

    def __init__(self, name: str) -> None:
        machine, key = machines.load(name), machines.key(name)
        self.guide = advising.adviser(remembering.bench(machine, key), key)
        self.guide.steps.price_ahead(JobState())
        self.adviser = setups.Setups(Bench(machine), self.guide.table)
        self.follow, self.ahead = play.as_advised(self.adviser), Ahead(self.adviser)
        self.seconds: dict[str, list[float]] = {line: [] for line in LINES}

    def choose(self, weighed: Weighed, state: JobState) -> play.Choice | None:
        """The step of one step ahead."""
        guided = Guided(self.guide, weighed.findings)
        weighing = self.time("weighed", lambda: guided.weighed.posterior)
        self.time("shown", lambda: (guided.due, guided.advice), weighing)
        self.time("beside", lambda: _beside(guided))
        self.time("first", lambda: self.adviser.next_steps(weighed, state))
        self.time("improved", lambda: self.ahead.plan(weighed, state))
        return self.follow(weighed, state)

    def next_job(self) -> None:
        """What was kept of the job before is let go, as for a new customer."""
        self.guide.bench.kept.forget()

    def time(self, line: str, done: Callable[[], Any], before: float = 0.0) -> float:
        """Adds the seconds of a call, and those it took before, to a line."""
        begun = time.perf_counter()
        done()
        self.seconds[line].append(before + time.perf_counter() - begun)
        return self.seconds[line][-1]

    def milliseconds(self, line: str) -> str:
        """Median and 95th percentile of a line."""
        middle, late = 1000.0 * np.percentile(self.seconds[line], [50, 95])
        return f"{middle:.0f}, {late:.0f}"


def _beside(guided: Guided) -> None:
    _ = guided.alongside
    guided.price_what_follows()


def row(name: str, jobs: int) -> tuple[str, ...]:
    """One machine's states and lines."""
    timed = Timed(name)
    asked = trials.Asked(timed.adviser.bench.machine, 1)
    following = compare.Following(trials.Rehearsal(timed.adviser, asked), timed.choose)
    for number in range(jobs):
        timed.next_job()
        following.trial(number)
        print(f"\r{name}: job {number + 1}", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    return str(len(timed.seconds["shown"])), *map(timed.milliseconds, LINES)


def main() -> None:
    """Measures the machines named, or those of the page."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("machines", nargs="*", default=MACHINES)
    asked.add_argument("--jobs", type=int, default=12)
    asked.add_argument("--write", action="store_true", help="put the table into the page")
    given = asked.parse_args()
    gc.set_threshold(cli.SELDOM)  # as the guide has it
    table = pages.table(HEAD, {(name,): row(name, given.jobs) for name in given.machines})
    print(table)
    if given.write:
        pages.write(PAGE, "latency", table)


if __name__ == "__main__":
    main()
