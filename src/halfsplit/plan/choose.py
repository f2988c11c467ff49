"""The choice of the next action: exact where the problem is small, roll-outs where it is not.

Knows the problem as arrays. Danger is an order, not a price: of the actions that cost at most `excess`
minutes more than the cheapest, the least dangerous is advised, and among equals the cheapest.

`improve` gives a first answer at once and better ones while a person reads; `choose` waits for the last.
Everything is counted in nodes, so the same input has the same answer on every machine.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from typing import NamedTuple

import numpy as np

from halfsplit.plan import exact, policies, rollout, worth
from halfsplit.plan.nodes import Node, Nodes
from halfsplit.plan.problem import Action, Problem
from halfsplit.plan.rollout import Budget, Ranked, Search
from halfsplit.plan.states import State

SMALL_FAULTS, SMALL_TESTS = 12, 14


class Limits(NamedTuple):
    """What a choice may spend. exact_nodes: states that exact search may solve, 0 switches it off. excess
    [min]: what an action of less danger may cost more. first: nodes of the first answer. budget: of the
    roll-outs."""

    exact_nodes: int = 4000
    excess: float = worth.EXCESS
    first: int = 400
    budget: Budget = Budget()


DEFAULT = Limits()


class Option(NamedTuple):
    """An action, the expected cost to a proven repair if it is done now [min], its minutes, its danger."""

    action: Action
    expected_cost: float
    minutes: float
    danger: int


class Choice(NamedTuple):
    """The advised action. `alternatives`: others considered, cheapest first. `nodes`: what was spent. `how`:
    one of `HOW`, or `EXACTLY`."""

    action: Action
    expected_cost: float
    alternatives: tuple[Option, ...]
    nodes: int
    how: str


HOW = ("first", "roll-out", "roll-out of the roll-out")
EXACTLY = "exact"
Price = Callable[[int, float], float | None]
"""The cost of a move; None where it is surely above a limit."""


def choose(problem: Problem, state: State, limits: Limits = DEFAULT) -> Choice:
    """The best answer within the limits.

    >>> from halfsplit.plan import problem as arrays, states
    >>> tests = arrays.Tests([[[1, 0], [0, 1]]], [2.0])
    >>> two = arrays.build([1, 1], tests, arrays.Repairs(arrays.cures_from([0, 1]), [9.0, 9.0]))
    >>> advice = choose(two, states.start(two))
    >>> advice.action, advice.expected_cost
    (Action(kind='test', which=0), 11.0)
    """
    return list(improve(problem, state, limits))[-1]


def improve(problem: Problem, state: State, limits: Limits = DEFAULT) -> Iterator[Choice]:
    """Answers, each at least as good as the one before: the first at once."""
    search = Search(problem, limits.budget)
    node = search.nodes.root(state)
    costs, spent = _first(problem, state, limits)
    yield _advised(node, costs, limits, spent, HOW[0])
    if limits.exact_nodes and _small(node):
        try:
            yield _exactly(problem, state, limits)
            return
        except exact.TooLarge:
            pass
    for level in range(limits.budget.level):
        if not search.over:
            _lower(costs, _ranked(search, node, level, limits))
            yield _advised(node, costs, limits, search.spent, HOW[min(level + 1, 2)])


def priced_evenly(
    problem: Problem, state: State, actions: Collection[Action], limits: Limits = DEFAULT, near: float = np.inf,
    met: Nodes | None = None,
) -> Choice:  # fmt: skip
    """The best of some actions, each priced by a roll-out of the base policies with the whole budget to itself.

    Where a budget is too small for all that could be done, sharing it makes those priced last look dear. An action is
    given up, and is none of the alternatives, once it surely costs `near` minutes more than the best. met: nodes of
    this problem that another search has met. Raises ValueError where none of the actions is open to the state.
    """
    search = Search(problem, limits.budget, met)
    root = search.nodes.root(state)
    spent = 0

    def price(move: int, limit: float) -> float | None:
        nonlocal spent
        cost = search.priced(root, move, limit)
        spent += search.forget_spending()
        return cost

    costs = _each_priced(root, actions, near, price)
    return _advised(root, costs, limits, spent, HOW[1])


def priced_exactly(
    problem: Problem, state: State, actions: Collection[Action], limits: Limits, near: float = np.inf
) -> Choice:
    """The best of some actions, each priced by exact search under the budget's rule of when no further test is made.

    As `priced_evenly` otherwise. Raises exact.TooLarge beyond `limits.exact_nodes` states.
    """
    search = exact.Exact(problem, limits.exact_nodes, limits.budget.stop)
    root = search.nodes.root(state)

    def price(move: int, limit: float) -> float | None:
        cost = search.cost_of(root, move, limit)
        return cost if cost < limit else None

    costs = _each_priced(root, actions, near, price)
    return _advised(root, costs, limits, search.solved, EXACTLY)


def _each_priced(root: Node, actions: Collection[Action], near: float, price: Price) -> dict[int, float]:
    """The costs of these actions by move, the most promising priced first, without those surely above the least and
    `near`. Raises ValueError where none of them is open to the state."""
    costs: dict[int, float] = {}
    for move in rollout.by_guess(root, [m for m in range(len(root.floors)) if root.action(m) in actions]):
        cost = price(move, min(costs.values(), default=np.inf) + near)
        costs |= {} if cost is None else {move: cost}
    if not costs:
        raise ValueError("none of these actions can be taken here: give one that the state allows")
    return costs


def _first(problem: Problem, state: State, limits: Limits) -> tuple[dict[int, float], int]:
    """Cost by move, and nodes spent: what each of the base policies would do here. Takes next to no time."""
    search = Search(problem, limits.budget._replace(nodes=limits.first))
    node = search.nodes.root(state)
    costs: dict[int, float] = {}
    _lower(costs, [(search.base(node, name), policies.ALL[name](node)) for name in limits.budget.bases])
    return costs, search.spent


def _ranked(search: Search, node: Node, level: int, limits: Limits) -> Ranked:
    """Moves by cost; if a dangerous one is cheapest, also those that cost up to the excess more."""
    ranked = search.ranked(node, level)
    danger = _danger(node, ranked[0][1])
    return ranked + (search.ranked(node, level, slack=limits.excess) if danger else [])


def _lower(costs: dict[int, float], found: Ranked) -> None:
    """Every cost is that of some way of going on, so the lower of two stands."""
    for cost, move in found:
        costs[move] = min(cost, costs.get(move, np.inf))


def _exactly(problem: Problem, state: State, limits: Limits) -> Choice:
    search = exact.Exact(problem, limits.exact_nodes)
    node = search.nodes.root(state)
    search.cost(node)
    moves = rollout.shortlist(node, limits.budget) | {node.moves[exact.EXACT]}
    costs = {move: search.cost_of(node, move) for move in sorted(moves)}
    return _advised(node, costs, limits, search.solved, EXACTLY)


def _advised(node: Node, costs: dict[int, float], limits: Limits, spent: int, how: str) -> Choice:
    """The least dangerous of the options within the excess, then the cheapest."""
    ranked = sorted((cost, move) for move, cost in costs.items())
    options = [_option(node, cost, move) for cost, move in ranked]
    near = [option for option in options if option.expected_cost <= options[0].expected_cost + limits.excess]
    best = min(near, key=lambda option: (option.danger, option.expected_cost))
    others = tuple(option for option in options if option is not best)
    return Choice(best.action, best.expected_cost, others, spent, how)


def _option(node: Node, cost: float, move: int) -> Option:
    return Option(node.action(move), float(cost), node.minutes(move), _danger(node, move))


def _danger(node: Node, move: int) -> int:
    return int(node.problem.danger[node.tests[move]]) if move < len(node.tests) else 0


def _small(node: Node) -> bool:
    return len(node.faults) <= SMALL_FAULTS and len(node.tests) <= SMALL_TESTS
