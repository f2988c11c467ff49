"""Places: where every rank, gap between ranks, track and row lies, in px along and across the flow.

Between two ranks is a gap for symbols and chips; bars of one rank that overlap get tracks by left-edge colouring
(Hashimoto & Stevens, Design Automation Workshop 1971). May know: plan, cells. May not know: SVG.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from halfsplit.drawing import cells, compact, fixtures, graph, lanes
from halfsplit.drawing.cells import Cell, Room, Style, Way
from halfsplit.drawing.graph import Kind
from halfsplit.drawing.plan import Plan
from halfsplit.drawing.sheet import Rail, Sheet

TRACK, ROW_GAP, TIGHT_GAP = 16.0, 9.0, 3.0


@dataclass(frozen=True, slots=True)
class Places:
    """``middle`` of cells and frames and ``bar`` of nodes along the flow, ``row`` of rungs across it."""

    middle: dict[lanes.Key, float]
    bar: dict[str, float]
    half: dict[str, float]
    row: tuple[float, ...]
    along: float
    across: float


def gaps(plan: Plan, sheet: Sheet) -> dict[int, int]:
    """The gap of every link: contacts as soon, loads as late as they can; pins next to their box."""
    chosen: dict[int, int] = {}
    for rung in plan.rungs:
        for i in rung.links:
            tail, head = plan.flow.arcs[i]
            first, last = plan.rank[tail], plan.rank[head] - 1
            link = plan.flow.links[i]
            late = link.kind is Kind.ELEMENT and not graph.is_contact(sheet.elements[link.item].kind)
            if head == plan.graph.rails.get(Rail.L2) and plan.graph.rails.get(Rail.N):
                last = max(first, last - 1)
            at_rail = head in plan.graph.rails.values()
            into_box = link.kind is Kind.PIN and head == link.b
            chosen[i] = last if (late and at_rail) or into_box or _meets_late(sheet, plan, i) else first
    return chosen


def _meets_late(sheet: Sheet, plan: Plan, index: int) -> bool:
    """Whether a linked contact shares its right end, not its left, with the contacts that move with it."""
    link = plan.flow.links[index]
    if link.kind is not Kind.ELEMENT or not _moves(sheet, link.item):
        return False
    group = sheet.elements[link.item].linked
    tail, head = plan.flow.arcs[index]
    others = [
        plan.flow.arcs[i]
        for i, other in enumerate(plan.flow.links)
        if i != index and other.kind is Kind.ELEMENT and _moves(sheet, other.item) == group
    ]
    return any(head in ends for ends in others) and not any(tail in ends for ends in others)


def _moves(sheet: Sheet, item: int) -> str:
    """The linked group of a contact, '' for a coil and what is not linked."""
    element = sheet.elements[item]
    return element.linked if graph.is_contact(element.kind) else ""


def _box_nodes(sheet: Sheet) -> dict[str, int]:
    return {graph.box_node(box.part): index for index, box in enumerate(sheet.boxes)}


def _spans(plan: Plan) -> dict[str, tuple[int, int]]:
    """First and last row of every node."""
    spans: dict[str, tuple[int, int]] = {}
    for rung, row in zip(plan.rungs, plan.rows, strict=True):
        for node in rung.nodes:
            low, high = spans.get(node, (row, row))
            spans[node] = (min(low, row), max(high, row))
    return spans


def tracks(plan: Plan) -> dict[str, int]:
    """Track of every node at its rank, 0 the leftmost; bars that overlap or touch have different ones."""
    spans = _spans(plan)
    found: dict[str, int] = {}
    ends: dict[int, list[int]] = {}
    for node in sorted(spans, key=lambda n: (spans[n], n)):
        low, high = spans[node]
        lanes = ends.setdefault(plan.rank[node], [])
        free = next((i for i, end in enumerate(lanes) if end < low), len(lanes))
        lanes[free : free + 1] = [high]
        found[node] = free
    return found


def _along(
    plan: Plan, sheet: Sheet, way: Way, found: lanes.Lanes
) -> tuple[dict[int, float], dict[str, float], dict[str, float], float]:
    """Beginnings of gaps, bars of nodes, half lengths of boxes, whole length."""
    lane = tracks(plan)
    boxes = _box_nodes(sheet)
    half = {node: fixtures.box_size(sheet, index, way).half for node, index in boxes.items() if node in lane}
    last = max([plan.rank[node] for node in lane] + [gap + 1 for gap in found.length], default=0)
    bar: dict[str, float] = {}
    begins: dict[int, float] = {}
    at = 0.0
    for rank in range(last + 1):
        here = sorted(node for node in lane if plan.rank[node] == rank)
        wide = max((half.get(node, 0.0) for node in here), default=0.0)
        for node in here:
            bar[node] = at + wide + lane[node] * TRACK
        at += 2 * wide + max((lane[node] for node in here), default=0) * TRACK
        begins[rank] = at
        at += found.length.get(rank, 2 * lanes.LEAST) if rank < last else 0.0
    return begins, bar, half, at


def _row_rooms(plan: Plan, sheet: Sheet, found: Mapping[int, Cell], style: Style) -> dict[int, list[Room]]:
    rooms: dict[int, list[Room]] = {}
    way = style.way
    frames = fixtures.bus_frames(plan, sheet)
    for number, (rung, row) in enumerate(zip(plan.rungs, plan.rows, strict=True)):
        here = rooms.setdefault(row, [])
        here += [cells.room(found[i], style) for i in rung.links]
        here += [fixtures.frame_room(sheet, frame, way) for _, frame in frames.get(number, ())]
        inline = [net for net in sheet.nets if net.name in plan.inline and net.name in rung.nodes]
        here += [fixtures.inline_room(fixtures.head(sheet, net, way is Way.DOWN)) for net in inline]
    return rooms


@dataclass(frozen=True, slots=True)
class _Headroom:
    """A head on a row needs this room to the row above that it would meet (-1 for none)."""

    row: int
    roof: int
    need: float


def _headrooms(plan: Plan, sheet: Sheet, way: Way) -> list[_Headroom]:
    nets = {net.name: net for net in sheet.nets}
    made = []
    for rung, row in zip(plan.rungs, plan.rows, strict=True):
        if rung.links or rung.bus:
            continue
        rank = plan.rank[rung.nodes[0]]
        met = [
            r
            for other, r in zip(plan.rungs, plan.rows, strict=True)
            if r < row and plan.rank[other.nodes[0]] <= rank <= plan.rank[other.nodes[-1]] + other.bus
        ]
        need = fixtures.head_room(fixtures.head(sheet, nets[rung.nodes[0]], way is Way.ACROSS)).over
        made.append(_Headroom(row, max(met, default=-1), need))
    return made


def _box_rooms(plan: Plan, sheet: Sheet, way: Way, rooms: dict[int, list[Room]]) -> None:
    spans = _spans(plan)
    for node, index in _box_nodes(sheet).items():
        if node in spans:
            size = fixtures.box_size(sheet, index, way)
            rooms[spans[node][0]].append(Room(over=size.over, under=0))
            rooms[spans[node][1]].append(Room(over=0, under=size.under))


def _across(
    rooms: Mapping[int, Iterable[Room]], heads: Iterable[_Headroom], between: float
) -> tuple[dict[int, float], float]:
    place: dict[int, float] = {}
    foot = {-1: 0.0}
    at = 0.0
    for row in sorted(rooms):
        over = max((room.over for room in rooms[row]), default=0.0)
        under = max((room.under for room in rooms[row]), default=0.0)
        least = [foot[head.roof] + head.need for head in heads if head.row == row]
        place[row] = max([at + over, *least])
        foot[row] = place[row] + under
        at = foot[row] + between
    return place, at


def _rows(
    plan: Plan, sheet: Sheet, found: Mapping[int, Cell], gap: Mapping[int, int], style: Style
) -> tuple[tuple[float, ...], float]:
    """Place of every rung across the flow: in even rows on paper, close together down a phone."""
    if style.way is Way.DOWN:
        return compact.positions(plan, sheet, found, gap, style)
    rooms = _row_rooms(plan, sheet, found, style)
    _box_rooms(plan, sheet, style.way, rooms)
    rows, across = _across(rooms, _headrooms(plan, sheet, style.way), TIGHT_GAP if style.ragged else ROW_GAP)
    return tuple(round(rows[r], 2) for r in plan.rows), across


def placed(
    plan: Plan,
    sheet: Sheet,
    found: Mapping[int, Cell],
    gap: Mapping[int, int],
    linked: Iterable[tuple[int, int]],
    style: Style,
) -> Places:
    """Places of everything; the origin is the corner where flow and rows begin."""
    made = lanes.lanes(plan, sheet, found, gap, linked, style)
    begins, bar, half, along = _along(plan, sheet, style.way, made)
    row, across = _rows(plan, sheet, found, gap, style)
    middle = {}
    for key, offset in made.middle.items():
        kind, number, place = key
        start = gap[number] if kind == "link" else plan.rank[plan.rungs[number].nodes[0]] + place - 1
        middle[key] = round(begins[start] + offset, 2)
    return Places(middle, {n: round(x, 2) for n, x in bar.items()}, half, row, along, across)
