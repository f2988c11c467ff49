"""The page of a plan in a real browser: on a phone, in the dark, on paper."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from halfsplit.cli import as_page
from halfsplit.cli.lines import NESTED, Block, Line, ticked
from tests.cli.words import run
from tests.conftest import find_judge

PHONE = {"width": 390, "height": 844}
A4 = {"width": 680, "height": 1009}
"""An A4 sheet within margins of 15 mm, px."""
LONG = "the terminal block behind the rear cover of the machine " * 4
TITLE = "A machine, with a long title: before the visit"
BLOCKS = (
    Block((Line("cut-off: open", "    18 % "),), "LIKELIEST CAUSES"),
    Block((Line(LONG, " 1 "), Line(f"yes (4.5 %): {LONG}", f"{NESTED} [ ]"), Line("Saves 4.2 min.", NESTED))),
    Block((Line("one-shot cut-off", "[ ]", ("     8.2 %", " not in file", "    12 min")), Line("x" * 90))),
    Block((Line(LONG), Line(""), Line(LONG, "[ ]", ("    40 %", "  go to 2  "))), "LIVE, 2.1 min, all begin here", 1),
    Block((ticked(LONG, "12 "),), "20 s, 8.8 % of such jobs come here, from 1", 2),
)
OUTSIDE = """() => [...document.querySelectorAll('h1, h2, p, span, a')]
    .filter(node => {
        const b = node.getBoundingClientRect();
        return b.left < 0 || b.right > innerWidth || node.scrollWidth > node.clientWidth && node.clientWidth > 0;
    }).map(node => node.textContent)"""
OVER = """() => [...document.querySelectorAll('p')].flatMap(line => {
    const found = [...line.children].map(node => node.getBoundingClientRect());
    return found.slice(1).filter((box, n) => box.left < found[n].right).map(() => line.textContent);
})"""
SIZES = (
    "() => [...document.querySelectorAll('h1, h2, span, a')].map(node => parseFloat(getComputedStyle(node).fontSize))"
)
INK = "() => getComputedStyle(document.body).color"
BLACK, WHITE = "rgb(0, 0, 0)", "rgb(255, 255, 255)"
Open = Callable[..., Page]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Chromium without a window; skipped, saying so, where it is not installed."""
    path = find_judge("chromium")
    with sync_playwright() as play:
        yield play.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-background-networking"])


@pytest.fixture
def opened(browser: Browser) -> Iterator[Open]:
    """Shows HTML in a browser context as it is asked for."""
    contexts = []

    def show(html: str, **how: object) -> Page:
        contexts.append(browser.new_context(**how))  # type: ignore[arg-type]
        page = contexts[-1].new_page()
        page.set_content(html)
        return page

    yield show
    for context in contexts:
        context.close()


def _is_read_on_a_phone(page: Page) -> None:
    assert page.evaluate("innerWidth") == PHONE["width"]
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert page.evaluate(OUTSIDE) == []
    assert page.evaluate(OVER) == []
    assert min(page.evaluate(SIZES)) >= 16


def test_every_kind_of_line_is_read_on_a_phone(opened: Open) -> None:
    """No letter is smaller than 16 px, nothing is cut or lies on another, the page is not swiped sideways."""
    _is_read_on_a_phone(opened(as_page.page(TITLE, BLOCKS), viewport=PHONE, is_mobile=True))


def test_a_plan_is_read_on_a_phone(
    opened: Open, findings: Callable[[str], str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same for a plan as it is written, boxes and all."""
    place = tmp_path / "plan.html"
    complaint = findings("- symptom: {what: water gets hot, value: no}\n")
    run(capsys, "visit", "water-heater", complaint, "--tree", "--boxes", "9", "-o", str(place))
    page = opened(place.read_text("utf-8"), viewport=PHONE, is_mobile=True)
    assert 4 < page.locator("section.box").count() <= 9
    _is_read_on_a_phone(page)


def test_a_unit_stands_in_the_line_of_its_number(opened: Open) -> None:
    """However narrow the page, `4.5 %` is not broken."""
    page = opened(as_page.page("T", [Block((Line("4.5 % 12 min 9.2 kΩ"),))]), viewport={"width": 30, "height": 300})
    assert page.locator(".text").evaluate("node => node.innerText") == "4.5\xa0% 12\xa0min 9.2\xa0kΩ"


PAINTED = """all => all.map(node => {
    const style = getComputedStyle(node);
    return [node.textContent, style.color, style.backgroundColor, style.printColorAdjust];
})"""


def luminance(colour: str) -> float:
    """The relative luminance of `rgb(r, g, b)` (WCAG 2.1)."""
    parts = [int(part) / 255 for part in colour.removeprefix("rgb(").removesuffix(")").split(",")]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_signal_words_stand_out(opened: Open, scheme: str) -> None:
    """At the head of a line and within one, on the screen and on paper: each on a ground of its own, and to be read on
    it (contrast 4.5 or more, WCAG 2.1, 1.4.3); no other word is painted."""
    said = "DANGER: Live parts. Set the meter. WARNING: scalds. CAUTION: Sharp edges. NOTICE: may scratch."
    blocks = [
        Block((Line(said), Line("burnt, 2.0 %: STOP: a burnt receptacle.", "[ ]"), Line("No danger: none.")), "", 1)
    ]
    page = opened(as_page.page("DANGER: a title", blocks), color_scheme=scheme)
    for media in ("screen", "print"):
        page.emulate_media(media=media, color_scheme=scheme)  # type: ignore[arg-type]
        painted = page.locator("b").evaluate_all(PAINTED)
        assert [word for word, *_ in painted] == ["DANGER:", "WARNING:", "CAUTION:", "NOTICE:", "STOP:"]
        assert len({ground for _, _, ground, _ in painted}) == 4
        assert {adjust for *_, adjust in painted} == {"exact"}
        for _, ink, ground, _ in painted:
            dark, light = sorted((luminance(ink), luminance(ground)))
            assert (light + 0.05) / (dark + 0.05) >= 4.5


@pytest.mark.parametrize(("scheme", "ink"), [("light", BLACK), ("dark", WHITE)])
def test_it_follows_the_reader_into_the_dark_but_not_the_printer(opened: Open, scheme: str, ink: str) -> None:
    """In the dark letters are light, on paper never."""
    page = opened(as_page.page(TITLE, BLOCKS), color_scheme=scheme)
    assert page.evaluate(INK) == ink
    page.emulate_media(media="print", color_scheme=scheme)  # type: ignore[arg-type]
    assert page.evaluate(INK) == BLACK


def test_it_fits_on_paper(opened: Open) -> None:
    """Ten points, nothing beside the sheet, blocks kept whole, a head with what stands under it."""
    page = opened(as_page.page(TITLE, [Block((), "ASK"), *BLOCKS]), viewport=A4)
    page.emulate_media(media="print")
    assert page.evaluate(OUTSIDE) == []
    assert page.locator(".text").first.evaluate("node => getComputedStyle(node).fontSize") == "13.3333px"
    kept = page.locator("section").evaluate_all("all => all.map(node => getComputedStyle(node).breakInside)")
    assert set(kept) == {"avoid"}
    assert page.locator("section").first.evaluate("node => getComputedStyle(node).breakAfter") == "avoid"
