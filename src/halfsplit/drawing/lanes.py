"""Places along the flow: how long every gap between ranks is, and where in it each cell has its middle.

Cells of one gap stand in line. Where paper is scarce they may stand out of line by as much as saves length: then a
gap is as long as its longest cell, not as the longest first half and the longest second half together.
May know: plan, cells, fixtures.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from halfsplit.drawing import cells, fixtures
from halfsplit.drawing.cells import Cell, Style, Way
from halfsplit.drawing.plan import Plan
from halfsplit.drawing.sheet import Rail, Sheet

LEAST = 12.0
"""Half the length of a gap in which nothing stands, px."""

Key = tuple[str, int, int]
"""('link', index, 0) or ('frame', rung, place)."""


@dataclass(frozen=True, slots=True)
class Need:
    """Room before and after the middle of what stands in a gap; several keys share one middle, none need only room."""

    gap: int
    before: float
    after: float
    keys: tuple[Key, ...] = ()


@dataclass(frozen=True, slots=True)
class Lanes:
    """Length of every gap that holds something, and the middle of everything from the beginning of its gap."""

    length: dict[int, float]
    middle: dict[Key, float]


def link_key(index: int) -> Key:
    """Key of a link's cell."""
    return ("link", index, 0)


def frame_key(rung: int, place: int) -> Key:
    """Key of the frame at a place of a bus."""
    return ("frame", rung, place)


def _of_links(
    found: Mapping[int, Cell], gap: Mapping[int, int], style: Style, linked: Iterable[tuple[int, int]]
) -> list[Need]:
    group = {i: i for i in found}
    for one, two in linked:
        old, new = group[two], group[one]
        group = {i: new if g == old else g for i, g in group.items()}
    needs = []
    for first in dict.fromkeys(group.values()):
        members = [i for i, g in group.items() if g == first]
        rooms = [cells.room(found[i], style) for i in members]
        before, after = max(room.before for room in rooms), max(room.after for room in rooms)
        needs.append(Need(gap[first], before, after, tuple(link_key(i) for i in members)))
    return needs


def _of_frames(plan: Plan, sheet: Sheet, way: Way) -> list[Need]:
    needs = []
    for number, frames in fixtures.bus_frames(plan, sheet).items():
        start = plan.rank[plan.rungs[number].nodes[0]]
        under_bar = next((fixtures.frame_room(sheet, frame, way).after for place, frame in frames if not place), 0.0)
        needs.append(Need(start, under_bar, 0.0))
        for place, frame in frames:
            room = fixtures.frame_room(sheet, frame, way)
            before = room.before + (under_bar if place == 1 else 0.0)
            key = (frame_key(number, place),)
            needs += [Need(start + place - 1, before, room.after, key)] if place else []
    return needs


def _of_heads(plan: Plan, sheet: Sheet) -> list[Need]:
    """Room for the names of the feeds beside standing heads, in a flow across."""
    rank = {rung.nodes[0]: plan.rank[rung.nodes[0]] for rung in plan.rungs if not rung.links and not rung.bus}
    last = max((plan.rank[node] for rung in plan.rungs for node in rung.nodes), default=0)
    needs = []
    for net in sheet.nets:
        if net.name in rank:
            gap = rank[net.name] - (net.rail is Rail.N)
            if 0 <= gap < last:
                needs.append(Need(gap, fixtures.names_width(fixtures.head(sheet, net, True)) + 16, 0.0))
    return needs


def lanes(
    plan: Plan,
    sheet: Sheet,
    found: Mapping[int, Cell],
    gap: Mapping[int, int],
    linked: Iterable[tuple[int, int]],
    style: Style,
) -> Lanes:
    """Lengths of gaps and middles of what stands in them."""
    needs = [*_of_links(found, gap, style, linked), *_of_frames(plan, sheet, style.way)]
    needs += _of_heads(plan, sheet) if style.way is Way.ACROSS else []
    length: dict[int, float] = {}
    middle: dict[Key, float] = {}
    for place in sorted({need.gap for need in needs}):
        here = [need for need in needs if need.gap == place]
        before, after = max(LEAST, *(n.before for n in here)), max(LEAST, *(n.after for n in here))
        whole = max(2 * LEAST, *(n.before + n.after for n in here)) if style.ragged else before + after
        length[place] = whole
        line = whole * before / (before + after)
        for need in here:
            at = min(max(line, need.before), whole - need.after)
            middle |= dict.fromkeys(need.keys, at)
    return Lanes(length, middle)
