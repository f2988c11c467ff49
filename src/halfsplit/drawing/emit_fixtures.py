"""Draws bars of nets, boxes, heads of rails and frames.

May know: the page, fixtures, lanes.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from halfsplit.drawing import chips, fixtures, lanes, svg
from halfsplit.drawing.canvas import Point
from halfsplit.drawing.cells import LINE, TITLE, Way
from halfsplit.drawing.page import Page
from halfsplit.drawing.sheet import Frame, Rail
from halfsplit.drawing.symbols.links import FRAME


def bar(page: Page, node: str, rows: Iterable[float]) -> None:
    """The bar of a net between its rows."""
    along = page.places.bar[node]
    levels = sorted(set(rows))
    if len(levels) > 1:
        page.wire(node, *((along, level) for level in levels))


def box(page: Page, index: int, node: str, rows: Iterable[float]) -> None:
    """A box over its rows with its title inside."""
    box, size = page.sheet.boxes[index], fixtures.box_size(page.sheet, index, page.style.way)
    levels = sorted(rows)
    start, end = levels[0] - size.over + 4, levels[-1] + size.under - 2
    corner = page.canvas.at(page.places.bar[node] - size.half, start)
    other = page.canvas.at(page.places.bar[node] + size.half, end)
    page.canvas.put("boxes", svg.rectangle(corner, other, class_="box", rx=2, data_part=box.part))
    page.canvas.area(*corner, *other, f"box {box.part}")
    middle = (corner[0] + other[0]) / 2
    top = corner[1] + 4
    if page.style.way is Way.DOWN:
        top = (corner[1] + other[1] - TITLE - LINE * len(box.lines)) / 2
    page.canvas.words(middle, top + 10, box.title, "part", "middle", data_part=box.part)
    for number, line in enumerate(box.lines):
        page.canvas.words(middle, top + TITLE + LINE * (number + 1) - 2, line, "label", "middle", data_part=box.part)


def head_spots(page: Page, node: str) -> list[Point]:
    """Where the terminals of a head stand, from the rail outwards; one place where there are none."""
    found, along = page.heads[node], page.places.bar[node]
    steps = [found.pitch * k for k in range(max(1, len(found.terminals)))]
    for rung, across in zip(page.plan.rungs, page.places.row, strict=True):
        if node in page.plan.inline and node in rung.nodes:
            out = -1 if node == rung.nodes[0] else 1
            return [(along + out * step, across) for step in steps]
        if rung.nodes == (node,) and not rung.bus:
            return [(along, across - step) for step in steps]
    return []


def head(page: Page, node: str) -> None:
    """The name of a rail and the terminals between it and the house."""
    found, spots = page.heads[node], head_spots(page, node)
    page.wire(node, *spots)
    for number, (terminal, spot) in enumerate(zip(found.terminals, spots, strict=False)):
        page.terminal(node, terminal, spot)
        _feed_name(page, found, fixtures.feed_name(terminal), spot)
        if number:
            _chip_between(page, found.between[number - 1], spots[number - 1], spot)
    _rail_name(page, node, found, spots[-1])


def _rail_name(page: Page, node: str, found: fixtures.Head, spot: Point) -> None:
    """The name of a rail beyond its outermost terminal."""
    x, y = page.canvas.at(*spot)
    if not found.upright:
        after = node in page.plan.inline and page.plan.rank[node] > 0
        page.canvas.words(
            x + 10 if after else x - 10, y + 5, found.rail.value, "rail", "" if after else "end", data_net=node
        )
    elif node in page.plan.inline and page.plan.rank[node] > 0:
        page.canvas.words(x, y + 19, found.rail.value, "rail", "middle", data_net=node)
    else:
        page.canvas.words(x, y - 9, found.rail.value, "rail", "middle", data_net=node)


def _chip_between(page: Page, chip: chips.Chip | None, one: Point, two: Point) -> None:
    """A chip halfway between two terminals of a feed."""
    if chip:
        page.chip(chip, (one[0] + two[0]) / 2, (one[1] + two[1]) / 2)


def _feed_name(page: Page, found: fixtures.Head, name: str, spot: Point) -> None:
    """The name of a terminal of a feed, away from where other rails stand."""
    x, y = page.canvas.at(*spot)
    if not found.upright and found.net.name in page.plan.inline:
        first = page.plan.rank[found.net.name] == 0
        page.canvas.words(x + 4 if first else x - 4, y - 10, name, "name", "end" if first else "")
    elif not found.upright:
        page.canvas.words(x, y - 10, name, "name", "middle")
    elif found.rail is Rail.N and page.style.way is Way.ACROSS:
        page.canvas.words(x - 8, y + 3.2, name, "name", "end")
    else:
        page.canvas.words(x + 8, y + 3.2, name, "name")


def bus(page: Page, node: str, number: int, frames: Sequence[tuple[int, Frame]], across: float) -> None:
    """Frames that hang on a row of their own."""
    before = page.places.bar[node]
    for place, frame in frames:
        along = page.places.middle[lanes.frame_key(number, place)] if place else before
        page.wire(node, (before, across), (along, across))
        _drop(page, node, frame, along, across)
        before = along


def _drop(page: Page, node: str, frame: Frame, along: float, across: float) -> None:
    """One frame with its drop, chip, terminal and words."""
    chip = fixtures.frame_chip(page.sheet, frame)
    room = chip.width if chip and page.style.way is Way.DOWN else chips.HEIGHT
    end = across + 16 + room
    page.wire(node, (along, across), (along, end))
    page.terminal(node, frame.terminal, (along, end))
    if chip:
        page.chip(chip, along, across + 8 + room / 2)
    stroke = [svg.tag("path", class_="stroke", d=d) for d in ("M0 -9V0", FRAME)]
    drawn = svg.tag("g", stroke, transform=page.canvas.matrix(along, end + 9, False))
    page.canvas.put("symbols", svg.tag("g", [drawn], class_="frame", data_part=frame.part))
    x, y = page.canvas.at(along, end + 9)
    x, y = (x + 15, y) if page.style.way is Way.ACROSS else (x + 11, y - 2)
    page.canvas.words(x, y, frame.part, "part", data_part=frame.part)
    if frame.title:
        page.canvas.words(x, y + LINE, frame.title, "label", data_part=frame.part)
