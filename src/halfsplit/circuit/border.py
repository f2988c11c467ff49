"""Edits as the border of a kept inverse: many cases of K edits each, all at once.

Knows `network` and `inverse`. Replacing row k of A by r_new gives x' = x - U y with U = A^-1 e_k and
(r_new . U) y = r_new . x - b_new: no "1 + ..." that cancels when a milliohm opens. A bridge of z ohm between
a and b adds the unknown current y: U = A^-1 (e_a - e_b), ((e_a - e_b) . U + z) y = (e_a - e_b) . x. K edits
stack to a K by K system. For a vector with A x = c, v_tail - v_head - sum Z i of a closed branch is
Z_kk i_k + c_k max(|Z_kk|, 1): used wherever it holds, since it subtracts nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

import numpy as np

from halfsplit.circuit import inverse as inv
from halfsplit.circuit import network as nw

Pick: TypeAlias = Callable[[nw.Array], nw.Array]
"""Values of some vectors at rows (F, E): (F, E) or (F, E, W), W vectors a case."""


@dataclass(frozen=True, eq=False)
class Cases:
    """F cases with the same numbers of rebranches E and bridges G; `order` is each one's place in the whole.

    k, shut, z, emf, coupled: (F, E); a, b, bridge_z: (F, G).
    """

    order: nw.Array
    k: nw.Array
    shut: nw.Array
    z: nw.Array
    emf: nw.Array
    coupled: nw.Array
    a: nw.Array
    b: nw.Array
    bridge_z: nw.Array

    def __len__(self) -> int:
        return len(self.order)

    def part(self, chosen: slice | nw.Array) -> Cases:
        """Some of the cases."""
        return Cases(*(getattr(self, name)[chosen] for name in self.__dataclass_fields__))


def cases(network: nw.Network, edit_lists: Sequence[nw.Edits]) -> list[Cases]:
    """The edit lists grouped by their numbers of rebranches and bridges. Raises NetworkError where wrong."""
    groups: dict[tuple[int, int], tuple[list[int], list[nw.Rebranch], list[nw.Bridge]]] = {}
    for order, edits in enumerate(edit_lists):
        rebranches, bridges = nw.parted(edits)
        group = groups.setdefault((len(rebranches), len(bridges)), ([], [], []))
        group[0].append(order)
        group[1].extend(rebranches)
        group[2].extend(bridges)
    _check(network, {edit for edits in edit_lists for edit in edits})
    return [_case_arrays(network, *group) for group in groups.values()]


def _check(network: nw.Network, edits: set[nw.Rebranch | nw.Bridge]) -> None:
    problems = [text for edit in edits for text in nw.edit_problems(network, (edit,))]
    if problems:
        raise nw.NetworkError(sorted(problems))


def _case_arrays(
    network: nw.Network, order: list[int], rebranches: list[nw.Rebranch], bridges: list[nw.Bridge]
) -> Cases:
    def column(values: list[object], kind: type) -> nw.Array:
        return np.array(values, kind).reshape(len(order), -1) if values else np.empty((len(order), 0), kind)

    k = column([edit.k for edit in rebranches], np.int64)
    kept = column([edit.emf is None for edit in rebranches], np.bool_)
    emf = column([edit.emf or 0 for edit in rebranches], np.complex128)
    z = column([edit.impedance for edit in rebranches], np.complex128)
    bridge_z = column([edit.impedance for edit in bridges], np.complex128)
    emf = np.where(kept, network.emf[k], emf)
    if network.real and not (z.imag.any() or emf.imag.any() or bridge_z.imag.any()):
        z, emf, bridge_z = z.real, emf.real, bridge_z.real
    return Cases(
        np.array(order),
        k,
        column([edit.closed for edit in rebranches], np.bool_),
        z,
        emf,
        column([edit.coupled for edit in rebranches], np.bool_),
        column([edit.a for edit in bridges], np.int64),
        column([edit.b for edit in bridges], np.int64),
        bridge_z,
    )


@dataclass(frozen=True, eq=False)
class Border:
    """The borders of some cases around one inverse."""

    base: inv.Inverse
    cases: Cases

    @cached_property
    def columns(self) -> nw.Array:
        """U (F, K, N), rebranches before bridges."""
        rows = self.base.columns[self.base.network.nodes + self.cases.k]
        if not self.cases.a.shape[1]:
            return np.asarray(rows)
        return np.concatenate([rows, self.base.between(self.cases.a, self.cases.b)], axis=1)

    @cached_property
    def matrix(self) -> nw.Array:
        """The K by K system (F, K, K)."""
        edits = self.cases.k.shape[1]
        unit = np.eye(edits, self.columns.shape[1])
        matrix = self.rows(picked_each(self.columns), unit)
        at = np.arange(edits, matrix.shape[1])
        matrix = matrix.astype(np.result_type(matrix, self.cases.bridge_z), copy=False)
        matrix[:, at, at] += self.cases.bridge_z
        return matrix

    def rows(self, pick: Pick, unit: nw.Array | float) -> nw.Array:
        """The edited rows times vectors x with A x = c; unit: c at the rebranched rows. (F, K) or (F, K, W).

        Rebranched closed: v_tail - v_head - sum Z i [V]; rebranched open: i_k [A]; bridge: v_a - v_b [V].
        """
        base, own = self.base.network, self.cases.k
        current = pick(base.nodes + own)
        if self.cases.shut.any():
            across = _fit(nw.scale(base.impedance)[own], current) * unit + _fit(self._z_old, current) * current
            if not base.closed[own].all():
                across = np.where(_fit(base.closed[own], current), across, self._direct(pick))
            current = np.where(_fit(self.cases.shut, current), self._less_own(across, current, pick), current)
        if not self.cases.a.shape[1]:
            return np.asarray(current)
        return np.concatenate([current, pick(self.cases.a) - pick(self.cases.b)], axis=1)

    @cached_property
    def _z_old(self) -> nw.Array:
        z = self.base.network.impedance[self.cases.k]
        return z.real if self.base.network.real else z

    def _less_own(self, across: nw.Array, current: nw.Array, pick: Pick) -> nw.Array:
        dropped = across - _fit(self.cases.z, current) * current
        if self.cases.coupled.all():
            return np.asarray(dropped)
        return np.asarray(dropped + np.where(_fit(self.cases.coupled, current), 0, self.induced(pick)))

    def _direct(self, pick: Pick) -> nw.Array:
        network = self.base.network
        ends = pick(network.tail[self.cases.k]) - pick(network.head[self.cases.k])
        return np.asarray(ends - self.induced(pick))

    def induced(self, pick: Pick) -> nw.Array:
        """Sum of Z_kj i_j over the network's couplings of each rebranched branch [V]."""
        network, k = self.base.network, self.cases.k
        total = pick(network.nodes + k) * 0
        for row, column, z in network.coupling:
            hit = k == row
            if hit.any():
                drop = (z.real if network.real else z) * pick(np.full_like(k, network.nodes + column))
                total = total + _fit(hit, drop) * drop
        return np.asarray(total)

    def residual(self, x: nw.Array, y: nw.Array) -> nw.Array:
        """What the edited rows (F, K) of x (F, N), y (F, K) lack."""
        pick = picked(x)
        current = pick(self.base.network.nodes + self.cases.k)
        lacking = -current
        if self.cases.shut.any():
            drop = self._less_own(self._direct(pick), current, pick)
            lacking = np.where(self.cases.shut, -self.cases.emf - drop, lacking)
        if not self.cases.a.shape[1]:
            return np.asarray(lacking)
        bridge_y = y[:, self.cases.k.shape[1] :]
        bridge = self.cases.bridge_z * bridge_y - (pick(self.cases.a) - pick(self.cases.b))
        return np.concatenate([lacking, bridge], axis=1)

    def wanted(self) -> nw.Array:
        """The right-hand sides (F, K) of the edited rows: -emf where rebranched closed, else 0."""
        own = np.where(self.cases.shut, -self.cases.emf, 0)
        return np.concatenate([own, np.zeros_like(self.cases.bridge_z)], axis=1)

    def solved(self, right: nw.Array) -> nw.Array:
        """The y of the K by K systems for right (F, K) or (F, K, W); NetworkError where one is singular."""
        vector = right.ndim == 2
        if self.matrix.shape[1] == 0:
            return right
        if self.matrix.shape[1] == 1:
            pivot = self.matrix[:, 0] if vector else self.matrix
            _no_zero(pivot, self.cases)
            return np.asarray(right / pivot)
        try:
            y = np.linalg.solve(self.matrix, right[..., None] if vector else right)
        except np.linalg.LinAlgError:
            raise nw.NetworkError(["an edit list leaves a node hanging free without a stray"]) from None
        return np.asarray(y[..., 0] if vector else y)


