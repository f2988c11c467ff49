#!/usr/bin/env python3
"""Rehearses two faults at once on the library's machines, and writes docs/explanation/two-faults.md.

    .venv/bin/python tools/write_two_faults.py [--count N] [--kept FOLDER] [--as-kept] [--faults KIND] [MACHINE...]

An independent pair, and a cause with its consequence; `--kept`: jobs are kept there, and a run that was cut goes on.
`--as-kept` plays nothing: the rows are those of what is there (benchmarks/played where no folder is given), whatever
code played it, which each row tells. The rows of what is not asked for stay. One to two seconds a job.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from halfsplit.rehearse import trials  # noqa: E402  (after the number of threads is set)
from halfsplit.rehearse.summary import wilson  # noqa: E402
from halfsplit.service import rehearsing  # noqa: E402
from tools import machines, pages  # noqa: E402
from tools.kept import PLAYED, Kept  # noqa: E402

PAGE = ROOT / "docs" / "explanation" / "two-faults.md"
MACHINES = machines.in_order()
KINDS = (rehearsing.TWO, rehearsing.CONSEQUENCE)
SEED = 1
HEAD = (
    "machine", "hidden", "jobs", "both found (95 % interval)", "first repair right", "minutes", "steps",
    "needless parts a job", "jobs with one", "unsafe steps", "played at",
)  # fmt: skip
Job = dict[str, Any]
"""A trial as the outside contract has it."""


def jobs(name: str, hidden: str, given: argparse.Namespace) -> tuple[list[Job], str]:
    """The jobs of one machine, those played before among them, and the commit of the code that played them."""
    kept = Kept(given.kept, f"{name}.{hidden}", given.as_kept, seed=SEED)
    if given.as_kept:
        return kept.jobs, kept.under["commit"]
    if len(kept.jobs) < given.count:
        rehearsal = rehearsing.prepared(rehearsing.Asked(name, seed=SEED, faults=hidden))
        for played in trials.run(rehearsal, given.count, given.workers, first=len(kept.jobs)):
            kept.add(*trials.as_contract([played]))
            print(f"\r{name}, {hidden}: {len(kept.jobs)} jobs", end="", file=sys.stderr, flush=True)
    return kept.jobs[: given.count], kept.under["commit"]


def row(played: Sequence[Job], played_at: str) -> pages.Cells:
    """What these jobs show; played_at: a commit."""
    count, found = len(played), sum(job["all_found"] for job in played)
    low, high = wilson(found, count)
    needless = [job["needless_parts"] for job in played]
    return (
        str(count),
        f"{100 * found / count:.1f} % ({100 * low:.1f} to {100 * high:.1f})",
        f"{100 * sum(job['right_first'] for job in played) / count:.1f} %",
        f"{sum(job['minutes'] for job in played) / count:.0f}",
        f"{sum(job['steps'] for job in played) / count:.1f}",
        f"{sum(needless) / count:.2f}",
        f"{100 * sum(map(bool, needless)) / count:.1f} %",
        str(sum(job["unsafe_steps"] for job in played)),
        played_at,
    )


def missed(played: Sequence[Job]) -> str:
    """The pairs that were not both found, and how often."""
    counted = Counter(job["fault"] for job in played if not job["all_found"])
    return "; ".join(f"{fault} ({times} times)" if times > 1 else fault for fault, times in counted.most_common())


def made(given: argparse.Namespace) -> Iterator[tuple[pages.Cells, list[Job], str]]:
    """All that was asked for and is there, by machine and kind."""
    for name in given.machines:
        for hidden in [given.faults] if given.faults else KINDS:
            played, played_at = jobs(name, hidden, given)
            if played:
                yield (name, hidden), played, played_at


def main() -> None:
    """The command."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("machines", nargs="*", default=MACHINES)
    asked.add_argument("--count", type=int, default=200)
    asked.add_argument("--faults", choices=KINDS)
    asked.add_argument("--kept", type=Path, help="folder of the jobs played")
    asked.add_argument("--as-kept", action="store_true", help="play no more: rows of the jobs kept so far")
    asked.add_argument("--workers", type=int, default=2)
    given = asked.parse_args()
    if given.as_kept:
        given.kept = given.kept or PLAYED
    for key, played, played_at in made(given):
        pages.write_rows(PAGE, "two-faults", HEAD, 2, {key: row(played, played_at)})
        pages.write_rows(PAGE, "missed", ("machine", "hidden", "not both found"), 2, {key: (missed(played),)})


if __name__ == "__main__":
    main()
