"""The two leads of the meter are seen apart: neither runs along the other."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from halfsplit.drawing import circuit, wiring
from halfsplit.drawing.sheet import Element, Lead, Sheet
from tests.drawing import samples

Piece = tuple[tuple[float, float], tuple[float, float]]


def _lead(svg: str, colour: str) -> list[Piece]:
    """Straight pieces of a lead."""
    paths = [n.get("d", "") for n in ElementTree.fromstring(svg).iter() if n.get("class") == f"lead lead-{colour}"]
    pieces: list[Piece] = []
    for path in paths:
        x = y = 0.0
        points = []
        for letter, numbers in re.findall(r"([MLHV])([^MLHV]*)", path):
            values = [float(number) for number in numbers.split()]
            x = values[0] if letter != "V" else x
            y = values[-1] if letter != "H" else y
            points.append((x, y))
        pieces += pairwise(points)
    return pieces


def _along(one: Piece, two: Piece) -> bool:
    """Whether two pieces lie on each other for more than a point."""
    for axis in (0, 1):
        keeps = {round(point[axis]) for piece in (one, two) for point in piece}
        (a, b), (c, d) = (sorted(point[1 - axis] for point in piece) for piece in (one, two))
        if len(keeps) == 1 and min(b, d) - max(a, c) > 0.5:
            return True
    return False


def _with_leads(sheet: Sheet, element: Element) -> Sheet:
    red, black = Lead("red", element.start, "one end"), Lead("black", element.end, "the other end")
    return replace(sheet, leads=(red, black))


DRYER = samples.dryer()


@pytest.mark.parametrize("element", DRYER.elements, ids=lambda element: str(element.key))
def test_leads_across_one_element_are_two_lines(element: Element) -> None:
    """On the whole machine both ways, and in the circuit of the part."""
    leads = _with_leads(DRYER, element)
    whole = [wiring.across(leads).svg, wiring.down(leads).svg]
    assert all(_lead(svg, colour) for svg in whole for colour in ("red", "black"))
    for svg in (*whole, circuit.drawn(leads, element.part).svg):
        assert not any(_along(one, two) for one in _lead(svg, "red") for two in _lead(svg, "black"))
