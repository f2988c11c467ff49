"""Boxes of real text in a real browser: what our own widths promise is what a reader sees."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any, Literal

import pytest
from playwright.sync_api import Browser, Page, ViewportSize, sync_playwright

from halfsplit.drawing import circuit, wiring
from tests.conftest import find_judge
from tests.drawing import netlists, panels, samples

BOXES = """() => [...document.querySelectorAll('svg.drawing text, svg.drawing rect.chip, svg.drawing path.wire')]
    .filter(node => !node.closest('.wire-chip') || node.tagName == 'rect')
    .filter(node => !node.closest('.symbol'))
    .map(node => {
        const b = node.getBoundingClientRect();
        return {what: node.tagName + ' ' + (node.textContent || node.getAttribute('d') || ''),
                wire: node.tagName == 'path', left: b.left, top: b.top, right: b.right, bottom: b.bottom};
    })"""

TOUCHED = """() => [...document.querySelectorAll('.symbol')].map(node => {
    const b = node.querySelector('.touch').getBoundingClientRect();
    const hit = document.elementFromPoint((b.left + b.right) / 2, b.bottom - 3);
    const symbol = hit && hit.closest('.symbol');
    return [node.dataset.element, symbol && symbol.dataset.element];
})"""

SIZES = "() => [...document.querySelectorAll('text')].map(node => parseFloat(getComputedStyle(node).fontSize))"

FILL = "getComputedStyle(document.querySelector('{}')).fill"

CIRCUITS = [("live dryer", "heater"), ("live dryer", "motor"), ("refrigerator", "compressor")]
SCHEMES = [("light", "", False), ("dark", "", True), ("dark", "light", False), ("light", "dark", True)]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Chromium without a window; skipped, saying so, where it is not installed."""
    path = find_judge("chromium")
    with sync_playwright() as play:
        found = play.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-background-networking"])
        yield found
        found.close()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """An empty page."""
    found = browser.new_page(viewport={"width": 1600, "height": 1200})
    yield found
    found.close()


def _shown(page: Page, picture: str) -> list[dict[str, Any]]:
    page.set_content(f"<body style='margin:0'>{picture}</body>")
    boxes: list[dict[str, Any]] = page.evaluate(BOXES)
    return boxes


def _slim(box: dict[str, Any]) -> tuple[float, float, float, float]:
    """A box without the room that a line of text has over and under its signs, and half a wire's width more."""
    if box["wire"]:
        return box["left"] - 0.7, box["top"] - 0.7, box["right"] + 0.7, box["bottom"] + 0.7
    if box["what"].startswith("text"):
        tall = box["bottom"] - box["top"]
        return box["left"], box["top"] + 0.17 * tall, box["right"], box["bottom"] - 0.19 * tall
    return box["left"], box["top"], box["right"], box["bottom"]


def _overlaps(boxes: list[dict[str, Any]]) -> list[str]:
    """Pairs that lie on each other; a chip lies on its wire, and wires meet, by right."""
    found = []
    for one, two in combinations(boxes, 2):
        kinds = {one["what"].split()[0], two["what"].split()[0]}
        if kinds in ({"path"}, {"path", "rect"}):
            continue
        (a, b, c, d), (e, f, g, h) = _slim(one), _slim(two)
        if a < g - 0.3 and e < c - 0.3 and b < h - 0.3 and f < d - 0.3:
            found.append(f"{one['what']} on {two['what']}")
    return found


def _outside(boxes: list[dict[str, Any]], width: float, height: float) -> list[str]:
    return [b["what"] for b in boxes if b["left"] < 0 or b["top"] < 0 or b["right"] > width or b["bottom"] > height]


@pytest.mark.parametrize("name", samples.MACHINES)
@pytest.mark.parametrize("way", ["across", "down"])
def test_nothing_of_a_machine_lies_on_anything(page: Page, name: str, way: str) -> None:
    """Texts, chips and wires of a whole machine keep clear of each other and of the edge of the page."""
    picture = (wiring.across if way == "across" else wiring.down)(samples.MACHINES[name]())
    boxes = _shown(page, picture.svg)
    assert len(boxes) > 20
    assert _overlaps(boxes) == []
    assert _outside(boxes, picture.width, picture.height) == []


