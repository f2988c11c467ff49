"""The candidates of a machine: its faults, each in the alternatives whose size is not known, and pairs of faults.

A *variant* is one alternative of one fault, or of several together; predictions run over variants, and people see
them summed by their faults. Variant 0 is the healthy machine.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from halfsplit.circuit import assembly
from halfsplit.circuit.network import Array
from halfsplit.modes.fault import Fault, Repair
from halfsplit.operate.effect import HEALTHY, Effect, effect
from halfsplit.predict.moments import Index

WORKED_ON_BEFORE = 10.0
"""How much oftener an earlier hand's mistakes are found where someone has worked on the machine before.

Common practice, no source.
"""


PROVOKED = 0.85
"""Chance that a fault that comes and goes shows while it is provoked; common practice, no source."""


@dataclass(frozen=True)
class Variant:
    """Indices of its faults, its prior weight, its effect, and the chance that all of it shows at a given moment."""

    faults: tuple[int, ...]
    weight: float
    effect: Effect
    acting: float = 1.0
    of: tuple[Variant, ...] = ()
    """The variants of single faults that it is made of; none where it is one itself."""


@dataclass(frozen=True)
class Candidates:
    """Faults of one machine and the variants over which evidence is weighed; variant 0 is healthy."""

    faults: tuple[Fault, ...]
    variants: tuple[Variant, ...]

    @cached_property
    def prior(self) -> Array:
        """(S,) prior weights, summing to 1."""
        weights = np.array([variant.weight for variant in self.variants])
        return np.asarray(weights / weights.sum())

    @cached_property
    def acting(self) -> Array:
        """(S,) chance that all of each variant shows at a given moment."""
        return np.array([variant.acting for variant in self.variants])

    @cached_property
    def parts(self) -> Index:
        """(S, 2) the variants that each is made of: itself and the healthy machine where it is of one fault."""
        row_of = {id(variant): row for row, variant in enumerate(self.variants)}
        made = [[row_of[id(part)] for part in v.of] or [row, 0] for row, v in enumerate(self.variants)]
        return np.array(made, np.intp)

    def acting_when(self, provoke: str) -> Array:
        """(S,) the same while something is shaken, heated or loaded ("": nothing is)."""
        if provoke not in self._acting:
            self._acting[provoke] = self._provoked(provoke) if provoke else self.acting
        return self._acting[provoke]

    @cached_property
    def _acting(self) -> dict[str, Array]:
        return {}

    def _provoked(self, provoke: str) -> Array:
        each, rows = self.acting.copy(), self._brought_out.get(provoke, [])
        each[rows] = np.maximum(each[rows], PROVOKED)
        return np.asarray(each[self.parts].prod(axis=1))

    @cached_property
    def _brought_out(self) -> dict[str, list[int]]:
        """The variants that each way of shaking, heating or loading brings out."""
        found: dict[str, list[int]] = {}
        for row, variant in enumerate(self.variants):
            for way in {way for i in variant.faults for way in self.faults[i].provoked}:
                found.setdefault(way, []).append(row)
        return found

    @cached_property
    def groups(self) -> tuple[tuple[int, ...], ...]:
        """The distinct sets of faults, in order of appearance; the healthy machine's is empty."""
        return tuple(dict.fromkeys(variant.faults for variant in self.variants))

    @cached_property
    def group_of(self) -> Array:
        """(S,) index into `groups` of each variant."""
        numbers = {faults: index for index, faults in enumerate(self.groups)}
        return np.array([numbers[variant.faults] for variant in self.variants])

    @cached_property
    def repairs(self) -> dict[str, Repair]:
        """Every repair that cures a fault, by its name."""
        return {fault.repair.name: fault.repair for fault in self.faults}

    @property
    def effects(self) -> list[Effect]:
        """The effect of each variant."""
        return [variant.effect for variant in self.variants]

    def cured(self, group: int, made: Collection[str]) -> bool:
        """Whether repairs of these names cure a set of faults."""
        return all(self.faults[f].repair.is_done_by(made) for f in self.groups[group])

    def repairs_of(self, group: int) -> tuple[str, ...]:
        """Names of the repairs that cure a set of faults; empty for the healthy machine."""
        return tuple(dict.fromkeys(self.faults[f].repair.name for f in self.groups[group]))

    @cached_property
    def repair_of(self) -> Array:
        """(S,) number of the set of repairs that cures each variant; equal numbers, equal repairs."""
        numbers: dict[tuple[str, ...], int] = {}
        by_group = [numbers.setdefault(self.repairs_of(g), len(numbers)) for g in range(len(self.groups))]
        return np.array(by_group)[self.group_of]

    def also(self, more: Iterable[Variant]) -> Candidates:
        """The same with further variants."""
        return Candidates(self.faults, (*self.variants, *more))


HEALTHY_WEIGHT = 0.01
"""Prior that nothing is wrong, against all faults; a call has been made, so something nearly always is.

Common practice, no source.
"""


def singles(built: assembly.Assembly, faults: Sequence[Fault], worked_on_before: bool = False) -> Candidates:
    """The healthy machine and every single fault in each of its alternatives."""
    rates = np.array([_rate(fault, worked_on_before) for fault in faults])
    share = rates / rates.sum()
    variants = [Variant((), HEALTHY_WEIGHT, HEALTHY)]
    for index, fault in enumerate(faults):
        variants += [
            Variant((index,), float(share[index] * weight), _effect(built, fault, changes), fault.acting)
            for weight, changes in fault.alternatives
        ]
    return Candidates(tuple(faults), tuple(variants))


def _rate(fault: Fault, worked_on_before: bool) -> float:
    return fault.rate * (WORKED_ON_BEFORE if worked_on_before and fault.earlier_hand else 1.0)


def _effect(built: assembly.Assembly, fault: Fault, changes: Sequence[object]) -> Effect:
    made = effect(built, changes)  # type: ignore[arg-type]
    return made if not fault.owner_only else Effect(as_left=made.stands)


PAIR_ODDS = 0.05
"""Prior odds that a second, independent fault is there at the call, spread over all faults by rate.

Common practice, no source.
"""


def pair(first: Variant, second: Variant) -> Variant:
    """Two variants at once, at their prior odds."""
    return Variant(
        tuple(sorted({*first.faults, *second.faults})),
        first.weight * second.weight * PAIR_ODDS,
        first.effect.with_(second.effect),
        first.acting * second.acting,
        (*(first.of or (first,)), *(second.of or (second,))),
    )
