"""The repair problem itself: prices, beliefs, mistakes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given as drawn_from
from hypothesis import strategies as st

from benchmarks import branching
from halfsplit.plan import problem, states
from halfsplit.plan.problem import Action, Bays, Repairs, Tests
from tests.plan import plan_instances


def machine() -> problem.Problem:
    """Two faults, two tests (outside, behind two bays), two repairs (behind one, behind two), two modes."""
    tests = Tests([[[1, 0], [0, 1]]] * 2, [2.0, 3.0], [[], [1]], mode=[0, 1])
    repairs = Repairs(np.eye(2), [10.0, 20.0], [[0], [1]], mode=[0, -1])
    return problem.build([3, 1], tests, repairs, Bays([-1, 0], [1, 2], [3, 4]), [[0, 5], [7, 0]])


def test_what_is_open_is_free() -> None:
    """Opening a bay pays for it, its closing and the bays in front, once."""
    given = machine()
    start = states.start(given)
    assert branching.minutes(given, start, Action("test", 1)) == 3 + (1 + 3) + (2 + 4) + 5
    inside = branching.branches(given, start, Action("test", 1))[0].state
    assert inside is not None
    assert (inside.opened, inside.mode) == (0b11, 1)
    assert branching.minutes(given, inside, Action("repair", 0)) == 10 + 7
    assert branching.minutes(given, inside, Action("repair", 1)) == 20


def test_prices_after_a_test_agree_with_doing_it() -> None:
    """The table of what repairs cost after a test is what they cost once it is done; so is the floor."""
    given = machine()
    here = given.at(0, 0)
    for test in range(2):
        after = branching.branches(given, states.start(given), Action("test", test))[0].state
        assert after is not None
        there = given.at(after.opened, after.mode)
        assert here.repair_after[test] == pytest.approx(there.repair)
        assert here.floor_after_test[test] == pytest.approx(there.floor)


@drawn_from(st.integers(0, 400), st.data())
def test_beliefs(seed: int, data: st.DataObject) -> None:
    """Whatever is done, branches and posteriors sum to one and a wrong repair rules out what it cures."""
    given = plan_instances.drawn(seed)
    state = states.start(given)
    for _ in range(4):
        tests = [Action("test", int(test)) for test in np.flatnonzero(state.left > 0)]
        repairs = [Action("repair", one) for one in range(len(given.cures))]
        action = data.draw(st.sampled_from(tests + repairs))
        after = branching.branches(given, state, action)
        assert sum(branch.probability for branch in after) == pytest.approx(1.0)
        following = [branch.state for branch in after if branch.state]
        if not following:
            return
        state = data.draw(st.sampled_from(following))
        assert state.posterior.sum() == pytest.approx(1.0)
        if action.kind == "repair":
            assert not state.posterior[given.cures[action.which]].any()


@drawn_from(st.integers(0, 400))
def test_the_order_of_findings_does_not_matter(seed: int) -> None:
    """Two tests with the same outcomes leave the same posterior in either order."""
    given = plan_instances.drawn(seed)
    one = _after(given, [(0, 0), (1, 0)])
    other = _after(given, [(1, 0), (0, 0)])
    assert (one is None) == (other is None)
    if one is not None and other is not None:
        assert one.posterior == pytest.approx(other.posterior)
        assert (one.opened, one.left.tolist()) == (other.opened, other.left.tolist())


def _after(given: problem.Problem, findings: list[tuple[int, int]]) -> states.State | None:
    state: states.State | None = states.start(given)
    for test, outcome in findings:
        assert state is not None
        after = branching.branches(given, state, Action("test", test))
        state = next((branch.state for branch in after if branch.outcome == outcome), None)
        if state is None:
            return None
    return state


def test_every_mistake_is_named_at_once() -> None:
    """Negative minutes, outcomes that do not sum to one, a fault without a repair, an impossible prior."""
    with pytest.raises(ValueError, match="cannot be used") as raised:
        problem.build([-1, 2], Tests([[[0.5, 0], [0.2, 1]]], [-2.0]), Repairs([[1, 0]], [5.0]))
    for word in ("prior", "Minutes", "sum to one", "needs a repair"):
        assert word in str(raised.value)


def test_lengths_that_differ_are_named() -> None:
    """A table with a column too few is told as such, not as a shape error of the arrays."""
    with pytest.raises(ValueError, match="differ in length"):
        problem.build([1, 1, 1], Tests([[[1, 0], [0, 1]]], [2.0]), Repairs(np.eye(3), [5.0] * 3))
