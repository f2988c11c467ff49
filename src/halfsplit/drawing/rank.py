"""The rank of every net: how many steps from the left it stands. May know: the directed links."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from halfsplit.drawing.graph import LEFT, RIGHT, Kind, Link
from halfsplit.drawing.orient import Flow

Arc = tuple[str, str]


def topological(nodes: Iterable[str], flow: Flow) -> list[str]:
    """Nodes from high to low potential, which is an order in which no link runs backwards."""
    return sorted(nodes, key=lambda node: (-flow.potential[node], node))


def longest(order: Sequence[str], arcs: Iterable[Arc]) -> dict[str, int]:
    """Length of the longest path to every node, zero where nothing leads."""
    rank = dict.fromkeys(order, 0)
    after: dict[str, list[str]] = {node: [] for node in order}
    for tail, head in arcs:
        after[tail].append(head)
    for node in order:
        for head in after[node]:
            rank[head] = max(rank[head], rank[node] + 1)
    return rank


def _pulled(
    order: Sequence[str], arcs: Sequence[Arc], own: Sequence[Arc], rank: dict[str, int], fixed: set[str]
) -> None:
    """Moves nets with more after them than before them to the right, as far as they can go."""
    for node in reversed(order):
        heads = [rank[head] for tail, head in arcs if tail == node]
        outs = sum(tail == node for tail, _ in own)
        ins = sum(head == node for _, head in own)
        if node not in fixed and heads and (outs > ins or ins == 0):
            rank[node] = min(heads) - 1


def _reach(start: Iterable[str], arcs: Iterable[Arc]) -> set[str]:
    after: dict[str, list[str]] = {}
    for tail, head in arcs:
        after.setdefault(tail, []).append(head)
    queue = list(start)
    found = set(queue)
    for node in queue:
        fresh = [head for head in after.get(node, ()) if head not in found]
        found.update(fresh)
        queue += fresh
    return found


def _sides(flow: Flow, arcs: Sequence[Arc], far_right: str | None) -> list[Arc]:
    """Arcs that keep rails at their side: before or after every net that does not lie beyond them.

    ``far_right`` then comes after all rails of the right but those that it feeds, as under a fault it may.
    """
    left, right = flow.left, flow.right
    inner = [node for node in flow.nodes if node not in left | right | {LEFT, RIGHT}]
    above = _reach(left, [(head, tail) for tail, head in arcs])
    added = [(rail, node) for rail in sorted(left) for node in inner if node not in above]
    for rail in sorted(right):
        below = _reach([rail], [*arcs, *added])
        added += [(node, rail) for node in inner if node not in below]
        if far_right and far_right in right and rail not in _reach([far_right], [*arcs, *added]):
            added.append((rail, far_right))
    return added


def _counts(link: Link, guides: bool) -> bool:
    ends = {link.a, link.b}
    return ends != {LEFT, RIGHT} and (guides or link.kind is not Kind.GUIDE or bool(ends & {LEFT, RIGHT}))


def ranks(flow: Flow, far_right: str | None, guides: bool = True) -> dict[str, int]:
    """Rank of every node: rails of the left at 0, N at the end, ``far_right`` (L2) just outside it.

    With ``guides`` every order of the planar picture has no crossing; without them dead ends may lie on others.
    """
    arcs = [arc for arc, link in zip(flow.arcs, flow.links, strict=True) if _counts(link, guides)]
    own = [arc for arc, link in zip(flow.arcs, flow.links, strict=True) if link.kind is not Kind.GUIDE]
    arcs += _sides(flow, arcs, far_right)
    order = _by_arcs(topological(flow.nodes, flow), arcs)
    rank = longest(order, arcs)
    _pulled(order, arcs, own, rank, set(flow.pinned) | {LEFT, RIGHT})
    return {node: place - 1 for node, place in rank.items()}


def _by_arcs(order: Sequence[str], arcs: Sequence[Arc]) -> list[str]:
    """The order, changed as little as the added arcs need."""
    place = {node: i for i, node in enumerate(order)}
    waits = {node: {tail for tail, head in arcs if head == node} for node in order}
    done: list[str] = []
    ready = set(order)
    while ready:
        free = [node for node in ready if not waits[node] & ready] or list(ready)
        node = min(free, key=place.__getitem__)
        done.append(node)
        ready.remove(node)
    return done
