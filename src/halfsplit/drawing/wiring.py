"""The wiring of a machine as a picture, across the page or down it: one call from a sheet to SVG.

May know: the whole package. Never solves anything.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit.drawing import cells, channels, emit, linkage, marks, plan, probes, svg, theme, wires
from halfsplit.drawing import sheet as sheets
from halfsplit.drawing.canvas import Area, Canvas
from halfsplit.drawing.cells import Style, Way
from halfsplit.drawing.page import Page
from halfsplit.drawing.sheet import Sheet


@dataclass(frozen=True, slots=True)
class Picture:
    """An SVG document and what is worth knowing of it: size in px, crossings, bends, taken areas."""

    svg: str
    width: float
    height: float
    crossings: int
    bends: int
    areas: tuple[Area, ...]


A4 = (794.0, 1123.0)
"""Sides of a sheet of A4 at 96 px an inch, px."""

LABELS = ((104.0, False), (88.0, False), (74.0, False), (74.0, True), (62.0, True), (52.0, True))
"""Widths at which label lines are broken, px, and whether symbols may stand out of line: the first that does."""

_ENOUGH = 0.76
_LONGEST_INLINE = 1
_LEGEND = 30.0
_TRIES = 300
"""Orders of rungs that are drawn to find a narrow one: some seconds for the largest circuit."""


def a4_scale(width: float, height: float) -> float:
    """Scale at which a picture fills A4, whichever way the paper is turned.

    >>> a4_scale(1123, 794), a4_scale(397, 500)
    (1.0, 2.0)
    """
    short, long = A4
    return max(min(wide / width, tall / height) for wide, tall in ((short, long), (long, short)))


def across(sheet: Sheet) -> Picture:
    """The whole machine from left to right, for a desk and for paper: labels as wide as A4 bears.

    :raises halfsplit.errors.WrongUse: for a sheet with problems, all at once.
    """
    ready = prepared(sheet, Way.ACROSS)
    trials: list[_Trial] = []
    for label, ragged in LABELS:
        trials.append(_trial(ready, Style(Way.ACROSS, label, 6.0 if ragged else 16.0, ragged)))
        if trials[-1].scale >= _ENOUGH:
            break
    return _finished(ready, max(trials, key=lambda trial: trial.scale))[0]


def down(sheet: Sheet) -> Picture:
    """The whole machine flowing down, for a phone that is swiped sideways.

    :raises halfsplit.errors.WrongUse: for a sheet with problems, all at once.
    """
    return drawn(prepared(sheet, Way.DOWN), Style(Way.DOWN))


LEAST = 220.0
"""A page is at least so wide, px, so that its legend has room."""


@dataclass(frozen=True, slots=True)
class Prepared:
    """All that does not depend on sizes: the sheet with words for links that no line shows, the plan, the gaps."""

    sheet: Sheet
    plan: plan.Plan
    gaps: dict[int, int]
    linked: tuple[linkage.Pair, ...]


def prepared(sheet: Sheet, way: Way) -> Prepared:
    """The best plan of a sheet for one way, from which it can be drawn in several styles.

    :raises halfsplit.errors.WrongUse: for a sheet with problems, all at once.
    """
    return _ready(sheet, plan.made(sheets.checked(sheet), _LONGEST_INLINE if way is Way.ACROSS else 99))


def _ready(sheet: Sheet, made: plan.Plan) -> Prepared:
    gaps = linkage.aligned(made, sheet, channels.gaps(made, sheet))
    linked = linkage.pairs(made, sheet, gaps)
    return Prepared(linkage.worded(made, sheet, linked), made, gaps, tuple(linked))


def within(sheet: Sheet, styles: Sequence[Style], limit: float) -> Picture:
    """A checked sheet flowing down at most ``limit`` px wide, in the first style that fits and lets leads pass.

    Where no style fits, rungs are put in another order for the last.
    """
    ready = prepared(sheet, Way.DOWN)
    trials = (_trial(ready, style) for style in styles)
    found: list[tuple[Picture, int]] = []
    for trial in trials:
        if trial.width() <= limit:
            found.append(_finished(ready, trial, limit))
            if not found[-1][1]:
                break
    return min(found, key=lambda one: one[1])[0] if found else _narrowed(sheet, styles[-1], limit)


def _narrowed(sheet: Sheet, style: Style, limit: float) -> Picture:
    """A checked sheet flowing down with its rungs in an order that makes it at most ``limit`` px wide.

    From the narrowest order found so far all that differ by one move are tried, then from the next narrowest; after
    some tries what is narrowest is drawn.
    """
    planner = plan.Planner(sheet)

    def tried(draft: plan.Draft) -> tuple[Prepared, _Trial]:
        ready = _ready(sheet, planner.plan(draft))
        return ready, _trial(ready, style)

    first = planner.best()
    best = tried(first)
    seen = {first.order}
    waiting = [(best[1].width(), 0, first)]
    while waiting and best[1].width() > limit and len(seen) < _TRIES:
        for draft in planner.others(heapq.heappop(waiting)[2]):
            if draft.order in seen:
                continue
            seen.add(draft.order)
            made = tried(draft)
            heapq.heappush(waiting, (made[1].width(), len(seen), draft))
            best = min(best, made, key=lambda one: one[1].width())
            if best[1].width() <= limit or len(seen) >= _TRIES:
                break
    return _finished(*best, limit)[0]


def drawn(ready: Prepared, style: Style) -> Picture:
    """A prepared sheet in a style."""
    return _finished(ready, _trial(ready, style))[0]


@dataclass(frozen=True, slots=True)
class _Trial:
    """A sheet drawn about the origin, to know its extent and where its terminals are."""

    page: Page
    left: float
    top: float
    right: float
    bottom: float

    @property
    def scale(self) -> float:
        """About the scale at which it will fill A4."""
        margins = 2 * self.page.style.margin
        tall = self.bottom - self.top + margins + emit.HEADING + _LEGEND + sum(self.flags)
        return a4_scale(self.right - self.left + margins, tall)

    @property
    def flags(self) -> tuple[float, float]:
        """Room for flags at the top and at the foot."""
        return probes.margins(probes.flags(self.page.sheet, self.page.spots, (self.top + self.bottom) / 2))

    def width(self, beside: float = 0.0) -> int:
        """Width of the page in px with so much room at each side for leads."""
        sheet, margin = self.page.sheet, self.page.style.margin
        flags = probes.flags(sheet, self.page.spots, (self.top + self.bottom) / 2)
        words = max(theme.width("heading", sheet.title), *(flag.width for flag in flags), 0.0)
        inner = self.right + round(margin + beside - self.left) + beside
        return round(max(inner + margin, LEAST, words + 2 * margin))


def _trial(ready: Prepared, style: Style) -> _Trial:
    sheet, made = ready.sheet, ready.plan
    found = cells.cells(made, sheet, style, frozenset(i for pair in ready.linked for i in pair))
    places = channels.placed(made, sheet, found, ready.gaps, ready.linked, style)
    page = Page(made, sheet, style, places, found, (0.0, 0.0))
    return _Trial(page, *emit.extent(page, emit.draw(page)))


def _finished(ready: Prepared, trial: _Trial, limit: float = math.inf) -> tuple[Picture, int]:
    """The page, wider by room for leads at its sides where that fits and saves them from touching words."""
    narrow = _laid(ready, trial, 0.0)
    if not narrow[1] or trial.width(probes.BESIDE) > limit:
        return narrow
    return min(narrow, _laid(ready, trial, probes.BESIDE), key=lambda one: one[1])


def _laid(ready: Prepared, trial: _Trial, beside: float) -> tuple[Picture, int]:
    """The page with its heading, leads, legend and notes about the drawing; how often a lead touches words."""
    sheet, old = ready.sheet, trial.page
    margin = old.style.margin
    begin = margin + emit.HEADING
    above, below = trial.flags
    shift = (round(margin + beside - trial.left), round(begin + above - trial.top))
    page = Page(old.plan, sheet, old.style, old.places, old.cells, shift)
    tracks = emit.draw(page)
    linkage.drawn(page.canvas, page.plan, sheet, ready.linked)
    flags = probes.flags(sheet, page.spots, (trial.top + trial.bottom) / 2 + shift[1])
    width = trial.width(beside)
    foot = trial.bottom + shift[1] + (18 if flags else 10)
    touched = probes.drawn(page.canvas, flags, tracks, begin, foot, width)
    end = _foot(page.canvas, sheet, tracks, foot + below + 6, width, margin)
    return _picture(page, sheet, tracks, width, end + margin), touched


def _picture(page: Page, sheet: Sheet, tracks: list[wires.Track], width: int, height: float) -> Picture:
    pattern = f"hatch-{svg.slug(sheet.title)}"
    states = {net.name: net.state for net in sheet.nets}
    page.canvas.layers["marks"] = [*marks.bands(tracks, states, pattern), *page.canvas.layers["marks"]]
    page.canvas.words(page.style.margin, page.style.margin + theme.size("heading"), sheet.title, "heading")
    text = svg.document(sheet.title, width, round(height), page.canvas.body(), marks.hatch(pattern))
    areas = tuple(page.canvas.areas)
    return Picture(text, width, round(height), wires.crossings(tracks), wires.bends(tracks), areas)


def _sample(canvas: Canvas, sheet: Sheet, kind: str, x: float, y: float) -> None:
    piece = ((x, y), (x + 26, y))
    if kind == "current":
        canvas.put("words", svg.tag("path", class_="stroke thick", d=svg.line(piece)))
        return
    track = wires.Track("legend", (piece,), (), (False,))
    canvas.put("marks", *marks.bands([track], {"legend": sheets.State(kind)}, f"hatch-{svg.slug(sheet.title)}"))
    canvas.put("words", svg.tag("path", class_="stroke", d=svg.line(piece)))


def _foot(canvas: Canvas, sheet: Sheet, tracks: list[wires.Track], top: float, width: float, margin: float) -> float:
    """Legend and notes under the drawing; returns where they end."""
    rows = marks.legend((net.state for net in sheet.nets), any(any(track.current) for track in tracks))
    x, y, tall = margin, top, 0.0
    for kind, words in rows:
        lines = theme.wrapped("note", words, width - margin - 56)
        wide = max(theme.width("note", line) for line in lines) + 56
        if x > margin and x + wide > width:
            x, y, tall = margin, y + tall, 0.0
        _sample(canvas, sheet, kind, x + 4, y + 6)
        for number, line in enumerate(lines):
            canvas.words(x + 38, y + 9.5 + 13 * number, line, "note")
        x, tall = x + wide, max(tall, 13.0 * len(lines) + 4)
    y += tall - 17 if rows else 0
    y += 20 if rows else 0
    for note in sheet.notes:
        for line in theme.wrapped("note", note, width - 2 * margin):
            canvas.words(margin, y + 9.5, line, "note")
            y += 14
    return y
