"""The meter's leads: tagged flags in the margin that say in words where each tip goes, and a line to the terminal.

The line looks for a way around words, chips and symbols (A*, Hart, Nilsson & Raphael 1968), and comes to its terminal
straight or slanted, whichever touches least; it has a pale casing, so that it is not taken for a wire. May know: the
canvas and the tracks.
"""

from __future__ import annotations

import copy
import heapq
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations

from halfsplit.drawing import svg, theme
from halfsplit.drawing.canvas import Area, Canvas, Point
from halfsplit.drawing.cells import Way
from halfsplit.drawing.sheet import Lead, Sheet
from halfsplit.drawing.wires import Track

STEP, ROW, TALL, EDGE = 6.0, 26.0, 18.0, 2.0
BESIDE = 8.0
"""Room for a line on each side of the page, where no lead finds a way without it [px]."""
_TURN, _WIRE, _LENGTHWISE, _LEAD = 4.0, 5.0, 12.0, 300.0
_COST = {"words": 8.0, "chip": 8.0, "symbol": 40.0}
"""What a step of :data:`STEP` costs near these."""
_TOUCH = 10_000.0
"""What it costs to touch words or a chip: more than any detour."""
_CLEAR = {"words": 0.95, "chip": 0.0}
"""What a lead keeps clear of these [px]."""
_HALF, _TIP, _SLICES = 1.1, (15.0, 3.6), 5
"""Half the width of a line, length and half width of its tip [px]; in so many slices the tip is priced."""
_MOVES = ((1, 0), (0, 1), (-1, 0), (0, -1))
_FIRST = (15.5, 37.0)
"""So long [px] a piece at the terminal is: longer than its tip, and in all directions, since a probe is held at a
slant too."""
_OVER = {"symbol": 6.0, "wire": 0.5, "own": 0.3}
"""What a pixel of that piece costs over another symbol, along or over a wire, over the terminal's own symbol."""

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
    """What steps on a grid of this width, which has the goal on one of its nodes, cost by what they cover."""

    def __init__(self, canvas: Canvas, tracks: Iterable[Track], goal: Point, step: float) -> None:
        self.goal, self.step, self.unit = goal, step, step / STEP
        self.cost: dict[Node, float] = {}
        self.taken: dict[Node, float] = {}
        self.along: tuple[dict[Node, float], dict[Node, float]] = ({}, {})
        self.touching: tuple[dict[Node, float], dict[Node, float]] = ({}, {})
        self.axis = 0 if canvas.way is Way.ACROSS else 1
        for area in canvas.areas:
            if _kind(area) in _COST:
                self._cover(self.cost, area, _COST[_kind(area)] * self.unit, 3.0)
            if _kind(area) in _CLEAR:
                self._touch(area, _HALF + _CLEAR[_kind(area)])
        pieces = [_area(*piece) for track in tracks for piece in track.pieces]
        for piece in pieces:
            self._cover(self.cost, piece, _WIRE * self.unit, 2.0)
        self.first = self._firsts(
            [area for area in canvas.areas if _far(area, goal) <= _FIRST[1]],
            [area for area in pieces if _far(area, goal) <= _FIRST[1]],
        )

    def after(self, leads: Iterable[Sequence[Point]]) -> _Ground:
        """The same ground with lines of leads on it."""
        ground = copy.copy(self)
        ground.taken, ground.along = {}, ({}, {})
        for points in leads:
            for piece in pairwise(points):
                ground._cover(ground.taken, _area(*piece), _LEAD * self.unit, 3.0)
                for axis in (0, 1):
                    if piece[0][1 - axis] == piece[1][1 - axis]:
                        ground._cover(ground.along[axis], _area(*piece), 2 * _TOUCH, 0.0)
        return ground

    def _cover(self, costs: dict[Node, float], area: Area, cost: float, margin: float) -> None:
        low = self.node((area.left - margin, area.top - margin))
        high = self.node((area.right + margin, area.bottom + margin))
        for i in range(low[0], high[0] + 1):
            for j in range(low[1], high[1] + 1):
                costs[i, j] = max(costs.get((i, j), 0.0), cost)

    def _touch(self, area: Area, half: float) -> None:
        """Marks every step to the right, and every step down, with which a line lies over a rectangle."""
        left, right = (area.left - half - self.goal[0]) / self.step, (area.right + half - self.goal[0]) / self.step
        top, foot = (area.top - half - self.goal[1]) / self.step, (area.bottom + half - self.goal[1]) / self.step
        inner_i, inner_j = _between(left, right), _between(top, foot)
        for i in range(math.floor(left), math.ceil(right)):
            for j in inner_j:
                self.touching[0][i, j] = _TOUCH
        for i in inner_i:
            for j in range(math.floor(top), math.ceil(foot)):
                self.touching[1][i, j] = _TOUCH

    def _firsts(self, areas: Sequence[Area], wires: Sequence[Area]) -> dict[Node, float]:
        """The pieces with which a line may leave its terminal, and what each covers."""
        most = int(_FIRST[1] / self.step)
        nodes = [(i, j) for i in range(-most, most + 1) for j in range(-most, most + 1)]
        return {
            node: self._first(node, areas, wires)
            for node in nodes
            if _FIRST[0] <= self.step * math.hypot(*node) <= _FIRST[1]
        }

    def _first(self, node: Node, areas: Sequence[Area], wires: Sequence[Area]) -> float:
        """What such a piece costs: it may lie over the symbol, as a probe does, but not along the wire."""
        end = self.point(node)
        paid = _LENGTHWISE if abs(node[self.axis]) > abs(node[1 - self.axis]) else 0.0
        paid += sum(_OVER["wire"] * length_in(area, self.goal, end, 2.0) for area in wires)
        for area in areas:
            if _kind(area) == "symbol":
                own = _far(area, self.goal) < 1
                paid += _OVER["own" if own else "symbol"] * length_in(area, self.goal, end, 3.0)
            elif _kind(area) in _CLEAR:
                touched = _touched(area, self.goal, end, _CLEAR[_kind(area)])
                paid += (_TOUCH + 100 * touched) if touched else 0.0
        return paid

    def price(self, before: Node, step: Node) -> float:
        """What a step from a node costs by what it covers."""
        node = (before[0] + step[0], before[1] + step[1])
        if before == (0, 0):
            at = ((round(step[0] * k / 4), round(step[1] * k / 4)) for k in range(5))
            return self.first[step] + max(self.taken.get(one, 0.0) + self._along(one, step) for one in at)
        low = min(before, node)
        touched = self.touching[0 if step[0] else 1].get(low, 0.0) + self._along(node, step)
        return self.cost.get(node, 0.0) + self.taken.get(node, 0.0) + touched

    def _along(self, node: Node, step: Node) -> float:
        """What it costs to come to a node along another lead."""
        return 0.0 if step[0] and step[1] else self.along[0 if step[0] else 1].get(node, 0.0)

    def node(self, point: Point) -> Node:
        return round((point[0] - self.goal[0]) / self.step), round((point[1] - self.goal[1]) / self.step)

    def point(self, node: Node) -> Point:
        return self.goal[0] + node[0] * self.step, self.goal[1] + node[1] * self.step


