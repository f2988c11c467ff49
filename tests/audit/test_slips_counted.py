"""Slips planted at random places in good files: how many of those that matter are found, and placed.

Judges: the hand that planted them, and the volts that the loads get, which say whether a slip matters.
"""

from __future__ import annotations

import pytest

from tests.audit import counting, slips
from tests.depth import tried
from tools import pages

SOME = {"vented-dryer": 1, "refrigerator": tried(2, 4), "water-heater": tried(2, 4)}
LEAST = {
    "wire moved": 0.8,
    "wires exchanged": 0.7,
    "wire forgotten": 1.0,
    "mark overlooked": 0.5,
    "mark too many": 0.3,
    "supply exchanged": 1.0,
    "seen wrong": 0.9,
}
"""Share of the slips that matter which is found at least; what a file does not say, nothing can find."""


@pytest.mark.parametrize("kind", slips.SLIPS)
def test_slips_that_matter_are_found_and_placed(kind: str) -> None:
    """Of the slips of a kind that change what some load gets, this share is found, and nearly all of those placed."""
    found = counting.count(kind, SOME)
    assert found.planted >= 1
    assert found.found >= LEAST[kind] * found.matter, found.missed
    assert found.placed >= 0.75 * found.found, found.missed


def test_harmless_slips_change_nothing() -> None:
    """The two wires of a lamp on each other's terminals are a slip that matters to nothing, and counted so."""
    good = counting.goods()["refrigerator"]
    found = [s for s in slips.SLIPS["wires exchanged"](good) if "food lamp.1 and food lamp.2" in s.what]
    assert [counting.matters(good, slip) for slip in found] == [False]


def test_the_page_holds_the_table_that_is_counted() -> None:
    """Its place is there, with a row for every kind of slip and the cells that are counted."""
    page = counting.PAGE.read_text(encoding="utf-8")
    found = pages.rows(page, counting.TABLE, 1)
    assert [kind for (kind,) in found] == [*slips.SLIPS]
    counted = {}
    for (kind,), cells in found.items():
        planted, matter, known, placed = map(int, cells)
        assert planted >= matter >= known >= placed
        counted[kind] = counting.Count(planted, matter, known, placed)
    assert pages.put(page, counting.TABLE, counting.table(counted)) == page
