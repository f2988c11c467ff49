"""What a proof run consists of: ohms to the frame, what is seen in use, amps, and what a complaint leaves to be shaken.

Knows the bench, the findings and what was repaired; plays nothing. Common practice, no source: insulation before the
power, every setting in turn, the clamp where half a load can be lost unnoticed, and no complaint left unexplained.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Collection, Sequence
from itertools import islice

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.machine import model
from halfsplit.modes.fault import LOAD_SUPPLY
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.plan import barring, leads, powering, steps
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.predict.candidates import Candidates, Variant
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import Probe
from halfsplit.work import stopping
from halfsplit.work.state import JobState, to_open

QUICKLY = 8.0
"""Minutes of opening within which a meter is put where the supply comes in; Halfsplit's choice."""
LEFT_IN = 0.25
"""So much of what would explain a complaint, and comes and goes, may stay without having been provoked."""
LEAST_AMPS = 0.5
"""What draws less is not clamped: the clamp's last digits."""
AS_EXPECTED = 3.0
"""Standard deviations within which a load is as it should be."""


def healthy(bench: Bench) -> Bench:
    """The bench with nothing but the healthy machine, which is predicted for in a hundredth of the time: all that is
    asked here of what must be seen and read."""
    return knowing(bench, ())


def knowing(bench: Bench, variants: Sequence[Variant]) -> Bench:
    """The bench with the healthy machine and these variants alone."""
    made = copy.copy(bench)
    few = Candidates(bench.singles.faults, (*bench.singles.variants[:1], *variants))
    made.predict_with(Predictor(bench.operation, few, bench.meter))
    return made


# ---- before the power ---------------------------------------------------------------------------------------


def insulation(bench: Bench, state: JobState) -> list[Step]:
    """Ohms from each conductor of the supply to the frame, dead, set as nearly as it is used; soon enough to reach.

    At the prongs of the plug where there is one; at the warmth that an open bay left. A conductor that a healthy
    machine so set leads to the frame, as a motor does where the neutral is the frame, is read with all at rest. Left
    out: what is joined to the frame on a healthy machine even so, such as the earth, and the neutral of an old cord;
    and what cannot be done here.
    """
    machine, found = bench.machine, list[Step]()
    rest = Condition(conditions.condition(machine).setting, isolated=True)
    settings = [conditions.at_warmth(at, machine.warmth_behind(state.open_bays)) for at in (as_used(machine), rest)]
    for probe in _to_frame(machine):
        made = [Step("reading", at, probe, places=steps.places_of(probe, at)) for at in settings]
        near = (step for step in made if _soon(machine, state, step) and not barring.bars(machine, state, step))
        found += list(islice((step for step in near if is_over(bench, step)), 1))
    return sorted(found, key=lambda step: step.condition != settings[0])


def as_used(machine: model.Machine) -> Condition:
    """Isolated, each control where it is in use as far as it stays there by itself."""
    usual = set(conditions.usual(machine).setting)
    nearest = max(steps.dead_settings(machine), key=lambda setting: len(usual & set(setting)))
    return Condition(nearest, isolated=True)


def _to_frame(machine: model.Machine) -> list[Probe]:
    """From where the supply is reached to what is joined to the frame there."""
    prongs = leads.prongs(machine)
    if not prongs:
        return [Probe("ohms", end, machine.frame) for end in machine.supply.meets if end != machine.frame]
    joined = {end for wire in machine.wires if machine.frame in wire.ends for end in wire.ends}
    earth = next((prong for prong in prongs if prong in joined), machine.frame)
    return [Probe("ohms", prong, earth) for prong in prongs if prong != earth]


def is_over(bench: Bench, step: Step) -> bool:
    """Whether a healthy machine is beyond the meter's range: OL."""
    assert step.probe is not None
    assert step.condition is not None
    return bool(bench.predictor.reading(step.probe, step.condition).over[0] > 0.5)


# ---- in use -------------------------------------------------------------------------------------------------


def runs(predictor: Predictor) -> dict[Condition, list[str]]:
    """The settings of the proof run with what is to be seen in each.

    A symptom is to be seen in every setting that the file names and that its own agrees with; where none does, in the
    usual one but for what its own says. One that takes its time is seen once, and so is what shows without power: in
    every run it is the same puddle. What no repairer looks for (`steps.looked_for`) is left out: instead of a frame
    that tingles its insulation is measured, and what shows in days of use is left to the owner. So is what a hand
    turns: the machine turns it here.
    """
    machine = predictor.machine
    usual = conditions.usual(machine)
    named = [conditions.condition(machine, given) for given in machine.settings.values()] or [usual]
    found: dict[Condition, list[str]] = {at: [] for at in named}
    for name, symptom in machine.symptoms.items():
        if symptom.by_hand or not steps.looked_for(symptom):
            continue
        once = symptom.takes or symptom.unpowered
        agree = [at for at in named if _agrees(predictor, name, at)][: 1 if once else None]
        for at in agree or [steps.met_in(machine, symptom)]:
            found.setdefault(at, []).append(name)
    return {at: _asked_once(predictor, at, names) for at, names in found.items() if names}


