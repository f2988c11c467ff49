"""Rungs: the links as straight rows, found by peeling ears.

Again and again the longest path of unused links is taken that runs from a net already seen through nets not yet seen to
a net already seen; at first only the rails are seen. Bridges need no special case. May know: the directed links.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from halfsplit.drawing.graph import LEFT, RIGHT, Kind
from halfsplit.drawing.orient import Flow
from halfsplit.drawing.rank import topological

_WORTH = {Kind.ELEMENT: 1.0, Kind.PIN: 1.0, Kind.WIRE: 0.2, Kind.GUIDE: 0.01}


@dataclass(frozen=True, slots=True)
class Rung:
    """Nodes from left to right and the links between them; one node and no link is the head of a rail.

    ``bus`` counts frames that hang on a row of its own.
    """

    nodes: tuple[str, ...]
    links: tuple[int, ...]
    bus: int = 0


def _best_path(flow: Flow, order: Sequence[str], unused: set[int], seen: set[str]) -> list[int]:
    """Links of the best path, by dynamic programming along the order of potentials."""
    out: dict[str, list[int]] = {}
    for i in sorted(unused):
        out.setdefault(flow.arcs[i][0], []).append(i)
    worth: dict[str, float] = dict.fromkeys(seen, 0.0)
    came: dict[str, int] = {}
    best, last = -1.0, -1
    for node in order:
        if node not in worth:
            continue
        for i in out.get(node, ()):
            head = flow.arcs[i][1]
            value = worth[node] + _WORTH[flow.links[i].kind] + _favour(flow, i)
            if head in seen:
                if value > best:
                    best, last = value, i
            elif value > worth.get(head, -1.0):
                worth[head], came[head] = value, i
    return _trail(flow, came, last, seen)


def _favour(flow: Flow, index: int) -> float:
    """Straight through rather than round about: what drops more potential is the main path."""
    tail, head = flow.arcs[index]
    return 0.01 * abs(flow.potential[tail] - flow.potential[head])


def _trail(flow: Flow, came: dict[str, int], last: int, seen: set[str]) -> list[int]:
    path = []
    while last >= 0:
        path.append(last)
        tail = flow.arcs[last][0]
        last = -1 if tail in seen else came[tail]
    return path[::-1]


def _pieces(flow: Flow, path: Iterable[int]) -> list[list[int]]:
    """The path without its guides, as runs of real links."""
    runs: list[list[int]] = [[]]
    for i in path:
        if flow.links[i].kind is Kind.GUIDE:
            runs.append([])
        else:
            runs[-1].append(i)
    return [run for run in runs if run]


def _rung(flow: Flow, run: Sequence[int]) -> Rung:
    return Rung((flow.arcs[run[0]][0], *(flow.arcs[i][1] for i in run)), tuple(run))


def peel(flow: Flow) -> tuple[list[Rung], list[list[int]]]:
    """Rungs of all links, and the paths (with guides) of the planar part that were peeled, for ordering."""
    order = topological(flow.nodes, flow)
    seen = {LEFT, RIGHT, *flow.pinned}
    unused = set(range(1, flow.planar_count))
    paths: list[list[int]] = []
    while unused:
        path = _best_path(flow, order, unused, seen)
        paths.append(path)
        unused -= set(path)
        seen.update(end for i in path for end in flow.arcs[i])
    rungs = [_rung(flow, run) for path in paths for run in _pieces(flow, path)]
    rungs += [_rung(flow, [i]) for i in range(flow.planar_count, len(flow.links))]
    return rungs, paths
