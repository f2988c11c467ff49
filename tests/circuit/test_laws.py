"""What every solution must obey, whatever the network."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import given, settings

from halfsplit.circuit import fast, islands
from halfsplit.circuit import network as nw
from tests.circuit import networks

SOME = settings(max_examples=30, deadline=None)


def made(seed: int, **changes: object) -> tuple[np.random.Generator, nw.Network]:
    """A random network of 18 nodes and the generator that it came from."""
    rng = np.random.default_rng(seed)
    return rng, networks.random_network(rng, networks.Recipe(18, 6, **changes))  # type: ignore[arg-type]


@SOME
@given(networks.seeds)
def test_kirchhoff(seed: int) -> None:
    """At each node currents and strays add to nothing, around each closed branch so do the volts."""
    rng, network = made(seed, coupled=True)
    edits = networks.random_edits(rng, network, 2, True)
    edits = tuple(edit for edit in edits if isinstance(edit, nw.Rebranch))
    solution, now = fast.Factored(network).solve(edits), nw.apply(network, edits)
    leaving = np.zeros(now.nodes, complex)
    np.add.at(leaving, now.tail, solution.i)
    np.add.at(leaving, now.head, -solution.i)
    lost = (leaving + now.stray * solution.v)[1:]
    assert np.abs(lost).max() <= 1e-12 * (1.0 + float(np.abs(solution.i).max()))
    drop = now.impedance * solution.i
    for k, j, z in now.coupling:
        drop[k] += z * solution.i[j]
    around = (solution.v[now.tail] - solution.v[now.head] - drop + now.emf)[now.closed]
    assert np.abs(around).max() <= 1e-10 * 240
    assert not solution.i[~now.closed].any()


@SOME
@given(networks.seeds)
def test_power_supplied_is_power_taken(seed: int) -> None:
    """Complex power of all emfs equals that of all impedances and strays (Tellegen)."""
    rng, network = made(seed)
    edits = tuple(e for e in networks.random_edits(rng, network, 2, True) if isinstance(e, nw.Rebranch))
    solution, now = fast.Factored(network).solve(edits), nw.apply(network, edits)
    given_out = now.emf @ solution.i.conj()
    taken = now.impedance @ np.abs(solution.i) ** 2 + now.stray.conj()[1:] @ np.abs(solution.v[1:]) ** 2
    assert abs(given_out - taken) <= 1e-9 * max(float(abs(given_out)), 1.0)


@SOME
@given(networks.seeds)
def test_superposition(seed: int) -> None:
    """The volts of both supplies are the sum of the volts of each alone."""
    _, network = made(seed, coupled=True)
    alone = [replace(network, emf=np.where(np.arange(network.branches) == k, network.emf, 0)) for k in (0, 1)]
    parts = [fast.Factored(part).solve().v for part in alone]
    assert np.allclose(sum(parts), fast.Factored(network).solve().v, atol=1e-8)


@SOME
@given(networks.seeds)
def test_reciprocity_at_rest(seed: int) -> None:
    """Without couplings 1 V driven in branch j makes the current in k that 1 V in k makes in j."""
    rng, network = made(seed, driven=False)
    edits = networks.random_edits(rng, network, 1, True)
    pairs = [k for k in range(network.branches) if nw.apply(network, edits).closed[k]][:6]
    still = nw.apply(network, edits)
    made_in = [fast.Factored(replace(still, emf=np.eye(1, still.branches, j)[0])).solve().i[pairs] for j in pairs]
    table = np.array(made_in)
    assert np.allclose(table, table.T, rtol=1e-9, atol=1e-12)


@SOME
@given(networks.seeds)
def test_resistance_is_a_distance(seed: int) -> None:
    """R is never negative, and a detour is never shorter: R_ac <= R_ab + R_bc (Klein and Randic)."""
    _, network = made(seed, ac=False, dc_stray=1e-10)
    table = fast.Factored(network).resistance_all()
    detour = (table[:, :, None] + table[None, :, :]).min(axis=1)
    assert table.min() >= 0
    assert np.all(table <= detour * (1 + 1e-9) + 1e-9)


@SOME
@given(networks.seeds)
def test_no_resistance_falls_when_one_branch_rises(seed: int) -> None:
    """Rayleigh: opening or raising a branch raises no other way; a bridge lowers all."""
    rng, network = made(seed, ac=False, dc_stray=1e-10)
    k = int(rng.integers(network.branches))
    higher = nw.Rebranch(k, bool(network.closed[k]), float(network.impedance[k].real) * 3)
    pairs = np.argwhere(np.triu(np.ones((18, 18)), 1))
    lists: list[nw.Edits] = [(nw.Bridge(2, 9, 4.0),), (), (higher,), (nw.opened(k),)]
    bridged, plain, raised, opened = fast.Factored(network).resistances(lists, pairs)
    near = opened < 4e7
    for low, high in ((bridged, plain), (plain, raised), (raised, opened)):
        assert np.all((low <= high * (1 + 1e-8) + 1e-9)[near])


@SOME
@given(networks.seeds)
def test_over_range_is_another_island(seed: int) -> None:
    """A pair reads over 40 Mohm exactly where closed branches and bridges do not join it."""
    rng, network = made(seed, ac=False, dc_stray=1e-10)
    lists = networks.edit_lists(rng, network, False, 20)
    pairs = np.argwhere(np.triu(np.ones((18, 18)), 1))
    ohms = fast.Factored(network).resistances(lists, pairs)
    assert np.array_equal(ohms < 4e7, islands.joined(network, lists, pairs))
    a, b = pairs[37]
    assert islands.same_island(network, lists[0], a, b) == (ohms[0, 37] < 4e7)
