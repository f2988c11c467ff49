#!/usr/bin/env python3
"""Compares ways of working by rehearsal on the library's machines, and writes docs/explanation/planning-on-machines.md.

    .venv/bin/python tools/write_plan_comparison.py [--count N] [--orders N] [--off N] [--taken N] [--kept FOLDER]
        [MACHINE...]
    .venv/bin/python tools/write_plan_comparison.py --only WAY [--count N] --kept FOLDER [MACHINE...]

Many steps ahead, one step ahead, the guide where what it offers is taken, and the fixed orders that are kept beside the
machines. Each plays the same jobs, guide and fixed orders the first so many of them; from the same jobs what is saved,
and the ceiling of all saving. The rows of machines that are not named stay as they were. `--off`: so many jobs whose
truth is not the model. `--only`: jobs of this way alone are played and kept, and nothing is written. `--kept`: jobs are
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

from benchmarks import as_offered  # noqa: E402  (after the number of threads is set)
from halfsplit.evidence.weighing import Bench  # noqa: E402
from halfsplit.machine import loading  # noqa: E402
from halfsplit.plan import ahead, score, setups  # noqa: E402
from halfsplit.rehearse import compare, order, play, trials  # noqa: E402
from halfsplit.rehearse import drawing_lots as lots  # noqa: E402
from halfsplit.rehearse.compare import Figures  # noqa: E402
from halfsplit.rehearse.saving import Saving, saved  # noqa: E402
from tools import machines, pages  # noqa: E402
from tools.kept import PLAYED, Kept  # noqa: E402

PAGE = ROOT / "docs" / "explanation" / "planning-on-machines.md"
ORDERS = ROOT / "src" / "halfsplit" / "machines" / "orders"
MACHINES = machines.in_order()
ONE, MANY, OFF = "one step ahead", "many steps ahead", ", truth off the model"
GUIDE = "the guide, what it offers taken"
COMPUTED = (ONE, MANY, GUIDE)
"""The ways that compute their steps; those after the first are held against it too."""
KNOWN = "the fault told for nothing"
HEADER = (
    "| way of working | trials | minutes | against the first | with what was in vain | against the first "
    "| first repair right | needless parts | steps | live | unsafe | played at |\n" + "|---" + 11 * "|---:" + "|\n"
)
RESULT = "result"
RESULT_HEAD = (
    "machine", "jobs", "minutes", "saved of front to back", "ceiling", "saved of cheapest first", "ceiling",
    "first repair right", "needless parts in 100 jobs", "truth off the model: jobs", "first repair right",
    "needless parts in 100 jobs",
)  # fmt: skip
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


def titles(name: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The names of the ways of working on a machine: where the truth is the model, and where it is not."""
    return (*COMPUTED, *_orders(name)), (ONE + OFF, MANY + OFF)


def _orders(name: str) -> dict[str, Path]:
    """The fixed orders that are kept beside the machines, by what they are called in the tables."""
    return {
        path.name.removeprefix(f"{name}.").removesuffix(".yaml").replace("-", " "): path
        for path in sorted(ORDERS.glob(f"{name}.*.yaml"))
    }


def ways(adviser: score.Adviser, name: str, given: argparse.Namespace) -> dict[str, Way]:
    """Every way of working on a machine by its name, none off the model where no job of that is asked for."""
    one, many = play.as_advised(adviser), play.as_advised(ahead.Ahead(adviser))
    guide = as_offered.taken(adviser)
    found = {ONE: Way(one, given.count), MANY: Way(many, given.count), GUIDE: Way(guide, given.taken)}
    for title, path in _orders(name).items():
        steps = order.read(path.read_text(encoding="utf-8"), path.name, adviser.bench.machine)
        found[title] = Way(order.followed(adviser, steps), min(given.count, given.orders))
    off = {f"{way}{OFF}": Way(choose, given.off, lots.NOT_THE_MODEL) for way, choose in ((ONE, one), (MANY, many))}
    return found | (off if given.off else {})


def figures(name: str, title: str, way: Way, adviser: score.Adviser, given: argparse.Namespace) -> list[Figures]:
    """The jobs of one way, those played before among them."""
    asked = trials.Asked(adviser.bench.machine, given.seed, way.departure)
    rehearsal = compare.Following(trials.Rehearsal(adviser, asked), way.choose)
    kept = _kept(name, title, given)
    for played in trials.run(rehearsal, way.trials, given.workers, first=len(kept.jobs)):
        kept.add(Figures.of(played))
        print(f"\r{name}, {title}: {len(kept.jobs)} jobs", end="", file=sys.stderr, flush=True)
    return [Figures(*job) for job in kept.jobs[: way.trials]]


def known(name: str, adviser: score.Adviser, given: argparse.Namespace) -> list[float]:
    """Minutes of each job with its fault told for nothing, those reckoned before among them."""
    kept = _kept(name, KNOWN, given)
    rehearsal = trials.Rehearsal(adviser, trials.Asked(adviser.bench.machine, given.seed))
    for minutes in compare.told_for_nothing(rehearsal, given.count, first=len(kept.jobs)):
        kept.add(minutes)
    return kept.jobs[: given.count]


def _kept(name: str, title: str, given: argparse.Namespace) -> Kept:
    return Kept(given.kept, f"{name}.{title.replace(' ', '-')}", given.as_kept, seed=given.seed)


