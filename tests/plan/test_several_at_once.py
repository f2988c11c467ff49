"""Several tests made as one step, judged by exact search: what is paid in minutes only gains nothing by being one step.

Tests that stand in one set-up cost their own minutes each, whether they are one step or several; what is found after
the first may spare the second. So the least expected cost is the same with such steps among the tests as without.
"""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks import ways
from halfsplit.plan import problem, states
from halfsplit.plan.problem import Bays, Floats, Problem, Repairs, Tests


def drawn(seed: int, together: float | None) -> Problem:
    """Six faults and five tests that do not err, two to a bay; with `together`, each two of a bay as a test more that
    takes so many times the minutes of both."""
    random = np.random.default_rng(seed)
    truth = random.integers(0, 2, (5, 6))
    shows = [np.stack([1 - row, row]).astype(float) for row in truth]
    minutes, bays = [*random.uniform(1, 6, 5)], [[], [0], [0], [1], [1]]
    pairs = [(1, 2), (3, 4)] if together is not None else []
    for a, b in pairs:
        shows.append(joint(shows[a], shows[b]))
        minutes.append((together or 0.0) * (minutes[a] + minutes[b]))
        bays.append(bays[a])
    most = max(len(one) for one in shows)
    padded = np.stack([np.pad(one, ((0, most - len(one)), (0, 0))) for one in shows])
    repairs = Repairs(problem.cures_from([*range(6)]), random.uniform(5, 60, 6), [[], [0], [0], [1], [1], [1]])
    return problem.build(
        random.dirichlet(np.ones(6)), Tests(padded, minutes, bays), repairs, Bays([-1, 0], [2, 3], [1, 4])
    )


def joint(a: Floats, b: Floats) -> Floats:
    """(4, F): both outcomes at once."""
    return (a[:, None] * b[None, :]).reshape(-1, a.shape[1])


def least(given: Problem) -> float:
    """The least expected cost of all plans."""
    return ways.solved(given, states.start(given)).cost


@pytest.mark.parametrize("seed", range(60))
def test_several_at_once_gain_nothing_where_each_takes_its_minutes(seed: int) -> None:
    """Exact search finds no cheaper plan with them."""
    assert least(drawn(seed, 1.0)) == pytest.approx(least(drawn(seed, None)), abs=1e-9)


def test_where_both_take_less_than_each_they_would() -> None:
    """The judge is not blind: at half the minutes most problems have a cheaper plan."""
    cheaper = sum(least(drawn(seed, 0.5)) < least(drawn(seed, None)) - 1e-6 for seed in range(60))
    assert cheaper > 20
