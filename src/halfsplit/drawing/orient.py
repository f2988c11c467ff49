"""Which way every link runs, and which links a planar picture can hold.

The house is two nodes, LEFT and RIGHT, with a link between them; L1, PE and a lone frame are guided to LEFT, N and L2
to RIGHT. Nets get potentials from that (LEFT 1, RIGHT 0), loads conduct 1 and contacts 3, so that a link always has a
high and a low end, bridges included, and every net but the house has something before it and something after it: a
bipolar orientation, which a planar picture needs. May know: graph, blocks, planar.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from halfsplit.drawing import blocks, planar
from halfsplit.drawing.graph import LEFT, RIGHT, Graph, Kind, Link, adjacency
from halfsplit.drawing.sheet import Rail

SIDE = {Rail.L1: LEFT, Rail.PE: LEFT, Rail.FRAME: LEFT, Rail.N: RIGHT, Rail.L2: RIGHT}
_PULL = {Rail.L1: 1e5, Rail.PE: 300.0, Rail.FRAME: 200.0, Rail.N: 60.0, Rail.L2: 1e5}
_GIVE_UP_FIRST = (Rail.PE, Rail.FRAME, Rail.L2, Rail.N, Rail.L1)


@dataclass(frozen=True, slots=True)
class Flow:
    """Directed links and how they lie.

    ``arcs[i]`` is (tail, head) of ``links[i]``; links from ``planar_count`` on are those that the planar picture could
    not hold; ``faces`` embed the others; ``left`` and ``right`` are the rails that keep to these sides.
    """

    nodes: tuple[str, ...]
    links: tuple[Link, ...]
    arcs: tuple[tuple[str, str], ...]
    planar_count: int
    faces: tuple[tuple[planar.Dart, ...], ...]
    left: frozenset[str]
    right: frozenset[str]
    potential: dict[str, float]

    @property
    def pinned(self) -> frozenset[str]:
        """All rails that keep to their side."""
        return self.left | self.right


def _component_guides(nodes: Sequence[str], links: Sequence[Link]) -> Iterator[Link]:
    joined = set(blocks.distances(LEFT, links))
    at = adjacency(nodes, links)
    for node in nodes:
        if node in joined or not at[node]:
            continue
        joined |= set(blocks.distances(node, links))
        yield Link(Kind.GUIDE, LEFT, node, weight=0.05)
        yield Link(Kind.GUIDE, links[at[node][0]].other(node), RIGHT, weight=0.05)


def _house(graph: Graph, keep: Iterable[Rail]) -> list[Link]:
    guides = [Link(Kind.GUIDE, LEFT, RIGHT, weight=0.001)]
    for rail in keep:
        guides.append(Link(Kind.GUIDE, SIDE[rail], graph.rails[rail], weight=_PULL[rail]))
    return guides


def _completed(graph: Graph, links: Sequence[Link], keep: Sequence[Rail]) -> list[Link]:
    """Links with all guides: connected, biconnected, planar if the links with the house are; the house link first."""
    whole = [*_house(graph, keep), *links]
    nodes = (LEFT, RIGHT, *graph.nodes)
    whole += _component_guides(nodes, whole)
    kept = [graph.rails[rail] for rail in keep]
    whole += _reach_right(graph, whole, keep)
    return whole + blocks.tied(nodes, whole, LEFT, RIGHT, kept)


def _reach_right(graph: Graph, whole: Sequence[Link], keep: Sequence[Rail]) -> list[Link]:
    """A guide for each side that no rail holds: to a neighbour of what the other side holds, which costs no face."""
    ends = {side: [graph.rails[r] for r in keep if SIDE[r] == side] for side in (LEFT, RIGHT)}
    added = []
    for side, across in ((LEFT, RIGHT), (RIGHT, LEFT)):
        if ends[across] and not ends[side]:
            node = ends[across][0]
            near = [link.other(node) for link in whole if node in (link.a, link.b)]
            inner = sorted(set(near) - {LEFT, RIGHT})
            added += [Link(Kind.GUIDE, side, other, weight=1.0) for other in inner[:1]]
    return added


def _try(graph: Graph, links: Sequence[Link], keep: Sequence[Rail]) -> tuple[list[Link], planar.Embedding]:
    whole = _completed(graph, links, keep)
    return whole, planar.embed((LEFT, RIGHT, *graph.nodes), whole, 0)


def _choices(graph: Graph) -> Iterator[tuple[Rail, ...]]:
    rails = [rail for rail in _GIVE_UP_FIRST if rail in graph.rails]
    for count in range(1, len(rails)):
        for dropped in combinations(rails, count):
            yield tuple(rail for rail in rails if rail not in dropped)


def _held(graph: Graph, links: Sequence[Link], keep: Sequence[Rail]) -> tuple[list[int], list[int]]:
    """Indices of links that a planar picture holds, and of the others, each tried again at the end."""
    held = list(range(len(links)))
    lost: list[int] = []
    while True:
        whole, embedding = _try(graph, [links[i] for i in held], keep)
        if not embedding.blocking:
            break
        own = {whole.index(links[i]): i for i in held}
        taken = [own[b] for b in embedding.blocking if b in own] or [held[-1]]
        lost += taken
        held = [i for i in held if i not in taken]
    for index in list(lost):
        again = sorted([*held, index])
        if not _try(graph, [links[i] for i in again], keep)[1].blocking:
            held = again
            lost.remove(index)
    return held, lost


@dataclass(frozen=True, slots=True)
class _Arrangement:
    """Links and guides that a planar picture holds, links left over, its faces, the rails that keep to their side."""

    whole: list[Link]
    lost: list[Link]
    faces: tuple[tuple[planar.Dart, ...], ...]
    keep: tuple[Rail, ...]


def _arrangements(graph: Graph) -> Iterator[_Arrangement]:
    """A planar one with as many rails at their side as it can have; else many that leave links over."""
    for keep in (tuple(graph.rails), *_choices(graph)):
        whole, embedding = _try(graph, graph.links, keep)
        if not embedding.blocking:
            yield _Arrangement(whole, [], embedding.faces, keep)
            return
    yield _held_arrangement(graph, tuple(graph.rails))
    yield from _without_one(graph)
    yield from (_held_arrangement(graph, keep) for keep in _choices(graph))


def _held_arrangement(graph: Graph, keep: tuple[Rail, ...]) -> _Arrangement:
    held, lost = _held(graph, graph.links, keep)
    whole, embedding = _try(graph, [graph.links[i] for i in held], keep)
    return _Arrangement(whole, [graph.links[i] for i in lost], embedding.faces, keep)


def _without_one(graph: Graph) -> Iterator[_Arrangement]:
    """What is planar without one link, for each such link and each choice of rails at their side, most first."""
    keeps = (tuple(graph.rails), *_choices(graph))

    def rest(index: int) -> list[Link]:
        return [*graph.links[:index], *graph.links[index + 1 :]]

    single = [i for i in range(len(graph.links)) if not _try(graph, rest(i), keeps[-1])[1].blocking]
    for keep in keeps:
        for index in single:
            whole, embedding = _try(graph, rest(index), keep)
            if not embedding.blocking:
                yield _Arrangement(whole, [graph.links[index]], embedding.faces, keep)


def potentials(nodes: Sequence[str], links: Sequence[Link]) -> dict[str, float]:
    """Potential of every node with LEFT at 1 and RIGHT at 0; conductances are made slightly unequal against ties."""
    place = {node: i for i, node in enumerate(nodes)}
    matrix = np.zeros((len(nodes), len(nodes)))
    for number, link in enumerate(links):
        i, j = place[link.a], place[link.b]
        conductance = link.weight * (1.0 + 0.013 * ((number * 0.6180339887) % 1.0))
        matrix[[i, j], [i, j]] += conductance
        matrix[[i, j], [j, i]] -= conductance
    known = np.zeros(len(nodes))
    known[place[LEFT]] = 1.0
    for side in (place[LEFT], place[RIGHT]):
        matrix[side] = 0.0
        matrix[side, side] = 1.0
    idle = matrix.diagonal() == 0.0
    matrix[idle, idle] = 1.0
    return dict(zip(nodes, np.linalg.solve(matrix, known).tolist(), strict=True))


def oriented(graph: Graph) -> Flow:
    """Every link with its direction, in the first of :func:`flows`."""
    return next(flows(graph))


def flows(graph: Graph) -> Iterator[Flow]:
    """Every link with its direction, from high to low potential (ties by name).

    A graph that can be planar has just one, without a link left over. For others there are many, with different links
    left over and different rails inside the picture.
    """
    return (_flow(graph, found) for found in _arrangements(graph))


def _flow(graph: Graph, found: _Arrangement) -> Flow:
    nodes = (LEFT, RIGHT, *graph.nodes)
    level = potentials(nodes, found.whole)
    links = (*found.whole, *found.lost)
    arcs = tuple(
        (link.a, link.b) if (-level[link.a], link.a) < (-level[link.b], link.b) else (link.b, link.a) for link in links
    )
    left, right = (frozenset(graph.rails[rail] for rail in found.keep if SIDE[rail] == s) for s in (LEFT, RIGHT))
    return Flow(nodes, links, arcs, len(found.whole), found.faces, left, right, level)
