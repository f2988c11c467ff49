#!/usr/bin/env python3
"""Compares ways of working by rehearsal on the library's machines, and writes docs/explanation/planning-on-machines.md.

    .venv/bin/python tools/write_plan_comparison.py [--count N] [--orders N] [--workers W] [--seed S] [MACHINE...]

Many steps ahead, one step ahead, and the fixed orders that are kept beside the machines. Each plays the same jobs, the
fixed orders the first so many of them. The rows of machines that are not named stay as they were. About a second a
trial and way.
"""

from __future__ import annotations

import argparse
import os
import re
import sys
from collections.abc import Mapping
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from halfsplit.evidence.weighing import Bench  # noqa: E402  (after the number of threads is set)
from halfsplit.machine import loading, model  # noqa: E402
from halfsplit.plan import ahead, score  # noqa: E402
from halfsplit.rehearse import compare, order, play, trials  # noqa: E402

PAGE = ROOT / "docs" / "explanation" / "planning-on-machines.md"
ORDERS = ROOT / "src" / "halfsplit" / "machines" / "orders"
MACHINES = ("vented-dryer", "water-heater", "refrigerator")
ONE, MANY = "one step ahead", "many steps ahead"
HEADER = (
    "| way of working | trials | minutes | against the first | first repair right | needless parts | steps | live "
    "| unsafe |\n|---|---:|---:|---:|---:|---:|---:|---:|---:|\n"
)


def ways(adviser: score.Adviser, name: str, count: int, orders: int) -> Mapping[str, tuple[play.Choose, int]]:
    """Every way of working on a machine, by its name, with its number of trials."""
    machine = adviser.bench.machine
    fixed = {
        _titled(path, name): (_order(adviser, machine, path), min(count, orders))
        for path in sorted(ORDERS.glob(f"{name}.*.yaml"))
    }
    advised = {ONE: play.as_advised(adviser), MANY: play.as_advised(ahead.Ahead(adviser))}
    return {way: (choose, count) for way, choose in advised.items()} | fixed


def _titled(path: Path, name: str) -> str:
    return path.name.removeprefix(f"{name}.").removesuffix(".yaml").replace("-", " ")


def _order(adviser: score.Adviser, machine: model.Machine, path: Path) -> play.Choose:
    return order.followed(adviser, order.read(path.read_text(encoding="utf-8"), path.name, machine))


def table(name: str, given: argparse.Namespace) -> str:
    """The rows of one machine."""
    count, seed = given.count, given.seed
    machine = loading.load(name)
    adviser = score.Adviser(Bench(machine))
    rehearsal = trials.Rehearsal(adviser, trials.Asked(machine, seed))
    rows = []
    for found in compare.compare(rehearsal, ways(adviser, name, count, given.orders), given.workers):
        rows.append(row(found))
        print(name, rows[-1], file=sys.stderr, flush=True)
    rows.append(floor(rehearsal, count))
    return HEADER + "\n".join(rows) + "\n"


def floor(rehearsal: trials.Rehearsal, count: int) -> str:
    """The row of what no way of working can undercut."""
    least = compare.told_for_nothing(rehearsal, count)
    return f"| the fault told for nothing | {count} | {least:.1f} |" + "  |" * 6


def row(found: compare.Compared) -> str:
    """One way of working as a row of the table."""
    more = "" if found.name == ONE else f"{found.more:+.1f} ± {1.96 * found.error:.1f}"
    cells = [
        found.name, found.trials, f"{found.minutes:.1f}", more, _right(found), f"{found.needless:.3f}",
        f"{found.steps:.1f}", f"{found.live:.2f}", found.unsafe,
    ]  # fmt: skip
    return "| " + " | ".join(map(str, cells)) + " |"


def _right(found: compare.Compared) -> str:
    """Per cent with the 95 % interval."""
    return f"{100 * found.right_first:.1f} % ({100 * found.right_low:.1f} to {100 * found.right_high:.1f})"


def written(page: str, name: str, text: str) -> str:
    """The page with the table of one machine put in its place. Raises ValueError where the page has no such place."""
    begin, end = f"<!-- table {name} -->\n", f"<!-- end {name} -->"
    pattern = re.compile(re.escape(begin) + ".*?" + re.escape(end), re.DOTALL)
    if not pattern.search(page):
        raise ValueError(f"{PAGE.name} has no place for {name}: write '{begin.strip()}' and '{end}' into it.")
    return pattern.sub(lambda _: begin + text + end, page)


def main() -> None:
    """The command."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("machines", nargs="*", default=MACHINES)
    asked.add_argument("--count", type=int, default=100)
    asked.add_argument("--orders", type=int, default=100, help="trials of each fixed order")
    asked.add_argument("--workers", type=int, default=2)
    asked.add_argument("--seed", type=int, default=0)
    given = asked.parse_args()
    for name in given.machines:
        made = table(name, given)
        PAGE.write_text(written(PAGE.read_text(encoding="utf-8"), name, made), encoding="utf-8")


if __name__ == "__main__":
    main()
