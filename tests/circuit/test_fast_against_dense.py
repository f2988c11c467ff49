"""The fast solution, judged by the dense one on random networks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings

from halfsplit.circuit import dense, fast
from halfsplit.circuit import network as nw
from tests.circuit import networks


@settings(max_examples=60, deadline=None)
@given(networks.seeds, networks.recipes)
def test_volts_and_amperes_agree_with_the_dense_solution(seed: int, recipe: networks.Recipe) -> None:
    """None to three edits of both kinds: within 1e-9 of the highest volts and of the largest current."""
    rng = np.random.default_rng(seed)
    network = networks.random_network(rng, recipe)
    lists = networks.edit_lists(rng, network, recipe.ac)
    found = fast.Factored(network).solve_many(lists)
    for v, i, edits in zip(found.v, found.i, lists, strict=True):
        judge = dense.solve(network, edits)
        highest = max(np.abs(judge.v).max(), np.abs(network.emf).max())
        assert np.abs(v - judge.v).max() <= 1e-9 * highest
        assert np.abs(i - judge.i[: network.branches]).max() <= 1e-9 * max(np.abs(judge.i).max(), 1.0)


@settings(max_examples=40, deadline=None)
@given(networks.seeds, networks.recipes)
@example(61, networks.Recipe(28, 2, False))
def test_ohms_agree_with_a_driven_dense_solution(seed: int, recipe: networks.Recipe) -> None:
    """Within 3e-9, or 1e-9 ohm, of 1 A driven by a dense solution; 1e-4 where only strays conduct."""
    rng = np.random.default_rng(seed)
    recipe = networks.Recipe(recipe.nodes, recipe.spare, recipe.ac, recipe.coupled, False, 1e-10)
    network = networks.random_network(rng, recipe)
    lists = networks.edit_lists(rng, network, recipe.ac, 12)
    pairs = np.array([[rng.integers(recipe.nodes), rng.integers(recipe.nodes)] for _ in range(12)])
    found = fast.Factored(network).impedances(lists, pairs)
    for row, edits in zip(found, lists, strict=True):
        judge = driven(network, edits, pairs)
        tolerance = np.where(np.abs(judge) < 1e6, 3e-9, 1e-4)
        assert np.all(np.abs(row - judge) <= tolerance * np.abs(judge) + 1e-9)


@pytest.mark.parametrize("seed", [98, 137, 149])
def test_two_edits_that_all_but_part_the_network_are_refined(seed: int) -> None:
    """Pairs of edits that leave 1e-6 of the volts in doubt until they are refined."""
    rng = np.random.default_rng(seed)
    network = networks.random_network(rng, networks.Recipe(24, 6))
    lists = [networks.random_edits(rng, network, 2, True) for _ in range(30)]
    found = fast.Factored(network).solve_many(lists).v
    judged = np.array([dense.solve(network, edits).v for edits in lists])
    assert np.abs(found - judged).max() <= 1e-9 * np.abs(judged).max()


def test_digits_lost_on_the_way_are_won_back() -> None:
    """With the kept columns spoilt by 1e-7 the residual of each single edit still brings 1e-9."""
    rng = np.random.default_rng(2)
    network = networks.random_network(rng, networks.Recipe(20, 6))
    factored = fast.Factored(network)
    factored.base.columns[:] *= 1 + 1e-7 * rng.standard_normal(factored.base.columns.shape)
    lists = [(nw.Rebranch(k, True, 7 + 2j),) for k in range(network.branches)]
    judged = np.array([dense.solve(network, edits).v for edits in lists])
    assert np.abs(factored.solve_many(lists).v - judged).max() <= 1e-9 * np.abs(judged).max()


def test_a_floating_node_tied_twice_keeps_its_ohms() -> None:
    """Two bridges to one floating node, then 2 mohm through it: 3e-9, though each alone spans 1e10 ohm."""
    network = nw.Network(
        4, np.array([0, 1]), np.array([1, 2]), np.array([3.0, 4.0]), np.array([True, True]), np.zeros(2), (),
        np.full(4, 1e-10), 0,
    )  # fmt: skip
    edits = (nw.Bridge(0, 3, 1e-3), nw.Bridge(3, 2, 1e-3))
    found = fast.Factored(network).resistances([edits], np.array([[0, 2], [1, 3]]))[0]
    assert found == pytest.approx([0.014 / 7.002, 1 / (1 / 3.001 + 1 / 4.001)], rel=3e-9)


def driven(network: nw.Network, edits: nw.Edits, pairs: nw.Array) -> nw.Array:
    """The judge of ohms: volts across each pair that 1 A through it makes in the network's own matrix."""
    edited = nw.apply(network, edits)
    matrix, _ = nw.system(edited)
    inject = np.zeros((matrix.shape[0], len(pairs)))
    for column, (a, b) in enumerate(pairs):
        inject[a, column] += 1.0
        inject[b, column] -= 1.0
    inject[network.ground] = 0.0
    x = dense.solved(matrix.toarray(), inject)
    return np.array([x[a, column] - x[b, column] for column, (a, b) in enumerate(pairs)])


@pytest.mark.parametrize("ac", [True, False])
def test_opening_a_joint_of_a_milliohm_keeps_the_digits(ac: bool) -> None:
    """Every joint of a 60-node network opened, one at a time: 4e-9 of the highest volts, nothing worse."""
    rng = np.random.default_rng(5)
    network = networks.random_network(rng, networks.Recipe(60, 12, ac))
    lists = [(nw.opened(k),) for k in range(network.branches)]
    found = fast.Factored(network).solve_many(lists)
    judged = np.array([dense.solve(network, edits).v for edits in lists])
    assert np.abs(found.v - judged).max() <= 4e-9 * np.abs(judged).max()


def test_all_pairs_are_the_pairs_one_by_one() -> None:
    """The table of every pair equals the list of pairs, is symmetric and 0 on its diagonal."""
    rng = np.random.default_rng(9)
    network = networks.random_network(rng, networks.Recipe(15, 4, False, False, False, 1e-10))
    edits = networks.random_edits(rng, network, 2, False)
    pairs = np.argwhere(np.ones((15, 15)))
    factored = fast.Factored(network)
    table = factored.resistance_all(edits)
    listed = factored.resistances([edits], pairs).reshape(15, 15)
    near = listed < 4e7
    assert np.allclose(table[near], listed[near], rtol=3e-9, atol=1e-9)
    assert np.array_equal(table, table.T)
    assert not np.diag(table).any()


def test_cases_come_back_in_their_order() -> None:
    """Edit lists of mixed sizes answer in the order in which they were asked."""
    rng = np.random.default_rng(3)
    network = networks.random_network(rng, networks.Recipe(12, 4))
    lists = networks.edit_lists(rng, network, True, 300)
    factored = fast.Factored(network)
    together = factored.solve_many(lists)
    for f in range(0, 300, 17):
        assert np.allclose(together.v[f], factored.solve(lists[f]).v, rtol=1e-9, atol=1e-9)


def test_a_direct_current_network_is_solved_in_real_arithmetic() -> None:
    """Real input gives real output; a complex edit of it gives a complex one that the dense one confirms."""
    rng = np.random.default_rng(4)
    network = networks.random_network(rng, networks.Recipe(12, 4, ac=False))
    factored = fast.Factored(network)
    assert factored.solve_many([(), (nw.opened(3),)]).v.dtype == np.float64
    edits = (nw.Rebranch(3, True, 5 + 2j), nw.Bridge(1, 7, 3j))
    assert np.allclose(factored.solve(edits).v, dense.solve(network, edits).v, rtol=1e-9, atol=1e-7)
