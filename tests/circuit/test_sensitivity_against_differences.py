"""Slopes against finite differences of the dense solution, and Cohn's theorem."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings

from halfsplit.circuit import dense, fast, islands, sensitivity
from halfsplit.circuit import network as nw
from tests.circuit import networks


def stepped(network: nw.Network, edits: nw.Edits, k: int, dz: float, demf: float) -> nw.Edits:
    """The edits with Z_kk and emf_k of branch k moved: on top of its own edit, if it has one."""
    now = nw.apply(network, edits)
    coupled = all(edit.coupled for edit in edits if isinstance(edit, nw.Rebranch) and edit.k == k)
    z, emf = complex(now.impedance[k]) + dz, complex(now.emf[k]) + demf
    return (*edits, nw.Rebranch(k, bool(now.closed[k]), z, emf, coupled))


@pytest.mark.parametrize("seed", range(12))
def test_slopes_of_volts(seed: int) -> None:
    """Central differences in every branch's Z and emf, with couplings and up to two edits."""
    rng = np.random.default_rng(seed)
    ac = bool(seed % 2)
    network = networks.random_network(rng, networks.Recipe(9, 3, ac, coupled=ac))
    lists = [networks.random_edits(rng, network, count, ac) for count in (0, 1, 2)]
    pairs = np.array([[1, 5], [0, 8]])
    slopes = sensitivity.of_volts(fast.Factored(network), lists, pairs)

    def volts(edits: nw.Edits) -> nw.Array:
        v = dense.solve(network, edits).v
        return np.asarray(v[pairs[:, 0]] - v[pairs[:, 1]])

    for f, edits in enumerate(lists):
        for k in range(network.branches):
            now = nw.apply(network, edits)
            if not now.closed[k]:
                assert not slopes.impedance[f, :, k].any()
                assert not slopes.emf[f, :, k].any()
                continue
            z = abs(now.impedance[k])
            h = 1e-4 * z
            up, down = (volts(stepped(network, edits, k, step, 0)) for step in (h, -h))
            near = np.abs(up - down) / (2 * h) * z
            assert np.allclose((up - down) / 2 * z / h, slopes.impedance[f, :, k] * z, atol=1e-6 * near.max() + 1e-5)
            up, down = (volts(stepped(network, edits, k, 0, step)) for step in (1, -1))
            assert np.allclose((up - down) / 2, slopes.emf[f, :, k], rtol=1e-6, atol=1e-7)


@settings(max_examples=25, deadline=None)
@given(networks.seeds)
def test_slopes_of_ohms_are_squared_shares_of_current(seed: int) -> None:
    """Without couplings dR/dR_k is (i_k/I)^2, not negative, and R = sum of R_k dR/dR_k, where joined."""
    rng = np.random.default_rng(seed)
    network = networks.random_network(rng, networks.Recipe(12, 4, False, dc_stray=1e-10))
    lists = [tuple(e for e in networks.random_edits(rng, network, 2, False) if isinstance(e, nw.Rebranch))]
    pairs = np.array([[1, 7], [2, 9], [3, 11]])
    factored = fast.Factored(network)
    slopes = sensitivity.of_ohms(factored, lists, pairs)[0]
    joined = islands.joined(network, lists, pairs)[0]
    ohms = factored.resistances(lists, pairs)[0]
    shares = slopes @ nw.apply(network, lists[0]).impedance.real
    assert np.all(slopes[joined] >= -1e-12)
    assert np.all(slopes[joined] <= 1 + 1e-6)
    assert np.allclose(shares[joined], ohms[joined], rtol=2e-5)
