"""The judge of bends judged: against every choice of directions, and against what was drawn."""

from __future__ import annotations

from itertools import product

import networkx  # type: ignore[import-untyped]
import pytest

from halfsplit.drawing import check, wiring
from halfsplit.drawing.sheet import Rail, Sheet
from tests.drawing import bend_bound, netlists


def _bends(into: int, out: int, railed: bool) -> int:
    """Bends of one bar with so many terminals from either side, as the module says."""
    if into + out < 2:
        return 0
    if railed:
        return 1 - min(into, out, 1)
    return 2 - 2 * min(into, out) if into + out == 2 else 2 - min(into, out, 2)


def _by_trying_all(sheet: Sheet, outside: bool) -> int:
    net_of = sheet.net_of()
    pairs = [(net_of[e.start], net_of[e.end]) for e in sheet.elements if net_of[e.start] != net_of[e.end]]
    rails = {net.name for net in sheet.nets if net.rail}
    left = {net.name for net in sheet.nets if net.rail is Rail.L1}
    fixed = bend_bound.sides(pairs, left, rails - left) if outside else {}
    best = 2 * len(sheet.nets)
    for flips in product((False, True), repeat=len(pairs)):
        arcs = [pair[::-1] if flip else pair for pair, flip in zip(pairs, flips, strict=True)]
        wrong_side = any(flips[i] == bool(first) for i, first in fixed.items())
        if wrong_side or not networkx.is_directed_acyclic_graph(networkx.DiGraph(arcs)):
            continue
        ends = {net: (sum(b == net for _, b in arcs), sum(a == net for a, _ in arcs)) for arc in arcs for net in arc}
        best = min(best, sum(_bends(into, out, net in rails) for net, (into, out) in ends.items()))
    return best


@pytest.mark.parametrize("outside", [True, False])
def test_the_bound_is_that_of_trying_all_directions(outside: bool) -> None:
    """On netlists of up to nine elements the program finds what trying all choices finds."""
    small = [sheet for sheet in (netlists.netlist(seed, most=9)[0] for seed in range(40)) if len(sheet.elements) < 10]
    assert len(small) > 20
    for sheet in small:
        assert bend_bound.least_bends(sheet, outside) == _by_trying_all(sheet, outside)


@pytest.mark.parametrize("seed", range(40))
def test_nothing_is_drawn_with_fewer(seed: int) -> None:
    """No drawing beats the bound: else the bound would be wrong."""
    sheet, _ = netlists.netlist(seed, most=30)
    drawn = check.bends(check.read(wiring.across(sheet).svg))
    assert bend_bound.least_bends(sheet, netlists.planar(sheet)) <= drawn
