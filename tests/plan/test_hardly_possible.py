"""States of which hardly any probability is left: faults of less than `GONE` each, together a little more."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.plan import advise, states
from halfsplit.plan.advise import LIMITS
from halfsplit.plan.nodes import Nodes
from halfsplit.plan.problem import GONE, Action, Problem, Repairs, Tests, build

RARE = 1.5 * GONE
"""Above what is ruled out, and below it once a test has shown what it shows half of the time."""


def with_rare() -> Problem:
    """A certain fault and two rare ones, each with a repair of its own. A test parts the first from the others, and
    shows these in two ways; a second one parts those."""
    shows = [[[1.0, 0.0, 0.0], [0.0, 0.5, 0.5], [0.0, 0.5, 0.5]], [[1.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.0] * 3]]
    return build([1.0, RARE, RARE], Tests(shows, [1.0, 1.0]), Repairs(np.eye(3), [30.0, 40.0, 50.0]))


@pytest.mark.parametrize("trim", [0.0, 0.002])
def test_no_branch_is_without_a_fault(trim: float) -> None:
    """After every move something is still possible, and its bound is a number."""
    met = Nodes(with_rare(), trim)
    waiting = [met.root(states.start(met.problem))]
    while waiting:
        node = waiting.pop()
        assert len(node.faults)
        assert np.isfinite(node.bound)
        for move in range(len(node.floors)):
            waiting += [after for _, after in met.branches(node, move)]


@pytest.mark.parametrize("exact_nodes", [0, LIMITS.exact_nodes])
def test_a_choice_is_made_beside_what_is_hardly_possible(exact_nodes: int) -> None:
    """With exact search and without."""
    given = with_rare()
    made = advise.advise(given, states.start(given), limits=LIMITS._replace(exact_nodes=exact_nodes))
    assert made.action == Action("repair", 0)