def _between(low: float, high: float) -> range:
    """Whole numbers strictly between two numbers."""
    return range(math.floor(low) + 1, math.ceil(high))


def _far(area: Area, point: Point) -> float:
    return math.hypot(
        max(area.left - point[0], 0.0, point[0] - area.right), max(area.top - point[1], 0.0, point[1] - area.bottom)
    )


def _touched(area: Area, tip: Point, end: Point, clear: float) -> float:
    """How much [px] of the piece from its tip on touches a rectangle, line and slender point together."""
    size = math.dist(tip, end)
    ux, uy = (end[0] - tip[0]) / size, (end[1] - tip[1]) / size
    at = [(tip[0] + _TIP[0] * k / _SLICES * ux, tip[1] + _TIP[0] * k / _SLICES * uy) for k in range(_SLICES + 1)]
    slices = (length_in(area, *piece, _TIP[1] * (k + 0.5) / _SLICES + clear) for k, piece in enumerate(pairwise(at)))
    return length_in(area, tip, end, _HALF + clear) + sum(slices)


def _kind(area: Area) -> str:
    return area.what.split()[0]


def length_in(area: Area, start: Point, end: Point, half: float) -> float:
    """How much [px] of a straight line of this half width lies over a rectangle.

    >>> length_in(Area(0, 0, 10, 10, ""), (-5, 5), (30, 5), 1), length_in(Area(0, 0, 10, 10, ""), (-5, 12), (30, 12), 1)
    (12.0, 0.0)
    """
    first, last = 0.0, 1.0
    for a, b, low, high in (
        (start[0], end[0], area.left - half, area.right + half),
        (start[1], end[1], area.top - half, area.bottom + half),
    ):
        if a == b:
            if not low < a < high:
                return 0.0
            continue
        enters, leaves = sorted(((low - a) / (b - a), (high - a) / (b - a)))
        first, last = max(first, enters), min(last, leaves)
    return max(last - first, 0.0) * math.dist(start, end)


def _area(one: Point, two: Point) -> Area:
    (x, y), (u, v) = one, two
    return Area(min(x, u), min(y, v), max(x, u), max(y, v), "")


@dataclass(frozen=True, slots=True)
class _Goal:
    """The nodes under (or over) a flag, any of which will do; the page's columns and rows to search."""

    row: int
    low: int
    high: int
    columns: tuple[int, int]
    rows: tuple[int, int]

    def holds(self, node: Node) -> bool:
        """Whether the search may go there."""
        return self.columns[0] <= node[0] <= self.columns[1] and self.rows[0] <= node[1] <= self.rows[1]

    def distance(self, node: Node) -> int:
        """Steps that are needed at least."""
        return abs(node[1] - self.row) + max(0, self.low - node[0], node[0] - self.high)


