"""The next move of arrays: danger as an order of whole plans, ties to the usual, prices never under the bound."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchmarks import tree, ways
from halfsplit.plan import advise, options, policies, states, worth
from halfsplit.plan.nodes import Nodes
from halfsplit.plan.problem import Action, Problem, Repairs, Tests, build, cures_from
from tests.depth import tried
from tests.plan import plan_instances


def two_tests(minutes: tuple[float, float], danger: tuple[int, int] = (0, 0), price: float = 60.0) -> Problem:
    """Two faults, each test tells them apart."""
    return build([1, 1], Tests([np.eye(2)] * 2, minutes, danger=danger), Repairs(cures_from([0, 1]), [price] * 2))


def one_step_ahead(given: Problem) -> tree.Rule:
    """What one step ahead does in every state."""
    known = Nodes(given)
    return lambda state: known.root(state).action(policies.as_advised(known.root(state)))


def first(given: Problem, *usual: int) -> Action:
    """What is advised at the start."""
    return advise.advise(given, states.start(given), [Action("test", which) for which in usual]).action


def test_the_usual_stands_within_what_a_price_is_sure_to() -> None:
    """Less than a second more is no reason to leave it; five minutes more are."""
    assert first(two_tests((2.0, 2.005)), 1) == Action("test", 1)
    assert first(two_tests((2.0, 7.0)), 1) == Action("test", 0)
    assert first(two_tests((2.5, 2.0))) == Action("test", 1)


def test_where_no_test_tells_more_a_repair_is_advised() -> None:
    """Nothing can be told apart: the first repair of p/C."""
    alike = build([0.6, 0.4], Tests([np.ones((1, 2))], [1.0]), Repairs(cures_from([0, 1]), [40.0, 40.0]))
    assert first(alike) == Action("repair", 0)


def test_what_is_followed_is_one_step_ahead_to_its_end() -> None:
    """Without estimates the price of one step ahead's own test is what following it in every branch costs."""
    exactly = advise.LIMITS.budget._replace(nodes=10**6, cut=0.0, trim=0.0, bases=("as advised",))
    for seed in range(1, 25):
        given = plan_instances.drawn(seed)
        start, rule = states.start(given), one_step_ahead(given)
        if rule(start).kind == "test":
            found = options.priced_evenly(given, start, {rule(start)}, exactly)
            assert found.expected_cost == pytest.approx(tree.cost_of(given, start, rule))


def test_danger_is_an_order_of_whole_plans() -> None:
    """A dead test stands until the live one spares more than the excess."""
    assert first(two_tests((2.0, 8.0), (1, 0))) == Action("test", 1)
    assert first(two_tests((2.0, 20.0), (1, 0))) == Action("test", 0)


def test_what_danger_was_compared_by_is_kept() -> None:
    """The costs of both plans where the action is live; none where no live one would be better, nor where a bound has
    shown that it could not be by the excess."""
    given = two_tests((2.0, 20.0), (1, 0))
    assert advise.advise(given, states.start(given)).order == worth.Order(80.0, 62.0, ahead=True)
    for minutes, danger in (((2.0, 11.0), (0, 0)), ((8.0, 2.0), (1, 0)), ((2.0, 6.0), (1, 0))):
        given = two_tests(minutes, danger)
        assert advise.advise(given, states.start(given)).order is None


def test_alternatives_hold_no_action_twice() -> None:
    """Neither the advised one again, nor any other."""
    for seed in range(tried(10, 30)):
        given = plan_instances.drawn(seed)
        found = advise.advise(given, states.start(given), [Action("test", 0), Action("test", 1)])
        actions = [found.action, *(option.action for option in found.alternatives)]
        assert len(actions) == len(set(actions))


@pytest.mark.parametrize("seed", range(tried(12, 40)))
def test_what_it_claims_is_never_under_exact_search(seed: int) -> None:
    """Without estimates (nothing cut) a price is that of some plan: never under the least."""
    given = plan_instances.drawn(seed)
    start = states.start(given)
    limits = advise.LIMITS._replace(budget=advise.LIMITS.budget._replace(nodes=10**6, cut=0.0, trim=0.0))
    found = advise.advise(given, start, [], limits)
    assert found.expected_cost >= ways.solved(given, start).cost - 1e-9


def test_giving_up_loses_nothing_near() -> None:
    """Pricing with a limit advises what pricing everything to its end advises, and keeps all that cost hardly more."""
    for seed in range(tried(10, 30)):
        given = plan_instances.drawn(seed)
        start = states.start(given)
        every = {Nodes(given).root(start).action(m) for m in range(len(Nodes(given).root(start).floors))}
        whole = options.priced_evenly(given, start, every, advise.LIMITS.budget)
        short = options.priced_evenly(given, start, every, advise.LIMITS.budget, near=3.0)
        assert short.action == whole.action
        assert short.expected_cost == pytest.approx(whole.expected_cost)
        near = {o.action for o in whole.alternatives if o.expected_cost < whole.expected_cost + 3.0 - 1e-6}
        assert near <= {o.action for o in short.alternatives}


@pytest.mark.parametrize("seed", range(6))
def test_a_plan_without_what_is_live(seed: int) -> None:
    """Advised on to its end nothing dangerous is tested, by the numbers that the tests have in the whole problem, and
    it costs no less than the least with all of them."""
    given = plan_instances.drawn(seed)
    given = replace(given, danger=np.arange(len(given.danger)) % 2, _at={})
    dead, limits = advise.without_live(given), advise.LIMITS._replace(exact_nodes=0)
    rule: tree.Rule = lambda state: advise.advise(dead, state, limits=limits).action  # noqa: E731
    plan = tree.drawn(dead, states.start(given), rule)
    tests = [step.action for step in plan.walk() if step.action.kind == "test"]
    assert tests
    assert not any(options.danger(given, action) for action in tests)
    assert plan.expected_minutes() >= ways.solved(given, states.start(given)).cost - 1e-9
