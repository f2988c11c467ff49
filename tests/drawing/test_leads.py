"""The two leads of the meter are seen apart, neither runs along the other, and they hide no words."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from halfsplit.drawing import check, circuit, wiring
from halfsplit.drawing.sheet import Element, Lead, Sheet
from halfsplit.machine import library
from halfsplit.service import machines
from tests.depth import some
from tests.drawing import samples, shut_in
from tests.service import pictures

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


@pytest.mark.parametrize("element", some(DRYER.elements, 4), ids=lambda element: str(element.key))
def test_leads_across_one_element_are_two_lines(element: Element) -> None:
    """On the whole machine both ways, and in the circuit of the part."""
    leads = _with_leads(DRYER, element)
    whole = [wiring.across(leads).svg, wiring.down(leads).svg]
    assert all(_lead(svg, colour) for svg in whole for colour in ("red", "black"))
    for svg in (*whole, circuit.drawn(leads, element.part).svg):
        assert not any(_along(one, two) for one in _lead(svg, "red") for two in _lead(svg, "black"))


@pytest.mark.parametrize("name", library.names())
def test_a_lead_lies_on_no_words(name: str) -> None:
    """Of leads across an element, down the page and in its circuit; across but where no way is free."""
    sheet = pictures.sheet(name, next(iter(machines.load(name).settings)))
    for element in some(sheet.elements, 1):
        leads = _with_leads(sheet, element)
        small = circuit.drawn(leads, element.part)
        assert small.width <= circuit.PHONE
        for picture in (wiring.down(leads), small):
            assert list(check.leads(check.read(picture.svg))) == [], element.key
        across = wiring.across(leads).svg
        assert set(check.leads(check.read(across))) == set(shut_in.unavoidable(across)), element.key


def test_words_under_a_lead_are_found() -> None:
    """A lead that is moved over words, by its line or by its tip alone, is found; so is one off the page."""
    picture = circuit.drawn(_with_leads(DRYER, DRYER.elements[0]), DRYER.elements[0].part).svg
    reading = check.read(picture)
    assert list(check.leads(reading)) == []
    word, (lead, *_) = reading.texts[-1], reading.leads
    middle, far = ((word.left + word.right) / 2, (word.top + word.bottom) / 2), (word.right + 90, word.top - 90)
    beside = (word.left - 2.0, word.bottom + 5)
    for points, says in (
        ([far, (far[0], middle[1]), (word.left - 40, middle[1])], "lies on text"),
        ([far, middle], "lies on text"),
        ([(beside[0], beside[1] - 60), beside], "lies on text"),
        ([(beside[0] - 3, beside[1] - 60), (beside[0] - 3, beside[1])], ""),
        ([(-5.0, 3.0), (3.0, 3.0)], "is off the page"),
    ):
        changed = replace(reading, texts=(word,), chips=(), leads=(replace(lead, points=tuple(points)),))
        assert says in "".join(check.leads(changed))
        assert bool(says) == bool(list(check.leads(changed)))