def _route(ground: _Ground, goal: _Goal) -> tuple[float, list[Node]]:
    """The price of the cheapest way from the terminal, at node (0, 0), to a goal, and that way; else straight."""
    first = ((0, 0), (0, 0))
    queue: list[tuple[float, float, Node, Node]] = [(0.0, 0.0, *first)]
    came: dict[tuple[Node, Node], tuple[Node, Node]] = {first: first}
    best = {first: 0.0}
    while queue:
        _, paid, node, move = heapq.heappop(queue)
        if goal.distance(node) == 0 and move != (0, 0):
            return paid, _trail(came, (node, move))
        if paid > best[node, move]:
            continue
        for step in ground.first if move == (0, 0) else _MOVES:
            after = (node[0] + step[0], node[1] + step[1])
            if not goal.holds(after) or after == (0, 0):
                continue
            price = paid + _price(ground, node, move, step)
            if price < best.get((after, step), 1e18):
                best[after, step] = price
                came[after, step] = (node, move)
                heapq.heappush(queue, (price + goal.distance(after) * ground.unit, price, after, step))
    return math.inf, [(0, 0), (goal.low, goal.row)]


def _price(ground: _Ground, node: Node, move: Node, step: Node) -> float:
    """A step costs its length, what it covers, and a turn."""
    turn = 0.0 if move == (0, 0) or _straight(move, step) else _TURN
    return (abs(step[0]) + abs(step[1])) * ground.unit + ground.price(node, step) + turn


def _straight(move: Node, step: Node) -> bool:
    return move[0] * step[1] == move[1] * step[0] and move[0] * step[0] + move[1] * step[1] > 0


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
            spots |= {i: (44.0 if side is (k > 0) else 12.0, y + ROW * k) for k, i in enumerate(row)}
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


def drawn(canvas: Canvas, made: Sequence[Flag], tracks: Sequence[Track], top: float, foot: float, width: float) -> int:
    """Draws flags from ``top`` down and from ``foot`` down, and their lines; returns how often these touch words."""
    spots = _spots(made, top, foot, width)
    for flag, (left, y) in zip(made, spots, strict=True):
        canvas.area(left, y, left + flag.width, y + TALL, f"words {flag.words}")
    page = _Page(canvas, tracks, Area(EDGE, top, width - EDGE, foot, "page"), {})
    ways = [page.ways([(made[i], spots[i]) for i in order]) for order in permutations(range(len(made)))]
    price, lines = min(ways, key=lambda found: found[0])
    for flag, points, spot in lines:
        _lead(canvas, flag, points, *spot)
    return int(min(price, 1e9) // _TOUCH)


@dataclass(frozen=True, slots=True)
class _Page:
    """Where lines may run, and the grounds that were looked at so far, by goal and step."""

    canvas: Canvas
    tracks: Sequence[Track]
    within: Area
    grounds: dict[tuple[Point, float], _Ground]

    def ways(self, placed: Sequence[tuple[Flag, Point]]) -> tuple[float, list[tuple[Flag, list[Point], Point]]]:
        """The lines of flags one after the other, each around those before it, and what they cost in all."""
        total = 0.0
        made: list[tuple[Flag, list[Point], Point]] = []
        for flag, spot in placed:
            price, points = self._line(flag, spot, [points for _, points, _ in made])
            total += price
            made.append((flag, points, spot))
        return total, made

    def _line(self, flag: Flag, spot: Point, leads: Sequence[Sequence[Point]]) -> tuple[float, list[Point]]:
        """A line on a wide grid, or where that touches something, the better one on a fine grid."""
        price, points = _points(flag, self._ground(flag.point, STEP).after(leads), spot, self.within)
        if price < _TOUCH:
            return price, points
        fine = _points(flag, self._ground(flag.point, STEP / 2).after(leads), spot, self.within)
        return min((price, points), fine)

    def _ground(self, goal: Point, step: float) -> _Ground:
        if (goal, step) not in self.grounds:
            self.grounds[goal, step] = _Ground(self.canvas, self.tracks, goal, step)
        return self.grounds[goal, step]


def _points(flag: Flag, ground: _Ground, spot: Point, within: Area) -> tuple[float, list[Point]]:
    """Corners of a lead from the edge of its flag to its terminal, and what that way costs."""
    left, y = spot
    edge = y + (TALL if flag.top else 0)
    low, row = ground.node((left + 10, edge + (9 if flag.top else -9)))
    high = max(low, ground.node((left + flag.width - 10, edge))[0])
    (x, y), step = ground.goal, ground.step
    columns = math.ceil((within.left - x) / step), math.floor((within.right - x) / step)
    rows = math.ceil((within.top - y) / step), math.floor((within.bottom - y) / step)
    price, nodes = _route(ground, _Goal(row, low, high, columns, (min(row, rows[0]), max(row, rows[1]))))
    points = [ground.point(node) for node in reversed(nodes)]
    return price, _corners([(points[0][0], edge), *points])


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
