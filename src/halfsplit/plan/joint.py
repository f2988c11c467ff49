"""Two readings and their difference taken together: what they tell jointly about the repair.

Knows arrays only: a belief over candidates, what repair each wants, and codes of outcomes; S runs over candidates. What
readings tell is the mutual information of their joint code and the repair: two readings that tell the same count once,
and two that only together part the candidates count for what they part.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence.outcome import entropy_term

_CODES = 256
"""Codes are whole numbers of eight bits."""


class Belief(NamedTuple):
    """(S,) probabilities, in any scale, and the number of the repair that each candidate wants."""

    probability: Array
    repair_of: Array


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
    p = belief.probability / belief.probability.sum()
    shown = np.zeros(len(p), np.intp)
    for row in codes.astype(np.intp):
        shown = np.unique(shown * _CODES + row, return_inverse=True)[1].reshape(-1)
    both = shown * (int(belief.repair_of.max()) + 1) + belief.repair_of
    return max(_entropy(shown, p) + _entropy(belief.repair_of, p) - _entropy(both, p), 0.0)


def _entropy(labels: Array, p: Array) -> float:
    return float(entropy_term(np.bincount(labels, p).astype(float)).sum())
