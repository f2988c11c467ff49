"""Simpler policies than those that roll-outs follow: tables compare them with the planner.

Knows nodes only. A policy is a pure function of a node.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.plan.nodes import Node
from halfsplit.plan.policies import NOTHING, Policy
from halfsplit.plan.problem import GONE


def in_order(node: Node) -> int:
    """No tests: the repair that is first in the order p/C."""
    return node.best_repair()


def by_information(stop: float) -> Policy:
    """The test that tells most per minute, until one repair is at least `stop` likely (0..1) to be right."""

    def chosen(node: Node) -> int:
        if _enough(node, stop):
            return node.best_repair()
        worth = node.information / np.maximum(node.test_minutes, GONE)
        return int(np.argmax(worth)) if node.information.max() > NOTHING else node.best_repair()

    return chosen


def half_split(stop: float = 0.9) -> Policy:
    """The test that parts the possible faults most evenly by count, whatever it costs; then repairs."""

    def chosen(node: Node) -> int:
        if _enough(node, stop):
            return node.best_repair()
        largest = node.telling[1].sum(axis=2).max(axis=1)
        return int(np.argmin(np.round(largest, 9)))

    return chosen


def fixed(order: Sequence[int], stop: float = 0.9) -> Policy:
    """Tests in a given order, those that tell nothing any more left out; then repairs in the order p/C."""
    place = {test: position for position, test in enumerate(order)}

    def chosen(node: Node) -> int:
        waiting = [move for move, test in enumerate(node.tests) if int(test) in place]
        if not waiting or _enough(node, stop):
            return node.best_repair()
        return min(waiting, key=lambda move: place[int(node.tests[move])])

    return chosen


def _enough(node: Node, stop: float) -> bool:
    return not len(node.tests) or float(node.cure.max()) >= stop
