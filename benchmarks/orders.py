"""Fixed orders of tests on a problem of arrays: two that people take, and the best that a search finds.

Knows one problem and its tests; judges nothing.
"""

from __future__ import annotations

import numpy as np

from benchmarks import simpler
from halfsplit.plan import nodes, states
from halfsplit.plan.nodes import Node
from halfsplit.plan.policies import Policy
from halfsplit.plan.problem import Problem

SEARCHED = 120
"""So many other orders are tried."""


class Costs:
    """Exact expected cost of base policies on one problem; what a node computes is kept between policies."""

    def __init__(self, problem: Problem) -> None:
        self.nodes = nodes.Nodes(problem)
        self.root = self.nodes.root(states.start(problem))

    def cost(self, policy: Policy) -> float:
        """Expected cost of a policy from the start [min]."""
        known: dict[int, float] = {}
        return self._cost(self.root, policy, known)

    def _cost(self, node: Node, policy: Policy, known: dict[int, float]) -> float:
        if id(node) not in known:
            move = policy(node)
            branches = self.nodes.branches(node, move)
            later = sum(chance * self._cost(after, policy, known) for chance, after in branches)
            known[id(node)] = node.minutes(move) + later
        return known[id(node)]


def front_to_back(problem: Problem) -> list[int]:
    """Tests by how many bays lie before them, then by place: a checklist from the front of the machine."""
    depth = problem.test_bays.sum(axis=1)
    return sorted(range(len(depth)), key=lambda test: (depth[test], problem.test_masks[test], test))


def cheapest_first(problem: Problem) -> list[int]:
    """Tests by their minutes with everything closed."""
    return [int(test) for test in np.argsort(problem.at(0, 0).test, kind="stable")]


def best_fixed(problem: Problem) -> list[int]:
    """The fixed order of least cost found by moving one test at a time, from the better given order."""
    random, costs = np.random.default_rng(len(problem.prior)), Costs(problem)
    orders = [front_to_back(problem), cheapest_first(problem)]
    best, order = min((costs.cost(simpler.fixed(order)), order) for order in orders)
    for _ in range(SEARCHED):
        tried = list(order)
        tried.insert(int(random.integers(len(order))), tried.pop(int(random.integers(len(order)))))
        cost = costs.cost(simpler.fixed(tried))
        best, order = (cost, tried) if cost < best else (best, order)
    return order
