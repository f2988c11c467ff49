"""What a step would tell: its outcomes under each candidate, and the bits they give about the repair.

Knows arrays only. K runs over steps, S over candidates, B over outcomes. Two scores, one coarse and one
exact, both in **bits about which repair is due**, never about which name the fault has:

- ``Partition`` codes every outcome as one small integer, drops steps that part the candidates alike, and
  keeps only the candidates that differ from the usual code of their step: tens of thousands of steps a time.
- ``information`` is the mutual information of outcome and repair with spread and slips, for the best few;
  ``joint_information`` the same for a few steps taken together, by their codes.
"""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import blake2b

import numpy as np
from numpy.typing import NDArray

from halfsplit.evidence.likelihood import Array, Index
from halfsplit.quantity import normal

Codes = NDArray[np.int8]

BINS = 48
"""Outcomes that ``outcome_bins`` tells apart, over range among them."""

APART = 4.0
"""Two predictions are coded apart when they lie so many joint standard deviations apart."""

BATCH = 2000
"""Steps that are prepared for scoring at once."""

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


def distinct(codes: Codes) -> tuple[Index, Index]:
    """Steps that part the candidates differently: the first index of each, and for every step its place there.

    Codes are replaced by the first candidate that has them, so that only the partition matters. Partitions are
    compared by digests of 128 bits.

    >>> import numpy as np
    >>> distinct(np.array([[0, 1, 1], [5, 2, 2], [3, 3, 3]], dtype=np.int8))
    (array([0, 2]), array([0, 0, 1]))
    """
    places: dict[bytes, int] = {}
    kept: list[int] = []
    place: list[int] = []
    for start in range(0, len(codes), BATCH):
        for row, labels in enumerate(_by_appearance(codes[start : start + BATCH]), start):
            digest = blake2b(labels.tobytes(), digest_size=16).digest()
            if digest not in places:
                places[digest] = len(kept)
                kept.append(row)
            place.append(places[digest])
    return np.array(kept, np.intp), np.array(place, np.intp)


def _by_appearance(codes: Codes) -> NDArray[np.int16]:
    """For each candidate the first one of the same code, (K, S): one label for one partition."""
    k, s = codes.shape
    at, rows = codes.view(np.uint8), np.arange(k)[:, None]
    first = np.zeros((k, 256), dtype=np.int16)
    backwards = np.ascontiguousarray(np.broadcast_to(np.arange(s, dtype=np.int16)[::-1], (k, s)))
    first[rows, np.ascontiguousarray(at[:, ::-1])] = backwards  # of equal places the last one written stays
    return first[rows, at]


@dataclass(frozen=True, eq=False)
class Partition:
    """Steps as partitions of the candidates, ready to be scored again and again as the posterior moves.

    Made by ``partition``. Entries are the candidates that differ from the usual code of their step, sorted
    by step, code and repair; ``score`` adds the posterior up along them.
    """

    kept: Index
    place: Index
    repair_of: Index
    candidate: Index
    cell_start: Index
    code_start: Index
    cell_step: Index
    cell_pair: Index
    code_step: Index
    pair_repair: Index
    pair_step: Index

    def score(self, probability: Array) -> Array:
        """Bits about the repair that each step would give, for all the steps that were handed in, (K,).

        ``probability`` (S,) in any scale. With X the outcome and R the repair:
        H(X) + H(R) - H(X, R).
        """
        return self.score_kept(probability)[self.place]

    def score_kept(self, probability: Array) -> Array:
        """The same for the distinct steps only, in the order of ``kept``."""
        p = probability / probability.sum()
        steps = len(self.kept)
        repair = _sums(self.repair_of, p, 0)
        if not len(self.candidate):
            return np.zeros(steps)
        cell = np.add.reduceat(p.take(self.candidate), self.cell_start)
        code = np.add.reduceat(cell, self.code_start)
        usual = 1.0 - _sums(self.code_step, code, steps)
        pair = repair[self.pair_repair] - _sums(self.cell_pair, cell, 0)
        h_outcome = _sums(self.code_step, entropy_term(code), steps)
        h_outcome += entropy_term(np.maximum(usual, 0.0))
        h_joint = _sums(self.cell_step, entropy_term(cell), steps)
        change = entropy_term(np.maximum(pair, 0.0)) - entropy_term(repair)[self.pair_repair]
        h_joint += _sums(self.pair_step, change, steps)
        return np.asarray(np.maximum(h_outcome - h_joint, 0.0))

    def first(self, count: int) -> Partition:
        """The first of the steps that were handed in, to be scored by themselves.

        >>> import numpy as np
        >>> both = partition(np.array([[0, 0, 1, 1], [0, 1, 0, 0]], dtype=np.int8), np.array([0, 1, 2, 2]))
        >>> both.first(1).score(np.ones(4))
        array([1.])
        """
        steps = int(self.place[:count].max(initial=-1)) + 1
        cells, codes, pairs = (
            int(np.searchsorted(at, steps)) for at in (self.cell_step, self.code_step, self.pair_step)
        )
        entries = int(self.cell_start[cells]) if cells < len(self.cell_start) else len(self.candidate)
        return Partition(
            kept=self.kept[:steps],
            place=self.place[:count],
            repair_of=self.repair_of,
            candidate=self.candidate[:entries],
            cell_start=self.cell_start[:cells],
            code_start=self.code_start[:codes],
            cell_step=self.cell_step[:cells],
            cell_pair=self.cell_pair[:cells],
            code_step=self.code_step[:codes],
            pair_repair=self.pair_repair[:pairs],
            pair_step=self.pair_step[:pairs],
        )


