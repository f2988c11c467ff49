"""The next move where people work with their hands: plans priced evenly, those without danger first, ties to the usual.

Knows the problem as arrays and the moves that a simpler rule would advise; `choose` prices them.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.plan import barred, choose, rollout
from halfsplit.plan.choose import Choice, Limits, Option
from halfsplit.plan.nodes import Node, Nodes
from halfsplit.plan.problem import Action, Problem, State
from halfsplit.plan.rollout import Budget, Search

PER_BIT = 1.2
"""Minutes that a bit about the repair costs where a branch is only estimated: what steps cost in rehearsals, about."""
LIMITS = Limits(exact_nodes=0, budget=Budget(nodes=400, level=1, cut=0.02, trim=0.01, per_bit=PER_BIT))
"""What a choice may spend unless said otherwise: a person waits for it."""
PRICED = Budget(steps=6, order=3)
"""So many of the best tests and repairs are priced, and the best test behind each closed bay."""
SURE = 1.0
"""Minutes by which two prices must differ to be told apart."""
NEAR = 5.0
"""Minutes more than the best from which a plan is not followed to its end."""
ROUGHLY, CLOSELY = 8, 4
"""All actions are priced with this part of the budget, the best and so many more with the whole of it."""
GAINED = 5.0
"""Minutes by which a choice is better than the policy that it follows afterwards, at most: less on all machines."""


def advise(given: Problem, state: State, usual: Sequence[Action], limits: Limits = LIMITS) -> Choice:
    """What to do now, and what that is expected to cost in all. usual: what a simpler rule would do, best first.

    The best plan without any dangerous test stands unless one with such tests costs less by more than the excess. The
    rule is applied to whole plans: step by step, safe tests that tell little would for ever come before a dangerous
    one. The first of the usual moves stands unless another plan is shorter by more than what a price is sure to.

    >>> from halfsplit.plan.problem import Repairs, Tests, build, cures_from, start
    >>> tests = Tests([[[1, 0], [0, 1]]], [2.0])
    >>> two = build([1, 1], tests, Repairs(cures_from([0, 1]), [9.0, 9.0]))
    >>> advise(two, start(two), []).action
    Action(kind='test', which=0)
    """
    root = Nodes(given).root(state)
    actions = {root.action(move) for move in rollout.shortlist(root, PRICED)} | set(usual)
    live = [int(k) for k in np.flatnonzero(given.danger)]
    found = _priced(barred.without(given, tests=live), state, actions, usual, limits)
    least = found.expected_cost - limits.excess
    if live and least > root.bound and _followed(given, state, limits) < least + GAINED:
        free = _priced(given, state, actions, usual, limits)
        found = free if free.expected_cost < least else found
    return _usual_first(found, root, usual[:1])


def _priced(given: Problem, state: State, actions: set[Action], usual: Sequence[Action], limits: Limits) -> Choice:
    """The best of the actions: all are priced roughly, the best of them, and the first of the usual, with the whole
    budget."""
    rough = limits.budget._replace(nodes=limits.budget.nodes // ROUGHLY)
    first = choose.priced_evenly(given, state, actions, limits._replace(excess=0.0, budget=rough), 2 * NEAR)
    few = {first.action, *(option.action for option in first.alternatives[:CLOSELY]), *usual[:1]}
    return choose.priced_evenly(given, state, few, limits._replace(excess=0.0), NEAR)


def _followed(given: Problem, state: State, limits: Limits) -> float:
    """What the best of the base policies costs from here [min]."""
    search = Search(given, limits.budget)
    return search.value(search.nodes.root(state), 0)


def _usual_first(found: Choice, root: Node, usual: Sequence[Action]) -> Choice:
    """The choice, but for what costs hardly more and is usual: that goes before a repair too, and makes sure of it."""
    near = [o for o in found.alternatives if o.expected_cost < found.expected_cost + SURE and o.action in usual]
    if not near or found.action in usual:
        return found
    first = near[0]
    advised = Option(found.action, found.expected_cost, 0.0, danger(root.problem, found.action))
    others = (advised, *(option for option in found.alternatives if option is not first))
    return found._replace(action=first.action, expected_cost=first.expected_cost, alternatives=others)


def danger(given: Problem, action: Action) -> int:
    """0 dead, 1 live, higher worse; repairs are made dead."""
    return int(given.danger[action.which]) if action.kind == "test" else 0
