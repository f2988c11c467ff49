"""The mass of readings of which only the range is known, jointly, given the numbers that were read.

Knows findings as arrays (``likelihood``); neither slips nor priors. A range says that the display showed something
between its ends. Under a candidate the readings of a group are jointly normal, x ~ N(m, K), K = J J' + D; given the
numbers those known as ranges are normal as well, with mean mu and covariance C. What each range has for itself, D, is
integrated exactly, and what it shares with others by a sum over fixed points of the normal distribution::

    P(all x_i in their ranges) = E over z of prod_i P(low_i < mu_i + (L z)_i + d_i < high_i),   L L' = C - D

One range alone is exact. The points are the same for all candidates and all sets of ranges, so that what is compared
errs alike. They are a Richtmyer sequence (fractional parts of multiples of roots of primes) made periodic by the
baker's transformation, as in A. Genz and F. Bretz, Computation of Multivariate Normal and t Probabilities (2009),
section 4.2 (from memory), each with its opposite.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np

from halfsplit.evidence import likelihood
from halfsplit.evidence.likelihood import Array, Finding, Index, Numeric
from halfsplit.quantity import normal

POINTS = 512
"""Points of the sum over what ranges share. Masses above 0.02 of two to four ranges are then within 3 % of the
library's integral (root of the mean square 0.7 %, 42 of them), those from 0.0002 on within a factor of 1.5; with 256
points within 17 %."""
FOR_ITSELF = 0.99
"""Share of a range's own variance that is integrated exactly; the rest keeps what is shared of full rank."""


@dataclass(frozen=True, eq=False)
class Ranges:
    """The ranges among some findings. Axis U runs over candidates that differ; `place` (S,) leads from each to its own.

    `at` and `numbers` are the places of ranges and of numbers among the findings; `precision` (U, n, n) and `weighted`
    (U, n) the joint of both, ranges first, with the ranges where they are expected. `mean` and `own` (U, ranges) are
    what is expected and the variance that each has for itself; `spans` the ends of each in units of x.
    """

    at: tuple[int, ...]
    numbers: tuple[int, ...]
    precision: Array
    weighted: Array
    mean: Array
    own: Array
    spans: tuple[tuple[tuple[float, float], ...], ...]
    place: Index

    def log_kept(self, removed: Sequence[frozenset[int]]) -> Array:
        """Log mass (B, S) of the ranges that are not removed given the numbers that are not, for each set removed."""
        by_numbers: dict[tuple[int, ...], list[int]] = {}
        for row, gone in enumerate(removed):
            key = tuple(k for k, i in enumerate(self.numbers, len(self.at)) if i in gone)
            by_numbers.setdefault(key, []).append(row)
        made = np.zeros((len(removed), len(self.mean)))
        for without, rows in by_numbers.items():
            inside = self._inside(without) if without else self._inside_all
            every = inside.prod(axis=1)
            kept: dict[tuple[int, ...], Array] = {}
            for row in rows:
                gone_ranges = tuple(k for k, i in enumerate(self.at) if i in removed[row])
                if gone_ranges not in kept:
                    kept[gone_ranges] = (every / inside[:, gone_ranges].prod(axis=1)).mean(axis=1)
                made[row] = np.log(kept[gone_ranges])
        return made[:, self.place]

    @cached_property
    def _inside_all(self) -> Array:
        """The same chances given all numbers."""
        return self._inside(())

    def _inside(self, without: tuple[int, ...]) -> Array:
        """(U, ranges, points) chance that each range holds its reading, by what it shares with others, given the
        numbers but those `without`."""
        count = len(self.at)
        block = np.array([*range(count), *without])
        covariance = _inverse(self.precision[:, block[:, None], block[None, :]])
        mean = self.mean - (covariance @ self.weighted[:, block, None])[:, :count, 0]
        covariance = covariance[:, :count, :count]
        if count == 1:
            return self._held(mean[..., None], covariance[:, 0])
        own = FOR_ITSELF * self.own
        shared = covariance - own[:, :, None] * np.eye(count)
        return self._held(mean[..., None] + np.linalg.cholesky(shared) @ _points(count), own)

    def _held(self, mean: Array, variance: Array) -> Array:
        """Chance that readings of these means (U, ranges, M) and variances (U, ranges) lie within their ranges."""
        deviation = np.sqrt(variance)[..., None]
        held = np.empty_like(mean)
        for k, spans in enumerate(self.spans):
            held[:, k] = share_within(spans, mean[:, k], deviation[:, k])
        return np.maximum(held, likelihood.LEAST_MASS)


