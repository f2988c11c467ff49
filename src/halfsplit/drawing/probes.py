"""The meter's leads: tagged flags in the margin that say in words where each tip goes, and a line to the terminal.

The line looks for a way around words, chips and symbols (A*, Hart, Nilsson & Raphael 1968), and comes to its terminal
straight or slanted, whichever touches least; it has a pale casing, so that it is not taken for a wire. May know: the
canvas and the tracks.
"""

from __future__ import annotations

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
"""Room for a line on each side of the page [px]."""
_TURN, _WIRE, _LENGTHWISE, _LEAD = 4.0, 5.0, 12.0, 300.0
_COST = {"words": 60.0, "chip": 50.0, "symbol": 40.0}
_MOVES = ((1, 0), (0, 1), (-1, 0), (0, -1))
_FIRST = (
    *((3 * i, 3 * j) for i, j in _MOVES),
    *((a * i, b * j) for i, j in ((1, 3), (2, 2), (3, 1)) for a in (1, -1) for b in (1, -1)),
)
"""The moves with which a line may leave its terminal, each longer than its tip: a probe is held at a slant too."""
_NEAR = 3
"""So many steps from its terminal a line is priced by what it covers exactly."""
_CLOSE = {"words": (25.0, 4.6), "chip": (20.0, 3.0)}
"""What a pixel over these costs there, and the half width of a line with what it keeps clear of them [px]."""

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
        self.touched = [(area, *_CLOSE[_kind(area)]) for area in canvas.areas if _kind(area) in _CLOSE]
        for area in canvas.areas:
            self._cover(self.cost, area, _COST.get(_kind(area), 0.0), 3.0)
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
        """What a step to a node costs by what it covers.

        Near its terminal a lead may lie over the symbol, as a probe does, but not over words, a chip or along the wire.
        """
        if abs(node[0]) + abs(node[1]) > _NEAR and step in _MOVES:
            return self.cost.get(node, 0.0)
        before, after = self.point((node[0] - step[0], node[1] - step[1])), self.point(node)
        touched = sum(cost * length_in(area, before, after, half) for area, cost, half in self.touched)
        lengthwise = abs(step[self.axis]) > abs(step[1 - self.axis])
        return self.close.get(node, 0.0) + touched + (_LENGTHWISE if lengthwise else 0.0)

    def node(self, point: Point) -> Node:
        return round((point[0] - self.goal[0]) / STEP), round((point[1] - self.goal[1]) / STEP)

    def point(self, node: Node) -> Point:
        return self.goal[0] + node[0] * STEP, self.goal[1] + node[1] * STEP


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
    """The nodes under (or over) a flag, any of which will do; the page's columns, and rows up or down to search."""

    row: int
    low: int
    high: int
    columns: tuple[int, int]
    rows: int

    def holds(self, node: Node) -> bool:
        """Whether the search may go there."""
        return self.columns[0] <= node[0] <= self.columns[1] and abs(node[1]) <= self.rows

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
        if goal.distance(node) == 0:
            return paid, _trail(came, (node, move))
        if paid > best[node, move]:
            continue
        for step in _MOVES if came[node, move] != (node, move) else _FIRST:
            after = (node[0] + step[0], node[1] + step[1])
            price = paid + _price(ground, after, move, step)
            if goal.holds(after) and price < best.get((after, step), 1e18):
                best[after, step] = price
                came[after, step] = (node, move)
                heapq.heappush(queue, (price + goal.distance(after), price, after, step))
    return math.inf, [(0, 0), (goal.low, goal.row)]


def _price(ground: _Ground, after: Node, move: Node, step: Node) -> float:
    """A step costs its length, what it covers, and a turn."""
    turn = 0.0 if move == (0, 0) or _straight(move, step) else _TURN
    return abs(step[0]) + abs(step[1]) + ground.price(after, step) + turn


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


def drawn(canvas: Canvas, made: Sequence[Flag], tracks: Sequence[Track], top: float, foot: float, width: float) -> None:
    """Draws flags from ``top`` down and from ``foot`` down, and their lines."""
    spots = _spots(made, top, foot, width)
    for flag, (left, y) in zip(made, spots, strict=True):
        canvas.area(left, y, left + flag.width, y + TALL, f"words {flag.words}")
    orders = permutations(range(len(made)))
    ways = [_ways(canvas, tracks, [(made[i], spots[i]) for i in order], width) for order in orders]
    for flag, points, spot in min(ways, key=lambda found: found[0])[1]:
        _lead(canvas, flag, points, *spot)


def _ways(
    canvas: Canvas, tracks: Sequence[Track], placed: Sequence[tuple[Flag, Point]], width: float
) -> tuple[float, list[tuple[Flag, list[Point], Point]]]:
    """The lines of flags one after the other, each around those before it, and what they cost in all."""
    total = 0.0
    made: list[tuple[Flag, list[Point], Point]] = []
    for flag, spot in placed:
        ground = _Ground(canvas, tracks, [points for _, points, _ in made], flag.point)
        price, points = _points(flag, ground, spot, width)
        total += price
        made.append((flag, points, spot))
    return total, made


def _points(flag: Flag, ground: _Ground, spot: Point, width: float) -> tuple[float, list[Point]]:
    """Corners of a lead from the edge of its flag to its terminal, and what that way costs."""
    left, y = spot
    edge = y + (TALL if flag.top else 0)
    low, row = ground.node((left + 10, edge + (9 if flag.top else -9)))
    high = max(low, ground.node((left + flag.width - 10, edge))[0])
    columns = math.ceil((EDGE - ground.goal[0]) / STEP), math.floor((width - EDGE - ground.goal[0]) / STEP)
    price, nodes = _route(ground, _Goal(row, low, high, columns, max(abs(row), 4)))
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
