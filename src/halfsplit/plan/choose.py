"""The choice of the next action: exact where the problem is small, roll-outs where it is not.

Knows the problem as arrays. Danger is an order, not a price: of the actions that cost at most `excess` minutes more
than the cheapest, the least dangerous is advised, and among equals the cheapest.

`improve` gives a first answer at once and better ones while a person reads; `choose` waits for the last.
Everything is counted in nodes, so the same input has the same answer on every machine.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from halfsplit.plan import exact, policies, rollout
from halfsplit.plan.nodes import Node
from halfsplit.plan.problem import Action, Problem, State
from halfsplit.plan.rollout import Budget, Search

SMALL_FAULTS, SMALL_TESTS = 12, 14


class Limits(NamedTuple):
    """What a choice may spend. exact_nodes: states that exact search may solve, 0 switches it off. excess [min]:
    what an action of less danger may cost more. first: nodes of the first answer. budget: of the roll-outs."""

    exact_nodes: int = 4000
    excess: float = 10.0
    first: int = 120
    budget: Budget = Budget()


class Option(NamedTuple):
    """An action, the expected cost to a proven repair if it is done now [min], its own minutes, its danger."""

    action: Action
    expected_cost: float
    minutes: float
    danger: int


class Choice(NamedTuple):
    """The advised action. `alternatives`: others considered, cheapest first. `nodes`: what was spent. `how`:
    'first', 'roll-out', 'roll-out of the roll-out' or 'exact'."""

    action: Action
    expected_cost: float
    alternatives: tuple[Option, ...]
    nodes: int
    how: str


HOW = ("first", "roll-out", "roll-out of the roll-out")


def choose(problem: Problem, state: State, limits: Limits = Limits()) -> Choice:
    """The best answer within the limits.

    >>> from halfsplit.plan import problem as arrays
    >>> tests = arrays.Tests([[[1, 0], [0, 1]]], [2.0])
    >>> two = arrays.build([1, 1], tests, arrays.Repairs(arrays.cures_from([0, 1]), [9.0, 9.0]))
    >>> advice = choose(two, arrays.start(two))
    >>> advice.action, advice.expected_cost
    (Action(kind='test', which=0), 11.0)
    """
    return list(improve(problem, state, limits))[-1]


def improve(problem: Problem, state: State, limits: Limits = Limits()) -> Iterator[Choice]:
    """Answers, each at least as good as the one before: the first at once."""
    search = Search(problem, limits.budget)
    yield first(problem, state, limits)
    if limits.exact_nodes and _small(search.nodes.root(state)):
        try:
            yield _exactly(problem, state, limits)
            return
        except exact.TooLarge:
            pass
    for level in range(1, limits.budget.level + 1):
        yield _rolled(search, state, level, limits)


def first(problem: Problem, state: State, limits: Limits = Limits()) -> Choice:
    """What the best of the base policies would do here: the answer that takes no time."""
    search = Search(problem, limits.budget._replace(nodes=limits.first))
    node = search.nodes.root(state)
    options = {}
    for policy in policies.BASES:
        move = policies.BASES[policy](node)
        cost = search.base(node, policy)
        options[move] = min(cost, options.get(move, np.inf))
    ranked = sorted((cost, move) for move, cost in options.items())
    return _advised(node, ranked, limits, search.spent, HOW[0])


def _rolled(search: Search, state: State, level: int, limits: Limits) -> Choice:
    node = search.nodes.root(state)
    ranked = search.ranked(node, level - 1, slack=limits.excess)
    return _advised(node, ranked, limits, search.spent, HOW[min(level, 2)])


def _exactly(problem: Problem, state: State, limits: Limits) -> Choice:
    search = exact.Exact(problem, limits.exact_nodes)
    node = search.nodes.root(state)
    search.cost(node)
    moves = sorted(rollout.shortlist(node, limits.budget) | {node.moves[exact.EXACT]})
    ranked = sorted((search.cost_of(node, move), move) for move in moves)
    return _advised(node, ranked, limits, search.solved, "exact")


def _advised(
    node: Node, ranked: list[tuple[float, int]], limits: Limits, spent: int, how: str
) -> Choice:
    """The least dangerous of the options within the excess, then the cheapest."""
    options = [_option(node, cost, move) for cost, move in ranked]
    near = [option for option in options if option.expected_cost <= options[0].expected_cost + limits.excess]
    best = min(near, key=lambda option: (option.danger, option.expected_cost))
    others = tuple(option for option in options if option is not best)
    return Choice(best.action, best.expected_cost, others, spent, how)


def _option(node: Node, cost: float, move: int) -> Option:
    action = node.action(move)
    danger = int(node.problem.danger[action.which]) if action.kind == "test" else 0
    return Option(action, float(cost), node.minutes(move), danger)


def _small(node: Node) -> bool:
    return len(node.faults) <= SMALL_FAULTS and len(node.tests) <= SMALL_TESTS
