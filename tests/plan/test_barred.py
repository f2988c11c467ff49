"""What a person cannot do is planned around."""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks import tree
from halfsplit.plan import advise, barred, exact, problem, states
from halfsplit.plan.problem import Problem, Repairs, Tests
from tests.plan import plan_instances


def with_handing_over(seed: int) -> Problem:
    """A random problem with one repair more, which cures every fault at a high price from outside."""
    given = plan_instances.drawn(seed)
    repairs = Repairs(
        np.vstack([given.cures, np.ones(len(given.prior), dtype=bool)]),
        [*given.repair_price, 250.0],
        [*([int(bay) for bay in np.flatnonzero(row)] for row in given.repair_bays), []],
    )
    tests = Tests(given.shows, given.test_minutes, [[int(b) for b in np.flatnonzero(row)] for row in given.test_bays])
    bays = problem.Bays([-1] * 5, given.bay_minutes.tolist(), [0.0] * 5)
    return problem.build(given.prior, tests, repairs, bays)


@pytest.mark.parametrize("seed", range(6))
def test_a_bay_that_will_not_open(seed: int) -> None:
    """No step of the plan needs the bay, no test that was refused is asked for, and it costs no less than before."""
    given = with_handing_over(seed)
    refused = barred.without(given, tests=[0], bays=[2])
    limits = advise.LIMITS._replace(exact_nodes=0)
    rule: tree.Rule = lambda state: advise.advise(refused, state, limits=limits).action  # noqa: E731
    plan = tree.drawn(refused, states.start(given), rule)
    for step in plan.walk():
        needed = refused.test_bays if step.action.kind == "test" else refused.repair_bays
        assert not needed[step.action.which, 2]
        assert (step.action.kind, step.action.which) != ("test", 0)
    assert plan.expected_minutes() >= exact.solve(given, states.start(given)).cost - 1e-9


def test_nothing_left_is_said() -> None:
    """Without a repair for some fault the problem is refused, with what to add."""
    given = plan_instances.drawn(1)
    with pytest.raises(ValueError, match="hand over"):
        barred.without(given, repairs=range(len(given.cures)))
