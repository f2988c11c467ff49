"""The cheapest way of a lead's line over its ground, from the terminal to under (or over) its flag.

A* (Hart, Nilsson & Raphael 1968) on nodes with the move by which they are come to, since a turn costs. Knows the
ground.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass

from halfsplit.drawing.lead_ground import Ground, Node

_TURN = 4.0
_MOVES = ((1, 0), (0, 1), (-1, 0), (0, -1))


@dataclass(frozen=True, slots=True)
class Goal:
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


def cheapest(ground: Ground, goal: Goal) -> tuple[float, list[Node]]:
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


def _price(ground: Ground, node: Node, move: Node, step: Node) -> float:
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
