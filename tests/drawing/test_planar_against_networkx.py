"""Blocks and planar embeddings of random graphs, judged by networkx."""

from __future__ import annotations

import networkx  # type: ignore[import-untyped]
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from halfsplit.drawing import blocks, planar
from halfsplit.drawing.graph import Kind, Link

Edges = list[tuple[str, str]]


def _edges(most: int, nodes: int) -> st.SearchStrategy[Edges]:
    names = st.integers(0, nodes - 1).map(lambda i: f"v{i}")
    pairs = st.tuples(names, names).filter(lambda pair: pair[0] < pair[1])
    return st.lists(pairs, min_size=1, max_size=most, unique=True)


def _rings(chords: int) -> st.SearchStrategy[Edges]:
    """A ring with chords, which is biconnected."""

    def ring(count: int, extra: Edges) -> Edges:
        names = [f"v{i}" for i in range(count)]
        round_ = {(min(a, b), max(a, b)) for a, b in zip(names, [*names[1:], names[0]], strict=True)}
        return sorted(round_ | {pair for pair in extra if set(pair) <= set(names)})

    return st.builds(ring, st.integers(4, 9), _edges(chords, 9))


def _links(edges: Edges) -> list[Link]:
    return [Link(Kind.ELEMENT, a, b) for a, b in edges]


@given(_edges(24, 10))
def test_blocks_are_the_biconnected_components(edges: Edges) -> None:
    """The links fall into the same blocks as networkx finds."""
    found = {frozenset(edges[i] for i in block) for block in blocks.blocks([], _links(edges))}
    wanted = {
        frozenset(tuple(sorted(edge)) for edge in block)
        for block in networkx.biconnected_component_edges(networkx.Graph(edges))
    }
    assert found == wanted


@given(_rings(9))
def test_an_embedding_is_found_where_there_is_one(edges: Edges) -> None:
    """A biconnected graph is embedded if and only if networkx calls it planar, with the faces that Euler counts."""
    graph = networkx.Graph(edges)
    found = planar.embed(sorted(graph), _links(edges), 0)
    assert bool(found.faces) == networkx.check_planarity(graph)[0]
    if found.faces:
        assert len(found.faces) == len(edges) - len(graph) + 2
    else:
        assert set(found.blocking) <= set(range(len(edges)))
        assert found.blocking


@given(_rings(7))
def test_every_link_borders_a_face_on_each_hand(edges: Edges) -> None:
    """Each link is walked once in each direction, and each face is a closed walk."""
    graph = networkx.Graph(edges)
    assume(networkx.check_planarity(graph)[0])
    links = _links(edges)
    walked = []
    for face in planar.embed(sorted(graph), links, 0).faces:
        walked += list(face)
        for (node, index), (after, _) in zip(face, [*face[1:], face[0]], strict=True):
            assert links[index].other(node) == after
    assert sorted(walked) == sorted((node, i) for i, pair in enumerate(edges) for node in pair)


def test_parallel_links_get_faces_of_their_own() -> None:
    """Three loads between the same two nets leave two faces between them and one about them."""
    links = [Link(Kind.ELEMENT, "a", "b", i) for i in range(3)]
    assert len(planar.embed("ab", links, 0).faces) == 3


@pytest.mark.parametrize("graph", [networkx.complete_graph(5), networkx.complete_bipartite_graph(3, 3)])
def test_the_graphs_of_kuratowski_are_refused(graph: networkx.Graph) -> None:
    """Five nets all joined to each other, and three to three, have no planar picture."""
    edges = [(f"v{a}", f"v{b}") for a, b in graph.edges]
    assert planar.embed(sorted({end for edge in edges for end in edge}), _links(edges), 0).faces == ()
