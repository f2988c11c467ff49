"""Worked examples from the literature, reproduced exactly."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from benchmarks import bounds, branching, simpler, tree, ways
from halfsplit.plan import advise, nodes, policies, problem, states
from halfsplit.plan.problem import Action, Repairs, Tests

T1_CURES = [[1, 1, 0, 0], [0, 1, 1, 0], [0, 0, 1, 1]]
T1_ORDERS = {
    (2, 0): 1.45, (1, 0, 2): 1.50, (0, 2, 1): 1.55, (1, 2, 0): 1.55, (2, 1, 0): 1.65, (0, 1, 2): 1.70
}  # fmt: skip


def dependent_actions() -> problem.Problem:
    """Three repairs of cost 1 that overlap in what they cure (Ottosen and Jensen, PGM 2008, figure 1)."""
    return problem.build([0.20, 0.25, 0.40, 0.15], Tests([], []), Repairs(T1_CURES, [1.0, 1.0, 1.0]))


def cost_in_order(given: problem.Problem, order: tuple[int, ...]) -> float:
    """Expected cost of repairs in a fixed order, walked with the problem's own branches."""
    state, chance, total = states.start(given), 1.0, 0.0
    for which in order:
        total += chance * branching.minutes(given, state, Action("repair", which))
        branches = branching.branches(given, state, Action("repair", which))
        failed = [(branch.probability, branch.state) for branch in branches if branch.state]
        if not failed:
            break
        chance, state = chance * failed[0][0], failed[0][1]
    return total


def following(given: problem.Problem, policy: policies.Policy) -> float:
    """Expected cost of a policy, followed to the end."""
    met = nodes.Nodes(given)

    def rule(state: states.State) -> Action:
        node = met.root(state)
        return node.action(policy(node))

    return tree.cost_of(given, states.start(given), rule)


@pytest.mark.parametrize(("order", "cost"), T1_ORDERS.items())
def test_dependent_actions_cost_what_the_source_prints(order: tuple[int, ...], cost: float) -> None:
    """Every order of the published example has its published expected cost of repair."""
    assert cost_in_order(dependent_actions(), order) == pytest.approx(cost, abs=1e-12)


def test_exact_search_finds_the_order_that_updating_misses() -> None:
    """The optimum is 1.45 with A3 first, although p/C pays 1.50 with updating, 1.55 without."""
    given = dependent_actions()
    solved = ways.solved(given, states.start(given))
    assert solved.cost == pytest.approx(1.45, abs=1e-12)
    assert solved.action == Action("repair", 2)
    assert following(given, simpler.in_order) == pytest.approx(1.50, abs=1e-12)
    assert bounds.untested(given, states.start(given)) == pytest.approx(1.55, abs=1e-12)


def test_independent_faults_in_the_order_of_p_over_c() -> None:
    """With one repair a fault, p/C costs 8.5, as do exact search and the best of all 24 orders."""
    given = problem.build([0.20, 0.25, 0.40, 0.15], Tests([], []), Repairs(np.eye(4), [5.0, 2.0, 8.0, 1.0]))
    by_force = min(cost_in_order(given, order) for order in itertools.permutations(range(4)))
    in_order = bounds.untested(given, states.start(given))
    solved = ways.solved(given, states.start(given)).cost
    assert [by_force, in_order, solved] == pytest.approx([8.5] * 3, abs=1e-12)


def depth(step: tree.Step) -> int:
    """Most actions on any way through a tree."""
    return 1 + max((depth(outcome.then) for outcome in step.outcomes if outcome.then), default=0)


def naming(signatures: list[str]) -> problem.Problem:
    """Tests of cost 1 with these signatures; a repair of each fault is free once named, dear if it is wrong.

    Repairing costs the same K whatever the fault, so the expected number of tests is the optimum less K.
    """
    marks = np.array([[int(mark) for mark in row] for row in signatures]).T
    shows = np.stack([1 - marks, marks], axis=1)
    faults = len(signatures)
    repairs = Repairs(np.eye(faults), [100.0] * faults)
    return problem.build(np.ones(faults), Tests(shows, np.ones(len(shows))), repairs)


def test_sequencing_five_diagnoses() -> None:
    """Five signatures over four tests: 2.4 tests at best, 2.8 in turn (Balakrishnan and Semmelbauer 1999)."""
    given = naming(["0000", "0001", "0011", "0111", "1111"])
    assert ways.solved(given, states.start(given)).cost - 100.0 == pytest.approx(2.4, abs=1e-12)
    in_turn = following(given, simpler.fixed([0, 1, 2, 3]))
    assert in_turn - 100.0 == pytest.approx(2.8, abs=1e-12)


def test_half_split_of_ten_lamps() -> None:
    """Ten lamps in series, one open: 3.4 readings on the mean at best, 5.4 one by one, 4 at worst."""
    given = naming(["0" * lamp + "1" * (9 - lamp) for lamp in range(10)])
    assert following(given, simpler.fixed(range(9))) - 100.0 == pytest.approx(5.4, abs=1e-12)
    best = tree.drawn(given, states.start(given), lambda s: ways.solved(given, s).action)
    assert depth(best) - 1 == 4
    assert ways.solved(given, states.start(given)).cost - 100.0 == pytest.approx(3.4, abs=1e-12)


@pytest.mark.parametrize(
    ("given", "best"),
    [
        (dependent_actions(), 1.45),
        (naming(["0000", "0001", "0011", "0111", "1111"]), 102.4),
        (naming(["0" * lamp + "1" * (9 - lamp) for lamp in range(10)]), 103.4),
    ],
    ids=["dependent actions", "five diagnoses", "ten lamps"],
)
def test_the_planner_needs_no_exact_search_here(given: problem.Problem, best: float) -> None:
    """With exact search switched off the advice, followed to the end, costs the optimum in every example."""
    limits = advise.LIMITS._replace(exact_nodes=0)
    cost = tree.cost_of(given, states.start(given), lambda s: advise.advise(given, s, limits=limits).action)
    assert cost == pytest.approx(best, abs=1e-9)
