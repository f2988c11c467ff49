"""The hidden machine: its faults, values drawn within (or beyond) tolerance, a line voltage, a meter and a person.

Solves its own network with its own values, so that the linearised predictions are judged and not repeated. Twins that
are exchanged are really rewired, so that what is told of them from other variants is judged as well.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from halfsplit.circuit import assembly, meter
from halfsplit.evidence import finding as f
from halfsplit.evidence import switched
from halfsplit.machine import model, primitives, twins
from halfsplit.modes import marks
from halfsplit.modes.fault import Fault
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.operate.effect import HEALTHY, Effect, effect
from halfsplit.operate.settle import Operation
from halfsplit.plan.steps import Step
from halfsplit.predict import predictor as pr
from halfsplit.predict import symptoms
from halfsplit.predict.candidates import PROVOKED
from halfsplit.predict.readings import Probe, Readings

JOINT = assembly.joint_at("")
Asked = TypeVar("Asked")


@dataclass(frozen=True)
class World:
    """How far the truth departs from the model; all 1 or 0 where the model is true.

    spread: tolerances times this; slips: how often a hand slips; mistaken: how often an owner says the
    contrary of what nothing tells plainly.
    """

    spread: float = 1.0
    slips: float = 0.0
    mistaken: float = pr.MISTAKEN_SYMPTOM


@dataclass(frozen=True)
class Hidden:
    """One hidden fault: its changes in the size that was drawn, and the chance that it shows at a given moment."""

    fault: Fault
    changes: tuple[model.Change, ...]
    acting: float = 1.0


class Truth:
    """One machine with one hidden fault, or several at once, that answers as the bench would."""

    def __init__(
        self, machine: model.Machine, fault: Fault | None, changes: Sequence[model.Change], rng: np.random.Generator,
        world: World = World(), acting: float = 1.0, also: Sequence[Hidden] = (),
    ) -> None:  # fmt: skip
        """`also`: what else is wrong at the same time."""
        self.fault, self.rng, self.world = fault, rng, world
        self.machine = drawn(machine, rng, world.spread)
        self._benches: dict[twins.Exchange, _Bench] = {}
        self.operation = self._bench(()).operation
        first = (Hidden(fault, tuple(changes), acting),) if fault else ()
        self.dormant = (HEALTHY,)
        self._stand((*first, *also))
        self.readings = self._bench(()).readings
        self.gains = {name: 1 + rng.normal() * r.ranges[0].percent / 200 for name, r in meter.HAND_FUNCTIONS.items()}

    def _bench(self, exchange: twins.Exchange) -> _Bench:
        """The machine with these twins really in each other's places."""
        if exchange not in self._benches:
            self._benches[exchange] = _Bench(self.machine, exchange)
        return self._benches[exchange]

    def repaired(self, repairs: Collection[str]) -> None:
        """The faults that these repairs cure are gone; the others stay as they are."""
        self._stand(tuple(one for one in self.hidden if not one.fault.repair.is_done_by(repairs)))

    def _stand(self, hidden: tuple[Hidden, ...]) -> None:
        """These faults stand from now on."""
        self.hidden = hidden
        everything = tuple(range(len(hidden)))
        self._joined: dict[tuple[bool, tuple[int, ...], twins.Exchange], tuple[Effect, ...]] = {}
        self.told, self.found = self._together(everything, True), self._together(everything, False)
        self._acts: dict[Condition, tuple[int, ...]] = {}

    def handled(self, found: f.Finding) -> None:
        """What is mended by switching off for what was found is gone; what an owner tells is of the weeks before."""
        made = switched.mended(self.machine, [one.fault.repair for one in self.hidden], (found,))
        if made:
            told = self.told
            self.repaired(made)
            self.told = told

    def _effects(self, setup: Condition) -> tuple[Effect, ...]:
        """The faults as they show in a set-up; one that comes and goes does so between set-ups, not within."""
        if setup not in self._acts:
            self._acts[setup] = tuple(i for i, one in enumerate(self.hidden) if self._shows(one, setup))
        return self._together(self._acts[setup], False, setup.exchange)

    def _shows(self, one: Hidden, setup: Condition) -> bool:
        """Whether a fault shows in a set-up; what is shaken, heated or loaded in it may bring the fault out."""
        provoked = bool(setup.provoke) and setup.provoke in one.fault.provoked
        chance = max(one.acting, PROVOKED) if provoked else one.acting
        return one.acting >= 1 or bool(self.rng.random() < chance)

    def _together(self, which: tuple[int, ...], by_owner: bool, exchange: twins.Exchange = ()) -> tuple[Effect, ...]:
        """These faults at once, as the owner met them or as they are found; the same object for the same faults."""
        if not which:
            return self.dormant
        key = (by_owner, which, exchange)
        if key not in self._joined:
            bench = self._bench(exchange)
            whole = HEALTHY
            for one in (self.hidden[i] for i in which):
                made = effect(bench.operation.assembly, bench.changes(one))
                whole = whole.with_(Effect(as_left=made.stands) if one.fault.owner_only else made)
            self._joined[key] = (whole.for_the_owner() if by_owner else whole.on_the_bench(),)
        return self._joined[key]

    def perceived(self, what: str, at: Condition, by_owner: bool) -> bool:
        """Whether a person says that the symptom is there; an owner, of the weeks in which what made them call came."""
        there = self.rng.random() < self.there(what, at, self.told if by_owner else self._effects(at))
        share = pr.mistaken(self.machine, what, by_owner) / pr.MISTAKEN_SYMPTOM
        return bool(there != (self.rng.random() < share * self.world.mistaken))

    def there(self, what: str, at: Condition, effects: tuple[Effect, ...]) -> float:
        """Probability that the symptom is there under one effect."""
        bench = self._bench(at.exchange)
        symptom = bench.here(self.machine.symptoms[what])
        at = conditions.condition(self.machine, dict(at.setting) | dict(symptom.setting), at.isolated, at.lift)
        herd = bench.readings.herds(bench.stands(at), effects)[0]
        return float(symptoms.shows(bench.operation, symptom, herd, effects)[0])

    def sees(self, at: str, closely: bool = False) -> str:
        """What an eye sees at a place; closely: once more, after a first look."""
        missed = pr.MISSED_CLOSELY if closely else pr.MISSED_LOOK
        here = (one.fault.looks for one in self.hidden if marks.is_at(one.fault, at))
        mark = next((looks for looks in here if looks != f.FINE), None)
        if mark:
            return f.FINE if self.rng.random() < missed else mark
        return marks.ELSE if self.rng.random() < pr.FALSE_LOOK else f.FINE

    def has(self, step: Step) -> bool:
        """Whether the hidden machine has the places where leads go: it may be another one than the plan knows."""
        places = (step.probe.red, step.probe.black) if step.probe else ()
        return all(place in self.machine.terminals for place in places if place)

    def reads(self, probe: Probe, at: Condition) -> tuple[str, float | None, float]:
        """Text, value (None: over range) and step of the last digit that the meter shows."""
        if self.rng.random() < self.world.slips:
            probe, at = self._slip(probe, at)
        value = self._value(probe, at)
        gain = self.gains[probe.meter] if np.isfinite(value) else 1.0
        own = self.readings.meter.spread_parts(probe.meter, value)[1] if np.isfinite(value) else 0.0
        wobble = abs(self.rng.normal(0.0, 0.08)) if probe.meter == "ohms" else 0.0
        noisy = abs(value * gain + self.rng.normal(0.0, own) + wobble) if np.isfinite(value) else value
        text, shown = self.readings.meter.shown(probe.meter, noisy)
        span = self.readings.meter.functions[probe.meter].at(noisy) if np.isfinite(noisy) else None
        return text, shown, span.step if span else 0.0

    def _value(self, probe: Probe, at: Condition) -> float:
        effects, bench = self._effects(at), self._bench(at.exchange)
        herd = bench.readings.herds(bench.stands(at), effects)[0]
        built, probe = bench.operation.assembly, bench.here(probe)
        if probe.meter == "amps":
            return float(abs(herd.amps[0, built.branches[assembly.joint_at(probe.red)]]))
        if probe.meter == "capacitance":
            return float(bench.readings.farads(probe, effects)[0])
        a, b = built.nodes[probe.red], built.nodes[probe.black]
        if "volts" in probe.meter:
            floats = min(abs(herd.volts[0, a]), abs(herd.volts[0, b])) < 1e-3
            ghost = self.rng.uniform(0.2, 1.5) if probe.meter == "volts" else 0.0
            return float(abs(herd.volts[0, a] - herd.volts[0, b]) * (ghost if floats else 1.0))
        ready = bench.readings.ready("meter", herd)
        ohms = ready.factored.resistances([ready.edits(effects[0])], np.array([[a, b]]))[0, 0]
        return float(ohms) + self.readings.meter.lead_ohms if ohms < 3e9 else float("inf")

    def _slip(self, probe: Probe, at: Condition) -> tuple[Probe, Condition]:
        if at.lift and self.rng.random() < 0.5:
            return probe, replace(at.still, lift=())
        return probe, conditions.not_set(self.machine, at)


