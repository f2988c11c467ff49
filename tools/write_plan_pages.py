#!/usr/bin/env python3
"""Writes every table of the plan anew: all that its pages in docs/explanation say was measured.

    .venv/bin/python tools/write_plan_pages.py --as-kept
    .venv/bin/python tools/write_plan_pages.py [--kept FOLDER] [--quick]

The first writes the tables of what was played before and is kept in benchmarks/played, in seconds. The second
plays it all.

In turn: how long the next step takes and the plan on paper (let nothing else run for those minutes), regret beside
exact search, the gap that is proven closable, ways of working side by side, two faults at once, sessions read by the
watcher, and last the page of rehearsals, 2000 jobs a machine and truth, which keeps none and takes six hours of the
whole. About eighteen hours of one core; `--kept`: jobs are kept there, and a run that was cut goes on (name
benchmarks/played, emptied, to have them in the first command). `--quick`: a few of each, to see that all of it runs
(some minutes; do not commit what that writes).
"""

from __future__ import annotations

import argparse
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
AS_KEPT = (
    ["tools/write_plan_comparison.py", "--as-kept"],
    ["tools/write_two_faults.py", "--as-kept"],
    ["benchmarks/plan_gap.py", "--as-kept", "--write"],
)
"""What writes the tables of jobs that are kept; what is timed or watched keeps none, nor do drawn problems and the page
of rehearsals."""


def commands(kept: Path | None, quick: bool) -> Iterator[list[str]]:
    """What is run, in order."""
    keep = ["--kept", str(kept)] if kept else []
    few = "2" if quick else ""
    yield ["benchmarks/plan_latency.py", "--write", "--jobs", few or "12"]
    yield ["benchmarks/plan_on_paper.py", "--write", "--jobs", few or "1000"]
    yield ["benchmarks/plan_regret.py", "--write", "--count", few or "1200", *keep, *(_small() if quick else ())]
    yield ["benchmarks/plan_gap.py", "--write", "--jobs", few or "10", *keep]
    counts = ["--count", few or "1000", "--off", few or "200", "--orders", few or "1000", "--taken", few or "100"]
    yield ["tools/write_plan_comparison.py", *counts, *keep]
    yield ["tools/write_two_faults.py", "--count", few or "200", *keep]
    yield ["tools/watch_steps.py", "--write", "--count", few or "25000"]
    for chooser in ("score", "ahead"):
        yield ["tools/watch_steps.py", "--write", "--chooser", chooser, "--count", few or "125"]
    yield ["tools/write_rehearsals.py", "--trials", few or "2000"]


def _small() -> list[str]:
    return ["--middling", "2", "--large", "2"]


def main() -> None:
    """The command."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--kept", type=Path, help="folder of the jobs played")
    asked.add_argument("--as-kept", action="store_true", help="play nothing: tables of the jobs in benchmarks/played")
    asked.add_argument("--quick", action="store_true", help="a few of each")
    given = asked.parse_args()
    for command in AS_KEPT if given.as_kept else commands(given.kept, given.quick):
        print(f"\n{' '.join(command)}", flush=True)
        subprocess.run([sys.executable, *command], cwd=ROOT, check=True)


if __name__ == "__main__":
    main()
