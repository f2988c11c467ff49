"""Crossings of 300 random netlists, with networkx as the judge of which can be drawn without any."""

from __future__ import annotations

import pytest

from halfsplit.drawing import check, wiring
from tests.drawing import netlists

SEEDS = 300
BATCH = 20


@pytest.mark.parametrize("start", range(0, SEEDS, BATCH))
def test_random_netlists(start: int) -> None:
    """Read back without a finding; no crossing where the nets are planar, else no more than bridges were added."""
    for seed in range(start, start + BATCH):
        sheet, bridges = netlists.netlist(seed)
        picture = wiring.across(sheet)
        assert check.findings(picture.svg, sheet) == [], f"seed {seed}"
        crossings = len(check.crossings(check.read(picture.svg)))
        assert crossings <= (0 if netlists.planar(sheet, with_house=False) else bridges), f"seed {seed}"


def test_the_random_netlists_are_worth_the_trouble() -> None:
    """Among them are planar and non-planar ones, and some of nearly sixty elements."""
    found = [netlists.netlist(seed)[0] for seed in range(SEEDS)]
    planar = [netlists.planar(sheet) for sheet in found]
    assert 10 <= planar.count(False) <= 100
    assert max(len(sheet.elements) for sheet in found) >= 58