def _asked_once(predictor: Predictor, at: Condition, names: Sequence[str]) -> list[str]:
    """The symptoms of one setting without those whose healthy answer goes without saying by that to another: where no
    heater gives any heat, no air is warmed by it; where the air is warm, the heater heats."""
    there = {name: predictor.healthy_shows(name, at) for name in names}

    def goes_without(name: str) -> bool:
        others = (one for one in names if one != name and there[one] == there[name])
        return any(_follows(predictor.machine, name, one, there[name]) for one in others)

    return [name for name in names if not goes_without(name)]


def _follows(machine: model.Machine, name: str, other: str, there: bool) -> bool:
    """Whether an answer to the other symptom makes the same to this one go without saying: they are of the same things,
    and the one needs all that the other does, and something more."""
    more, less = (machine.symptoms[one] for one in ((other, name) if there else (name, other)))
    same = all(getattr(more, part) == getattr(less, part) for part in ("kind", "of", "takes", "bay"))
    needs, fewer = {*more.carriers, *more.through}, {*less.carriers, *less.through}
    harder = (needs, more.at_least) != (fewer, less.at_least)
    return same and harder and needs >= fewer and more.at_least >= less.at_least


def _agrees(predictor: Predictor, name: str, at: Condition) -> bool:
    """Whether a symptom is to be seen in a setting: its own is part of that; and where its own names no warmth, a
    healthy machine answers at the warmth of that setting as it does where the symptom is met. Of a freezer that is cold
    enough, and so rests, nobody would say that it is not cold."""
    symptom = predictor.machine.symptoms[name]
    if not set(symptom.setting) <= set(at.setting):
        return False
    met = steps.met_in(predictor.machine, symptom)
    cooler = conditions.at_warmth(at, met.position(WARMTH)) if predictor.machine.warmths else at
    return predictor.healthy_shows(name, at) == predictor.healthy_shows(name, cooler)


def loads(bench: Bench, state: JobState, at: Condition) -> list[Step]:
    """Amps where the supply comes in, in a setting that the file names; where the clamp is reached soon enough.

    They belong to a proof run wherever a part of a load can be lost unnoticed.
    """
    machine, found = bench.machine, []
    if at not in [conditions.condition(machine, dict(setting)) for setting in machine.settings.values()]:
        return []
    for terminal in machine.supply.meets:
        probe = Probe("amps", terminal)
        step = Step("reading", at, probe, places=steps.places_of(probe, at))
        if terminal != machine.frame and _soon(machine, state, step) and _drawn(bench, step) > LEAST_AMPS:
            found.append(step)
    return found


def is_as_it_should(bench: Bench, step: Step, shown: f.Reading) -> bool:
    """Whether the meter shows what a healthy machine does: nothing to the frame, the amps that its loads draw."""
    if is_over(bench, step):
        return shown.value is None
    least, most = as_it_should(bench, step)
    return shown.value is not None and least <= shown.value <= most


def as_it_should(bench: Bench, step: Step) -> tuple[float, float]:
    """[A, V, ohm] least and most that the meter shows on a healthy machine, where that is a number."""
    assert step.probe is not None
    assert step.condition is not None
    expected = bench.predictor.reading(step.probe, step.condition)
    middle, apart = float(expected.mean[0]), AS_EXPECTED * float(expected.deviation[0])
    return expected.scale * math.sinh(middle - apart), expected.scale * math.sinh(middle + apart)


def _soon(machine: model.Machine, state: JobState, step: Step) -> bool:
    closed = to_open(machine, state, bays_needed(machine, step))
    near = sum(machine.bays[bay].open_minutes for bay in closed) <= QUICKLY
    return near and powering.possible(machine, step)


def _drawn(bench: Bench, step: Step) -> float:
    assert step.probe is not None
    assert step.condition is not None
    return float(bench.predictor.reading(step.probe, step.condition).value[0])


# ---- what no repair explains --------------------------------------------------------------------------------


def explained(weighed: Weighed, one: f.Perceived, repairs: Collection[str]) -> bool:
    """Whether what these repairs cure most probably showed what the owner told, by what was found before them."""
    known, at = weighed.candidates, one.condition or conditions.usual(weighed.predictor.machine)
    cures = np.array([bool(known.groups[g]) and known.cured(g, repairs) for g in known.group_of])
    cured = weighed.posterior.probability * cures
    as_told = (weighed.predictor.symptom(one.what, at, True) > 0.5) == one.there
    return bool(cured @ as_told > 0.5 * cured.sum())


def still_barred(weighed: Weighed, findings: Sequence[f.Finding], repairs: Collection[str]) -> frozenset[object]:
    """What is not done once these repairs are made: nothing under power while water was seen on the floor that they do
    not explain (`stopping.barred_by_water`)."""
    wet = stopping.barred_by_water(findings)
    return frozenset() if wet and explained(weighed, f.Perceived(stopping.WATER, True), repairs) else wet


def come_and_go(bench: Bench, what: str) -> Array:
    """(S,) the weight of the faults that come and go and would change a symptom while they act; of those only that a
    hand brings out on a dead machine."""
    known = bench.singles
    yes = bench.predictor.symptom(what, conditions.usual(bench.machine), False) > 0.5
    by_hand = [any(set(known.faults[i].provoked) - {LOAD_SUPPLY} for i in one.faults) for one in known.variants]
    return np.where((yes != yes[0]) & (known.acting < 1) & np.array(by_hand), known.prior, 0.0)