def _no_zero(pivot: nw.Array, some: Cases) -> None:
    bad = np.flatnonzero((pivot == 0).reshape(len(some), -1).any(axis=1))
    if bad.size:
        raise nw.NetworkError([f"edit list {some.order[f]} leaves a node hanging free without a stray" for f in bad])


def _fit(values: nw.Array, like: nw.Array) -> nw.Array:
    """Per-edit values (F, E), shaped to multiply (F, E, W)."""
    return values[..., None] if like.ndim == 3 else values


def picked(x: nw.Array) -> Pick:
    """Picks from one vector (N,) for all, or from one vector a case (F, N)."""
    if x.ndim == 1:
        return lambda rows: x[rows]
    return lambda rows: x[np.arange(len(x))[:, None], rows]


def picked_each(x: nw.Array) -> Pick:
    """Picks from K vectors a case (F, K, N): (F, E, K)."""
    cases_, vectors = (np.arange(size) for size in x.shape[:2])
    return lambda rows: x[cases_[:, None, None], vectors[None, None, :], rows[:, :, None]]


def picked_shared(x: nw.Array) -> Pick:
    """Picks from W vectors (W, N) shared by all cases: (F, E, W)."""
    turned = np.ascontiguousarray(x.T)
    return lambda rows: turned[rows]


def pieces(groups: list[Cases], size: int) -> Iterator[Cases]:
    """The groups cut to at most `size` cases each."""
    for group in groups:
        for start in range(0, len(group), size):
            yield group.part(slice(start, start + size))
