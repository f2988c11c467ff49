"""What a few steps would show under the causes still likely, condensed to as many columns as a planner can follow.

Knows arrays only. K runs over steps, S over variants, O over outcomes, F over condensed faults.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from halfsplit.circuit.network import Array

FAULTS = 40
"""Columns kept."""
CUT = 0.01
"""Probability that may be left out, from the least likely columns."""
OUTCOMES = 5
"""Outcomes of one step that are told apart; the rarer ones share the last."""


class Condensed(NamedTuple):
    """(F,) probabilities, (F,) number of the repairs, (K, O, F) outcomes; `lost`: probability of what has no column."""

    prior: Array
    repair_of: Array
    shows: Array
    lost: float


def few_outcomes(weight: Array, outcomes: Array, most: int = OUTCOMES) -> Array:
    """Outcomes (S, B) by falling probability under the weights (S,), the rarest summed in the last: (S, most).

    >>> few_outcomes(np.array([0.5, 0.3, 0.2]), np.eye(3), 2).tolist()
    [[1.0, 0.0], [0.0, 1.0], [0.0, 1.0]]
    """
    order = np.argsort(-(weight @ outcomes), kind="stable")
    sorted_ = outcomes[:, order]
    made = np.zeros((len(outcomes), most))
    kept = min(most - 1, sorted_.shape[1])
    made[:, :kept] = sorted_[:, :kept]
    made[:, most - 1] = sorted_[:, kept:].sum(axis=1)
    return made


def likely_rows(probability: Array, cut: float = CUT) -> Array:
    """The likeliest variants, all but a share of `cut` of the probability, in order.

    >>> likely_rows(np.array([0.2, 0.004, 0.796])).tolist()
    [0, 2]
    """
    order = np.argsort(-probability, kind="stable")
    enough = int(np.searchsorted(np.cumsum(probability[order]), (1 - cut) * probability.sum())) + 1
    return np.sort(order[:enough])


def condensed(prior: Array, repair_of: Array, shows: Array, most: int = FAULTS) -> Condensed:
    """Variants that every step shows alike and the same repairs cure become one column, its outcomes their mean.

    Beyond `most` columns the least likely join the likeliest column of the same repairs; where there is none they
    are lost. prior (S,), repair_of (S,), shows (K, O, S).

    >>> same = np.array([[[1.0, 1.0, 0.0], [0.0, 0.0, 1.0]]])
    >>> condensed(np.array([0.3, 0.2, 0.5]), np.array([0, 0, 1]), same).prior.tolist()
    [0.5, 0.5]
    """
    column_of = _same_columns(repair_of, shows)
    mass = np.bincount(column_of, prior)
    repairs = np.zeros(len(mass), int)
    repairs[column_of] = repair_of
    joined = _joined(mass, repairs, most)
    column_of = joined[column_of]
    keep = column_of >= 0
    names, place = np.unique(column_of[keep], return_inverse=True)
    weights = np.zeros((keep.sum(), len(names)))
    weights[np.arange(keep.sum()), place] = prior[keep]
    total = weights.sum(axis=0)
    made = shows[:, :, keep] @ (weights / total)
    return Condensed(total, repairs[names], made, float(prior[~keep].sum()))


def _same_columns(repair_of: Array, shows: Array) -> Array:
    """(S,) number of each variant's column."""
    table = np.vstack([repair_of[None, :], np.round(shows, 2).reshape(-1, shows.shape[2])])
    return np.unique(table, axis=1, return_inverse=True)[1].reshape(-1)


def _joined(mass: Array, repairs: Array, most: int) -> Array:
    """(columns,) where each goes: to itself, to the likeliest of its repairs, or nowhere (-1)."""
    order = np.argsort(-mass, kind="stable")
    goes = np.arange(len(mass))
    first: dict[int, int] = {}
    for column in order[:most].tolist():
        first.setdefault(int(repairs[column]), column)
    for column in order[most:].tolist():
        goes[column] = first.get(int(repairs[column]), -1)
    return goes