class _Bench:
    """The machine to be measured, with two twins really in each other's places or none: networks and names.

    Names that are asked for mean places; the twins' own keep to the parts.
    """

    def __init__(self, machine: model.Machine, exchange: twins.Exchange) -> None:
        self.exchange = exchange
        self.operation = Operation(twins.rewired(machine, *exchange) if exchange else machine)
        self.readings = Readings(self.operation)

    def here(self, asked: Asked) -> Asked:
        """What is asked for by place, by the names of what is there now."""
        return twins.exchanged(asked, *self.exchange) if self.exchange else asked

    def stands(self, at: Condition) -> Condition:
        """A condition on this bench: the wires of a place come off the part that is there."""
        return replace(at, lift=tuple(sorted(self.here(at.lift))), exchange=())

    def changes(self, hidden: Hidden) -> list[model.Change]:
        """A fault's changes: a twin's own go with it, all others stay at their places."""
        own = hidden.fault.subject in self.exchange and hidden.fault.mode in self._modes(hidden.fault.subject)
        return [change if own else self._at_place(change) for change in hidden.changes]

    def _modes(self, part: str) -> set[str]:
        return {mode.name for mode in self.operation.machine.parts[part].modes}

    def _at_place(self, change: model.Change) -> model.Change:
        joint = JOINT if change.what.startswith(JOINT) else ""
        return replace(change, what=joint + self.here(change.what.removeprefix(joint)), to=self.here(change.to))


