"""A linear network as arrays, the edits that a fault makes to it, and its system of equations.

Knows ohms, volts and siemens of numbered nodes and branches. Does not know machines, parts or faults,
and solves nothing.

The unknowns are x = [v (nodes); i (branches)]: a current for every branch, so that a contact of a
milliohm can open without cancelling digits. Rows of `system`:

* node p: sum of the branch currents leaving p, plus stray[p] * v[p], is 0; at the ground node v = 0;
* closed branch k: (v[tail] - v[head] - Z_kk i_k - sum_j Z_kj i_j + emf_k) / max(|Z_kk|, 1 ohm) = 0;
* open branch k: i_k = 0.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from halfsplit.circuit.sparse import Sparse
from halfsplit.errors import Uncomputable

Array: TypeAlias = NDArray[Any]
Coupling: TypeAlias = tuple[tuple[int, int, complex], ...]


class NetworkError(Uncomputable, ValueError):
    """The arrays do not describe a network that has one solution; `problems` lists every reason."""

    def __init__(self, problems: Sequence[str]) -> None:
        super().__init__("; ".join(problems))
        self.problems = tuple(problems)


@dataclass(frozen=True, eq=False)
class Network:
    """A linear network of `nodes` nodes and m branches at one frequency (or at DC, all values real).

    nodes: count; tail, head: (m,) node numbers, i_k flows from tail to head; impedance: (m,) ohm in
    series; closed: (m,) bool; emf: (m,) volt, the rise from tail to head driven in series; coupling:
    (k, j, Z_kj in ohm) with k != j, volts dropped in branch k per ampere in branch j, not necessarily
    reciprocal, several for the same pair add up; stray: (nodes,) siemens to ground; ground: the node at 0 V.
    Every node that closed branches do not tie to the ground needs a stray (1e-8 S and more at AC, 1e-10 S
    at DC keep the digits). Raises NetworkError with every problem found.

    >>> one_volt = Network(2, [0], [1], [2.0], [True], [1.0], (), [0.0, 1e-8], 0)
    >>> one_volt.branches
    1
    """

    nodes: int
    tail: Array
    head: Array
    impedance: Array
    closed: Array
    emf: Array
    coupling: Coupling
    stray: Array
    ground: int

    def __post_init__(self) -> None:
        for name, kind in _KINDS.items():
            object.__setattr__(self, name, _frozen(getattr(self, name), kind))
        object.__setattr__(self, "coupling", tuple((int(k), int(j), complex(z)) for k, j, z in self.coupling))
        problems = [*_shape_problems(self)] or [*_value_problems(self)]
        if problems:
            raise NetworkError(problems)

    @property
    def branches(self) -> int:
        """The number of branches m."""
        return len(self.tail)

    @cached_property
    def real(self) -> bool:
        """True where nothing has an imaginary part, so that real arithmetic will do (a DC network)."""
        coupling = np.array([z for *_, z in self.coupling], complex)
        return not any(np.any(z.imag) for z in (self.impedance, self.emf, self.stray, coupling))


_KINDS: dict[str, type] = {
    "tail": np.int64, "head": np.int64, "impedance": np.complex128, "closed": np.bool_,
    "emf": np.complex128, "stray": np.complex128,
}  # fmt: skip


def _frozen(values: Any, kind: type) -> Array:
    array: Array = np.array(values, dtype=kind)
    array.setflags(write=False)
    return array


def _shape_problems(network: Network) -> Iterable[str]:
    for name in _KINDS:
        wanted = (network.nodes,) if name == "stray" else (network.branches,)
        if getattr(network, name).shape != wanted:
            yield f"{name} has shape {getattr(network, name).shape}, it needs {wanted}"
    if not 0 <= network.ground < network.nodes:
        yield f"ground is node {network.ground}, the nodes are 0 to {network.nodes - 1}"


def _value_problems(network: Network) -> Iterable[str]:
    for name in ("tail", "head"):
        ends = getattr(network, name)
        for k in np.flatnonzero((ends < 0) | (ends >= network.nodes)):
            yield f"branch {k}: {name} is node {ends[k]}, the nodes are 0 to {network.nodes - 1}"
    for k in np.flatnonzero(network.tail == network.head):
        yield f"branch {k} begins and ends at node {network.tail[k]}"
    for name in ("impedance", "emf", "stray"):
        values = getattr(network, name)
        for at in np.flatnonzero(~np.isfinite(values)):
            yield f"{name} {at} is {values[at]}, it must be finite; an open branch is closed=False"
    for to, by, z in network.coupling:
        if not (0 <= to < network.branches and 0 <= by < network.branches and to != by and np.isfinite(z)):
            yield f"coupling ({to}, {by}, {z}) needs two different branches and a finite impedance"


@dataclass(frozen=True, slots=True)
class Rebranch:
    """Branch k becomes closed or open, with this series impedance [ohm].

    emf None keeps the network's emf. The volts that other branches' currents induce in branch k
    (couplings (k, j)) stay, as in a winding that drifted; coupled=False drops them. What i_k induces
    elsewhere (couplings (j, k)) always stays. Of several for one branch in an edit list the last counts.
    """

    k: int
    closed: bool
    impedance: complex = 0j
    emf: complex | None = None
    coupled: bool = True


@dataclass(frozen=True, slots=True)
class Bridge:
    """A further branch of this impedance [ohm, 0 allowed] from node a to node b."""

    a: int
    b: int
    impedance: complex = 0j


Edit: TypeAlias = Rebranch | Bridge
Edits: TypeAlias = tuple[Edit, ...]


def opened(k: int) -> Rebranch:
    """The edit that opens branch k."""
    return Rebranch(k, False)


def parted(edits: Edits) -> tuple[list[Rebranch], list[Bridge]]:
    """An edit list as its rebranches, one a branch (the last counts), and its bridges."""
    if len(edits) == 1:
        edit = edits[0]
        return ([edit], []) if type(edit) is Rebranch else ([], [edit])  # type: ignore[list-item]
    rebranches = {edit.k: edit for edit in edits if isinstance(edit, Rebranch)}
    return list(rebranches.values()), [edit for edit in edits if isinstance(edit, Bridge)]


def edit_problems(network: Network, edits: Edits) -> Iterable[str]:
    """What keeps these edits from being made to this network, a sentence each."""
    rebranches, bridges = parted(edits)
    for rebranch in rebranches:
        if not 0 <= rebranch.k < network.branches:
            yield f"rebranch of branch {rebranch.k}, the branches are 0 to {network.branches - 1}"
        if not np.isfinite(rebranch.impedance):
            yield f"rebranch of branch {rebranch.k} to {rebranch.impedance} ohm: open it with closed=False"
    for bridge in bridges:
        if not (0 <= bridge.a < network.nodes and 0 <= bridge.b < network.nodes and bridge.a != bridge.b):
            yield f"bridge from {bridge.a} to {bridge.b}: it needs two nodes below {network.nodes}"
        if not np.isfinite(bridge.impedance):
            yield f"bridge from node {bridge.a} to {bridge.b} has {bridge.impedance} ohm: leave it out"


def apply(network: Network, edits: Edits) -> Network:
    """The network with the edits made, the slow obvious way: rows changed, bridges appended as branches."""
    problems = [*edit_problems(network, edits)]
    if problems:
        raise NetworkError(problems)
    rebranches, bridges = parted(edits)
    return _bridged(_rebranched(network, rebranches), bridges)


def _rebranched(network: Network, rebranches: list[Rebranch]) -> Network:
    impedance, closed, emf = network.impedance.copy(), network.closed.copy(), network.emf.copy()
    for edit in rebranches:
        impedance[edit.k], closed[edit.k] = edit.impedance, edit.closed
        emf[edit.k] = emf[edit.k] if edit.emf is None else edit.emf
    dropped = {edit.k for edit in rebranches if not edit.coupled}
    coupling = tuple(entry for entry in network.coupling if entry[0] not in dropped)
    return replace(network, impedance=impedance, closed=closed, emf=emf, coupling=coupling)


def _bridged(network: Network, bridges: list[Bridge]) -> Network:
    count = len(bridges)
    return replace(
        network,
        tail=np.append(network.tail, [bridge.a for bridge in bridges]),
        head=np.append(network.head, [bridge.b for bridge in bridges]),
        impedance=np.append(network.impedance, [bridge.impedance for bridge in bridges]),
        closed=np.append(network.closed, np.ones(count, bool)),
        emf=np.append(network.emf, np.zeros(count)),
    )


def scale(impedance: Array) -> Array:
    """max(|z|, 1 ohm): what a closed branch's row is divided by."""
    return np.maximum(np.abs(impedance), 1.0)


