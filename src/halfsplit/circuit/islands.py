"""Which nodes closed branches join: the judge of what a meter must show as over range.

Knows `network` only; strays join nothing, and every closed branch joins, whatever its ohms.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import scipy.sparse as sp
from scipy.sparse import csgraph

from halfsplit.circuit import network as nw


def labels(network: nw.Network, edits: nw.Edits = ()) -> nw.Array:
    """The island number (nodes,) of each node, counted from 0.

    >>> pair = nw.Network(3, [0, 1], [1, 2], [1, 1], [True, True], [0, 0], (), [0, 0, 0], 0)
    >>> labels(pair, (nw.opened(1),)).tolist()
    [0, 0, 1]
    """
    rebranches, bridges = nw.parted(edits)
    closed = network.closed.copy()
    for edit in rebranches:
        closed[edit.k] = edit.closed
    tail = np.append(network.tail[closed], [bridge.a for bridge in bridges]).astype(np.int64)
    head = np.append(network.head[closed], [bridge.b for bridge in bridges]).astype(np.int64)
    graph = sp.coo_array((np.ones(len(tail)), (tail, head)), shape=(network.nodes, network.nodes))
    return np.asarray(csgraph.connected_components(graph, directed=False)[1])


def same_island(network: nw.Network, edits: nw.Edits, a: int, b: int) -> bool:
    """True where closed branches and bridges lead from node a to node b."""
    label = labels(network, edits)
    return bool(label[a] == label[b])


def joined(network: nw.Network, edit_lists: Sequence[nw.Edits], pairs: nw.Array) -> nw.Array:
    """(F, P) bool: `same_island` of each pair (P, 2) under each edit list."""
    pairs = np.asarray(pairs, np.int64).reshape(-1, 2)
    found = np.array([labels(network, edits) for edits in edit_lists]).reshape(-1, network.nodes)
    return np.asarray(found[:, pairs[:, 0]] == found[:, pairs[:, 1]])
