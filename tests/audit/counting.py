"""Counts how many slips planted in good files are found, and placed; which of them matter at all.

.venv/bin/python -m tests.audit.counting [so many a kind and machine] [--write]

What was missed or misplaced is named beside the table; with --write the table goes into its page.
"""

from __future__ import annotations

import argparse
import random
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from halfsplit.audit.survey import Survey
from halfsplit.errors import BadInput, Problem
from halfsplit.machine import library, loading
from halfsplit.service import checking
from tests.audit import slips
from tools import pages

PAGE = Path(__file__).parents[2] / "docs/explanation/checking.md"
TABLE = "slips"
HEAD = ("slip", "planted", "matter, or are found", "found", "placed")
FILES = ("vented-dryer", "refrigerator", "water-heater")
ALIKE = 0.02
"""Share of the supply's volts by which some load must get something else for a slip to matter."""


@dataclass
class Count:
    """Of one kind of slip: planted, those that matter, and of these found and placed; what was missed."""

    planted: int = 0
    matter: int = 0
    found: int = 0
    placed: int = 0
    missed: list[str] = field(default_factory=list)


def goods() -> dict[str, slips.Good]:
    """The good files."""
    return {name: slips.Good.of(library.text(name), name) for name in FILES}


def matters(good: slips.Good, slip: slips.Slip) -> bool:
    """Whether the slip is one of a reading, or changes what some load gets in some setting, or trips something."""
    if not slip.parts:
        return True
    try:
        now = Survey(loading.read_sheet(slip.text, "slip"))
    except BadInput:
        return True
    before = Survey(loading.read_sheet("\n".join(good.sheet.lines), "good"))
    other = [a.other != b.other for a, b in zip(now.runs, before.runs, strict=True)]
    apart = np.abs(now.load_volts - before.load_volts).max() > ALIKE * before.supply_volts
    return any(other) or bool(apart)


def placed(slip: slips.Slip, problems: list[Problem]) -> bool:
    """Whether a problem stands on a line of the slip, or names a part that it touches."""
    words = [f"{quote}{part}{end}" for part in slip.parts for quote in ("'", " ") for end in ("'", ".")]
    return any(p.line in slip.lines or any(word in p.message for word in words) for p in problems)


def drawn(kind: str, good: slips.Good, name: str, most: int) -> list[slips.Slip]:
    """Some of the slips of a kind that a file has room for, the same each time."""
    every = list(slips.SLIPS[kind](good))
    return random.Random(f"{kind} {name}").sample(every, min(most, len(every)))


def count(kind: str, most: dict[str, int]) -> Count:
    """Plants some slips of one kind in each file."""
    total = Count()
    for name, good in goods().items():
        for slip in drawn(kind, good, name, most[name]):
            _add(total, name, good, slip)
    return total


def _add(total: Count, name: str, good: slips.Good, slip: slips.Slip) -> None:
    total.planted += 1
    problems = checking.examine_text(slip.text, name)[1]
    if not problems and not matters(good, slip):
        return
    total.matter += 1
    total.found += bool(problems)
    total.placed += placed(slip, problems)
    if not placed(slip, problems):
        total.missed.append(f"{name} {slip.what}")


def table(counted: Mapping[str, Count]) -> str:
    """The table of all kinds."""
    return pages.table(HEAD, {(kind,): _cells(found) for kind, found in counted.items()})


def _cells(found: Count) -> pages.Cells:
    return tuple(map(str, (found.planted, found.matter, found.found, found.placed)))


def main() -> None:
    """Counts, says what was missed or misplaced, and writes the table where that is asked for."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("most", nargs="?", type=int, default=20, help="slips of each kind in each machine")
    asked.add_argument("--write", action="store_true", help="put the table into its page")
    given = asked.parse_args()
    counted = {kind: count(kind, dict.fromkeys(FILES, given.most)) for kind in slips.SLIPS}
    print(table(counted), *(one for found in counted.values() for one in found.missed), sep="\n")
    if given.write:
        pages.write(PAGE, TABLE, table(counted))


if __name__ == "__main__":
    main()
