"""Pairs of faults: sought only where the best single ones leave a finding unexplained, or are as rare as pairs.

Knows the posterior over singles and each finding's masses; makes further variants, decides nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence.likelihood import Numeric, Shown
from halfsplit.evidence.posterior import Item
from halfsplit.predict.candidates import PAIR_ODDS, Candidates, Variant, pair

FIRSTS = 10
"""So many of the best single faults are taken as the first of a pair."""
SECONDS = 24
"""So many second faults are tried with each."""
WORTH_BITS = 7.0
"""Pairs are sought where the best single fault misses so many bits in all: less than a pair's prior odds cost."""
MISSED_BITS = 3.0
"""A finding counts as unexplained by a variant where another explains it so many bits better."""
STILL_UNEXPLAINED = 0.2
"""Probability of something that the file does not say from which the best are joined with every other fault."""
FEW = 3
"""So many of the best single faults then: two faults in one circuit show together what neither shows alone."""
ABOUT_TAKEN = 0.9
"""Probability of the best fault from which it is held against pairs that are as likely beforehand: a repair is near."""
TIED = 6
"""Merits that are the same to so many decimals are: the order in which findings are summed leaves fewer."""
ABOUT, FAR = 0.7, 0.01
"""What is near a reading: in units of x, and the least share of that; Halfsplit's choice."""


def pairs(candidates: Candidates, log_masses: Array) -> list[Variant]:
    """Pairs worth weighing, each once whichever of its two was taken first.

    `log_masses` (findings, S): log mass of each finding by itself under each variant.
    """
    return _once(candidates, _chosen(candidates, log_masses)) if log_masses.shape[0] else []


def with_every(candidates: Candidates, items: Sequence[Item], log_masses: Array) -> list[Variant]:
    """The same, and those nearest to the findings with every other fault, whatever that explains by itself."""
    near = np.sum([_near(item, masses) for item, masses in zip(items, log_masses, strict=True)], axis=0)
    firsts = _best(candidates, near)[:FEW]
    every = ((a, b) for a in firsts for b in range(len(candidates.variants)) if _apart(candidates, a, b))
    return _once(candidates, chain(_chosen(candidates, log_masses), every))


def no_rarer(candidates: Candidates, single: int) -> bool:
    """Whether the pair of the two commonest faults is at least as likely beforehand as a single variant.

    Such a single is no explanation before pairs were weighed, however well it fits: a burnt joint has a
    few sizes, and one of them fits by chance a reading that is of two common faults, of which neither fits alone.
    """
    if not candidates.variants[single].faults:
        return False
    first, *others = (int(s) for s in np.argsort(-candidates.prior, kind="stable") if candidates.variants[s].faults)
    second = next((s for s in others if _apart(candidates, first, s)), None)
    if second is None:
        return False
    return bool(candidates.prior[single] <= PAIR_ODDS * candidates.prior[first] * candidates.prior[second])


def _apart(candidates: Candidates, a: int, b: int) -> bool:
    """Whether two variants are of two faults."""
    one, two = (candidates.variants[s].faults for s in (a, b))
    return bool(one) and bool(two) and not set(one) & set(two)


def _once(candidates: Candidates, chosen: Iterable[tuple[int, int]]) -> list[Variant]:
    once = dict.fromkeys((min(two), max(two)) for two in chosen)
    return [pair(candidates.variants[a], candidates.variants[b]) for a, b in once]


def _near(item: Item, masses: Array) -> Array:
    """(S,) how near each variant comes to a finding, where the mass of a slip hides that it does not fit.

    Of a reading: whether it is over range, and its size to about a factor of two.
    """
    if not isinstance(item, Numeric) or item.shown is Shown.BEEP:
        return masses
    if item.shown is Shown.OVER:
        return np.log(np.maximum(item.over, FAR))
    away = _away(item)
    return np.log(np.maximum((1 - item.over) * np.exp(-0.5 * (away / ABOUT) ** 2), FAR))


def _away(item: Numeric) -> Array:
    """(S,) how far, in units of x, what each variant shows lies from the number that was read, or outside its range."""
    if not item.spans:
        return item.x - item.mean
    outside = [np.maximum(np.maximum(low - item.mean, item.mean - high), 0.0) for low, high in item.spans_in_x]
    return np.asarray(np.min(outside, axis=0))


def _chosen(candidates: Candidates, log_masses: Array) -> Iterator[tuple[int, int]]:
    bits = log_masses / np.log(2)
    best = bits.max(axis=1)
    for a in _best(candidates, log_masses.sum(axis=0))[:FIRSTS]:
        missed = np.round(best - bits[:, a] - MISSED_BITS, TIED) > 0
        if missed.any():
            yield from ((a, b) for b in _seconds(candidates, bits, missed, a))


def _best(candidates: Candidates, fit: Array) -> list[int]:
    """The faults that fit best by themselves, best first."""
    order = _down(fit + np.log(np.maximum(candidates.prior, 1e-12)))
    return [s for s in order if candidates.variants[s].faults]


def _down(merit: Array) -> list[int]:
    """The indices of what is best first; what is as good stands as in the file, in whatever order findings came."""
    return [int(s) for s in np.argsort(-np.round(merit, TIED), kind="stable")]


def _seconds(candidates: Candidates, bits: Array, missed: Array, first: int) -> Sequence[int]:
    """Variants that explain what the first one misses much better than it does, best first."""
    gain = (bits[missed] - bits[missed, first][:, None]).sum(axis=0)
    gain += np.log2(np.maximum(candidates.prior, 1e-12)) / 2
    order = [s for s in _down(gain) if _apart(candidates, first, s)]
    floor = np.log2(np.maximum(candidates.prior[order], 1e-12)) / 2
    return [s for s, f in zip(order, floor, strict=True) if round(gain[s] - f - MISSED_BITS, TIED) > 0][:SECONDS]