def _entries(network: Network) -> Iterable[tuple[Array, Array, Array]]:
    """Row numbers, column numbers and values of the system's matrix, in blocks."""
    n, k = network.nodes, np.arange(network.branches)
    free_tail, free_head = network.tail != network.ground, network.head != network.ground
    yield network.tail[free_tail], n + k[free_tail], np.ones(free_tail.sum())
    yield network.head[free_head], n + k[free_head], -np.ones(free_head.sum())
    stray = np.where(np.arange(n) == network.ground, 1.0, network.stray)
    yield np.arange(n), np.arange(n), stray
    shut, s = k[network.closed], scale(network.impedance)
    yield n + shut, network.tail[shut], 1 / s[shut]
    yield n + shut, network.head[shut], -1 / s[shut]
    yield n + k, n + k, np.where(network.closed, -network.impedance / s, 1.0)
    felt = [(a, b, z) for a, b, z in network.coupling if network.closed[a]]
    row, column = (np.array([entry[axis] for entry in felt], np.int64) for axis in (0, 1))
    yield n + row, n + column, np.array([-z for *_, z in felt], complex) / s[row]


def system(network: Network) -> tuple[Sparse, Array]:
    """The matrix A (n+m, n+m) and the right-hand side b (n+m,) of A [v; i] = b; float where all is real."""
    rows, columns, values = (np.concatenate(parts) for parts in zip(*_entries(network), strict=True))
    driven = np.where(network.closed, -network.emf, 0) / scale(network.impedance)
    b = np.concatenate([np.zeros(network.nodes), driven])
    size = network.nodes + network.branches
    values, b = (values.real, b.real) if network.real else (values, b)
    return Sparse(size, rows, columns, values), b
