"""Planar embedding of a biconnected graph, or the links that stand in its way.

Method: faces are split by one path at a time, always of the fragment that fits the fewest faces (Demoucron, Malgrange
& Pertuiset, Revue francaise de recherche operationnelle 8, 1964). May know: the graph. Every choice is by the order
of links and faces, so that the same graph gives the same faces.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from halfsplit.drawing.graph import Link, adjacency

Dart = tuple[str, int]
"""A link walked from a node: (node it leaves, index of the link)."""


@dataclass(frozen=True, slots=True)
class Embedding:
    """``faces`` are closed walks of darts, all with the same hand; or ``blocking`` names links to take out first."""

    faces: tuple[tuple[Dart, ...], ...]
    blocking: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class _Fragment:
    """Links that are not embedded and hang together, and the embedded nodes that they touch."""

    links: tuple[int, ...]
    touches: frozenset[str]


class _Work:
    """Faces under construction."""

    def __init__(self, nodes: Iterable[str], links: Sequence[Link]) -> None:
        self.links = links
        self.at = adjacency(nodes, links)
        self.faces: list[tuple[Dart, ...]] = []
        self.sets: list[frozenset[str]] = []
        self.placed: set[int] = set()
        self.seen: set[str] = set()

    def add_face(self, face: tuple[Dart, ...]) -> None:
        self.faces.append(face)
        self.sets.append(frozenset(node for node, _ in face))

    def backwards(self, path: Sequence[Dart]) -> tuple[Dart, ...]:
        return tuple((self.links[i].other(node), i) for node, i in reversed(path))

    def settle(self, path: Sequence[Dart]) -> None:
        self.placed.update(i for _, i in path)
        for node, i in path:
            self.seen.update((node, self.links[i].other(node)))

    def split(self, number: int, path: tuple[Dart, ...]) -> None:
        face = self.faces.pop(number)
        self.sets.pop(number)
        walk = [node for node, _ in face]
        start = walk.index(path[0][0])
        face = face[start:] + face[:start]
        end = [node for node, _ in face].index(self.links[path[-1][1]].other(path[-1][0]))
        self.add_face(path + face[end:])
        self.add_face(face[:end] + self.backwards(path))
        self.settle(path)

    def fragments(self) -> list[_Fragment]:
        done: set[int] = set(self.placed)
        found = []
        for index in range(len(self.links)):
            if index not in done:
                fragment = self._fragment(index)
                done.update(fragment.links)
                found.append(fragment)
        return found

    def _fragment(self, first: int) -> _Fragment:
        members = {first}
        touches: set[str] = set()
        inner: set[str] = set()
        queue = [self.links[first].a, self.links[first].b]
        for node in queue:
            if node in self.seen:
                touches.add(node)
            elif node not in inner:
                inner.add(node)
                members.update(self.at[node])
                queue += [self.links[i].other(node) for i in self.at[node]]
        return _Fragment(tuple(sorted(members)), frozenset(touches))

    def path(self, fragment: _Fragment) -> tuple[Dart, ...]:
        """The shortest path between two touched nodes, through nodes not yet embedded."""
        inside = set(fragment.links)
        start = min(fragment.touches)
        came: dict[str, Dart] = {}
        queue = [start]
        for node in queue:
            for i in self.at[node]:
                other = self.links[i].other(node)
                if i not in inside or other == start or other in came:
                    continue
                came[other] = (node, i)
                if other in self.seen:
                    return _walk(came, other, start)
                queue.append(other)
        return ()


def _walk(came: dict[str, Dart], end: str, start: str) -> tuple[Dart, ...]:
    darts = []
    node = end
    while node != start:
        darts.append(came[node])
        node = came[node][0]
    return tuple(reversed(darts))


def _cycle(work: _Work, closing: int) -> None:
    link = work.links[closing]
    work.seen.update((link.a, link.b))
    rest = tuple(i for i in range(len(work.links)) if i != closing)
    came: dict[str, Dart] = {}
    queue = [link.a]
    for node in queue:
        for i in work.at[node]:
            other = work.links[i].other(node)
            if i in rest and other not in came and other != link.a:
                came[other] = (node, i)
                queue.append(other)
    loop = (*_walk(came, link.b, link.a), (link.b, closing))
    work.add_face(loop)
    work.add_face(work.backwards(loop))
    work.settle(loop)


def _fits(work: _Work, fragment: _Fragment) -> list[int]:
    return [i for i, members in enumerate(work.sets) if fragment.touches <= members]


def _blocking(work: _Work, fragment: _Fragment) -> tuple[int, ...]:
    best = max(work.sets, key=lambda members: len(members & fragment.touches))
    outside = fragment.touches - best
    links = (work.links[i] for i in fragment.links)
    return tuple(i for i, link in zip(fragment.links, links, strict=True) if {link.a, link.b} & outside)


def embed(nodes: Iterable[str], links: Sequence[Link], closing: int) -> Embedding:
    """Faces of a biconnected graph, starting from a cycle through the link ``closing``.

    >>> from halfsplit.drawing.graph import Kind
    >>> links = [Link(Kind.WIRE, a, b) for a, b in ("ab", "bc", "ca", "ad", "bd", "cd")]
    >>> len(embed("abcd", links, 0).faces)  # a tetrahedron: Euler's 2 - 4 + 6
    4
    """
    if len(links) < 2:
        return Embedding(())
    work = _Work(nodes, links)
    _cycle(work, closing)
    while len(work.placed) < len(links):
        fits = [(_fits(work, fragment), fragment) for fragment in work.fragments()]
        faces, fragment = min(fits, key=lambda fit: len(fit[0]))
        if not faces:
            return Embedding((), _blocking(work, fragment))
        work.split(faces[-1], work.path(fragment))
    return Embedding(tuple(work.faces))