@pytest.mark.parametrize(("name", "part"), CIRCUITS)
def test_nothing_of_a_circuit_lies_on_anything(page: Page, name: str, part: str) -> None:
    """The same for the circuit of one load, on a phone's width."""
    picture = circuit.drawn(samples.MACHINES[name](), part)
    boxes = _shown(page, picture.svg)
    assert _overlaps(boxes) == []
    assert _outside(boxes, circuit.PHONE, picture.height) == []


@pytest.mark.parametrize("seed", [2, 3, 5, 8, 13, 21])
def test_nothing_of_a_random_netlist_lies_on_anything(page: Page, seed: int) -> None:
    """The same for random netlists."""
    picture = wiring.across(netlists.netlist(seed)[0])
    boxes = _shown(page, picture.svg)
    assert _overlaps(boxes) == []
    assert _outside(boxes, picture.width, picture.height) == []


@pytest.mark.parametrize("name", panels.PANELS)
def test_nothing_of_a_panel_lies_on_anything(page: Page, name: str) -> None:
    """The same for the words of the pictures beside the wiring."""
    assert _overlaps(_shown(page, panels.PANELS[name]())) == []


def test_text_is_never_smaller_than_eight_pixels(page: Page) -> None:
    """Text is drawn as text, and none is too small to read."""
    _shown(page, circuit.drawn(samples.dryer(), "motor").svg)
    sizes = page.evaluate(SIZES)
    assert min(sizes) >= 8


@pytest.mark.parametrize(("scheme", "marker", "dark"), SCHEMES)
def test_dark_follows_the_reader_unless_the_page_decides(
    browser: Browser, scheme: str, marker: str, dark: bool
) -> None:
    """The reader's preference darkens a picture; the class light or dark on the page overrules it."""
    context = browser.new_context(color_scheme="dark" if scheme == "dark" else "light")
    page = context.new_page()
    page.set_content(f"<html class='{marker}'><body>{wiring.across(samples.water_heater()).svg}</body></html>")
    fills = [page.evaluate(FILL.format(name)) for name in (".page", "text.part")]
    context.close()
    shades = [sum(int(part) for part in fill[4:-1].split(",")) for fill in fills]
    assert (shades[0] < shades[1]) is dark
    assert abs(shades[0] - shades[1]) > 500


@pytest.mark.parametrize(("scheme", "dark"), [("light", False), ("dark", True)])
def test_a_picture_that_is_a_page_of_its_own_follows_the_reader(
    browser: Browser, tmp_path: Path, scheme: Literal["light", "dark"], dark: bool
) -> None:
    """Opened as a file, with no page around it, a picture is as dark as the reader's screen."""
    place = tmp_path / "picture.svg"
    place.write_text(wiring.down(samples.starter()).svg, encoding="utf-8")
    context = browser.new_context(color_scheme=scheme)
    page = context.new_page()
    page.goto(place.as_uri())
    fills = [page.evaluate(FILL.format(name)) for name in (".page", "text.part")]
    context.close()
    shades = [sum(int(part) for part in fill[4:-1].split(",")) for fill in fills]
    assert (shades[0] < shades[1]) is dark


@pytest.mark.parametrize(("wide", "mobile"), [(390, True), (1280, False)])
def test_a_circuit_that_is_a_page_of_its_own_is_read_on_a_phone(
    browser: Browser, tmp_path: Path, wide: int, mobile: bool
) -> None:
    """A phone lays it on a page of its own width, so that the circuit has to fill that; a desk shows it as it is."""
    place, picture = tmp_path / "picture.svg", circuit.drawn(samples.dryer(), "motor")
    place.write_text(picture.svg, encoding="utf-8")
    size: ViewportSize = {"width": wide, "height": 844}
    context = browser.new_context(viewport=size, screen=size, is_mobile=mobile)
    page = context.new_page()
    page.goto(place.as_uri())
    shown = page.evaluate("document.documentElement.getBoundingClientRect().width")
    laid = page.evaluate("innerWidth")
    context.close()
    assert shown == pytest.approx(laid if mobile else picture.width, abs=1)


def test_parts_and_terminals_can_be_touched(page: Page) -> None:
    """What lies under a finger on a symbol says which part and element it is."""
    _shown(page, wiring.across(samples.water_heater()).svg)
    found = page.evaluate(TOUCHED)
    assert found
    assert [key for key, hit in found if key != hit] == []
