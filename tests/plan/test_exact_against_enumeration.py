"""Exact search judged by plain recursion over every action, without bounds, without memory of states."""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks import bounds, branching, ways
from halfsplit.plan import advise, exact, options, problem, states
from halfsplit.plan.problem import Action, Bays, Problem, Repairs, Tests
from halfsplit.plan.states import State


def drawn(seed: int) -> Problem:
    """Four faults, three tests of which one errs and may be done twice, three repairs that overlap, two bays, modes.

    In one of three the way round by a third mode is shorter than the way straight; in one of two the complaint has to
    be seen before an unsure repair, until something is found that is unlike a healthy machine.
    """
    random = np.random.default_rng(seed)
    truth = random.integers(0, 2, (3, 4))
    error = np.array([0.15, 0.0, 0.0])[:, None]
    shows = np.stack([np.abs(1 - truth - error), np.abs(truth - error)], axis=1)
    cures = np.vstack([random.random((2, 4)) < 0.5, [True] * 4])
    detour = seed % 3 == 0
    modes = ([2, 0, 1], [1, 1, -1]) if detour else ([-1, 0, 1], [0, 0, -1])
    times = [2, 1, 1] if seed % 2 else []
    tests = Tests(
        shows, random.uniform(1, 6, 3), [[], [0], [1]], mode=modes[0], times=times, unlike=[[False, True]] * 3
    )  # fmt: skip
    repairs = Repairs(cures, [*random.uniform(5, 30, 2), 45.0], [[0], [1], []], mode=modes[1])
    switch = [[0.0, 20.0, 1.0], [5.0, 0.0, 5.0], [1.0, 0.0, 0.0]] if detour else [[0.0, 3.0], [5.0, 0.0]]
    bays, seeing = Bays([-1, 0], [2, 3], [1, 4]), 7.0 * (seed % 4 > 1)
    uncovering = np.full(np.shape(switch), 3.5 * (seed % 5 == 0))
    return problem.build(random.dirichlet(np.ones(4)), tests, repairs, bays, switch, seeing, uncovering)


def every(given: Problem, state: State) -> list[Action]:
    """Every test that is left and tells something of which repair is due, every repair that may cure.

    A test that tells nothing is none, though its mode may be a shorter way round.
    """
    possible = state.posterior > 0
    of_repair = given.cures[:, possible]
    settled = (of_repair == of_repair[:, :1]).all()
    tells = np.ptp(given.shows[:, :, possible], axis=2).max(axis=1) > 1e-9
    tests = [Action("test", int(test)) for test in np.flatnonzero((state.left > 0) & tells & ~settled)]
    return tests + [Action("repair", one) for one in range(3) if (given.cures[one] & (state.posterior > 0)).any()]


def by_force(given: Problem, state: State) -> float:
    """Least expected cost by trying everywhere all that may be done."""
    return min(_cost(given, state, action) for action in every(given, state))


def _cost(given: Problem, state: State, action: Action) -> float:
    after = branching.branches(given, state, action)
    later = sum(branch.probability * by_force(given, branch.state) for branch in after if branch.state)
    return branching.minutes(given, state, action) + later


@pytest.mark.parametrize("seed", range(30))
def test_exact_search_is_exact(seed: int) -> None:
    """Bounds and merged states lose nothing: the cost is that of trying everything."""
    given = drawn(seed)
    assert ways.solved(given, states.start(given)).cost == pytest.approx(by_force(given, states.start(given)))


@pytest.mark.parametrize("seed", range(30))
def test_each_action_priced_exactly(seed: int) -> None:
    """What an action costs in all is that of trying everything after it."""
    given = drawn(seed)
    start = states.start(given)
    priced = options.priced_exactly(given, start, set(every(given, start)), 10**6)
    assert priced.how == options.EXACTLY
    for action, cost in [(priced.action, priced.expected_cost), *(one[:2] for one in priced.alternatives)]:
        assert cost == pytest.approx(_cost(given, start, action))


@pytest.mark.parametrize("seed", range(30))
def test_bounds_hold(seed: int) -> None:
    """Told for nothing <= one move paid <= the optimum <= no tests at all."""
    given = drawn(seed)
    start = states.start(given)
    told, ahead, most = (bound(given, start) for bound in (bounds.told, bounds.looking_ahead, bounds.untested))
    cost = ways.solved(given, start).cost
    assert told <= ahead + 1e-9 <= cost + 2e-9 <= most + 3e-9


@pytest.mark.parametrize("seed", range(8))
def test_the_planner_is_exact_where_it_is_small(seed: int) -> None:
    """With exact search on, the advice has the exact cost and every alternative is no cheaper."""
    given = drawn(seed)
    choice = advise.advise(given, states.start(given))
    assert choice.how == "exact"
    assert choice.expected_cost == pytest.approx(by_force(given, states.start(given)))
    assert all(option.expected_cost >= choice.expected_cost - 1e-9 for option in choice.alternatives)


def test_too_large_is_said() -> None:
    """Beyond its limit of states exact search gives up with a reason, and the planner goes on without it."""
    given = drawn(3)
    with pytest.raises(exact.TooLarge, match="More than 2 states"):
        ways.solved(given, states.start(given), most=2)
    choice = advise.advise(given, states.start(given), limits=advise.LIMITS._replace(exact_nodes=2))
    assert choice.how == options.ROLLED


@pytest.mark.parametrize("seed", range(6))
def test_faults_that_nothing_tells_apart_stand_as_one(seed: int) -> None:
    """Splitting every fault into three alike changes neither the cost nor the number of states solved."""
    given = drawn(seed)
    tests = Tests(np.repeat(given.shows, 3, axis=2), given.test_minutes)
    whole = problem.build(given.prior, Tests(given.shows, given.test_minutes), Repairs(given.cures, given.repair_price))
    split = problem.build(
        np.repeat(given.prior, 3) * np.tile([0.5, 0.3, 0.2], 4),
        tests,
        Repairs(np.repeat(given.cures, 3, axis=1), given.repair_price),
    )
    one, three = (ways.solved(each, states.start(each)) for each in (whole, split))
    assert three.cost == pytest.approx(one.cost)
    assert three.nodes == one.nodes


@pytest.mark.parametrize("seed", range(20))
def test_repairs_without_tests_cost_what_walking_them_costs(seed: int) -> None:
    """The closed form shares openings and changes mode as the problem's own branches do, repair by repair."""
    given = drawn(seed)
    state = states.start(given)
    order = np.argsort(-(given.cures @ given.prior) / given.at(0, 0).repair, kind="stable")
    walked, chance = 0.0, 1.0
    for which in order:
        if not (given.cures[which] & (state.posterior > 0)).any():
            continue
        walked += chance * branching.minutes(given, state, Action("repair", int(which)))
        failed = [branch for branch in branching.branches(given, state, Action("repair", int(which))) if branch.state]
        if not failed or failed[0].state is None:
            break
        chance, state = chance * failed[0].probability, failed[0].state
    assert bounds.untested(given, states.start(given)) == pytest.approx(walked)