def share_within(spans: Sequence[tuple[float, float]], mean: Array, deviation: Array) -> Array:
    """The share of normal distributions that lies within spans that do not overlap."""
    shares = np.zeros_like(mean)
    for low, high in spans:
        below = normal.share_below((low - mean) / deviation) if low > -np.inf else 0.0
        shares += normal.share_below((high - mean) / deviation) - below
    return shares


def ranges(findings: Sequence[Finding]) -> Ranges | None:
    """The ranges among the findings, jointly with the numbers; None where there are none."""
    readings = [(i, f) for i, f in enumerate(findings) if isinstance(f, Numeric) and likelihood.is_number(f)]
    known = sorted((pair for pair in readings if pair[1].spans), key=_order)
    if not known:
        return None
    numbers = [(i, f) for i, f in readings if not f.spans]
    ordered = [f for _, f in (*known, *numbers)]
    residual = np.stack([np.zeros_like(f.mean) if f.spans else f.x - f.mean for f in ordered], axis=1)
    covariance = likelihood.covariance(ordered).astype(np.float64)
    mean = np.stack([f.mean for _, f in known], axis=1)
    own = _own(ordered)[:, : len(known)]
    new, place = _differing(residual, covariance.reshape(len(residual), -1), mean, own)
    precision = _inverse(covariance[new])
    weighted = (precision @ residual[new, :, None])[..., 0]
    return Ranges(
        at=tuple(i for i, _ in known),
        numbers=tuple(i for i, _ in numbers),
        precision=precision,
        weighted=weighted,
        mean=mean[new],
        own=own[new],
        spans=tuple(f.spans_in_x for _, f in known),
        place=place,
    )


def _inverse(matrices: Array) -> Array:
    return np.asarray(np.linalg.inv(matrices), np.float64)


def _order(pair: tuple[int, Numeric]) -> tuple[object, ...]:
    """An order of ranges that does not depend on that of the findings."""
    f = pair[1]
    return f.spans_in_x, float(f.mean.sum()), float(f.noise.sum()), f.jacobian.sum(axis=0).tolist()


def _own(readings: Sequence[Numeric]) -> Array:
    """(S, n) variance that each reading has for itself: without what it shares with others of its place."""
    places: list[Hashable] = [f.same_place for f in readings if f.same_place is not None]
    own = [f.noise**2 - (places.count(f.same_place) > 1) * likelihood.common_variance(f.noise) for f in readings]
    return np.stack(own, axis=1)


def _differing(*each: Array) -> tuple[Index, Index]:
    """The rows that differ in any of these arrays, and for every row its place among them."""
    together = np.ascontiguousarray(np.concatenate(each, axis=1))
    rows = together.view(np.dtype((np.void, together.itemsize * together.shape[1])))[:, 0]
    _, first, place = np.unique(rows, return_index=True, return_inverse=True)
    return first, place.reshape(-1)


@cache
def _points(count: int) -> Array:
    """(count, POINTS) points of as many independent normal distributions."""
    roots = np.sqrt(_primes(count))[:, None]
    along = np.abs(2 * np.mod(roots * (np.arange(POINTS // 2) + 0.5), 1.0) - 1)
    half = normal.deviate(along.clip(1e-6, 1 - 1e-6))
    return np.concatenate([half, -half], axis=1)


def _primes(count: int) -> list[int]:
    found: list[int] = []
    number = 2
    while len(found) < count:
        if all(number % prime for prime in found):
            found.append(number)
        number += 1
    return found
