"""Exact expected cost of small problems: depth-first search of the AND/OR graph of states.

Every state is solved once. A move is left out when its bound, with the bounds of those outcomes that are
not yet solved, cannot beat the best move found (the bound of `nodes.Node.floors` is valid, so nothing is
lost). Dynamic programming over the faults still possible: Balakrishnan and Semmelbauer, Decision Support
Systems 1999; AND/OR search with bounds for test sequencing: Pattipati and Alexandridis 1990 (from memory).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from halfsplit.plan import nodes
from halfsplit.plan.nodes import Node
from halfsplit.plan.problem import Action, Problem
from halfsplit.plan.states import State

EXACT = "exact"
CLOSE = 1e-12


class Solved(NamedTuple):
    """The least expected cost [min] and a move that has it."""

    cost: float
    action: Action
    nodes: int


class TooLarge(Exception):
    """The search met more states than it may; use roll-outs instead. The caller goes on."""


class Exact:
    """Exact costs of the states of one problem, kept between calls. `limit`: most states to solve."""

    def __init__(self, problem: Problem, limit: int) -> None:
        self.nodes = nodes.Nodes(problem)
        self.limit = limit
        self.solved = 0

    def solve(self, state: State) -> Solved:
        """The least expected cost from a state. Raises TooLarge beyond the limit."""
        node = self.nodes.root(state)
        cost = self.cost(node)
        return Solved(cost, node.action(node.moves[EXACT]), self.solved)

    def cost(self, node: Node) -> float:
        """The least expected cost of a node [min]."""
        known = node.values.get(EXACT)
        if known is None:
            self.solved += 1
            if self.solved > self.limit:
                raise TooLarge(f"More than {self.limit} states; the problem is too large for exact search.")
            best, move = self._best(node)
            node.moves[EXACT] = move
            known = node.values[EXACT] = best, 1.0
        return known[0]

    def cost_of(self, node: Node, move: int, limit: float) -> float:
        """The least expected cost of a node if this move is done first [min], or any number not below the limit as soon
        as it cannot come below that."""
        branches = self.nodes.branches(node, move)
        cost = node.minutes(move) + sum(chance * after.bound for chance, after in branches)
        for chance, after in branches:
            if cost >= limit:
                break
            cost += chance * (self.cost(after) - after.bound)
        return cost

    def _best(self, node: Node) -> tuple[float, int]:
        best, chosen = np.inf, -1
        for move in _promising(node):
            if node.floors[move] < best - CLOSE:
                cost = self.cost_of(node, move, best)
                best, chosen = (cost, move) if cost < best - CLOSE else (best, chosen)
        return best, chosen


def _promising(node: Node) -> list[int]:
    """Moves, the most promising first: a good first one lets most others be left out."""
    guess = np.concatenate([node.after_tests, node.floors[len(node.tests) :]])
    return [int(move) for move in np.argsort(guess, kind="stable")]