def answer(truth: Truth, step: Step, by: str = "repairer") -> f.Finding:
    """What the hidden machine gives for a step, which may mend something by the way (`evidence/switched`)."""
    found = _answered(truth, step, by)
    truth.handled(found)
    return found


def _answered(truth: Truth, step: Step, by: str) -> f.Finding:
    if step.kind == "look":
        return f.Look(step.at, truth.sees(step.at, step.closely), closely=step.closely)
    if step.asks:
        assert step.met is not None
        return f.Perceived(step.at, truth.perceived(step.at, step.met, True), step.met, "owner")
    if step.kind == "symptom":
        at = step.condition or conditions.usual(truth.machine)
        return f.Perceived(step.at, truth.perceived(step.at, at, by == "owner"), step.condition, by)
    assert step.probe is not None
    assert step.condition is not None
    text, value, width = truth.reads(step.probe, step.condition)
    return f.Reading(step.probe, step.condition, value, None, width, text)


def drawn(machine: model.Machine, rng: np.random.Generator, spread: float = 1.0) -> model.Machine:
    """The machine with every toleranced value drawn; values that share an unknown are drawn together."""
    factors: dict[str, float] = {}
    elements: Mapping[str, primitives.Element] = {
        name: _drawn_element(element, rng, spread, factors) for name, element in machine.elements.items()
    }
    return replace(machine, elements=elements)


def _drawn_element(
    element: primitives.Element, rng: np.random.Generator, spread: float, factors: dict[str, float]
) -> primitives.Element:
    if isinstance(element, primitives.Contact):
        return element
    for name in ("ohms", "volts", "farads"):
        value = getattr(element, name, None)
        if isinstance(value, primitives.Value) and value.relative_spread > 0:
            key = value.shared or element.name
            if key not in factors:
                factors[key] = 1 + float(np.clip(rng.normal(), -2, 2)) * value.relative_spread * spread
            return replace(element, **{name: replace(value, nominal=value.nominal * factors[key])})  # type: ignore[arg-type]
    return element
