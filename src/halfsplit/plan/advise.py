"""The next action where people work with their hands: plans priced evenly, those without danger first.

Knows the problem as arrays and what one step ahead would do, to which ties go; `options` prices. Tests and repairs are
weighed as one, by what each is expected to cost in all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from halfsplit.plan import exact, options, policies, rollout
from halfsplit.plan.nodes import Node, Nodes
from halfsplit.plan.options import Choice, Limits, Option
from halfsplit.plan.problem import Action, Problem
from halfsplit.plan.rollout import Budget, Search
from halfsplit.plan.states import State
from halfsplit.plan.worth import Order

PER_BIT = 20.0
"""Minutes that a bit about the repair costs where a branch is only estimated: improbable branches are hard. In 1200
such branches of dryer and water heater, followed to their ends, a bit cost 24 to 27 minutes above the bound."""
BUDGET = Budget(
    nodes=4000, level=1, cut=0.005, trim=0.002, steps=20, order=5, per_bit=PER_BIT, bases=tuple(policies.FOLLOWED)
)
LIMITS = Limits(BUDGET)
"""What a choice may spend unless said otherwise: a person waits for it. In 84 small problems of jobs on five
machines exact search was done within 623 states, or took more than 15,000: with three readings that come and go."""
PRICED, ORDER = 6, 5
"""So many of the best tests are priced, the best test behind each closed bay, and so many repairs, first of p/C."""
SURE, SURE_WHERE_SMALL = 0.5, 0.01
"""Minutes by which two prices must differ to be told apart. With what is cut from a roll-out, the difference of two
prices is wrong by 0.3 minutes (root of the mean square, 290 of dryer and water heater). What is small is priced exactly
or by the roll-out of the roll-out: there what is usual stood too often for half a minute. Of 1200 drawn problems 68 %
were solved at their least with that, 95 % since (exact search switched off)."""
NEAR = 2.5
"""Minutes more than the best from which a plan is not followed to its end."""
ROUGH, CLOSELY = 0.02, 4
"""All actions are priced with branches below this probability only estimated, the best and so many more closely."""
FURTHER, FURTHER_NODES = 0.001, 12_000
"""The action chosen and the usual one are priced once more with branches from here on, and so many nodes."""
SMALL_FAULTS, SMALL_TESTS = 12, 14
SMALL = SMALL_FAULTS * SMALL_TESTS
"""Where faults times tests are no more, exact search is tried first."""
GAINED = 5.0
"""Minutes by which a choice is better than the policy that it follows afterwards, at most: less on all machines."""


def advise(given: Problem, state: State, usual: Sequence[Action] = (), limits: Limits = LIMITS) -> Choice:
    """What to do now, and what that is expected to cost in all.

    usual: what one step ahead would do, best first. The best plan without any dangerous test stands unless one with
    such tests costs less by more than the excess. The rule is applied to whole plans: step by step, safe tests that
    tell little would for ever come before a dangerous one. The first of the usual actions stands unless another plan is
    shorter by more than what a price is sure to.

    >>> from halfsplit.plan.problem import Repairs, Tests, build, cures_from
    >>> from halfsplit.plan.states import start
    >>> tests = Tests([[[1, 0], [0, 1]]], [2.0])
    >>> two = build([1, 1], tests, Repairs(cures_from([0, 1]), [9.0, 9.0]))
    >>> advise(two, start(two)).action
    Action(kind='test', which=0)
    """
    return _Advised(given, state, tuple(usual), limits).choice()


def without_live(given: Problem) -> Problem:
    """The problem in which nothing dangerous is tested; numbers of tests, and so states and actions, stay as they are.

    >>> from halfsplit.plan.problem import Repairs, Tests, build, cures_from
    >>> tests = Tests([[[1, 0], [0, 1]]] * 2, [2.0, 3.0], danger=[1, 0])
    >>> without_live(build([1, 1], tests, Repairs(cures_from([0, 1]), [9.0, 9.0]))).times.tolist()
    [0, 1]
    """
    return replace(given, times=np.where(given.danger, 0, given.times), _at={})


@dataclass(frozen=True, eq=False)
class _Advised:
    """One state of a problem, to be advised on."""

    given: Problem
    state: State
    usual: tuple[Action, ...]
    limits: Limits

    def choice(self) -> Choice:
        """The answer."""
        worth = self._worth_a_price(self.root)
        dead = self._worth_a_price(self._met(self._dead).root(self.state))  # its own best, not crowded out
        found = free = dead_only = self._priced(self._dead, dead)
        if any(options.danger(self.given, action) for action in worth) and self._may_spare(dead_only):
            free = self._priced(self.given, worth)
            found = free if free.expected_cost < dead_only.expected_cost - self.limits.excess else dead_only
        stood = found is dead_only
        made = self._usual_first(self._confirmed(found))._replace(bars_live=stood and self._dead is not self.given)
        live = options.danger(self.given, made.action)
        leads, waits = live and not stood, stood and not live and bool(options.danger(self.given, free.action))
        order = Order(dead_only.expected_cost, free.expected_cost, ahead=True)
        return made._replace(order=order) if leads or waits else made  # else danger had no say

    @cached_property
    def root(self) -> Node:
        """The state as the search sees it."""
        return self._nodes.root(self.state)

    @cached_property
    def _nodes(self) -> Nodes:
        return Nodes(self.given, self._trim)

    @cached_property
    def _dead(self) -> Problem:
        """The problem without live tests; itself where it has none."""
        return without_live(self.given) if self.given.danger.any() else self.given

    @cached_property
    def _dead_nodes(self) -> Nodes:
        return Nodes(self._dead, self._trim)

    @cached_property
    def _trim(self) -> float:
        """What is left out of a state: of a small one nothing, or tests look cheaper than they are."""
        return 0.0 if self.small else self.limits.budget.trim

    @cached_property
    def small(self) -> bool:
        """Whether the problem is small enough for exact search."""
        root = Nodes(self.given).root(self.state)
        return len(root.faults) * len(root.tests) <= SMALL

    def _met(self, given: Problem) -> Nodes:
        """The nodes of the problem itself, and of its dead tests, are kept for all that is asked of them."""
        return self._nodes if given is self.given else self._dead_nodes

    def _worth_a_price(self, root: Node) -> set[Action]:
        """The tests that tell most, those behind each closed bay, the first repairs, and what is usual; of the state as
        one problem has it."""
        moves = rollout.shortlist(root, PRICED, ORDER)
        every = range(len(root.floors))
        return {a for move in every if (a := root.action(move)) in self.usual or move in moves}

    def _priced(self, given: Problem, actions: set[Action]) -> Choice:
        """The actions exactly where that is small; else all roughly, and the best and the usual first closely, where it
        is small after all by the roll-out of the roll-out."""
        if self.small and self.limits.exact_nodes:
            try:
                return options.priced_exactly(given, self.state, actions, self.limits.exact_nodes, NEAR)
            except exact.TooLarge:
                pass
        budget, met = self.limits.budget, self._met(given)
        rough = budget._replace(cut=max(ROUGH, budget.cut))
        first = options.priced_evenly(given, self.state, actions, rough, 2 * NEAR, met)
        best = {first.action, *(option.action for option in first.alternatives[:CLOSELY])}
        closely = budget._replace(level=2) if self.small else budget
        return options.priced_evenly(given, self.state, best | (actions & set(self.usual[:1])), closely, NEAR, met)

    def _may_spare(self, found: Choice) -> bool:
        """Whether a plan with dangerous tests could cost less by more than the excess."""
        least = found.expected_cost - self.limits.excess
        if least <= self.root.bound:
            return False
        search = Search(self.given, self.limits.budget, self._met(self.given))
        return search.value(search.nodes.root(self.state), 0) < least + GAINED

    def _confirmed(self, found: Choice) -> Choice:
        """A choice that is not the usual one, priced once more beside that with improbable branches followed further:
        what is cut from two roll-outs is not alike, and the best of many looks better than it is. What is small was
        priced exactly, or by the roll-out of the roll-out: one roll-out would only take that back. Where a dead plan
        stands, no live step is priced beside it: that waits, whatever it spares within the excess."""
        usual = self.usual[:1]
        if self.small or not usual or found.action in usual:
            return found
        live = [bool(options.danger(self.given, action)) for action in (found.action, *usual)]
        if live == [False, True]:
            return found
        given = self.given if any(live) else self._dead
        sure = self.limits.budget._replace(cut=FURTHER, nodes=FURTHER_NODES)
        priced = options.priced_evenly(given, self.state, {found.action, *usual}, sure, NEAR, self._met(given))
        known = {priced.action, *(one.action for one in priced.alternatives)}
        others = tuple(one for one in found.alternatives if one.action not in known)
        return priced._replace(alternatives=(*priced.alternatives, *others), nodes=found.nodes + priced.nodes)

    def _usual_first(self, found: Choice) -> Choice:
        """The choice, but for what is usual and costs hardly more."""
        usual, least = self.usual[:1], found.expected_cost + (SURE_WHERE_SMALL if self.small else SURE)
        near = [o for o in found.alternatives if o.expected_cost < least and o.action in usual]
        if not near or found.action in usual:
            return found
        first = near[0]
        advised = Option(found.action, found.expected_cost, 0.0, options.danger(self.given, found.action))
        others = (advised, *(option for option in found.alternatives if option is not first))
        return found._replace(action=first.action, expected_cost=first.expected_cost, alternatives=others)
