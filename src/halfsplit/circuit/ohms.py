"""The impedance between two nodes, for many pairs and many edit lists at once.

Knows `network`, `inverse` and `border`. An emf does not change it; at DC it is what a meter shows as ohms.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.circuit import border
from halfsplit.circuit import inverse as inv
from halfsplit.circuit import network as nw

_LOST = 1e6
"""Anew where what is subtracted is a million times what is left: ten digits remain of sixteen."""
_WORK = 2_000_000


def own(base: inv.Inverse, pairs: nw.Array) -> nw.Array:
    """Ohms (P,) of pairs (P, 2) in the network as it is."""
    (a, b), near, far = pairs.T, base.columns, base.island
    ohms = near[a, a] - near[b, a] - (near[a, b] - near[b, b])
    other = np.flatnonzero(far[a] != far[b])
    a, b = a[other], b[other]
    ohms[other] += (near[far[a], a] - near[far[b], a]) - (near[far[a], b] - near[far[b], b])
    return np.asarray(ohms)


def everywhere(base: inv.Inverse) -> nw.Array:
    """Ohms (nodes, nodes) of every pair in the network as it is."""
    n = base.network.nodes
    a, b = np.triu_indices(n, 1)
    table = np.zeros((n, n), base.columns.dtype)
    table[a, b] = table[b, a] = own(base, np.stack([a, b], axis=1))
    return table


def between(base: inv.Inverse, edit_lists: Sequence[nw.Edits], pairs: nw.Array, rough: bool = False) -> nw.Array:
    """Ohms (F, P) of pairs (P, 2) under each edit list; cases that would lose digits are inverted anew.

    rough: they are not; good enough to tell over range from a number and to sort numbers.
    """
    answers, start = base.between(*pairs.T), own(base, pairs)
    kind = np.result_type(base.columns, *(() if base.network.real and all_real(edit_lists) else (complex,)))
    ohms = np.empty((len(edit_lists), len(pairs)), kind)
    for piece in border.pieces(border.cases(base.network, edit_lists), max(1, _WORK // max(1, len(pairs)))):
        ohms[piece.order], lost = _edited(border.Border(base, piece), answers, start, pairs)
        for order in piece.order[lost] if not rough else ():
            ohms[order] = own(inv.inverted(nw.apply(base.network, edit_lists[order]), np.unique(pairs)), pairs)
    return ohms


def all_real(edit_lists: Sequence[nw.Edits]) -> bool:
    """Whether no edit brings an imaginary part."""
    return all(complex(edit.impedance).imag == 0 for edits in edit_lists for edit in edits)


def currents(edge: border.Border, answers: nw.Array) -> nw.Array:
    """Amperes y (F, K, P) by which the answers (P, N) to test currents change along U."""
    return edge.solved(edge.rows(border.picked_shared(answers), 0.0))


def _edited(edge: border.Border, answers: nw.Array, start: nw.Array, pairs: nw.Array) -> tuple[nw.Array, nw.Array]:
    """Ohms (F, P), and True for the cases (F,) where digits were lost on the way."""
    a, b = pairs.T
    reach = edge.columns[:, :, a] - edge.columns[:, :, b]
    change = currents(edge, answers)
    ohms = start - (reach * change).sum(axis=1)
    taken = np.abs(start)
    if change.shape[1] > 1:
        taken = np.maximum(taken, _rounding(edge, reach, change))
    return ohms, ((taken > _LOST * np.abs(ohms)) & (a != b)).any(axis=1)


def _rounding(edge: border.Border, reach: nw.Array, change: nw.Array) -> nw.Array:
    """|z| |M| |y| (F, P): times the rounding of M, the error that M makes in reach M^-1 right, z being M^-T reach.

    Two bridges to one floating node make M all but singular without anything large in the answer.
    """
    share = np.linalg.solve(edge.matrix.swapaxes(1, 2), reach)
    return np.asarray((np.abs(share) * (np.abs(edge.matrix) @ np.abs(change))).sum(axis=1))
