"""What each action that may be done now is expected to cost in all: exactly where that is small, else by roll-outs.

Knows the problem as arrays; what is done of them is chosen by `advise`. Everything is counted in nodes, so the same
input has the same answer on every machine.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import NamedTuple

import numpy as np

from halfsplit.plan import exact, rollout, worth
from halfsplit.plan.nodes import Node, Nodes
from halfsplit.plan.problem import Action, Problem
from halfsplit.plan.rollout import Budget, Search
from halfsplit.plan.states import State

EXACTLY, ROLLED = "exact", "roll-out"
"""How costs were found."""


class Limits(NamedTuple):
    """What a choice may spend. budget: of the roll-outs. exact_nodes: states that exact search may solve, 0 switches it
    off. excess [min]: what a plan without danger may cost more."""

    budget: Budget
    exact_nodes: int = 2000
    excess: float = worth.EXCESS


class Option(NamedTuple):
    """An action, the expected cost to a proven repair if it is done now [min], its minutes, its danger."""

    action: Action
    expected_cost: float
    minutes: float
    danger: int


class Choice(NamedTuple):
    """The advised action. `alternatives`: others considered, cheapest first. `nodes`: what was spent. `how`:
    `EXACTLY` or `ROLLED`. `order`: what was compared where the action is live, or a live one waits; None too where a
    bound has shown that no live one could spare the excess. `bars_live`: a plan without live tests stands, and no live
    one was priced beside it."""

    action: Action
    expected_cost: float
    alternatives: tuple[Option, ...]
    nodes: int
    how: str
    order: worth.Order | None = None
    bars_live: bool = False


Price = Callable[[int, float], float | None]
"""The cost of a move; None where it is surely above a limit."""


def priced_evenly(
    problem: Problem, state: State, actions: Collection[Action], budget: Budget, near: float = np.inf,
    met: Nodes | None = None,
) -> Choice:  # fmt: skip
    """The cheapest of some actions, each priced by a roll-out of the base policies with the whole budget to itself.

    Where a budget is too small for all that could be done, sharing it makes those priced last look dear. An action is
    given up, and is none of the alternatives, once it surely costs `near` minutes more than the best. met: nodes of
    this problem that another search has met. Raises ValueError where none of the actions is open to the state.

    >>> from halfsplit.plan.problem import Repairs, Tests, build, cures_from
    >>> from halfsplit.plan.states import start
    >>> two = build([1, 1], Tests([[[1, 0], [0, 1]]], [2.0]), Repairs(cures_from([0, 1]), [9.0, 9.0]))
    >>> few = Budget(99, level=1, cut=0, trim=0, steps=20, order=5, per_bit=0, bases=("as advised", "one step ahead"))
    >>> found = priced_evenly(two, start(two), {Action("test", 0), Action("repair", 1)}, few)
    >>> found.action, found.expected_cost, found.alternatives[0].expected_cost
    (Action(kind='test', which=0), 11.0, 13.5)
    """
    search = Search(problem, budget, met)
    root = search.nodes.root(state)
    spent = 0

    def price(move: int, limit: float) -> float | None:
        nonlocal spent
        cost = search.priced(root, move, limit)
        spent += search.forget_spending()
        return cost

    costs = _each_priced(root, actions, near, price)
    return _cheapest(root, costs, spent, ROLLED)


def priced_exactly(
    problem: Problem, state: State, actions: Collection[Action], most: int, near: float = np.inf
) -> Choice:
    """The cheapest of some actions, each priced by exact search.

    As `priced_evenly` otherwise. Raises exact.TooLarge beyond `most` states.
    """
    search = exact.Exact(problem, most)
    root = search.nodes.root(state)

    def price(move: int, limit: float) -> float | None:
        cost = search.cost_of(root, move, limit)
        return cost if cost < limit else None

    costs = _each_priced(root, actions, near, price)
    return _cheapest(root, costs, search.solved, EXACTLY)


def danger(problem: Problem, action: Action) -> int:
    """0 dead, 1 live, higher worse; repairs are made dead."""
    return int(problem.danger[action.which]) if action.kind == "test" else 0


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


def _cheapest(node: Node, costs: dict[int, float], spent: int, how: str) -> Choice:
    ranked = sorted((cost, move) for move, cost in costs.items())
    best, *others = (_option(node, cost, move) for cost, move in ranked)
    return Choice(best.action, best.expected_cost, tuple(others), spent, how)


def _option(node: Node, cost: float, move: int) -> Option:
    action = node.action(move)
    return Option(action, float(cost), node.minutes(move), danger(node.problem, action))