def _sums(at: Index, weights: Array, least: int) -> Array:
    """Sums of the weights by the index they stand at."""
    return np.asarray(np.bincount(at, weights=weights, minlength=least), dtype=np.float64)


def partition(codes: Codes, repair_of: Index) -> Partition:
    """The steps of these codes (K, S) made ready for scoring; ``repair_of`` (S,) numbers the repairs.

    >>> import numpy as np
    >>> steps = partition(np.array([[0, 0, 1, 1], [0, 1, 0, 0]], dtype=np.int8), np.array([0, 1, 2, 2]))
    >>> steps.score(np.ones(4)).round(3)
    array([1.   , 0.811])
    """
    kept, place = distinct(codes)
    repairs = int(repair_of.max()) + 1
    key, candidate = _entries(codes[kept], repair_of, repairs)
    cell_start = _starts(key)
    cell_code, cell_repair = np.divmod(key[cell_start], repairs)
    code_start = _starts(cell_code)
    cell_step = cell_code // 256
    pairs, cell_pair = np.unique(cell_step * repairs + cell_repair, return_inverse=True)
    return Partition(
        kept=_small(kept),
        place=_small(place),
        repair_of=_small(repair_of),
        candidate=_small(candidate),
        cell_start=_small(cell_start),
        code_start=_small(code_start),
        cell_step=_small(cell_step),
        cell_pair=_small(cell_pair),
        code_step=_small(cell_step[code_start]),
        pair_repair=_small(pairs % repairs),
        pair_step=_small(pairs // repairs),
    )


def _entries(codes: Codes, repair_of: Index, repairs: int) -> tuple[Index, Index]:
    """Step, code and repair as one number, ascending, and the candidate of each entry."""
    step, candidate = np.nonzero(codes != _usual(codes)[:, None])
    key = (step * 256 + codes.view(np.uint8)[step, candidate]) * repairs + repair_of[candidate]
    order = np.argsort(key, kind="stable")
    return key[order], candidate[order]


def _small(numbers: Index) -> Index:
    """Numbers that fit in 32 bits: half as much to keep and to read back."""
    return np.asarray(numbers, np.int32)


def _usual(codes: Codes) -> Codes:
    """The commonest code of each step, (K,); a few thousand steps at a time, which takes less memory."""
    found = [np.zeros(0, np.int8)]
    for start in range(0, len(codes), BATCH):
        some = codes[start : start + BATCH].view(np.uint8)
        at = some + 256 * np.arange(len(some))[:, None]
        counts = np.bincount(at.ravel(), minlength=256 * len(some)).reshape(len(some), 256)
        found.append(counts.argmax(axis=1).astype(np.uint8).view(np.int8))
    return np.concatenate(found)


def _starts(*keys: Index) -> Index:
    """Where a new combination of the keys begins, in sorted entries."""
    new = np.zeros(len(keys[0]), dtype=bool)
    new[:1] = True
    for key in keys:
        new[1:] |= key[1:] != key[:-1]
    return np.flatnonzero(new)


# --- exact: mutual information ----------------------------------------------------------------------


def outcome_bins(prior: Array, mean: Array, sd: Array, over: Array, slip: float = 0.0, bins: int = BINS) -> Array:
    """Probabilities (K, S, bins) of the outcomes of K steps, each (K, S), in units of x; sum to one.

    The last outcome is over range. The others are intervals whose edges lie half of them in the widest gaps
    between predictions, measured in standard deviations, and half at equal shares of the prior. With
    probability ``slip`` the outcome says nothing: it is drawn from what any candidate would show.
    """
    edges = _edges(prior, mean, sd, bins - 2)
    below = normal.share_below((edges[:, None, :] - mean[:, :, None]) / sd[:, :, None])
    number = np.diff(below, axis=2, prepend=0.0, append=1.0) * (1.0 - over[:, :, None])
    outcomes = np.concatenate([number, over[:, :, None]], axis=2)
    usual = np.einsum("s,ksb->kb", prior / prior.sum(), outcomes)
    return np.asarray((1.0 - slip) * outcomes + slip * usual[:, None, :])


def bins_of_one(prior: Array, mean: Array, sd: Array, over: Array, slip: float = 0.0) -> Array:
    """Probabilities (S, BINS) of the outcomes of one step, each argument (S,), as ``outcome_bins`` gives them.

    Most candidates leave most readings as they are: those alike are worked out once.

    >>> import numpy as np
    >>> alike = bins_of_one(np.ones(3), np.array([1.0, 5.0, 1.0]), np.full(3, 0.1), np.zeros(3))
    >>> alike.shape, bool((alike[0] == alike[2]).all())
    ((3, 48), True)
    """
    each = np.stack([mean, sd, over])
    order = np.lexsort(each)
    new = np.append(True, (np.diff(each[:, order]) != 0).any(axis=0))
    place = np.empty(len(order), np.intp)
    place[order] = np.cumsum(new) - 1
    mean, sd, over = each[:, order[new]]
    return np.asarray(outcome_bins(_sums(place, prior, 0), mean[None], sd[None], over[None], slip)[0][place])


def _edges(prior: Array, mean: Array, sd: Array, count: int) -> Array:
    """Edges (K, count) between numbers, ascending."""
    order = np.argsort(mean, axis=1, kind="stable")
    means, sds = np.take_along_axis(mean, order, 1), np.take_along_axis(sd, order, 1)
    middle = 0.5 * (means[:, 1:] + means[:, :-1])
    gap = np.diff(means, axis=1) / (sds[:, 1:] + sds[:, :-1])
    widest = np.argsort(-gap, axis=1, kind="stable")[:, : count // 2]
    at_gaps = np.take_along_axis(middle, widest, 1)
    share = np.cumsum((prior / prior.sum())[order], axis=1)
    at_shares = _at_shares(share, means, sds, count - at_gaps.shape[1])
    return np.sort(np.concatenate([at_gaps, at_shares], axis=1), axis=1)


def _at_shares(share: Array, means: Array, sds: Array, count: int) -> Array:
    """Edges (K, count) at equal shares of the prior, candidates in order of mean, each over its spread."""
    wanted = (np.arange(count) + 0.5) / count
    at = np.stack([np.searchsorted(row, wanted) for row in share]).clip(0, share.shape[1] - 1)
    before = np.concatenate([np.zeros((len(share), 1)), share], axis=1)
    start, end = (np.take_along_axis(before, at + step, 1) for step in (0, 1))
    within = (wanted - start) / np.maximum(end - start, np.finfo(float).tiny)
    deviate = normal.deviate(within.clip(0.01, 0.99))
    edges: Array = np.take_along_axis(means, at, 1) + deviate * np.take_along_axis(sds, at, 1)
    return edges


def information(prior: Array, repair_of: Index, outcomes: Array) -> Array:
    """Expected bits (K,) that each step tells about which repair is due: exact mutual information.

    ``prior`` (S,) in any scale, ``repair_of`` (S,) the number of the repair that cures each candidate,
    ``outcomes`` (K, S, B) probabilities.

    >>> import numpy as np
    >>> two = np.array([[[1.0, 0.0], [0.5, 0.5], [0.0, 1.0]]])
    >>> information(np.array([1.0, 0.0, 1.0]), np.array([0, 0, 1]), two)
    array([1.])
    """
    p = prior / prior.sum()
    order = np.argsort(repair_of, kind="stable")
    starts = _starts(repair_of[order])
    return _mutual(np.add.reduceat(outcomes[:, order] * p[order][:, None], starts, axis=1))


def _mutual(joint: Array) -> Array:
    """Bits (K,) that outcome and repair tell of each other, from their joint probabilities (K, R, B).

    I(X; R) = H(X) + H(R) - H(X, R) (Shannon 1948).
    """
    h_repair = entropy_term(joint.sum(axis=2)).sum(axis=1)
    h_outcome = entropy_term(joint.sum(axis=1)).sum(axis=1)
    h_joint = entropy_term(joint).sum(axis=(1, 2))
    return np.asarray(np.maximum(h_repair + h_outcome - h_joint, 0.0))


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
    joint = _sums(repair_of * outcomes + shown, prior / prior.sum(), repairs * outcomes)
    return float(_mutual(joint.reshape(1, repairs, outcomes))[0])
