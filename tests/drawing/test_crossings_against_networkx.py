"""Crossings and bends of 300 random netlists.

networkx is the judge of which can be drawn without a crossing, an integer program of how few bends any drawing has.
"""

from __future__ import annotations

import pytest

from halfsplit.drawing import check, wiring
from halfsplit.drawing.sheet import Sheet
from tests.depth import tried
from tests.drawing import bend_bound, netlists

SEEDS = 300
BATCH = 20


@pytest.mark.parametrize("start", range(0, tried(40, SEEDS), BATCH))
def test_random_netlists(start: int) -> None:
    """Read back without a finding; no crossing where the nets are planar, else as few as any drawing of them has.

    At most half a bend an element; a few small netlists cannot be drawn so, and have then as few as any drawing has.
    """
    for seed in range(start, start + BATCH):
        sheet, bridges = netlists.netlist(seed)
        picture = wiring.across(sheet)
        assert check.findings(picture.svg, sheet) == [], f"seed {seed}"
        reading = check.read(picture.svg)
        crossings, bends = len(check.crossings(reading)), check.bends(reading)
        assert crossings == netlists.least_crossings(sheet, crossings), f"seed {seed}"
        assert crossings <= bridges, f"seed {seed}"
        assert bends <= max(0.5 * len(sheet.elements), _least_bends(sheet, bends)), f"seed {seed}"


def _least_bends(sheet: Sheet, bends: int) -> int:
    """The proven bound, computed only where half a bend an element is exceeded."""
    few = bends <= 0.5 * len(sheet.elements)
    return bends if few else bend_bound.least_bends(sheet, netlists.planar(sheet))


def test_the_random_netlists_are_worth_the_trouble() -> None:
    """Among them are planar and non-planar ones, and some of nearly sixty elements."""
    found = [netlists.netlist(seed)[0] for seed in range(SEEDS)]
    planar = [netlists.planar(sheet) for sheet in found]
    assert 10 <= planar.count(False) <= 100
    assert max(len(sheet.elements) for sheet in found) >= 58
