"""What a lead's line costs, step by step of a grid, by what it covers: words, chips, symbols, wires and other leads.

Knows the canvas and the tracks; looks for no way.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from halfsplit.drawing.canvas import Area, Canvas, Point
from halfsplit.drawing.cells import Way
from halfsplit.drawing.wires import Track

STEP = 6.0
"""The wide grid [px]; costs are of a step of it."""
TOUCH = 10_000.0
"""What it costs to touch words or a chip: more than any detour."""
TIP = (15.0, 3.6)
"""Length and half width of a lead's tip [px]."""
_WIRE, _LENGTHWISE, _LEAD = 5.0, 12.0, 300.0
_COST = {"words": 8.0, "chip": 8.0, "symbol": 40.0}
"""What a step of :data:`STEP` costs near these."""
_CLEAR = {"words": 0.95, "chip": 0.0}
"""What a lead keeps clear of these [px]."""
_HALF, _SLICES = 1.1, 5
"""Half the width of a line [px]; in so many slices the tip is priced."""
_FIRST = (15.5, 37.0)
"""So long [px] a piece at the terminal is: longer than its tip, and in all directions, since a probe is held at a
slant too."""
_OVER = {"symbol": 6.0, "wire": 0.5, "own": 0.3}
"""What a pixel of that piece costs over another symbol, along or over a wire, over the terminal's own symbol."""

Node = tuple[int, int]


class Ground:
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

    def after(self, leads: Iterable[Sequence[Point]]) -> Ground:
        """The same ground with lines of leads on it."""
        ground = copy.copy(self)
        ground.taken, ground.along = {}, ({}, {})
        for points in leads:
            for piece in pairwise(points):
                ground._cover(ground.taken, _area(*piece), _LEAD * self.unit, 3.0)
                for axis in (0, 1):
                    if piece[0][1 - axis] == piece[1][1 - axis]:
                        ground._cover(ground.along[axis], _area(*piece), 2 * TOUCH, 0.0)
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
                self.touching[0][i, j] = TOUCH
        for i in inner_i:
            for j in range(math.floor(top), math.ceil(foot)):
                self.touching[1][i, j] = TOUCH

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
                paid += (TOUCH + 100 * touched) if touched else 0.0
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
        """The nearest node, columns and rows from the goal."""
        return round((point[0] - self.goal[0]) / self.step), round((point[1] - self.goal[1]) / self.step)

    def point(self, node: Node) -> Point:
        """Where a node lies on the page."""
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
    at = [(tip[0] + TIP[0] * k / _SLICES * ux, tip[1] + TIP[0] * k / _SLICES * uy) for k in range(_SLICES + 1)]
    slices = (length_in(area, *piece, TIP[1] * (k + 0.5) / _SLICES + clear) for k, piece in enumerate(pairwise(at)))
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
