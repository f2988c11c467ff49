"""Boxes of real text of the library's pictures in a real browser."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, sync_playwright

from halfsplit.drawing import circuit, wiring
from halfsplit.machine import library
from halfsplit.service import beside, drawing, machines
from tests.conftest import find_judge
from tests.drawing import test_boxes_against_chromium as boxes
from tests.service import pictures

LOADS = [
    ("vented-dryer", "heater"),
    ("vented-dryer", "motor"),
    ("vented-dryer-3-wire", "drum lamp"),
    ("water-heater", "lower element"),
    ("refrigerator", "compressor"),
    ("refrigerator", "defrost heater"),
]


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    """A page of Chromium without a window; skipped, saying so, where it is not installed."""
    path = find_judge("chromium")
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-background-networking"])
        yield browser.new_page(viewport={"width": 1600, "height": 1600})
        browser.close()


def _usual(name: str) -> str:
    return next(iter(machines.load(name).settings))


@pytest.mark.parametrize("way", drawing.WAYS)
@pytest.mark.parametrize("name", library.names())
def test_nothing_of_a_machine_lies_on_anything(page: Page, name: str, way: str) -> None:
    """Texts, chips and wires of a whole machine keep clear of each other and of the edge of the page."""
    picture = drawing.WAYS[way](pictures.sheet(name, _usual(name), house=way == "down" or None))
    shown = boxes._shown(page, picture.svg)
    assert len(shown) > 20
    assert boxes._overlaps(shown) == []
    assert boxes._outside(shown, picture.width, picture.height) == []


@pytest.mark.parametrize("name", library.names())
def test_nothing_of_an_isolated_machine_lies_on_anything(page: Page, name: str) -> None:
    """The same while the machine is isolated, its plug or breaker drawn open."""
    picture = wiring.across(pictures.sheet(name, isolated=True))
    assert boxes._overlaps(boxes._shown(page, picture.svg)) == []


@pytest.mark.parametrize(("name", "part"), LOADS)
def test_nothing_of_a_circuit_lies_on_anything(page: Page, name: str, part: str) -> None:
    """The same for the circuit of one load, on a phone's width."""
    picture = circuit.drawn(pictures.sheet(name, _usual(name), house=True), part)
    shown = boxes._shown(page, picture.svg)
    assert boxes._overlaps(shown) == []
    assert boxes._outside(shown, circuit.PHONE, picture.height) == []


@pytest.mark.parametrize("name", library.names())
def test_nothing_of_the_bays_lies_on_anything(page: Page, name: str) -> None:
    """The same for the words of the bays."""
    assert boxes._overlaps(boxes._shown(page, beside.bays(machines.load(name))["svg"])) == []


@pytest.mark.parametrize(("name", "part"), [("vented-dryer", "timer"), ("refrigerator", "defrost timer")])
def test_nothing_of_a_chart_lies_on_anything(page: Page, name: str, part: str) -> None:
    """The same for the words of a contact chart."""
    assert boxes._overlaps(boxes._shown(page, beside.chart(machines.load(name), part)["svg"])) == []
