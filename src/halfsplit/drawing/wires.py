"""Wires on the page: a net is a bar and stubs, split where three meet, with a dot there, and nowhere else.

May know: points. May not know: symbols or text.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from halfsplit.drawing.canvas import Point

Piece = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class Track:
    """The drawn wires of one net: straight pieces, dots, and whether current flows in each piece."""

    net: str
    pieces: tuple[Piece, ...]
    dots: tuple[Point, ...]
    current: tuple[bool, ...]


def _ends(pieces: Iterable[Piece]) -> dict[Point, list[Piece]]:
    found: dict[Point, list[Piece]] = {}
    for piece in pieces:
        for end in piece:
            found.setdefault(end, []).append(piece)
    return found


def _straight(pair: Sequence[Piece]) -> bool:
    points = [point for piece in pair for point in piece]
    return len({x for x, _ in points}) == 1 or len({y for _, y in points}) == 1


def merged(pieces: Iterable[Piece], keep: frozenset[Point]) -> list[Piece]:
    """Pieces in line joined where just two meet, except at points to keep (terminals)."""
    left = sorted({(min(a, b), max(a, b)) for a, b in pieces if a != b})
    while True:
        ends = _ends(left)
        joint = next((p for p in sorted(ends) if len(ends[p]) == 2 and p not in keep and _straight(ends[p])), None)
        if joint is None:
            return left
        pair = ends[joint]
        far = sorted(end for piece in pair for end in piece if end != joint)
        left = sorted([*(piece for piece in left if piece not in pair), (far[0], far[-1])])


def _behind(start: Point, piece: Piece, ends: dict[Point, list[Piece]]) -> set[Point]:
    """Points that are reached from one end of a piece without using it."""
    reached = {start}
    queue = [start]
    for point in queue:
        for other in ends[point]:
            far = other[0] if other[1] == point else other[1]
            if other != piece and far not in reached:
                reached.add(far)
                queue.append(far)
    return reached


def track(net: str, pieces: Iterable[Piece], terminals: frozenset[Point], carriers: frozenset[Point]) -> Track:
    """The wires of a net; current flows in a piece that has carriers on both sides.

    >>> t = track("a", [((0, 0), (5, 0)), ((5, 0), (9, 0)), ((5, 0), (5, 4))], frozenset(), frozenset())
    >>> t.dots, len(t.pieces)
    (((5, 0),), 3)
    """
    joined = merged(pieces, terminals)
    ends = _ends(joined)
    dots = tuple(sorted(point for point, here in ends.items() if len(here) >= 3))
    current = []
    for piece in joined:
        side = _behind(piece[0], piece, ends) & carriers
        current.append(bool(side) and bool(carriers - side))
    return Track(net, tuple(joined), dots, tuple(current))


def crossings(tracks: Iterable[Track]) -> int:
    """Pairs of pieces of two nets that cross.

    >>> level, upright = ((0, 5), (9, 5)), ((4, 0), (4, 9))
    >>> crossings([Track("a", (level,), (), (False,)), Track("b", (upright,), (), (False,))])
    1
    """
    pieces = [(track.net, one, two) for track in tracks for one, two in track.pieces]
    level = [(net, min(a, u), max(a, u), b) for net, (a, b), (u, v) in pieces if b == v]
    upright = [(net, min(b, v), max(b, v), a) for net, (a, b), (u, v) in pieces if a == u]
    return sum(
        net != other and left < x < right and top < y < foot
        for net, left, right, y in level
        for other, top, foot, x in upright
    )


def bends(tracks: Iterable[Track]) -> int:
    """Corners where just two pieces meet."""
    count = 0
    for found in tracks:
        count += sum(len(here) == 2 and not _straight(here) for here in _ends(found.pieces).values())
    return count
