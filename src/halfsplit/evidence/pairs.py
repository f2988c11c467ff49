"""Pairs of faults: sought only where the best single ones leave a finding unexplained.

Knows the posterior over singles and each finding's masses; makes further variants, decides nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.predict.candidates import Candidates, Variant, pair

FIRSTS = 10
"""So many of the best single faults are taken as the first of a pair."""
SECONDS = 24
"""So many second faults are tried with each."""
WORTH_BITS = 7.0
"""Pairs are sought where the best single fault misses so many bits in all: less than a pair's prior odds cost."""
MISSED_BITS = 3.0
"""A finding counts as unexplained by a variant where another explains it so many bits better."""


def pairs(candidates: Candidates, probability: Array, log_masses: Array) -> list[Variant]:
    """Pairs worth weighing, each once whichever of its two was taken first.

    `log_masses` (findings, S): log mass of each finding by itself under each variant.
    """
    if log_masses.shape[0] == 0:
        return []
    chosen = dict.fromkeys((min(two), max(two)) for two in _chosen(candidates, probability, log_masses))
    return [pair(candidates.variants[a], candidates.variants[b]) for a, b in chosen]


def _chosen(candidates: Candidates, probability: Array, log_masses: Array) -> Iterator[tuple[int, int]]:
    bits = log_masses / np.log(2)
    best = bits.max(axis=0 if bits.ndim == 1 else 1)
    fit = bits.sum(axis=0) + np.log2(np.maximum(candidates.prior, 1e-12))
    firsts = [int(s) for s in np.argsort(-fit) if candidates.variants[s].faults][:FIRSTS]
    for a in firsts:
        missed = best - bits[:, a] > MISSED_BITS
        if missed.any():
            yield from ((a, b) for b in _seconds(candidates, bits, missed, a))


def _seconds(candidates: Candidates, bits: Array, missed: Array, first: int) -> Sequence[int]:
    """Variants that explain what the first one misses much better than it does, best first."""
    gain = (bits[missed] - bits[missed, first][:, None]).sum(axis=0)
    gain += np.log2(np.maximum(candidates.prior, 1e-12)) / 2
    faults = set(candidates.variants[first].faults)
    order = [
        int(s)
        for s in np.argsort(-gain)
        if candidates.variants[s].faults and faults.isdisjoint(candidates.variants[s].faults)
    ]
    floor = np.log2(np.maximum(candidates.prior[order], 1e-12)) / 2
    return [s for s, f in zip(order, floor, strict=True) if gain[s] - f > MISSED_BITS][:SECONDS]