def anew(name: str, given: argparse.Namespace) -> tuple[Played, list[float]]:
    """All jobs of one machine, played as far as they are not kept, and what each takes with its fault known."""
    adviser = setups.Setups(Bench(loading.load(name)))
    made = {title: way for title, way in ways(adviser, name, given).items() if way.trials}
    played = {title: figures(name, title, way, adviser, given) for title, way in made.items()}
    return played, known(name, adviser, given)


def play_only(name: str, given: argparse.Namespace) -> None:
    """Jobs of one way of working on a machine, played as far as they are not kept."""
    adviser = setups.Setups(Bench(loading.load(name)))
    made = ways(adviser, name, argparse.Namespace(**vars(given) | {"off": given.count}))
    if given.only not in made:
        raise SystemExit(f"--only {given.only}: {name} knows no such way; give one of: {', '.join(made)}.")
    figures(name, given.only, made[given.only]._replace(trials=given.count), adviser, given)


def as_kept(name: str, given: argparse.Namespace) -> tuple[Played, list[float]]:
    """The same as far as it is kept: nothing is played."""
    jobs = {title: _kept(name, title, given).jobs for some in titles(name) for title in some}
    played = {title: [Figures(*job) for job in some] for title, some in jobs.items() if some}
    return played, _kept(name, KNOWN, given).jobs


def write(name: str, given: argparse.Namespace) -> None:
    """What one machine has in the page: its table, and its rows of what is saved."""
    played, least = as_kept(name, given) if given.as_kept else anew(name, given)
    by_truth = [{title: played[title] for title in some if title in played} for some in titles(name)]
    played_at = {title: _kept(name, title, given).under["commit"] for title in (*played, KNOWN)}
    pages.write(PAGE, name, table(by_truth, least, played_at))
    rows = savings(name, by_truth[0], least)
    pages.write_rows(PAGE, SAVING, SAVING_HEAD, 3, rows, whole=[name])
    pages.write_rows(PAGE, RESULT, RESULT_HEAD, 1, {(name,): result(name, played, rows)})


def table(by_truth: Sequence[Played], least: Sequence[float], played_at: dict[str, str]) -> str:
    """The rows of one machine. least: minutes of each job with its fault told for nothing; played_at: the commit of the
    code with which each way was played, and with which that was reckoned."""
    compared = (found for played in by_truth if played for found in compare.compare(played))
    rows = [row(found, played_at[found.name]) for found in compared]
    rows.append(f"| {KNOWN} | {len(least)} | {sum(least) / len(least):.1f} |{8 * '  |'} {played_at[KNOWN]} |")
    return HEADER + "\n".join(rows) + "\n"


def savings(name: str, played: Played, least: Sequence[float]) -> dict[pages.Cells, pages.Cells]:
    """What each way that computes its steps saves against each fixed order, and against one step ahead; each pair on
    the jobs that both have played. least: as for `table`."""
    orders = [title for title in played if title not in COMPUTED]
    mine = [way for way in COMPUTED if way in played]
    pairs = [*((way, order) for way in mine for order in orders), *((way, ONE) for way in mine if way != ONE)]
    rows: dict[pages.Cells, pages.Cells] = {}
    for way, other in pairs:
        jobs = min(len(played[way]), len(played[other]))
        if jobs:
            rows[name, way, other] = (str(jobs), *_saved(played[way][:jobs], played[other][:jobs], least[:jobs]))
    return rows


def result(name: str, played: Played, rows: dict[pages.Cells, pages.Cells]) -> pages.Cells:
    """What one step ahead comes to on a machine, in one row. rows: what is saved, as of `savings`."""
    (found,) = compare.compare({ONE: played[ONE]})
    against = (rows.get((name, ONE, order), ("",) * 5)[3:5] for order in ("front to back", "cheapest first"))
    off = compare.compare({ONE: played[ONE + OFF]}) if ONE + OFF in played else ()
    departed = (cell for one in off for cell in (str(one.trials), _right(one), f"{100 * one.needless:.1f}"))
    shares = (cell for pair in against for cell in pair)
    needless = f"{100 * found.needless:.1f}"
    cells = (str(found.trials), f"{found.minutes:.1f}", *shares, _right(found), needless, *departed)
    return cells + ("",) * (len(RESULT_HEAD) - 1 - len(cells))


def _saved(way: Sequence[Figures], other: Sequence[Figures], least: Sequence[float]) -> Iterator[str]:
    """Minutes of both, what is saved and the ceiling, then the same with what was in vain."""
    for minutes, against in (
        ([job.minutes for job in way], [job.minutes for job in other]),
        ([job.minutes + job.in_vain for job in way], [job.minutes + job.in_vain for job in other]),
    ):
        found, ceiling = saved(minutes, against), saved(least, against)
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
    asked.add_argument("--taken", type=int, default=0, help=f"trials of {GUIDE}")
    asked.add_argument("--only", metavar="WAY", help="play --count jobs of this way alone, and write nothing")
    asked.add_argument("--kept", type=Path, help="folder of the jobs played")
    asked.add_argument("--as-kept", action="store_true", help="play no more: tables of the jobs kept so far")
    asked.add_argument("--workers", type=int, default=2)
    asked.add_argument("--seed", type=int, default=0)
    given = asked.parse_args()
    if given.as_kept:
        given.kept = given.kept or PLAYED
    for name in given.machines:
        if given.only:
            play_only(name, given)
        else:
            write(name, given)


if __name__ == "__main__":
    main()
