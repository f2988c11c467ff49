"""Biconnected blocks of a graph, and the guides that tie a dangling block to its neighbour.

Blocks are found by depth-first search with low points (Hopcroft & Tarjan, Algorithm 447, Comm. ACM 16, 1973).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from halfsplit.drawing.graph import Kind, Link, adjacency


def blocks(nodes: Iterable[str], links: Sequence[Link]) -> list[list[int]]:
    """Link indices of every biconnected block (a single link that separates is a block too)."""
    at = adjacency(nodes, links)
    order: dict[str, int] = {}
    low: dict[str, int] = {}
    found: list[list[int]] = []
    for root in at:
        if root not in order:
            _search(root, links, at, order, low, found)
    return found


def _search(
    root: str,
    links: Sequence[Link],
    at: dict[str, list[int]],
    order: dict[str, int],
    low: dict[str, int],
    found: list[list[int]],
) -> None:
    pending: list[int] = []
    order[root] = low[root] = len(order)
    trail: list[tuple[str, int, int]] = [(root, -1, 0)]
    while trail:
        node, via, position = trail.pop()
        if position < len(at[node]):
            trail.append((node, via, position + 1))
            _visit(node, via, at[node][position], links, order, low, pending, trail)
        elif via >= 0:
            _leave(node, via, links, order, low, pending, found)


def _visit(
    node: str,
    via: int,
    index: int,
    links: Sequence[Link],
    order: dict[str, int],
    low: dict[str, int],
    pending: list[int],
    trail: list[tuple[str, int, int]],
) -> None:
    other = links[index].other(node)
    if index == via or (other in order and order[other] > order[node]):
        return
    pending.append(index)
    if other in order:
        low[node] = min(low[node], order[other])
        return
    order[other] = low[other] = len(order)
    trail.append((other, index, 0))


def _leave(
    node: str,
    via: int,
    links: Sequence[Link],
    order: dict[str, int],
    low: dict[str, int],
    pending: list[int],
    found: list[list[int]],
) -> None:
    parent = links[via].other(node)
    low[parent] = min(low[parent], low[node])
    if low[node] >= order[parent]:
        start = pending.index(via)
        found.append(sorted(pending[start:]))
        del pending[start:]


def _nodes(block: Iterable[int], links: Sequence[Link]) -> set[str]:
    return {end for index in block for end in (links[index].a, links[index].b)}


def distances(goal: str, links: Sequence[Link]) -> dict[str, int]:
    """Steps from every node to the goal, for nodes that are joined to it."""
    at = adjacency((goal,), links)
    steps = {goal: 0}
    queue = [goal]
    for node in queue:
        for index in at[node]:
            other = links[index].other(node)
            if other not in steps:
                steps[other] = steps[node] + 1
                queue.append(other)
    return steps


def tied(nodes: Sequence[str], links: Sequence[Link], root: str, goal: str, rails: Iterable[str]) -> list[Link]:
    """Guides that make a connected graph biconnected and leave it planar if it was.

    Each block that hangs at a node gets a guide from a neighbour of that node, the one that bends least as the end of
    the block, to a neighbour of the node in the block nearer to ``root``: the one nearest to ``goal``, so that dead
    ends point along the current; at a right-hand rail the farthest; at a left-hand one ``root`` itself is the last.
    """
    found = blocks(nodes, links)
    members = [_nodes(block, links) for block in found]
    steps = distances(goal, links)
    last = {rail for rail in rails if steps.get(rail, 0) <= 1}
    first = set(rails) - last
    guides: list[Link] = []
    settled = {i for i, ends in enumerate(members) if {root, goal} <= ends}
    queue = sorted(settled)
    for parent in queue:
        for child, ends in enumerate(members):
            shared = ends & members[parent]
            if child in settled or not shared:
                continue
            settled.add(child)
            queue.append(child)
            hinge = min(shared)
            inside = _last(_neighbours(hinge, found[child], links), found[child], links)
            near = _neighbours(hinge, found[parent], links) | {g.b for g in guides if g.a == hinge}
            inward = near - {root} if hinge in first else near
            guides.append(Link(Kind.GUIDE, inside, _anchor(inward or near, steps, hinge in last), weight=0.05))
    return guides


def _neighbours(hinge: str, block: Iterable[int], links: Sequence[Link]) -> set[str]:
    return {links[i].other(hinge) for i in block if hinge in (links[i].a, links[i].b)}


def _last(near: Iterable[str], block: Iterable[int], links: Sequence[Link]) -> str:
    """The node of a dead end to which all of it runs: that costs a net of three links one bend, others two."""
    count = Counter(end for i in block for end in (links[i].a, links[i].b))
    return min(near, key=lambda node: ({1: 0, 3: 1}.get(count[node], 2), node))


def _anchor(near: set[str], steps: dict[str, int], backwards: bool) -> str:
    sign = -1 if backwards else 1
    return min(near, key=lambda node: (sign * steps[node], node))
