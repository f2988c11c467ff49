"""Several quick readings and looks taken together: what they tell jointly about the repair, per minute.

Knows arrays only: a belief over candidates, what repair each wants, and codes of outcomes. K runs over readings, S over
candidates. What a set of readings tells is the mutual information of their joint code and the repair: two readings that
tell the same count once, and two that only together part the candidates count for what they part.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence.outcome import entropy_term

MOST = 4
"""So many readings of one set-up are told at once: what a person keeps in mind; common practice, no source."""
LEAST_MINUTES = 0.05
"""A set-up that costs nothing more counts as this many minutes."""
_BASE = 1 << 20


class Belief(NamedTuple):
    """(S,) probabilities, in any scale, and the number of the repair that each candidate wants."""

    probability: Array
    repair_of: Array


class Together(NamedTuple):
    """Readings by their places, in the order in which they are taken; joint bits, and minutes with the setting up."""

    members: tuple[int, ...]
    bits: float
    minutes: float

    @property
    def rate(self) -> float:
        """Bits a minute."""
        return self.bits / max(self.minutes, LEAST_MINUTES)


def information(belief: Belief, codes: Array) -> float:
    """Bits that readings of these codes (n, S), all of them together, tell about the repair.

    I(X; R) = H(X) + H(R) - H(X, R), X the joint code (Shannon 1948).

    >>> import numpy as np
    >>> either = np.array([[0, 1, 0, 1], [0, 0, 1, 1]])
    >>> information(Belief(np.ones(4), np.array([0, 1, 2, 3])), either)
    2.0
    >>> information(Belief(np.ones(4), np.array([0, 1, 1, 0])), either)  # each alone tells nothing
    1.0
    """
    return float(_information(belief, joined(codes)[None])[0])


def joined(codes: Array) -> Array:
    """Labels (S,) of the joint code of some readings (n, S), numbered from 0."""
    labels = np.zeros(codes.shape[1], np.int64)
    for row in codes:
        labels = refined(labels, row)
    return labels


def refined(labels: Array, codes: Array) -> Array:
    """Labels (S,) of the joint code when a reading of these codes (S,) is added; numbered from 0."""
    _, found = np.unique(_added(labels, codes), return_inverse=True)
    return np.asarray(found.reshape(-1))


def _added(labels: Array, codes: Array) -> Array:
    return labels.astype(np.int64) * _BASE + codes.astype(np.int64) + 128


def with_each(belief: Belief, labels: Array, codes: Array) -> Array:
    """(K,) bits about the repair of the readings behind the labels (S,) and one more, each of these codes (K, S)."""
    return _information(belief, _added(labels, codes))


def _information(belief: Belief, labels: Array) -> Array:
    """(K,) mutual information of labels (K, S) and the repair."""
    p = belief.probability / belief.probability.sum()
    repairs = int(belief.repair_of.max()) + 1
    h_repair = entropy_term(np.bincount(belief.repair_of, p).astype(float)).sum()
    h_outcome, h_joint = _entropies(labels, p), _entropies(labels * repairs + belief.repair_of, p)
    return np.asarray(np.maximum(h_outcome + h_repair - h_joint, 0.0))


def _entropies(labels: Array, p: Array) -> Array:
    """(K,) entropy in bits of each row's labels (K, S)."""
    order = np.argsort(labels, axis=1)
    found = np.take_along_axis(labels, order, 1)
    new = np.ones(labels.shape, bool)
    new[:, 1:] = found[:, 1:] != found[:, :-1]
    starts = np.flatnonzero(new)
    mass = np.add.reduceat(p[order].reshape(-1), starts)
    return np.asarray(np.bincount(starts // labels.shape[1], entropy_term(mass), len(labels)))


def grown(
    belief: Belief,
    codes: Array,
    itself: Array,
    first: int,
    first_minutes: float,
    beside: Mapping[tuple[int, int], Array] | None = None,
    most: int = MOST,
) -> Together:
    """The readings of one set-up that are worth taking together, the first being given: greedy.

    codes: (K, S) of the readings of the set-up; itself: (K,) minutes of each by itself; first_minutes: of the first,
    with setting up; beside: what two of them tell by their difference, codes (S,). While one more reading tells more a
    minute than all so far, the joint rate rises, and it is added.
    """
    codes = codes.astype(np.int64)
    members, minutes = [first], first_minutes
    labels = refined(np.zeros(codes.shape[1], np.int64), codes[first])
    bits = float(_information(belief, labels[None])[0])
    while len(members) < most:
        codes = compared(codes, members[-1], beside or {})
        more = (with_each(belief, labels, codes) - bits) / itself
        more[members] = 0.0
        best = int(np.argmax(more))
        if more[best] <= bits / max(minutes, LEAST_MINUTES):
            break
        members.append(best)
        labels, minutes = refined(labels, codes[best]), minutes + float(itself[best])
        bits += float(more[best] * itself[best])
    return Together(tuple(members), bits, minutes)


def compared(codes: Array, taken: int, beside: Mapping[tuple[int, int], Array]) -> Array:
    """The codes of what is left, where each is also compared with the reading that was taken last."""
    found = codes.copy()
    for (a, b), difference in beside.items():
        if taken in (a, b):
            other = b if taken == a else a
            found[other] = refined(found[other], difference)
    return found
