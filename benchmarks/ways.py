"""Ways of working on a problem of arrays: rules that name the next action of a state, and what following them costs.

Knows problems and planners; not where problems come from, and prints nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from benchmarks import tree
from benchmarks.tree import Followed, Rule
from halfsplit.plan import advise, exact, nodes, policies, states, worth
from halfsplit.plan.exact import Solved
from halfsplit.plan.nodes import Node
from halfsplit.plan.options import Choice, Limits
from halfsplit.plan.policies import Policy
from halfsplit.plan.problem import Action, Problem
from halfsplit.plan.states import State
from halfsplit.service import further

MOST_STATES = 1_000_000
"""So many states exact search may solve as the judge."""


def of_policy(given: Problem, policy: Policy) -> Rule:
    """A policy of nodes as a rule of states."""
    known = nodes.Nodes(given)

    def rule(state: State) -> Action:
        node = known.root(state)
        return node.action(policy(node))

    return rule


def product(given: Problem, limits: Limits = advise.LIMITS) -> Rule:
    """What the product does where many steps are looked ahead (`plan/ahead`): the likeliest repair once that is sure,
    else what `advise` says, which is told the test that one step ahead would take."""
    known, ahead = nodes.Nodes(given), advised(given, limits)

    def rule(state: State) -> Action:
        node = known.root(state)
        if float(node.cure.max()) >= worth.CERTAIN:
            return node.action(len(node.tests) + int(np.argmax(node.cure)))
        return ahead(state).action

    return rule


def offered(given: Problem, limits: Limits = advise.LIMITS) -> Rule:
    """What a person does in the guide who takes what it offers: what one step ahead shows, and instead of it what the
    product does looking many steps ahead, where the guide tells of it (`service/further.is_offered`)."""
    known, ahead = nodes.Nodes(given), advised(given, limits)

    def rule(state: State) -> Action:
        node = known.root(state)
        shown = node.action(policies.as_advised(node))
        if float(node.cure.max()) >= worth.CERTAIN:
            return shown
        found = ahead(state)
        priced = {one.action: one.expected_cost - found.expected_cost for one in found.alternatives}
        told = further.is_offered(priced.get(shown), shown in usual(node), found.action.kind == "test")
        return found.action if told else shown

    return rule


def advised(given: Problem, limits: Limits) -> Callable[[State], Choice]:
    """What the planner says of a state, told the test that one step ahead would take."""
    known = nodes.Nodes(given)

    def choose(state: State) -> Choice:
        return advise.advise(given, state, usual(known.root(state)), limits)

    return choose


def usual(node: Node) -> list[Action]:
    """The test that one step ahead would take; none where no test is left."""
    return [node.action(policies.by_rate(node)[0])] if len(node.tests) else []


def solved(given: Problem, state: State, most: int = MOST_STATES) -> Solved:
    """The least expected cost to a proven repair from a state, and an action that has it.

    Raises exact.TooLarge beyond so many states.
    """
    return exact.Exact(given, most).solve(state)


def least(given: Problem, most: int = MOST_STATES) -> Rule:
    """What exact search does. The rule raises exact.TooLarge beyond so many states."""
    search = exact.Exact(given, most)

    def rule(state: State) -> Action:
        return search.solve(state).action

    return rule


def followed(given: Problem, rule: Rule) -> Followed:
    """A rule followed from the start to its end in every branch.

    >>> from benchmarks import simpler
    >>> from halfsplit.plan.problem import Repairs, Tests, build, cures_from
    >>> two = build([3, 1], Tests([[[1, 0], [0, 1]]], [2.0]), Repairs(cures_from([0, 1]), [8.0, 8.0]))
    >>> followed(two, of_policy(two, simpler.in_order)), followed(two, least(two))
    (Followed(minutes=10.0, first_right=0.75), Followed(minutes=10.0, first_right=0.75))
    """
    return tree.followed(given, states.start(given), rule)


def with_call_back(given: Problem, minutes: float) -> Problem:
    """The problem where a wrong repair costs so many minutes more: every repair does, the right one at the end too.

    Take them once from what a plan is expected to cost to have what the wrong repairs alone add.
    """
    return replace(given, repair_price=given.repair_price + minutes, _at={})
