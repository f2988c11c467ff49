"""The sparse product and the islands against scipy's, on random matrices and graphs."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import sparse
from scipy.sparse import csgraph

from halfsplit.circuit import islands
from halfsplit.circuit import network as nw
from halfsplit.circuit.sparse import Sparse


@pytest.mark.parametrize("seed", range(20))
def test_products_equal_scipys(seed: int) -> None:
    """Real and complex, vectors and columns, repeated entries, empty rows."""
    rng = np.random.default_rng(seed)
    size, entries = int(rng.integers(1, 60)), int(rng.integers(0, 200))
    rows, columns = rng.integers(0, size, (2, entries))
    values = rng.normal(size=entries) + (1j * rng.normal(size=entries) if seed % 2 else 0)
    ours, judge = Sparse(size, rows, columns, values), sparse.csr_array((values, (rows, columns)), shape=(size, size))
    assert ours.toarray() == pytest.approx(judge.toarray(), abs=1e-14)
    for x in (rng.normal(size=size), rng.normal(size=(size, 7)), rng.normal(size=(5, size)).T * 1j):
        assert ours.times(x) == pytest.approx(judge @ x, abs=1e-12)
    magnitudes = sparse.csr_array((np.abs(values), (rows, columns)), shape=(size, size))
    assert ours.magnitudes().toarray() == pytest.approx(magnitudes.toarray(), abs=1e-14)


@pytest.mark.parametrize("seed", range(20))
def test_islands_are_the_connected_components(seed: int) -> None:
    """Any graph: the same partition, numbered from 0."""
    rng = np.random.default_rng(seed)
    nodes, branches = int(rng.integers(2, 80)), int(rng.integers(1, 80))
    tail = rng.integers(0, nodes, branches)
    head = (tail + rng.integers(1, nodes, branches)) % nodes
    closed = rng.random(branches) < 0.6
    network = nw.Network(nodes, tail, head, np.ones(branches), closed, np.zeros(branches), (), np.full(nodes, 1e-8), 0)
    graph = sparse.coo_array((np.ones(closed.sum()), (tail[closed], head[closed])), shape=(nodes, nodes))
    count, judge = csgraph.connected_components(graph, directed=False)
    found = islands.labels(network)
    assert sorted(set(found.tolist())) == list(range(count))
    assert len(set(zip(found.tolist(), judge.tolist(), strict=True))) == count
