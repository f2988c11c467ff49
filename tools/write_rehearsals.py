#!/usr/bin/env python3
"""Rehearses machines of the library and writes what was found to docs/explanation/rehearsals.md.

    .venv/bin/python tools/write_rehearsals.py [MACHINE...] [--trials 2000] [--workers 2] [--seed 1]

Each machine is rehearsed twice: with a truth that is the model, and with one that departs from it. A machine's section
is written when it is known, in place of its old one; those of other machines stay. Minutes to an hour a machine.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from halfsplit.evidence.weighing import Bench  # noqa: E402  (after the number of threads is set)
from halfsplit.machine import library, loading  # noqa: E402
from halfsplit.plan.score import Adviser  # noqa: E402
from halfsplit.plan.setups import Setups  # noqa: E402
from halfsplit.rehearse import ambiguity, drawing_lots, trials  # noqa: E402
from halfsplit.rehearse.play import Played  # noqa: E402
from halfsplit.rehearse.summary import summary, wilson  # noqa: E402
from tools import pages  # noqa: E402

PAGE = ROOT / "docs" / "explanation" / "rehearsals.md"
TRUTHS = {
    "the model is true": drawing_lots.AS_THE_MODEL,
    "the truth departs from the model": drawing_lots.NOT_THE_MODEL,
}
MOST_SETS, MOST_NAMES, LEAST_SHARE = 8, 6, 0.0005
"""So many of the sets that nothing tells apart are named, and so many faults of each; no set that would be told as
0.0 %."""


@dataclass(frozen=True)
class Asked:
    """One run of this tool."""

    trials: int
    workers: int
    seed: int

    def command(self, name: str) -> str:
        """What makes the section of a machine again."""
        words = f"--trials {self.trials} --workers {self.workers} --seed {self.seed}"
        return f".venv/bin/python tools/write_rehearsals.py {name} {words}"


def rehearsed(name: str, adviser: Adviser, asked: Asked) -> list[list[Played]]:
    """The jobs of a machine under each truth."""
    made = []
    for truth, departure in TRUTHS.items():
        rehearsal = trials.Rehearsal(adviser, trials.Asked(adviser.bench.machine, asked.seed, departure))
        made.append(list(trials.run(rehearsal, asked.trials, asked.workers, _telling(f"{name}, {truth}"))))
        print(file=sys.stderr)
    return made


def _telling(what: str) -> Callable[[int], None]:
    return lambda done: print(f"\r{what}: {done} jobs", end="", file=sys.stderr, flush=True)


# ---- a machine's section ----------------------------------------------------------------------------------


def section(name: str, adviser: Adviser, jobs: list[list[Played]], asked: Asked) -> str:
    """All that is told of one machine."""
    parts = [
        f"## {name}",
        f"```\n{asked.command(name)}\n```",
        "\n".join(_table(["", *TRUTHS], _figures(jobs))),
        "How sure it said it was of the first repair, and how often that was right:",
        "\n".join(_table(["claimed", *(f"{what}, {t}" for t in TRUTHS for what in ("jobs", "right"))], _sure(jobs))),
        _ambiguity(adviser),
    ]
    return "\n\n".join(parts) + "\n"


def _table(head: Sequence[str], rows: Iterator[Sequence[str]]) -> list[str]:
    return [f"| {' | '.join(row)} |" for row in (head, ["---"] * len(head), *rows)]


def _figures(jobs: list[list[Played]]) -> Iterator[list[str]]:
    found = [summary(played) for played in jobs]
    yield ["jobs", *(str(len(played)) for played in jobs)]
    yield ["first repair right (95 % interval)", *map(_right, jobs)]
    for text, key in (("claims of 90 % or more", "claims"), ("of these right", "claims_right")):
        yield [text, *(_percent(one[key]) for one in found)]
    yield ["wrong though claimed, of all jobs", *(_percent(one["wrong_though_claimed"]) for one in found)]
    for text, key in (("mean", "minutes_mean"), ("half", "minutes_half"), ("nine in ten", "minutes_nine_tenths")):
        yield [f"minutes: {text}", *(f"{_number(one[key]):.0f}" for one in found)]
    for text, key in (("steps", "steps_mean"), ("live steps", "live_steps"), ("needless parts", "needless_parts")):
        yield [f"{text} a job", *(f"{_number(one[key]):.2f}" for one in found)]
    yield ["unsafe steps, all jobs", *(str(one["unsafe_steps"]) for one in found)]
    yield ["faults that the file lacks: hidden, said so", *map(_lacked, jobs)]


def _number(value: object) -> float:
    assert isinstance(value, int | float)
    return value


def _percent(value: object) -> str:
    return f"{100 * _number(value):.1f} %"


def _right(played: Sequence[Played]) -> str:
    right = sum(one.right_first for one in played)
    low, high = wilson(right, len(played))
    return f"{100 * right / max(len(played), 1):.1f} % ({100 * low:.1f} to {100 * high:.1f})"


def _lacked(played: Sequence[Played]) -> str:
    lacked = [one for one in played if one.fault.startswith(drawing_lots.NOT_IN_FILE)]
    return f"{len(lacked)}, {sum(one.said_unknown for one in lacked)}"


def _sure(jobs: list[list[Played]]) -> Iterator[list[str]]:
    """One row for each range of what was claimed that has a job."""
    by_range = [{(row["from"], row["to"]): row for row in _reliability(played)} for played in jobs]
    for low, high in sorted({key for rows in by_range for key in rows}):
        cells = [f"{100 * low:.0f} to {100 * high:.0f} %"]
        for rows in by_range:
            row = rows.get((low, high))
            cells += [f"{row['trials']:.0f}", _percent(row["right"])] if row else ["0", ""]
        yield cells


def _reliability(played: Sequence[Played]) -> list[dict[str, float]]:
    found = summary(played)["reliability"]
    assert isinstance(found, list)
    return found


def _ambiguity(adviser: Adviser) -> str:
    """What nothing that can be found out tells apart though the repairs differ."""
    sets = ambiguity.sets(adviser)
    if not sets:
        return "Every fault that another repair cures can be told from all others."
    share = sum(one.share for one in sets)
    told = [one for one in sets[:MOST_SETS] if one.share >= LEAST_SHARE]
    lines = [f"- {_named(one.faults)} ({100 * one.share:.1f} % of all faults)" for one in told]
    more = f"\n\nand {len(sets) - len(told)} more sets." if len(sets) > len(told) else ""
    head = f"Faults that nothing tells apart though their repairs differ count as one: {len(sets)} sets, "
    return f"{head}{100 * share:.1f} % of all faults by rate:\n\n" + "\n".join(lines) + more


def _named(faults: Sequence[str]) -> str:
    more = f"; and {len(faults) - MOST_NAMES} more" if len(faults) > MOST_NAMES else ""
    return "; ".join(faults[:MOST_NAMES]) + more


# ---- the page ---------------------------------------------------------------------------------------------


def placed(page: str, name: str) -> str:
    """The page with a place for this machine, at its end where it had none."""
    return page if pages.begin(name) in page else f"{page.rstrip()}\n\n{pages.begin(name)}{pages.end(name)}\n"


def main(words: Sequence[str], page: Path = PAGE) -> None:
    """Rehearses what is asked for and writes each section when it is known."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("machine", nargs="*", help="names of the library; without one, all of it")
    for option, usual in (("--trials", 2000), ("--workers", 2), ("--seed", 1)):
        parser.add_argument(option, type=int, default=usual)
    given = parser.parse_args(words)
    asked = Asked(given.trials, given.workers, given.seed)
    for name in given.machine or library.names():
        adviser = Setups(Bench(loading.load(name)))
        text = section(name, adviser, rehearsed(name, adviser, asked), asked)
        page.write_text(pages.put(placed(page.read_text(encoding="utf-8"), name), name, text), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
