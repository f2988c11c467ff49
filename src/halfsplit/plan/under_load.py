"""Volts of the supply while the machine runs with its heaviest load on: what gives way under current shows only then.

Which setting draws the most, and through which load, is read off the solved network of the healthy machine. Knows the
predictor, the bays and the trusted pairs; scores nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from halfsplit.modes.fault import LOAD_SUPPLY
from halfsplit.operate.condition import Condition
from halfsplit.operate.effect import HEALTHY
from halfsplit.plan import alike, powering
from halfsplit.plan.steps import Step, reached_at
from halfsplit.predict import supply_amps
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import Probe

MOST_OF_IT = 0.5
"""A load that takes less than this share of the supply's amps is not the one that its joints are loaded by."""
_HEALTHY = (HEALTHY,)


def steps_of(predictor: Predictor) -> Iterator[Step]:
    """Volts between the conductors where they meet the machine, and across the heaviest load, where leads reach them
    on a machine that runs. None where nothing of the supply gives way under load, or nothing loads it."""
    if not any(LOAD_SUPPLY in fault.provoked for fault in predictor.candidates.faults):
        return
    at, amps = heaviest_setting(predictor)
    if amps < supply_amps.LEAST_AMPS:
        return
    pairs = [*combinations(predictor.machine.supply.feeds, 2), *_across_heaviest(predictor, at, amps)]
    loaded = Condition(at.setting, provoke=LOAD_SUPPLY)
    for pair in dict.fromkeys(pairs):
        step = Step("reading", loaded, Probe("volts", *pair), places=pair)
        if powering.possible(predictor.machine, step) and reached_at(predictor.machine, at.setting, pair):
            yield step


def heaviest_setting(predictor: Predictor) -> tuple[Condition, float]:
    """The live setting in which the healthy machine draws the most through one conductor, and its amps; of settings
    that draw alike the first."""
    return supply_amps.heaviest(predictor.readings)


def _across_heaviest(predictor: Predictor, at: Condition, amps: float) -> list[tuple[str, str]]:
    """Across each coil of the part that takes most of the amps; none where a lead reaches no such part."""
    machine = predictor.machine
    coils = [s for s in alike.sections(machine) if s.ohms > 0 and machine.gripped.keys().isdisjoint(s.ends)]
    volts = _healthy(predictor, [Probe("volts", *coil.ends) for coil in coils], at) if coils else []
    taken: dict[str, dict[tuple[str, str], float]] = {}
    for coil, across in zip(coils, volts, strict=True):
        taken.setdefault(coil.part, {})[coil.ends] = across / coil.ohms
    part = max(taken, key=lambda name: sum(taken[name].values()), default="")
    own = taken.get(part, {})
    return list(own) if sum(own.values()) >= MOST_OF_IT * amps else []


def _healthy(predictor: Predictor, probes: Sequence[Probe], at: Condition) -> list[float]:
    """What probes of one function show on the healthy machine, which alone is settled for it."""
    return [float(found.value[0]) for found in predictor.readings.read_many(probes, at, _HEALTHY)]
