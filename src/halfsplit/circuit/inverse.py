"""The inverse of a network's matrix, kept in columns that lose no digits to floating parts.

Knows `network` and `islands`. A stray of 1e-10 S lifts a floating part by 1e10 volts per ampere; a difference
of two such columns would have lost ten digits. So the columns kept are the answers to balanced currents:
from a node to the first node of its own island, and from that first node to the ground.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfsplit.circuit import islands
from halfsplit.circuit import network as nw
from halfsplit.circuit.sparse import Sparse


@dataclass(frozen=True, eq=False)
class Inverse:
    """The solved base of a network; N = nodes + branches.

    matrix, b: the system; x: its solution (N,); full: the inverse (N, N); columns: (C, N), row c the answer
    to, [0, n): 1 A into that node and out of the first node of its island; [n, N): a right-hand side of 1 in
    that branch's row; island[node]: 1 A into that first node and out of the ground.
    """

    network: nw.Network
    matrix: Sparse
    b: nw.Array
    x: nw.Array
    full: nw.Array
    columns: nw.Array
    island: nw.Array

    def between(self, a: nw.Array, b: nw.Array) -> nw.Array:
        """The answers (..., N) to 1 A into node a and out of node b, for arrays of nodes of one shape."""
        answers = self.columns[a] - self.columns[b]
        other = self.island[a] != self.island[b]
        if other.any():
            answers[other] += self.columns[self.island[a[other]]] - self.columns[self.island[b[other]]]
        return np.asarray(answers)


def inverted(network: nw.Network, nodes: nw.Array | None = None) -> Inverse:
    """The inverse, refined once; of nodes, the columns of these alone (None: all) and of the islands' first nodes, the
    others 0. Raises NetworkError where the network has no single solution."""
    matrix, b = nw.system(network)
    try:
        full = np.linalg.inv(matrix.toarray())
    except np.linalg.LinAlgError:
        raise nw.NetworkError(["no single solution: a node hangs free without a stray"]) from None
    first, label = _first_nodes(network)
    asked = _asked(network, first[label], first)
    size = network.nodes + network.branches
    wanted = np.concatenate([np.arange(size) if nodes is None else nodes, size + np.arange(len(first))])
    answers = _refined(matrix, full, np.column_stack([asked[:, wanted], b]))
    answers[network.ground] = 0.0
    columns = np.zeros(asked.T.shape, answers.dtype)
    columns[wanted] = answers[:, :-1].T
    return Inverse(network, matrix, b, answers[:, -1], full, columns, size + label)


def _first_nodes(network: nw.Network) -> tuple[nw.Array, nw.Array]:
    """The first node of each island (the ground for its own) and the island number of each node."""
    label = islands.labels(network)
    first = np.unique(label, return_index=True)[1]
    first[label[network.ground]] = network.ground
    return first, label


def _asked(network: nw.Network, own_first: nw.Array, first: nw.Array) -> nw.Array:
    """The right-hand sides that `columns` answer."""
    n, size = network.nodes, network.nodes + network.branches
    asked = np.zeros((size, size + len(first)))
    asked[np.arange(size), np.arange(size)] = 1.0
    asked[own_first, np.arange(n)] -= 1.0
    asked[first, size + np.arange(len(first))] = 1.0
    asked[network.ground] = 0.0
    return asked


def _refined(matrix: Sparse, full: nw.Array, asked: nw.Array) -> nw.Array:
    answers = full @ asked
    return np.asarray(answers + full @ (asked - matrix.times(answers)))
