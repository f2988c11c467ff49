"""The order of rungs from top to bottom that a planar picture dictates.

Above each link lies one face, below it another; a rung is all links of its path together. Faces and paths then have a
partial order without loops (Di Battista, Tamassia & Tollis, Constrained visibility representations of graphs,
Information Processing Letters 41, 1992), and any order that keeps it has no crossing. May know: the directed links.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from halfsplit.drawing.orient import Flow


def _sides(flow: Flow) -> dict[int, tuple[int, int]]:
    """The face above and the face below every link but the link of the house."""
    above: dict[int, int] = {}
    below: dict[int, int] = {}
    for number, face in enumerate(flow.faces):
        for node, i in face:
            (above if flow.arcs[i][0] == node else below)[i] = number
    return {i: (above[i], below[i]) for i in above if i}


def path_order(
    flow: Flow, paths: Sequence[Sequence[int]], wish: Callable[[int], float], mirrored: bool = False
) -> list[int]:
    """Indices of the paths from top to bottom; among those that are free, the smallest ``wish`` first.

    A planar picture can be turned over: ``mirrored`` gives the orders of the other side.
    """
    sides = {i: (pair[1], pair[0]) if mirrored else pair for i, pair in _sides(flow).items()}
    waits: dict[int, set[int]] = {}
    opens: dict[int, set[int]] = {}
    for number, path in enumerate(paths):
        waits[number] = {sides[i][0] for i in path}
        opens[number] = {sides[i][1] for i in path}
    closed_by = {face: {p for p, down in opens.items() if face in down} for face in range(len(flow.faces))}
    done: list[int] = []
    placed: set[int] = set()
    while len(done) < len(paths):
        free = [p for p in waits if p not in placed and all(closed_by[f] <= placed for f in waits[p])]
        chosen = min(free or [p for p in waits if p not in placed], key=lambda p: (wish(p), p))
        done.append(chosen)
        placed.add(chosen)
    return done
