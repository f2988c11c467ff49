"""Which nodes closed branches join: the judge of what a meter must show as over range.

Knows `network` only; strays join nothing, and every closed branch joins, whatever its ohms.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

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
    tail = [*network.tail[closed].tolist(), *(bridge.a for bridge in bridges)]
    head = [*network.head[closed].tolist(), *(bridge.b for bridge in bridges)]
    root = _roots(network.nodes, zip(tail, head, strict=True))
    return np.unique(root, return_inverse=True)[1]


def _roots(nodes: int, links: Iterable[tuple[int, int]]) -> list[int]:
    """The lowest node that links lead to, of each node (Galler and Fischer, Comm. ACM 7 (1964), 301-303)."""
    above = list(range(nodes))

    def top(node: int) -> int:
        while above[node] != node:
            above[node] = node = above[above[node]]
        return node

    for a, b in links:
        a, b = top(a), top(b)
        above[max(a, b)] = min(a, b)
    return [top(node) for node in range(nodes)]


def same_island(network: nw.Network, edits: nw.Edits, a: int, b: int) -> bool:
    """True where closed branches and bridges lead from node a to node b."""
    label = labels(network, edits)
    return bool(label[a] == label[b])


def joined(network: nw.Network, edit_lists: Sequence[nw.Edits], pairs: nw.Array) -> nw.Array:
    """(F, P) bool: `same_island` of each pair (P, 2) under each edit list."""
    pairs = np.asarray(pairs, np.int64).reshape(-1, 2)
    found = np.array([labels(network, edits) for edits in edit_lists]).reshape(-1, network.nodes)
    return np.asarray(found[:, pairs[:, 0]] == found[:, pairs[:, 1]])
