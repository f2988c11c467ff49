"""The fast solution: one kept inverse, every edit list a small border of it, refined where it asks for it.

Knows `network`, `inverse`, `border` and `ohms`; `dense` judges it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from halfsplit.circuit import border, dense, ohms
from halfsplit.circuit import inverse as inv
from halfsplit.circuit import network as nw

_PIECE = 128
_NOISE = 16 * np.finfo(float).eps


@dataclass(frozen=True, eq=False)
class Solutions:
    """Volts v (F, nodes) and amperes i (F, branches) of F edit lists in order; bridges not in i."""

    v: nw.Array
    i: nw.Array


class Factored:
    """A network inverted once, to be solved under many edit lists.

    >>> lamp = nw.Network(2, [0, 1], [1, 0], [1.0, 119.0], [True, True], [120.0, 0.0], (), [0, 1e-8], 0)
    >>> Factored(lamp).solve_many([(), (nw.opened(1),)]).v[:, 1].round(4).tolist()
    [119.0, 120.0]

    Volts are good to 4e-9 of the highest and ohms to 3e-9 with joints of 1-2 mohm, contacts of 5-10 mohm and
    strays of at least 1e-8 S per node (1e-10 S at DC). Real arithmetic where the network and edits are real.
    Raises NetworkError where the network, or an edit list, has no single solution.
    """

    def __init__(self, network: nw.Network) -> None:
        self.network = network
        self.base = inv.inverted(network)

    def solve(self, edits: nw.Edits = ()) -> dense.Solution:
        """One solution; i as in `dense.Solution` but without the bridges."""
        found = self.solve_many([edits])
        return dense.Solution(found.v[0], found.i[0])

    def solve_many(self, edit_lists: Sequence[nw.Edits]) -> Solutions:
        """The solutions of all edit lists, in their order."""
        groups = border.cases(self.network, edit_lists)
        kind = np.result_type(self.base.x, *(group.z for group in groups), *(group.bridge_z for group in groups))
        x = np.empty((len(edit_lists), len(self.base.x)), kind)
        for piece in border.pieces(groups, _PIECE):
            x[piece.order] = self._piece(border.Border(self.base, piece))
        return Solutions(x[:, : self.network.nodes], x[:, self.network.nodes :])

    def resistances(self, edit_lists: Sequence[nw.Edits], pairs: nw.Array, rough: bool = False) -> nw.Array:
        """Ohms (F, P) between node pairs (P, 2) under each edit list: DC, or the real part at AC.

        rough: many digits may be lost where an edit joins what hung free; several times as fast.
        """
        return np.asarray(self.impedances(edit_lists, pairs, rough).real)

    def impedances(self, edit_lists: Sequence[nw.Edits], pairs: nw.Array, rough: bool = False) -> nw.Array:
        """Driving-point impedances (F, P) in ohm between node pairs (P, 2), with the emfs at rest."""
        return ohms.between(self.base, edit_lists, np.asarray(pairs, np.int64).reshape(-1, 2), rough)

    def thevenin(self, edits: nw.Edits, pairs: nw.Array) -> nw.Array:
        """Source impedances (P,) in ohm that node pairs (P, 2) show to a meter, under one edit list."""
        return np.asarray(self.impedances([edits], pairs)[0])

    def resistance_all(self, edits: nw.Edits = ()) -> nw.Array:
        """Ohms (nodes, nodes) between every pair of nodes under one edit list."""
        base = inv.inverted(nw.apply(self.network, edits)) if edits else self.base
        return np.asarray(ohms.everywhere(base).real)

    def _piece(self, edge: border.Border) -> nw.Array:
        y = edge.solved(edge.rows(border.picked(self.base.x), self._start(edge)) - edge.wanted())
        x = self.base.x - _along(y, edge.columns)
        lacking, edited = self._lacking(edge, x, y)
        asks = np.flatnonzero(self._asks(lacking, edited)) if y.shape[1] < 2 else np.arange(len(x))
        if asks.size:
            part = border.Border(self.base, edge.cases.part(asks))
            x[asks] += self._correction(part, lacking[:, asks], edited[asks])
        return self._without_dust(edge.cases, x)

    def _without_dust(self, cases: border.Cases, x: nw.Array) -> nw.Array:
        """Open branches at exactly 0 A."""
        own = self.network.nodes + cases.k
        kept = np.where(cases.shut, np.take_along_axis(x, own, 1), 0)
        x[:, self._open] = 0
        np.put_along_axis(x, own, kept, 1)
        return x

    @cached_property
    def _open(self) -> nw.Array:
        return np.asarray(self.network.nodes + np.flatnonzero(~self.network.closed))

    def _start(self, edge: border.Border) -> nw.Array:
        return np.asarray(self.base.b[self.network.nodes + edge.cases.k])

    def _lacking(self, edge: border.Border, x: nw.Array, y: nw.Array) -> tuple[nw.Array, nw.Array]:
        """What A' x' lacks: (N, F) of the rows that stand, 0 in the edited ones, and (F, K) of those."""
        lacking = self.base.b[:, None] - self.base.matrix.times(x.T)
        each = np.arange(len(x))
        for column in edge.cases.k.T:
            lacking[self.network.nodes + column, each] = 0
        bridge_y = y[:, edge.cases.k.shape[1] :]
        for a, b, current in zip(edge.cases.a.T, edge.cases.b.T, bridge_y.T, strict=True):
            lacking[a, each] -= current
            lacking[b, each] += current
        lacking[self.network.ground] = 0
        return lacking, edge.residual(x, y)

    def _asks(self, lacking: nw.Array, edited: nw.Array) -> nw.Array:
        """True for the cases whose residual is above the noise of their own terms."""
        over = (np.abs(lacking) > self._noise).any(axis=0)
        return np.asarray(over | (np.abs(edited) > self._noise.max()).any(axis=1))

    @cached_property
    def _noise(self) -> nw.Array:
        size = self.base.matrix.magnitudes().times(np.abs(self.base.x))
        return np.asarray(_NOISE * np.maximum(size, 1e-9 * size.max())[:, None])

    @cached_property
    def _single(self) -> nw.Array:
        kind = np.complex64 if np.iscomplexobj(self.base.full) else np.float32
        return self.base.full.astype(kind)

    def _correction(self, edge: border.Border, lacking: nw.Array, edited: nw.Array) -> nw.Array:
        """The change (F, N) of x that supplies what is lacking; single precision is enough for it."""
        largest = np.abs(lacking).max(axis=0) + np.finfo(float).tiny
        scaled = (lacking / largest).astype(self._single.dtype if lacking.dtype == self.base.full.dtype else complex)
        answer = (self._single @ scaled).T * largest[:, None]
        y = edge.solved(edge.rows(border.picked(answer), 0.0) - edited)
        return np.asarray(answer - _along(y, edge.columns))


def _along(y: nw.Array, columns: nw.Array) -> nw.Array:
    """Sum of y (F, K) times U (F, K, N)."""
    if columns.shape[1] == 1:
        return np.asarray(y * columns[:, 0])
    return np.asarray(np.einsum("fk,fkn->fn", y, columns))
