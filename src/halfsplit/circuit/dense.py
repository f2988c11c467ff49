"""The slow, obvious solution of a network: build its matrix, solve it. The judge of the fast one.

Knows `network` only.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfsplit.circuit import network as nw


@dataclass(frozen=True, eq=False)
class Solution:
    """Volts v (nodes,) against ground and amperes i (branches, then bridges): phasors, or DC."""

    v: nw.Array
    i: nw.Array


def solve(network: nw.Network, edits: nw.Edits = ()) -> Solution:
    """The solution with the edits made; one refinement with an extended-precision residual makes it a judge.

    >>> lamp = nw.Network(2, [0, 1], [1, 0], [1.0, 119.0], [True, True], [120.0, 0.0], (), [0, 0], 0)
    >>> solve(lamp).v.tolist()
    [0.0, 119.0]

    Raises NetworkError where the network has no single solution (a node tied to nothing without a stray).
    """
    edited = nw.apply(network, edits)
    sparse, b = nw.system(edited)
    x = solved(sparse.toarray(), b)
    return Solution(x[: edited.nodes], x[edited.nodes :])


def solved(matrix: nw.Array, b: nw.Array) -> nw.Array:
    """x of matrix x = b (b a vector or columns), refined once. Raises NetworkError where singular."""
    try:
        x = np.linalg.solve(matrix, b)
        wide = np.clongdouble if np.iscomplexobj(matrix) else np.longdouble
        residual = b.astype(wide) - matrix.astype(wide) @ x.astype(wide)
        return np.asarray(x + np.linalg.solve(matrix, residual.astype(x.dtype)))
    except np.linalg.LinAlgError:
        raise nw.NetworkError(["no single solution: a node hangs free without a stray"]) from None
