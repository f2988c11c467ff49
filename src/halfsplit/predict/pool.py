"""Further variants of a job, as pairs of faults, with predictions that are kept from one finding to the next.

Nearly the same pairs are weighed after every finding; what each of them shows in a condition is worked out once. Knows
predictors; neither which variants are worth weighing, nor what was found.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import reduce
from typing import NamedTuple

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.operate.condition import Condition
from halfsplit.predict.candidates import Variant
from halfsplit.predict.moments import Index
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import Probe, Reading, Readings

MOST_SLICES = 6
"""Above so many the small ones are made one; each costs a solution of its own in every new condition."""
MOST_VARIANTS = 8000
"""Above so many that a job has asked for, those are let go of that it asks for no more."""
HERDS_KEPT = 12
"""Conditions whose herds a slice keeps: some megabytes each on a dryer."""

Key = tuple[int, ...]


def _key(variant: Variant) -> Key:
    """What a variant is made of. What it shows depends on nothing else: not on its weight."""
    return tuple(id(part.effect) for part in variant.of or (variant,))


class Slice:
    """Some variants, and what was worked out for them; they and their effects are kept, so that keys stay theirs."""

    def __init__(self, base: Predictor, variants: Sequence[Variant]) -> None:
        self.variants = tuple(variants)
        self._place = {_key(variant): row for row, variant in enumerate(variants)}
        own = base.candidates.also(variants)
        self._predictor = Predictor(base.operation, own, base.readings.meter, base)
        self._predictor.readings = Readings(base.operation, base.readings.meter, HERDS_KEPT)
        self._readings: dict[tuple[Probe, Condition], Reading] = {}
        self._symptoms: dict[tuple[str, Condition, bool], Array] = {}

    def __contains__(self, variant: Variant) -> bool:
        return _key(variant) in self._place

    def rows(self, variants: Iterable[Variant]) -> Index:
        """Where these variants stand in the slice."""
        return np.array([self._place[_key(variant)] for variant in variants], np.intp)

    def read(self, probes: Sequence[Probe], at: Condition) -> list[Reading]:
        """What the meter would show under each of the variants; one function of the meter."""
        new = [probe for probe in probes if (probe, at) not in self._readings]
        for probe, made in zip(new, self._predictor.read_own(new, at) if new else (), strict=True):
            self._readings[probe, at] = made
        return [self._readings[probe, at] for probe in probes]

    def symptom(self, what: str, at: Condition, by_owner: bool) -> Array:
        """(V,) probability that a person says yes under each of the variants."""
        key = (what, at, by_owner)
        if key not in self._symptoms:
            self._symptoms[key] = self._predictor.own_symptom(*key)
        return self._symptoms[key]


class Part(NamedTuple):
    """Rows of a slice."""

    of: Slice
    rows: Index


class Pooled(Predictor):
    """A predictor of further variants that takes what they show from slices."""

    def __init__(self, base: Predictor, variants: Sequence[Variant], slices: Iterable[Slice]) -> None:
        """Each of the `variants` has to stand in one of the `slices`."""
        super().__init__(base.operation, base.candidates.also(variants), base.readings.meter, base)
        self._parts: list[Part] = []
        self._order = np.zeros(0, np.intp)
        for one in slices:
            mine = [(n, variant) for n, variant in enumerate(variants) if variant in one]
            if mine:
                self._parts.append(Part(one, one.rows(variant for _, variant in mine)))
                self._order = np.append(self._order, [n for n, _ in mine])
        self._order = np.argsort(self._order)

    def read_own(self, probes: Sequence[Probe], at: Condition) -> list[Reading]:
        """Readings of the variants that `base` does not know."""
        found = [[one.taking(part.rows) for one in part.of.read(probes, at)] for part in self._parts]
        return [reduce(Reading.followed_by, same).taking(self._order) for same in zip(*found, strict=True)]

    def own_symptom(self, what: str, at: Condition, by_owner: bool) -> Array:
        """(V,) probability that a person says yes under each of them."""
        found = [part.of.symptom(what, at, by_owner)[part.rows] for part in self._parts]
        return np.concatenate(found)[self._order]


class Pool:
    """The slices of a job."""

    def __init__(self) -> None:
        self._slices: list[Slice] = []

    def predictor(self, base: Predictor, variants: Sequence[Variant]) -> Predictor:
        """A predictor of the candidates of `base` and these further variants, one at least."""
        new = [variant for variant in variants if not any(variant in one for one in self._slices)]
        if new:
            self._take_in(base, variants, new)
        return Pooled(base, variants, self._slices)

    def _take_in(self, base: Predictor, variants: Sequence[Variant], new: Sequence[Variant]) -> None:
        """A slice more; where there are too many, the largest stays and what else is asked for is one."""
        if sum(len(one.variants) for one in self._slices) + len(new) > MOST_VARIANTS:
            self._slices, new = [], variants
        elif len(self._slices) == MOST_SLICES:
            self._slices = [max(self._slices, key=lambda one: len(one.variants))]
            new = [variant for variant in variants if variant not in self._slices[0]]
        self._slices.append(Slice(base, new))

    def forget(self) -> None:
        """Lets go of all of it, when a job is over."""
        self._slices = []
