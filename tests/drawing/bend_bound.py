"""The fewest bends that a netlist can be drawn with in this style, as an integer program.

In this style elements lie along the flow and every net is one bar across it, with a wire to each terminal: from the
left for an element that ends on the net, from the right for one that begins there. A bar has two ends, and an end has
no corner only where a wire comes from the left and another from the right, so that they run straight on and the bar
meets them in a T; two ends cannot share one such pair. A net with ``a`` terminals from one side and ``b`` from the
other thus has

    2 - min(a, b, 2) bends   for a + b >= 3,   2 - 2 min(a, b)   for a + b = 2,   none for less.

A rail also has a head, which takes the place of one wire at the upper end or stands in line with its only rung:

    1 - min(a, b, 1) bends   for a + b >= 2,   none for less.

The program chooses which end of each element is on the left. A net stands left of all that it feeds, so the choice has
no loops; where all rails can stand outside, L1 has everything to its right and N and L2 have everything to their left.
Planarity is not asked for: what it would add is not needed, and a bound stays a bound without it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from halfsplit.drawing.sheet import Rail, Sheet

Pair = tuple[str, str]


class _Program:
    """Variables: per element whether its first net is the left one, per net its place and its bends."""

    def __init__(self, nets: list[str], pairs: list[Pair]) -> None:
        self.pairs = pairs
        self.place = {net: len(pairs) + i for i, net in enumerate(nets)}
        self.bends = {net: len(pairs) + len(nets) + i for i, net in enumerate(nets)}
        self.size = len(pairs) + 2 * len(nets)
        self.rows: list[tuple[dict[int, float], float]] = []

    def at_least(self, terms: dict[int, float], least: float) -> None:
        """One condition: the sum of the terms is at least so much."""
        self.rows.append((terms, least))

    def no_loops(self) -> None:
        """The left net of every element has a lower place than the right one."""
        room = float(len(self.place))
        for i, (a, b) in enumerate(self.pairs):
            self.at_least({self.place[b]: 1.0, self.place[a]: -1.0, i: -room - 1.0}, -room)
            self.at_least({self.place[a]: 1.0, self.place[b]: -1.0, i: room + 1.0}, 1.0)

    def net(self, net: str, railed: bool) -> None:
        """Bends of a net from the terminals on either side of its bar."""
        feeds = [i for i, pair in enumerate(self.pairs) if pair[0] == net]
        fed = [i for i, pair in enumerate(self.pairs) if pair[1] == net]
        degree = len(feeds) + len(fed)
        if degree < 2:
            return
        most, each = (1.0, 1.0) if railed else (2.0, 2.0 if degree == 2 else 1.0)
        on_right = dict.fromkeys(feeds, each) | dict.fromkeys(fed, -each)
        self.at_least({self.bends[net]: 1.0, **on_right}, most - each * len(fed))
        on_left = {i: -weight for i, weight in on_right.items()}
        self.at_least({self.bends[net]: 1.0, **on_left}, most - each * len(feeds))

    def least(self, fixed: dict[int, float]) -> int:
        """The least number of bends."""
        matrix = np.zeros((len(self.rows), self.size))
        for row, (terms, _) in enumerate(self.rows):
            for column, weight in terms.items():
                matrix[row, column] = weight
        cost = np.zeros(self.size)
        cost[list(self.bends.values())] = 1.0
        low, high = np.zeros(self.size), np.full(self.size, float(len(self.place)))
        high[: len(self.pairs)] = 1.0
        for column, value in fixed.items():
            low[column] = high[column] = value
        whole = np.ones(self.size, dtype=np.int8)
        whole[list(self.place.values())] = 0
        limits = LinearConstraint(matrix, np.array([least for _, least in self.rows]), np.inf)
        found = milp(cost, constraints=limits, bounds=Bounds(low, high), integrality=whole)
        assert found.success, found.message
        return int(np.ceil(found.mip_dual_bound - 1e-6))


def _pairs(sheet: Sheet) -> list[Pair]:
    net_of = sheet.net_of()
    ends = [(net_of[element.start], net_of[element.end]) for element in sheet.elements]
    return [(a, b) for a, b in ends if a != b]


def sides(pairs: Sequence[Pair], left: set[str], right: set[str]) -> dict[int, float]:
    """Elements that have no choice, as they are on a rail that stands outside: 1 where the first net is the left."""
    fixed = {i: 1.0 for i, (a, b) in enumerate(pairs) if a in left or b in right}
    return fixed | {i: 0.0 for i, (a, b) in enumerate(pairs) if b in left or a in right}


def least_bends(sheet: Sheet, rails_outside: bool) -> int:
    """No drawing of the sheet in this style has fewer bends.

    >>> from halfsplit.drawing.sheet import Element, Net, Rail, Sheet
    >>> two = tuple(Element(p, "e", "heater", f"{p}.1", f"{p}.2") for p in "AB")
    >>> l1, n = Net("L1", ("A.1", "B.1"), rail=Rail.L1), Net("N", ("A.2", "B.2"), rail=Rail.N)
    >>> least_bends(Sheet("two heaters on two rails", (l1, n), two), True)
    2
    """
    pairs = _pairs(sheet)
    nets = sorted({net for pair in pairs for net in pair})
    rails = {net.name: net.rail for net in sheet.nets if net.rail}
    program = _Program(nets, pairs)
    program.no_loops()
    for net in nets:
        program.net(net, net in rails)
    left = {name for name, rail in rails.items() if rail in (Rail.L1, Rail.PE, Rail.FRAME)}
    outside = sides(pairs, left, set(rails) - left) if rails_outside else {}
    return program.least(outside)
