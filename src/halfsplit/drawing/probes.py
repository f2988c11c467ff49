"""The meter's leads: tagged flags in the margin that say in words where each tip goes, and a line to the terminal.

The line looks for a way around words, chips and symbols (A*, Hart, Nilsson & Raphael 1968); it has a pale casing, so
that it is not taken for a wire. May know: the canvas and the tracks.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from halfsplit.drawing import svg, theme
from halfsplit.drawing.canvas import Area, Canvas, Point
from halfsplit.drawing.cells import Way
from halfsplit.drawing.sheet import Lead, Sheet
from halfsplit.drawing.wires import Track

STEP, ROW, TALL = 6.0, 26.0, 18.0
_TURN, _WIRE, _LENGTHWISE, _LEAD = 4.0, 5.0, 12.0, 40.0
_COST = {"words": 60.0, "chip": 50.0, "symbol": 40.0}
_CLOSE = {"words": 4.0, "chip": 50.0}
_MOVES = ((1, 0), (0, 1), (-1, 0), (0, -1))

Node = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Flag:
    """A lead with the point it goes to and the side of the page its flag is on."""

    lead: Lead
    point: Point
    top: bool
    turn: int

    @property
    def words(self) -> str:
        """What the flag says."""
        return f"{self.lead.colour}: {self.lead.words}"

    @property
    def width(self) -> float:
        """Width of the flag in px."""
        return theme.width("flag", self.words) + 16


def flags(sheet: Sheet, spots: Mapping[str, Sequence[Point]], middle: float) -> list[Flag]:
    """Flags of leads whose terminal, or another of its net, is drawn; at the top or the foot, whichever is nearer."""
    net_of = sheet.net_of()
    terminals = {net.name: net.terminals for net in sheet.nets}
    made: list[Flag] = []
    for lead in sheet.leads:
        near = [lead.terminal, *terminals[net_of[lead.terminal]]]
        point = next((spots[terminal][0] for terminal in near if spots.get(terminal)), None)
        if point:
            top = point[1] <= middle
            made.append(Flag(lead, point, top, sum(flag.top == top for flag in made)))
    return made


def margins(made: Iterable[Flag]) -> tuple[float, float]:
    """Room for flags at the top and at the foot."""
    rows = [flag.top for flag in made]
    return ROW * rows.count(True) + 8 * (True in rows), ROW * rows.count(False) + 8 * (False in rows)


class _Ground:
    """What every node of a grid, which has the goal on one of its nodes, costs to cover."""

    def __init__(self, canvas: Canvas, tracks: Iterable[Track], taken: Iterable[Sequence[Point]], goal: Point) -> None:
        self.goal = goal
        self.cost: dict[Node, float] = {}
        self.close: dict[Node, float] = {}
        self.axis = 0 if canvas.way is Way.ACROSS else 1
        for area in canvas.areas:
            kind = area.what.split()[0]
            self._cover(self.cost, area, _COST.get(kind, 0.0), 3.0)
            self._cover(self.close, area, _CLOSE.get(kind, 0.0), 0.0)
        for track in tracks:
            for piece in track.pieces:
                self._cover(self.cost, _area(*piece), _WIRE, 2.0)
                self._cover(self.close, _area(*piece), 2 * _WIRE, 0.0)
        for points in taken:
            for piece in pairwise(points):
                self._cover(self.cost, _area(*piece), _LEAD, 3.0)
                self._cover(self.close, _area(*piece), _LEAD, 3.0)

    def _cover(self, costs: dict[Node, float], area: Area, cost: float, margin: float) -> None:
        low = self.node((area.left - margin, area.top - margin))
        high = self.node((area.right + margin, area.bottom + margin))
        for i in range(low[0], high[0] + 1):
            for j in range(low[1], high[1] + 1):
                costs[i, j] = max(costs.get((i, j), 0.0), cost)

    def price(self, node: Node, step: Node) -> float:
        """Near its terminal a lead may lie over the symbol, as a probe does, but not over a chip or along the wire."""
        if abs(node[0]) + abs(node[1]) > 3:
            return self.cost.get(node, 0.0)
        return self.close.get(node, 0.0) + (_LENGTHWISE if step[self.axis] else 0.0)

    def node(self, point: Point) -> Node:
        return round((point[0] - self.goal[0]) / STEP), round((point[1] - self.goal[1]) / STEP)

    def point(self, node: Node) -> Point:
        return self.goal[0] + node[0] * STEP, self.goal[1] + node[1] * STEP


def _area(one: Point, two: Point) -> Area:
    (x, y), (u, v) = one, two
    return Area(min(x, u), min(y, v), max(x, u), max(y, v), "")


@dataclass(frozen=True, slots=True)
class _Goal:
    """The nodes under (or over) a flag, any of which will do, and how far from the terminal the search may go."""

    row: int
    low: int
    high: int
    limit: Node

    def distance(self, node: Node) -> int:
        """Steps that are needed at least."""
        return abs(node[1] - self.row) + max(0, self.low - node[0], node[0] - self.high)


def _route(ground: _Ground, goal: _Goal) -> list[Node]:
    """The cheapest way from the terminal, at node (0, 0), to a goal; straight to it where there is none."""
    first = ((0, 0), (0, 0))
    queue: list[tuple[float, float, Node, Node]] = [(0.0, 0.0, *first)]
    came: dict[tuple[Node, Node], tuple[Node, Node]] = {first: first}
    best = {first: 0.0}
    while queue:
        _, paid, node, move = heapq.heappop(queue)
        if goal.distance(node) == 0:
            return _trail(came, (node, move))
        if paid > best[node, move]:
            continue
        for step in _MOVES:
            after = (node[0] + step[0], node[1] + step[1])
            price = paid + _price(ground, after, move, step)
            within = abs(after[0]) <= goal.limit[0] and abs(after[1]) <= goal.limit[1]
            if within and price < best.get((after, step), 1e18):
                best[after, step] = price
                came[after, step] = (node, move)
                heapq.heappush(queue, (price + goal.distance(after), price, after, step))
    return [(0, 0), (goal.low, goal.row)]


def _price(ground: _Ground, after: Node, move: Node, step: Node) -> float:
    """A step costs one, what it covers, and a turn."""
    return 1 + ground.price(after, step) + (_TURN if move not in (step, (0, 0)) else 0.0)


def _trail(came: dict[tuple[Node, Node], tuple[Node, Node]], state: tuple[Node, Node]) -> list[Node]:
    nodes = [state[0]]
    while came[state] != state:
        state = came[state]
        nodes.append(state[0])
    return nodes[::-1]


def _corners(points: Sequence[Point]) -> list[Point]:
    kept = [points[0]]
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        if (here[0] - before[0]) * (after[1] - here[1]) != (here[1] - before[1]) * (after[0] - here[0]):
            kept.append(here)
    return [*kept, points[-1]]


def _tip(end: Point, before: Point, colour: str) -> str:
    """A slender point that touches the terminal."""
    dx, dy = end[0] - before[0], end[1] - before[1]
    size = (dx * dx + dy * dy) ** 0.5 or 1.0
    ux, uy = dx / size, dy / size
    back = (end[0] - 15 * ux, end[1] - 15 * uy)
    points = [end, (back[0] - 3.6 * uy, back[1] + 3.6 * ux), (back[0] + 3.6 * uy, back[1] - 3.6 * ux)]
    return svg.tag("path", class_=f"tip-{colour}", d=svg.line(points) + "Z")


def _spots(made: Sequence[Flag], top: float, foot: float, width: float) -> list[Point]:
    """Upper left corners: side by side over their points where the page is wide enough, else one under the other."""
    spots: dict[int, Point] = {}
    for side, y in ((True, top), (False, foot)):
        row = sorted((i for i, flag in enumerate(made) if flag.top == side), key=lambda i: made[i].point[0])
        room = width - 24 - sum(made[i].width + 10 for i in row) + 10
        if room >= 0:
            spots |= _in_a_row(made, row, y, width)
        else:
            spots |= {i: (12.0 if side is (k > 0) else 44.0, y + ROW * k) for k, i in enumerate(row)}
    return [spots[i] for i in range(len(made))]


def _in_a_row(made: Sequence[Flag], row: Sequence[int], y: float, width: float) -> dict[int, Point]:
    lefts: list[float] = []
    least = 12.0
    for i in row:
        lefts.append(max(least, made[i].point[0] - made[i].width / 2))
        least = lefts[-1] + made[i].width + 10
    most = width - 12.0
    for k in range(len(row) - 1, -1, -1):
        lefts[k] = min(lefts[k], most - made[row[k]].width)
        most = lefts[k] - 10
    return {i: (left, y) for i, left in zip(row, lefts, strict=True)}


def drawn(canvas: Canvas, made: Sequence[Flag], tracks: Sequence[Track], top: float, foot: float, width: float) -> None:
    """Draws flags from ``top`` down and from ``foot`` down, and their lines."""
    spots = _spots(made, top, foot, width)
    for flag, (left, y) in zip(made, spots, strict=True):
        canvas.area(left, y, left + flag.width, y + TALL, f"words {flag.words}")
    taken: list[list[Point]] = []
    for flag, (left, y) in zip(made, spots, strict=True):
        taken.append(_points(flag, _Ground(canvas, tracks, taken, flag.point), left, y))
        _lead(canvas, flag, taken[-1], left, y)


def _points(flag: Flag, ground: _Ground, left: float, y: float) -> list[Point]:
    """Corners of a lead from the edge of its flag to its terminal."""
    edge = y + (TALL if flag.top else 0)
    low, row = ground.node((left + 10, edge + (9 if flag.top else -9)))
    high = max(low, ground.node((left + flag.width - 10, edge))[0])
    nodes = _route(ground, _Goal(row, low, high, (max(abs(low), abs(high), 30) + 12, max(abs(row), 4))))
    spots = [ground.point(node) for node in reversed(nodes)]
    return _corners([(spots[0][0], edge), *spots])


def _lead(canvas: Canvas, flag: Flag, points: Sequence[Point], left: float, y: float) -> None:
    path = svg.line([(round(u, 2), round(v, 2)) for u, v in points])
    colour = flag.lead.colour
    pieces = [
        svg.tag("path", class_=f"casing casing-{colour}", d=path),
        svg.tag("path", class_=f"lead lead-{colour}", d=path),
        _tip(points[-1], points[-2], colour),
        svg.tag("rect", class_=f"flag-{colour}", x=left, y=y, width=flag.width, height=TALL, rx=2),
        svg.text(left + 8, y + 12.8, flag.words, class_="flag on-flag"),
    ]
    canvas.put("leads", svg.tag("g", pieces, class_="lead-mark", data_lead=colour, data_terminal=flag.lead.terminal))
