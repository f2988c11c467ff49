"""Base policies: quick rules that name the next move of a node. Roll-outs stand on them.

Knows nodes only. A policy is a pure function of a node.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from halfsplit.plan import worth
from halfsplit.plan.nodes import Node
from halfsplit.plan.problem import Floats

Policy = Callable[[Node], int]

NOTHING = 1e-9
"""Information below this [nat] is none."""


def one_step(node: Node) -> int:
    """The test that most lowers the expected price of repairing in the order p/C; a repair if none does."""
    if not len(node.tests):
        return node.best_repair()
    test = int(np.argmin(node.after_tests))
    return test if node.after_tests[test] < node.in_order - NOTHING else node.best_repair()


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


FOLLOWED: dict[str, Policy] = {"as advised": as_advised, "one step ahead": one_step}
"""The policies followed after an action is priced, the better of them in every state: what the product does one step
ahead, whose repairs wait until one is nearly sure, and one step ahead on the price of repairs."""
