"""Puts a plan with places on the page, piece by piece. Draws; decides nothing.

May know: the page and what draws on it.
"""

from __future__ import annotations

from collections.abc import Iterable

from halfsplit.drawing import emit_cells, emit_fixtures, fixtures, graph, svg, theme, wires
from halfsplit.drawing.canvas import Point
from halfsplit.drawing.page import Page


def draw(page: Page) -> list[wires.Track]:
    """Draws everything; returns the wires."""
    frames = fixtures.bus_frames(page.plan, page.sheet)
    rows: dict[str, list[float]] = {}
    for number, (rung, across) in enumerate(zip(page.plan.rungs, page.places.row, strict=True)):
        for node in rung.nodes:
            rows.setdefault(node, []).append(across)
        for index in rung.links:
            emit_cells.link(page, index, across)
        if rung.bus:
            emit_fixtures.bus(page, rung.nodes[0], number, frames[number], across)
    for node in page.heads:
        if node in page.places.bar:
            emit_fixtures.head(page, node)
    boxes = {graph.box_node(box.part): index for index, box in enumerate(page.sheet.boxes)}
    for node, levels in rows.items():
        if node in boxes:
            emit_fixtures.box(page, boxes[node], node, levels)
        else:
            emit_fixtures.bar(page, node, levels)
    return _tracks(page)


def _tracks(page: Page) -> list[wires.Track]:
    """The wires of every net, put on the page with their dots."""
    made = []
    for net in page.sheet.nets:
        ends = page.nets[net.name]
        if len(ends.terminals) == 1 and net.name not in page.heads and not ends.told:
            ends.pieces.clear()  # a stub that leads nowhere
        fed = {page.canvas.at(*spot) for spot in _fed_at(page, net.name)} if ends.carriers else set()
        track = wires.track(net.name, ends.pieces, frozenset(ends.terminals), frozenset(ends.carriers | fed))
        made.append(track)
        _put_track(page, track)
    return made


def _fed_at(page: Page, net: str) -> list[Point]:
    """Where the house feeds a net: at the outer end of its head."""
    return emit_fixtures.head_spots(page, net)[-1:] if net in page.heads else []


def _put_track(page: Page, track: wires.Track) -> None:
    """Wires and dots of a net."""
    for piece, flows in zip(track.pieces, track.current, strict=True):
        look = "wire current" if flows else "wire"
        page.canvas.put("wires", svg.tag("path", class_=look, d=svg.line(piece), data_net=track.net))
    for x, y in track.dots:
        page.canvas.put("dots", svg.tag("circle", class_="dot", cx=x, cy=y, r=3, data_net=track.net))


def extent(page: Page, tracks: Iterable[wires.Track]) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of all that is drawn."""
    xs = [x for track in tracks for piece in track.pieces for x, _ in piece]
    ys = [y for track in tracks for piece in track.pieces for _, y in piece]
    areas = page.canvas.areas
    lefts, tops = [a.left for a in areas] + xs, [a.top for a in areas] + ys
    rights, bottoms = [a.right for a in areas] + xs, [a.bottom for a in areas] + ys
    return (min(lefts, default=0), min(tops, default=0), max(rights, default=0), max(bottoms, default=0))


HEADING = theme.size("heading") + 12
"""Height of the heading of a page, px."""
