"""Base policies: quick rules that name the next move of a node. Roll-outs stand on them, tables compare them.

Knows nodes only. A policy is a pure function of a node.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from halfsplit.plan import worth
from halfsplit.plan.nodes import Node
from halfsplit.plan.problem import GONE, Action, Floats

Policy = Callable[[Node], int]

NOTHING = 1e-9
"""Information below this [nat] is none."""


def in_order(node: Node) -> int:
    """No tests: the repair that is first in the order p/C."""
    return node.best_repair()


def by_information(stop: float) -> Policy:
    """The test that tells most per minute, until one repair is at least `stop` likely (0..1) to be right."""

    def chosen(node: Node) -> int:
        if _enough(node, stop):
            return node.best_repair()
        rate = node.information / np.maximum(node.test_minutes, GONE)
        return int(np.argmax(rate)) if node.information.max() > NOTHING else node.best_repair()

    return chosen


def one_step(node: Node) -> int:
    """The test that most lowers the expected price of repairing in the order p/C; a repair if none does."""
    if not len(node.tests):
        return node.best_repair()
    test = int(np.argmin(node.after_tests))
    return test if node.after_tests[test] < node.in_order - NOTHING else node.best_repair()


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


def given(actions: Sequence[Action], stop: float = 0.9) -> Policy:
    """Actions in a given order, tests and repairs mixed, what cannot help left out; then as `in_order`."""
    place = {action: position for position, action in enumerate(actions)}

    def chosen(node: Node) -> int:
        moves = range(len(node.tests) + len(node.repairs))
        waiting = [move for move in moves if node.action(move) in place]
        if not waiting or _enough(node, stop):
            return node.best_repair()
        return min(waiting, key=lambda move: place[node.action(move)])

    return chosen


def as_advised(node: Node) -> int:
    """What one step ahead does on a machine: its best test while that pays, else the likeliest repair where that is
    sure, or the first in the order p/C."""
    repair = len(node.tests) + int(np.argmax(node.cure))
    if node.cure.max() >= worth.SURE:
        return repair
    if not len(node.tests):
        return node.best_repair()
    test, minutes = by_rate(node)
    told, likeliest = float(node.information[test]), float(node.by_group.max())
    wasted, minutes = float(node.repair_price[repair - len(node.tests)]), minutes - float(node.spares_seeing[test])
    pays = told > NOTHING and worth.pays(minutes, told, node.unsure, 1 - likeliest, wasted)
    return test if pays else node.best_repair()


def by_rate(node: Node) -> tuple[int, float]:
    """The test that tells most per minute, and its minutes."""
    minutes = _extra(node)
    test = int(np.argmax(node.information / minutes))
    return test, float(minutes[test])


def _extra(node: Node) -> Floats:
    """(T,) minutes of the tests beyond those of the repair; nothing is done in less than the least."""
    return np.asarray(np.maximum(node.extra_minutes, worth.LEAST_MINUTES))


BASES: dict[str, Policy] = {
    "information, stop at 0.9": by_information(0.9),
    "information, stop at 0.7": by_information(0.7),
    "one step ahead": one_step,
}
ALL: dict[str, Policy] = BASES | {"as advised": as_advised}
"""These, and what one step ahead does on a machine."""


def _enough(node: Node, stop: float) -> bool:
    return not len(node.tests) or float(node.cure.max()) >= stop
