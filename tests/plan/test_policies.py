"""The base policies and simpler ones, where the choice can be told by hand, and the information by its definition."""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks import simpler
from halfsplit.plan import nodes, policies, problem, states
from halfsplit.plan.nodes import Node
from halfsplit.plan.problem import Action, Problem, Repairs, Tests
from tests.plan import plan_instances


def row_of_lamps(minutes: list[float], prior: list[float] | None = None) -> Problem:
    """Four lamps in series, a reading at each of three joints, a repair of 30 minutes each."""
    marks = np.array([[lamp > joint for lamp in range(4)] for joint in range(3)], dtype=float)
    shows = np.stack([marks, 1 - marks], axis=1)
    return problem.build(prior or [1.0] * 4, Tests(shows, minutes), Repairs(np.eye(4), [30.0] * 4))


def first(given: Problem, policy: policies.Policy) -> Action:
    """What a policy does at the start."""
    node = nodes.Nodes(given).root(states.start(given))
    return node.action(policy(node))


def test_half_split_takes_the_middle() -> None:
    """By count the middle joint is best, whatever it costs and however likely the lamps are."""
    given = row_of_lamps([1.0, 50.0, 1.0], [0.7, 0.1, 0.1, 0.1])
    assert first(given, simpler.half_split()) == Action("test", 1)


def test_information_per_minute() -> None:
    """At equal minutes the middle joint; where it costs ten times as much, another."""
    assert first(row_of_lamps([1.0, 1.0, 1.0]), simpler.by_information(0.9)) == Action("test", 1)
    assert first(row_of_lamps([1.0, 10.0, 1.0]), simpler.by_information(0.9)).which != 1


def test_the_threshold_stops() -> None:
    """At 0.8 sure the rule that stops at 0.7 repairs, the one that stops at 0.9 goes on testing."""
    given = row_of_lamps([1.0] * 3, [0.8, 0.1, 0.05, 0.05])
    assert first(given, simpler.by_information(0.7)) == Action("repair", 0)
    assert first(given, simpler.by_information(0.9)).kind == "test"


def test_one_step_ahead_pays_only_for_what_helps() -> None:
    """A reading dearer than all repairs is left alone, a cheap one is taken."""
    assert first(row_of_lamps([500.0] * 3), policies.one_step).kind == "repair"
    assert first(row_of_lamps([1.0] * 3), policies.one_step) == Action("test", 1)


def test_in_order_needs_the_ratio() -> None:
    """Not the likeliest but the one with the highest ratio of probability to price comes first."""
    given = problem.build([0.6, 0.4], Tests([], []), Repairs(np.eye(2), [60.0, 10.0]))
    assert first(given, simpler.in_order) == Action("repair", 1)


def follow(given: Problem, policy: policies.Policy) -> list[Action]:
    """Actions along the most probable branch."""
    met = nodes.Nodes(given)
    node: Node | None = met.root(states.start(given))
    found = []
    while node is not None:
        move = policy(node)
        found.append(node.action(move))
        branches = met.branches(node, move)
        node = branches[0][1] if branches else None
    return found


@pytest.mark.parametrize("seed", range(6))
def test_a_given_order_is_kept(seed: int) -> None:
    """Tests come in the given order, what tells nothing left out."""
    given = plan_instances.drawn(seed)
    order = [int(one) for one in np.random.default_rng(seed).permutation(len(given.shows))]
    done = follow(given, simpler.fixed(order))
    places = [order.index(action.which) for action in done if action.kind == "test"]
    assert places == sorted(places)


@pytest.mark.parametrize("seed", range(12))
def test_information_is_that_about_the_repair(seed: int) -> None:
    """Mutual information of outcome and repair, from its definition, outcome by outcome."""
    given = plan_instances.drawn(seed)
    node = nodes.Nodes(given).root(states.start(given))
    for move, test in enumerate(node.tests):
        joint = given.shows[test] * given.prior
        about = np.stack([joint[:, given.groups == group].sum(axis=1) for group in np.unique(given.groups)], axis=1)
        apart = about.sum(axis=1)[:, None] * about.sum(axis=0)[None, :]
        told = sum(p * np.log(p / q) for p, q in zip(about.ravel(), apart.ravel(), strict=True) if p > 0)
        assert node.information[move] == pytest.approx(told, abs=1e-12)
