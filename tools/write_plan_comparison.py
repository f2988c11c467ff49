#!/usr/bin/env python3
"""Compares ways of working by rehearsal on the library's machines, and writes docs/explanation/planning-on-machines.md.

    .venv/bin/python tools/write_plan_comparison.py [--count N] [--orders N] [--off N] [--kept FOLDER] [MACHINE...]

Many steps ahead, one step ahead, and the fixed orders that are kept beside the machines. Each plays the same jobs, the
fixed orders the first so many of them; from the same jobs what is saved, and the ceiling of all saving. The rows of
machines that are not named stay as they were. `--off`: so many jobs whose truth is not the model. `--kept`: jobs are
kept there, one file a machine and way; a run that was cut goes on, one of more jobs plays only those that are lacking,
and what was played under other code is refused. Two runs may share the folder while they play different machines.
`--as-kept` plays nothing: the tables are written of what is there (benchmarks/played where no folder is given),
whatever code played it, which each row tells. Up to five seconds a trial and way.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from halfsplit.evidence.weighing import Bench  # noqa: E402  (after the number of threads is set)
from halfsplit.machine import loading  # noqa: E402
from halfsplit.plan import ahead, score, setups  # noqa: E402
from halfsplit.rehearse import compare, order, play, trials  # noqa: E402
from halfsplit.rehearse import drawing_lots as lots  # noqa: E402
from halfsplit.rehearse.compare import Figures  # noqa: E402
from halfsplit.rehearse.saving import Saving, saved  # noqa: E402
from tools import pages  # noqa: E402
from tools.kept import PLAYED, Kept  # noqa: E402

PAGE = ROOT / "docs" / "explanation" / "planning-on-machines.md"
ORDERS = ROOT / "src" / "halfsplit" / "machines" / "orders"
MACHINES = ("vented-dryer", "vented-dryer-3-wire", "water-heater", "refrigerator", "coil-cooktop")
ONE, MANY, OFF = "one step ahead", "many steps ahead", ", truth off the model"
HEADER = (
    "| way of working | trials | minutes | against the first | with what was in vain | against the first "
    "| first repair right | needless parts | steps | live | unsafe | played at |\n" + "|---" + 11 * "|---:" + "|\n"
)
SAVING = "saving"
SAVING_HEAD = (
    "machine", "way of working", "held against", "jobs of both", "minutes", "of that", "saved", "ceiling",
    "with what was in vain", "of that", "saved", "ceiling",
)  # fmt: skip
Played = dict[str, list[Figures]]
"""The jobs of each way of working by its name, trials 0 to n - 1."""


class Way(NamedTuple):
    """A way of working, over so many trials, under a truth."""

    choose: play.Choose
    trials: int
    departure: lots.Departure = lots.AS_THE_MODEL


def ways(adviser: score.Adviser, name: str, given: argparse.Namespace) -> dict[str, dict[str, Way]]:
    """Every way of working on a machine by its name, under each truth."""
    one, many = play.as_advised(adviser), play.as_advised(ahead.Ahead(adviser))
    true = {ONE: Way(one, given.count), MANY: Way(many, given.count)}
    for path in sorted(ORDERS.glob(f"{name}.*.yaml")):
        title = path.name.removeprefix(f"{name}.").removesuffix(".yaml").replace("-", " ")
        steps = order.read(path.read_text(encoding="utf-8"), path.name, adviser.bench.machine)
        true[title] = Way(order.followed(adviser, steps), min(given.count, given.orders))
    off = {f"{way}{OFF}": Way(choose, given.off, lots.NOT_THE_MODEL) for way, choose in ((ONE, one), (MANY, many))}
    return {"as the model": true, "off the model": off if given.off else {}}


def figures(name: str, title: str, way: Way, adviser: score.Adviser, given: argparse.Namespace) -> list[Figures]:
    """The jobs of one way, those played before among them."""
    asked = trials.Asked(adviser.bench.machine, given.seed, way.departure)
    rehearsal = compare.Following(trials.Rehearsal(adviser, asked), way.choose)
    kept = _kept(name, title, given)
    for played in trials.run(rehearsal, way.trials, given.workers, first=len(kept.jobs)):
        kept.add(Figures.of(played))
        print(f"\r{name}, {title}: {len(kept.jobs)} jobs", end="", file=sys.stderr, flush=True)
    return [Figures(*job) for job in kept.jobs[: way.trials]]


def _kept(name: str, title: str, given: argparse.Namespace) -> Kept:
    return Kept(given.kept, f"{name}.{title.replace(' ', '-')}", given.as_kept, seed=given.seed)


def as_kept(name: str, truth: dict[str, Way], given: argparse.Namespace) -> dict[str, Way]:
    """The ways of which jobs are kept, over as many as there are: nothing is left to play."""
    counts = {title: len(_kept(name, title, given).jobs) for title in truth}
    return {title: way._replace(trials=counts[title]) for title, way in truth.items() if counts[title]}


def write(name: str, given: argparse.Namespace) -> None:
    """What one machine has in the page: its table, and its rows of what is saved."""
    adviser = setups.Setups(Bench(loading.load(name)))
    by_truth = [
        {title: figures(name, title, way, adviser, given) for title, way in truth.items()}
        for every in ways(adviser, name, given).values()
        for truth in [as_kept(name, every, given) if given.as_kept else every]
    ]
    asked = trials.Asked(adviser.bench.machine, given.seed)
    known = compare.told_for_nothing(trials.Rehearsal(adviser, asked), given.count)
    played_at = {title: _kept(name, title, given).under["commit"] for played in by_truth for title in played}
    pages.write(PAGE, name, table(by_truth, known, played_at))
    pages.write_rows(PAGE, SAVING, SAVING_HEAD, 3, savings(name, by_truth[0], known), whole=[name])


def table(by_truth: Sequence[Played], known: Sequence[float], played_at: dict[str, str]) -> str:
    """The rows of one machine. known: minutes of each job with its fault told for nothing; played_at: the commit of the
    code with which each way was played."""
    compared = (found for played in by_truth if played for found in compare.compare(played))
    rows = [row(found, played_at[found.name]) for found in compared]
    rows.append(f"| the fault told for nothing | {len(known)} | {sum(known) / len(known):.1f} |" + "  |" * 9)
    return HEADER + "\n".join(rows) + "\n"


def savings(name: str, played: Played, known: Sequence[float]) -> dict[pages.Cells, pages.Cells]:
    """What each way that computes its steps saves against each fixed order, and many steps ahead against one; each pair
    on the jobs that both have played. known: as for `table`."""
    orders = [title for title in played if title not in (ONE, MANY)]
    mine = [way for way in (ONE, MANY) if way in played]
    pairs = [*((way, order) for way in mine for order in orders), *([(MANY, ONE)] if len(mine) > 1 else ())]
    rows: dict[pages.Cells, pages.Cells] = {}
    for way, other in pairs:
        jobs = min(len(played[way]), len(played[other]))
        if jobs:
            rows[name, way, other] = (str(jobs), *_saved(played[way][:jobs], played[other][:jobs], known[:jobs]))
    return rows


def _saved(way: Sequence[Figures], other: Sequence[Figures], known: Sequence[float]) -> Iterator[str]:
    """Minutes of both, what is saved and the ceiling, then the same with what was in vain."""
    for minutes, against in (
        ([job.minutes for job in way], [job.minutes for job in other]),
        ([job.minutes + job.in_vain for job in way], [job.minutes + job.in_vain for job in other]),
    ):
        found, ceiling = saved(minutes, against), saved(known, against)
        yield from (f"{found.minutes:.1f}", f"{found.against:.1f}", _share(found), _share(ceiling))


def _share(found: Saving) -> str:
    """Per cent with the 95 % interval."""
    return f"{100 * found.share:.1f} % ± {100 * 1.96 * found.error:.1f}"


def row(found: compare.Compared, played_at: str) -> str:
    """One way of working as a row of the table."""
    first = found.name.startswith(ONE)
    cells = [
        found.name, found.trials, f"{found.minutes:.1f}", "" if first else _more(found.more, found.error),
        f"{found.in_all:.1f}", "" if first else _more(found.more_in_all, found.error_in_all), _right(found),
        f"{found.needless:.3f}", f"{found.steps:.1f}", f"{found.live:.2f}", found.unsafe, played_at,
    ]  # fmt: skip
    return "| " + " | ".join(map(str, cells)) + " |"


def _more(mean: float, error: float) -> str:
    """A paired difference with its 95 % interval."""
    return f"{mean:+.1f} ± {1.96 * error:.1f}"


def _right(found: compare.Compared) -> str:
    """Per cent with the 95 % interval."""
    return f"{100 * found.right_first:.1f} % ({100 * found.right_low:.1f} to {100 * found.right_high:.1f})"


def main() -> None:
    """The command."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("machines", nargs="*", default=MACHINES)
    asked.add_argument("--count", type=int, default=100)
    asked.add_argument("--orders", type=int, default=100, help="trials of each fixed order")
    asked.add_argument("--off", type=int, default=0, help="trials whose truth is not the model")
    asked.add_argument("--kept", type=Path, help="folder of the jobs played")
    asked.add_argument("--as-kept", action="store_true", help="play no more: tables of the jobs kept so far")
    asked.add_argument("--workers", type=int, default=2)
    asked.add_argument("--seed", type=int, default=0)
    given = asked.parse_args()
    if given.as_kept:
        given.kept = given.kept or PLAYED
    for name in given.machines:
        write(name, given)


if __name__ == "__main__":
    main()
