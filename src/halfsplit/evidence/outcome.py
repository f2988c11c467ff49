"""What a step would tell: its outcomes under each candidate, and the bits they give about the repair.

Knows arrays only. K runs over steps, S over candidates, D over those of them that differ, B over outcomes, R over
repairs. Bits are about **which repair is due**, never about which name the fault has. Outcomes come as codes, one small
integer each, for tens of thousands of steps that are scored at once (`partition`); and with spread and slips, for the
best few: ``information`` is the mutual information of outcome and repair, ``joint_information`` that of a few steps
taken together, by their codes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from halfsplit.evidence.likelihood import Array, Index
from halfsplit.quantity import normal

Codes = NDArray[np.int8]

BINS = 48
"""Outcomes that ``outcome_bins`` tells apart, over range among them."""

APART = 4.0
"""Two predictions are coded apart when they lie so many joint standard deviations apart."""

OVER_CODE = 127
"""The code of over range."""


def entropy_term(p: Array) -> Array:
    """-p log2 p, elementwise, 0 at 0."""
    return np.asarray(-p * np.log2(p + np.finfo(float).tiny))


# --- coarse: codes ----------------------------------------------------------------------------------


def outcome_codes(mean: Array, sd: Array, over: Array) -> Codes:
    """Codes (K, S) of the outcomes of K steps, each (K, S): equal code, hardly to be told apart.

    Candidates of a step are taken in the order of their mean, and a new code begins where the gap to the
    one before exceeds APART joint standard deviations. Over range, where likelier than not, has a code of
    its own. Steps with more than 126 codes share the last.

    >>> import numpy as np
    >>> outcome_codes(np.array([[9.0, 1.0, 1.01, 0.0]]), np.full((1, 4), .1), np.array([[0, 0, 0, 1.0]]))
    array([[  1,   0,   0, 127]], dtype=int8)
    """
    is_over = over > 0.5
    order = np.argsort(np.where(is_over, np.inf, mean), axis=1, kind="stable")
    means, sds = np.take_along_axis(mean, order, 1), np.take_along_axis(sd, order, 1)
    gap = np.diff(means, axis=1) > APART * np.hypot(sds[:, 1:], sds[:, :-1])
    rank = np.zeros(mean.shape, dtype=np.int16)
    np.cumsum(gap, axis=1, out=rank[:, 1:])
    codes = np.empty(mean.shape, dtype=np.int8)
    np.put_along_axis(codes, order, np.minimum(rank, OVER_CODE - 1).astype(np.int8), 1)
    codes[is_over] = OVER_CODE
    return codes


def sums(at: Index, weights: Array, least: int) -> Array:
    """Sums (at least so many) of the weights (N,) by the index (N,) they stand at.

    >>> sums(np.array([1, 0, 1]), np.array([0.25, 0.5, 0.25]), 3).tolist()
    [0.5, 0.5, 0.0]
    """
    return np.asarray(np.bincount(at, weights=weights, minlength=least), dtype=np.float64)


# --- exact: mutual information ----------------------------------------------------------------------


def same(*numbers: Array) -> tuple[Index, Index]:
    """Candidates of which all these numbers (S,) are the same: one of each (D,), and every one's place among them (S,).

    Most candidates leave most readings as they are.

    >>> one, place = same(np.array([1.0, 5.0, 1.0]), np.array([0.1, 0.1, 0.1]))
    >>> one.tolist(), place.tolist()
    ([0, 1], [0, 1, 0])
    """
    each = np.stack(numbers)
    order = np.lexsort(each)
    new = np.ones(len(order), bool)
    np.logical_or.reduce(each[:, order[1:]] != each[:, order[:-1]], axis=0, out=new[1:])
    place = np.empty(len(order), np.intp)
    place[order] = np.cumsum(new) - 1
    return order[new], place


def outcome_bins(prior: Array, mean: Array, sd: Array, over: Array, slip: float = 0.0) -> Array:
    """Probabilities (S, BINS) of the outcomes of a step, each argument (S,), in units of x; sum to one.

    The last outcome is over range. The others are intervals whose edges lie half of them in the widest gaps
    between predictions, measured in standard deviations, and half at equal shares of the prior. With
    probability ``slip`` the outcome says nothing: it is drawn from what any candidate would show.
    """
    edges, outcomes = _edges(prior, mean, sd, BINS - 2), np.empty((len(mean), BINS))
    below = np.ones((len(mean), BINS - 1))
    below[:, :-1] = normal.share_below((edges - mean[:, None]) / sd[:, None])
    outcomes[:, 0], outcomes[:, 1:-1] = below[:, 0], below[:, 1:] - below[:, :-1]
    outcomes[:, :-1] *= (1.0 - over)[:, None]
    outcomes[:, -1] = over
    usual = prior / prior.sum() @ outcomes
    return np.asarray((1.0 - slip) * outcomes + slip * usual)


def _edges(prior: Array, mean: Array, sd: Array, count: int) -> Array:
    """Edges (count,) between numbers, ascending."""
    order = np.argsort(mean, kind="stable")
    means, sds = mean[order], sd[order]
    gap = (means[1:] - means[:-1]) / (sds[1:] + sds[:-1])
    widest = np.argsort(-gap, kind="stable")[: count // 2]
    at_gaps = 0.5 * (means[1:] + means[:-1])[widest]
    share = np.cumsum((prior / prior.sum())[order])
    return np.sort(np.concatenate([at_gaps, _at_shares(share, means, sds, count - len(at_gaps))]))


def _at_shares(share: Array, means: Array, sds: Array, count: int) -> Array:
    """Edges (count,) at equal shares of the prior, candidates in order of mean, each over its spread."""
    wanted = (np.arange(count) + 0.5) / count
    at = np.minimum(np.searchsorted(share, wanted), len(share) - 1)
    before = np.concatenate([[0.0], share])
    within = (wanted - before[at]) / np.maximum(share[at] - before[at], np.finfo(float).tiny)
    return np.asarray(means[at] + normal.deviate(np.clip(within, 0.01, 0.99)) * sds[at])


def information(prior: Array, repair_of: Index, outcomes: Array, row_of: Index | None = None) -> float:
    """Expected bits that a step tells about which repair is due: exact mutual information.

    ``prior`` (S,) in any scale, ``repair_of`` (S,) the number of the repair that cures each candidate, ``outcomes``
    (D, B) probabilities, ``row_of`` (S,) which row of them each candidate shows: left out, each its own.

    >>> import numpy as np
    >>> information(np.array([1.0, 0.0, 1.0]), np.array([0, 0, 1]), np.array([[1.0, 0.0], [0.5, 0.5], [0.0, 1.0]]))
    1.0
    >>> information(np.ones(4), np.array([0, 1, 2, 3]), np.eye(2), np.array([0, 0, 1, 1]))
    1.0
    """
    row_of = np.arange(len(outcomes)) if row_of is None else row_of
    repairs, rows = int(repair_of.max()) + 1, len(outcomes)
    joint = sums(repair_of * rows + row_of, prior / prior.sum(), repairs * rows).reshape(repairs, rows)
    return _mutual(joint @ outcomes)


def _mutual(joint: Array) -> float:
    """Bits that outcome and repair tell of each other, from their joint probabilities (R, B).

    I(X; R) = H(X) + H(R) - H(X, R) (Shannon 1948).
    """
    apart = entropy_term(joint.sum(axis=1)).sum() + entropy_term(joint.sum(axis=0)).sum()
    return max(float(apart - entropy_term(joint).sum()), 0.0)


def joint_information(prior: Array, repair_of: Index, codes: Codes) -> float:
    """Bits that steps of these codes (n, S), all of them together, tell about which repair is due.

    Two steps that tell the same count once, and two that only together part the candidates for what they part.
    ``prior`` (S,) in any scale, ``repair_of`` (S,).

    >>> import numpy as np
    >>> either = np.array([[0, 1, 0, 1], [0, 0, 1, 1]], dtype=np.int8)
    >>> joint_information(np.ones(4), np.array([0, 1, 2, 3]), either)
    2.0
    >>> joint_information(np.ones(4), np.array([0, 1, 1, 0]), either)  # each alone tells nothing
    1.0
    """
    shown = np.zeros(codes.shape[1], np.intp)
    for row in codes.view(np.uint8):
        shown = np.unique(256 * shown + row, return_inverse=True)[1].reshape(-1)
    repairs, outcomes = int(repair_of.max()) + 1, int(shown.max()) + 1
    joint = sums(repair_of * outcomes + shown, prior / prior.sum(), repairs * outcomes)
    return _mutual(joint.reshape(repairs, outcomes))
