"""What candidates show at a moment, where faults come and go: each by its own chance, whichever else is there.

A candidate is made of two parts (a single fault of itself and the healthy machine). With the chances a and b of its
parts it shows all of itself with ab, one part with a (1 - b), the other with (1 - a) b, and the healthy machine with
(1 - a) (1 - b). Knows candidates as rows; neither faults nor what is shown.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.circuit.network import Array

Index = npt.NDArray[np.intp]
Way = tuple[Array, Index]
"""(R,) the chance that each candidate shows what a row shows, and (R,) that row."""


def moments(parts: Index, acting: Array, of: Index, healthy: int = 0) -> list[Way]:
    """The ways in which the candidates `of` (R,) may show at a moment: one to four, the whole candidate first.

    `parts` (S, 2): the rows that each candidate is made of. `acting` (S,): the chance that a single fault shows; 1 for
    the healthy machine.

    >>> parts = np.array([[0, 0], [1, 0], [2, 0], [1, 2]])
    >>> for chance, row in moments(parts, np.array([1.0, 1.0, 0.3, 1.0]), np.array([2, 3])):
    ...     print(chance, row)
    [0.3 0.3] [2 3]
    [0.  0.7] [2 1]
    [0.7 0. ] [0 2]
    """
    first, second = parts[of].T
    a, b = acting[first], acting[second]
    ways = (
        (a * b, of),
        (a * (1 - b), first),
        ((1 - a) * b, second),
        ((1 - a) * (1 - b), np.full_like(of, healthy)),
    )
    return [(chance, row) for chance, row in ways if chance.any()]


def given(ways: Sequence[Way], log_mass: Array) -> list[Way]:
    """The ways once something was found at that very moment: by Bayes, each by the mass (S,) of what was found under
    the row that it shows. What was not found then is not there now; what was found is.

    >>> ways = moments(np.array([[0, 0], [1, 0]]), np.array([1.0, 0.25]), np.array([1]))
    >>> [round(float(chance[0]), 3) for chance, _ in given(ways, np.log([0.9, 0.01]))]
    [0.004, 0.996]
    """
    return weighed(ways, [log_mass[row] for _, row in ways])


def weighed(ways: Sequence[Way], log_masses: Sequence[Array]) -> list[Way]:
    """The ways by Bayes, each by a mass (R,) of its own as a logarithm."""
    with np.errstate(divide="ignore"):
        logs = np.array([np.log(chance) + mass for (chance, _), mass in zip(ways, log_masses, strict=True)])
    shares = np.exp(logs - logs.max(axis=0))
    return [(np.asarray(share), row) for share, (_, row) in zip(shares / shares.sum(axis=0), ways, strict=True)]


def mixed(ways: Sequence[Way], table: Array, rows: Index | None = None) -> Array:
    """(R, ...) what the candidates show at a moment by what each row shows for sure: `table`, of `rows`, ascending.

    >>> ways = moments(np.array([[0, 0], [1, 0]]), np.array([1.0, 0.25]), np.array([1]))
    >>> mixed(ways, np.array([[1.0, 0.0], [0.0, 1.0]]))
    array([[0.75, 0.25]])
    """
    total = np.zeros((len(ways[0][1]), *table.shape[1:]))
    for chance, row in ways:
        shows = table[row if rows is None else np.searchsorted(rows, row)]
        total += chance.reshape(-1, *[1] * (shows.ndim - 1)) * shows
    return total


def rows_of(ways: Sequence[Way]) -> Index:
    """All rows that show with some chance, ascending.

    >>> rows_of([(np.array([0.3, 1.0]), np.array([2, 3])), (np.array([0.7, 0.0]), np.array([0, 1]))])
    array([0, 2, 3])
    """
    every = np.concatenate([np.zeros(0, np.intp), *(row[chance > 0] for chance, row in ways)])
    return np.flatnonzero(np.bincount(every))
