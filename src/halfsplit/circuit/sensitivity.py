"""How much a reading moves with each impedance and each emf, for many edit lists at once.

Knows `network`, `border`, `ohms` and `fast`. With g the answer of v_ab to 1 V driven in branch k:
dv_ab/demf_k = g, dv_ab/dZ_kk = -g i_k; and with 1 A through a and b, dR_ab/dZ_kk = -g i_k, which is i_k^2 in
a reciprocal network (Cohn's theorem, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from halfsplit.circuit import border, fast, ohms
from halfsplit.circuit import network as nw

_PIECE = 64


@dataclass(frozen=True, eq=False)
class Slopes:
    """Per edit list, pair and branch (F, P, m): volt per ohm of Z_kk and per volt of emf_k; 0 where open."""

    impedance: nw.Array
    emf: nw.Array


def of_volts(factored: fast.Factored, edit_lists: Sequence[nw.Edits], pairs: nw.Array) -> Slopes:
    """Slopes of v_a - v_b of pairs (P, 2) in the solutions of `factored.solve_many(edit_lists)`."""
    pairs = np.asarray(pairs, np.int64).reshape(-1, 2)
    emf = _emf_slopes(factored, edit_lists, pairs)
    i = factored.solve_many(edit_lists).i
    return Slopes(0.0 - emf * i[:, None, :], emf)


def of_ohms(factored: fast.Factored, edit_lists: Sequence[nw.Edits], pairs: nw.Array) -> nw.Array:
    """dR_ab/dZ_kk (F, P, m), ohm per ohm, of the impedances between pairs (P, 2); 0 where open.

    Meant for pairs that are joined: where only strays conduct it is the slope of theirs.

    >>> import numpy as np
    >>> from_0, to_1, shut = np.array([0, 0]), np.array([1, 1]), np.array([True, True])
    >>> two = nw.Network(2, from_0, to_1, 10.0 * shut, shut, 0 * shut, (), np.array([0, 1e-10]), 0)
    >>> of_ohms(fast.Factored(two), [(), (nw.opened(1),)], np.array([[0, 1]])).round(6).tolist()
    [[[0.25, 0.25]], [[1.0, 0.0]]]
    """
    pairs = np.asarray(pairs, np.int64).reshape(-1, 2)
    emf = _emf_slopes(factored, edit_lists, pairs)
    return np.asarray(0.0 - emf * _test_currents(factored, edit_lists, pairs))


def _emf_slopes(factored: fast.Factored, edit_lists: Sequence[nw.Edits], pairs: nw.Array) -> nw.Array:
    shape = (len(edit_lists), len(pairs), factored.network.branches)
    slopes = np.zeros(shape, np.result_type(*_kinds(factored, edit_lists)))
    for piece in border.pieces(border.cases(factored.network, edit_lists), _PIECE):
        slopes[piece.order] = _piece_slopes(border.Border(factored.base, piece), pairs)
    return slopes


def _kinds(factored: fast.Factored, edit_lists: Sequence[nw.Edits]) -> list[type | np.dtype[np.generic]]:
    real = factored.network.real and ohms.all_real(edit_lists)
    return [factored.base.columns.dtype, float if real else complex]


def _piece_slopes(edge: border.Border, pairs: nw.Array) -> nw.Array:
    """dv_ab/demf_k (F, P, m): the rows that stand, corrected by the border, then the edited rows."""
    network, (a, b) = edge.base.network, pairs.T
    answers = edge.base.columns[network.nodes :][: network.branches]
    reach = edge.columns[:, :, a] - edge.columns[:, :, b]
    share = np.linalg.solve(edge.matrix.swapaxes(1, 2), reach)
    unit = edge.cases.k[:, :, None] == np.arange(network.branches)
    rows = edge.rows(border.picked_shared(answers), unit)
    slopes = (answers[:, a] - answers[:, b]).T - np.einsum("fkp,fkm->fpm", share, rows)
    slopes = np.where(network.closed, -slopes / nw.scale(network.impedance), 0)
    each = np.arange(len(edge.cases))
    for q, (k, shut) in enumerate(zip(edge.cases.k.T, edge.cases.shut.T, strict=True)):
        slopes[each, :, k] = np.where(shut[:, None], -share[:, q], 0)
    return np.asarray(slopes)


def _test_currents(factored: fast.Factored, edit_lists: Sequence[nw.Edits], pairs: nw.Array) -> nw.Array:
    """Amperes (F, P, m) in each branch with 1 A through each pair and the emfs at rest."""
    network = factored.network
    answers = factored.base.between(*pairs.T)
    shape = (len(edit_lists), len(pairs), network.branches)
    currents = np.zeros(shape, np.result_type(*_kinds(factored, edit_lists)))
    for piece in border.pieces(border.cases(network, edit_lists), _PIECE):
        edge = border.Border(factored.base, piece)
        change = np.einsum("fkp,fkn->fpn", ohms.currents(edge, answers), edge.columns[:, :, network.nodes :])
        currents[piece.order] = answers[:, network.nodes :] - change
    return currents
