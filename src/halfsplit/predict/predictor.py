"""Readings, symptoms and looks of one machine under one set of candidates, kept once computed.

Knows operate's herds and the candidates; not what was found.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from halfsplit.circuit.meter import Meter
from halfsplit.circuit.network import Array
from halfsplit.machine import model
from halfsplit.modes import marks
from halfsplit.modes.marks import FINE
from halfsplit.operate.condition import Condition, condition
from halfsplit.operate.effect import Effect
from halfsplit.operate.settle import Operation, Settled
from halfsplit.predict import exchanging, symptoms
from halfsplit.predict.candidates import Candidates
from halfsplit.predict.readings import Probe, Reading, Readings

READINGS_KEPT = 1000
MISTAKEN_SYMPTOM = 0.04
"""How often an owner says yes for no, or no for yes; common practice, no source."""
REPAIRER_MISTAKEN = 0.015
"""The same of a repairer who looks for it; common practice, no source."""
MISTAKEN_BREAKER = 0.002
"""The same of a breaker that trips, whoever tells: its handle has moved and the machine is dead. From memory."""
MISSED_LOOK = 0.06
"""How often a mark that is there is overlooked; common practice, no source."""
MISSED_CLOSELY = 0.2
"""How often a mark that a first look has missed is overlooked by a close one too; common practice, no source."""
FALSE_LOOK = 0.02
"""How often a mark is seen that means nothing; common practice, no source."""


def mistaken(machine: model.Machine, what: str, by_owner: bool) -> float:
    """How often a person says yes for no, or no for yes, of a symptom.

    >>> from halfsplit.machine import loading
    >>> dryer = loading.load("vented-dryer")
    >>> [mistaken(dryer, what, True) for what in ("air is warm", "motor stops and restarts later", "breaker trips")]
    [0.04, 0.04, 0.002]
    """
    if machine.house_trips(what):
        return MISTAKEN_BREAKER
    return MISTAKEN_SYMPTOM if by_owner else REPAIRER_MISTAKEN


class Predictor:
    """What every candidate of a machine would show."""

    def __init__(
        self,
        operation: Operation,
        candidates: Candidates,
        meter: Meter | None = None,
        base: Predictor | None = None,
    ) -> None:
        """`base` predicts for the first of the candidates already; only the others are worked out here."""
        self.operation, self.candidates, self.base = operation, candidates, base
        self.machine = operation.machine
        self.readings = Readings(operation, meter)
        known = len(base.candidates.variants) if base else 0
        self._told: tuple[Effect, ...] = tuple(one.for_the_owner() for one in candidates.effects[known:])
        self.found_effects: tuple[Effect, ...] = tuple(one.on_the_bench() for one in candidates.effects[known:])
        self._first = self.found_effects[:1]
        self._exchanged: dict[tuple[str, str], tuple[Effect, ...]] = {}
        self._kept: OrderedDict[tuple[Probe, Condition], Reading] = OrderedDict()
        self._alone, self._healthy = Readings(operation, meter), dict[tuple[Probe, Condition], Reading]()
        self._symptoms: dict[tuple[str, Condition, bool], Array] = {}
        self._healthy_shows: dict[tuple[str, Condition], bool] = {}
        self._looks: dict[tuple[str, bool], tuple[tuple[str, ...], Array]] = {}

    def reading(self, probe: Probe, at: Condition) -> Reading:
        """What the meter would show under every variant while it acts."""
        at = at.still
        self.read_ahead([(probe, at)])
        self._kept.move_to_end((probe, at))
        return self._kept[probe, at]

    def healthy_reading(self, probe: Probe, at: Condition) -> Reading:
        """What the meter would show on the healthy machine, of one variant; the others are not worked out for it."""
        if self.base:
            return self.base.healthy_reading(probe, at)
        key = (probe, at.still)
        if key not in self._healthy:
            self._healthy[key] = self._alone.read(probe, at.own, self._healthy_effects(at))
        return self._healthy[key]

    def reading_under(self, effect: Effect, probe: Probe, at: Condition) -> Reading:
        """What the meter would show under one effect, which need not be a candidate's; not kept."""
        return self._alone.read(probe, at, (effect,))

    def read_ahead(self, wanted: Iterable[tuple[Probe, Condition]]) -> None:
        """Works out readings that will be asked for, all of one function in one condition at once."""
        together: dict[tuple[str, Condition], dict[Probe, None]] = {}
        for probe, stands in wanted:
            at = stands.still
            if (probe, at) not in self._kept:
                together.setdefault((probe.meter, at), {})[probe] = None
        for (_, at), probes in together.items():
            for probe, made in zip(probes, self._read(tuple(probes), at), strict=True):
                self._keep(probe, at, made)

    # ---- twins in each other's places ---------------------------------------------------------------------

    def effects_in(self, at: Condition) -> tuple[Effect, ...]:
        """What every variant does on the bench; where twins are exchanged, what shows the same without that.

        The same object for the same exchange.
        """
        if not at.exchange:
            return self.found_effects
        if at.exchange not in self._exchanged:
            everything = exchanging.effects(self.machine, self.candidates, at.exchange)
            own = everything[-len(self._told) :] if self._told else ()
            self._exchanged[at.exchange] = tuple(one.on_the_bench() for one in own)
        return self._exchanged[at.exchange]

    def _healthy_effects(self, at: Condition) -> tuple[Effect, ...]:
        """The healthy machine's alone: the same object wherever its own parts are in their places."""
        return self.effects_in(at)[:1] if at.exchange else self._first

    def herds(self, at: Condition) -> list[Settled]:
        """The settled herds of a condition, of all variants as they show in it."""
        return self.readings.herds(at.own, self.effects_in(at))

    def read_own(self, probes: Sequence[Probe], at: Condition) -> list[Reading]:
        """Readings, in one condition and by one function, of the variants that `base` does not know; not kept."""
        made = self.readings.read_many(probes, at.own, self.effects_in(at))
        if not at.exchange:
            return made
        places = exchanging.shared(self.machine, self.readings.unknowns.names, at.exchange)
        return [replace(reading, jacobian=reading.jacobian[:, places]) for reading in made]

    # ---- readings, symptoms, looks ------------------------------------------------------------------------

    def _read(self, probes: Sequence[Probe], at: Condition) -> list[Reading]:
        own = self.read_own(probes, at)
        if not self.base:
            return own
        self.base.read_ahead((probe, at) for probe in probes)
        return [self.base.reading(probe, at).followed_by(more) for probe, more in zip(probes, own, strict=True)]

    def _keep(self, probe: Probe, at: Condition, made: Reading) -> None:
        self._kept[probe, at] = made
        while len(self._kept) > READINGS_KEPT:
            self._kept.popitem(last=False)

    def symptom(self, what: str, at: Condition, by_owner: bool) -> Array:
        """(S,) probability that a person says yes, confusion included."""
        key = (what, at, by_owner)
        if key not in self._symptoms:
            own = self.own_symptom(what, at, by_owner)
            self._symptoms[key] = np.append(self.base.symptom(what, at, by_owner), own) if self.base else own
        return self._symptoms[key]

    def healthy_shows(self, what: str, at: Condition) -> bool:
        """Whether the healthy machine shows a symptom, nobody being mistaken; the other variants are not worked out."""
        if self.base:
            return self.base.healthy_shows(what, at)
        if (what, at) not in self._healthy_shows:
            there = self.symptom_itself(what, at.own, self._healthy_effects(at), self._alone)
            self._healthy_shows[what, at] = bool(there[0] > 0.5)
        return self._healthy_shows[what, at]

    def own_symptom(self, what: str, at: Condition, by_owner: bool) -> Array:
        """The same of the variants that `base` does not know; not kept."""
        there = self.symptom_itself(what, at.own, self._told if by_owner else self.effects_in(at))
        wrong = mistaken(self.machine, what, by_owner)
        return wrong + (1 - 2 * wrong) * there

    def symptom_itself(
        self, what: str, at: Condition, effects: Sequence[Effect], readings: Readings | None = None
    ) -> Array:
        """(F,) probability that the symptom is there, nobody being mistaken; `readings` keeps the herds (None: those of
        all variants)."""
        symptom = self.machine.symptoms[what]
        there = np.zeros(len(effects))
        at = condition(self.machine, dict(at.setting) | dict(symptom.setting), at.isolated, at.lift)
        for herd in (readings or self.readings).herds(at, effects):
            there[herd.members] = symptoms.shows(self.operation, symptom, herd, effects)
        return there

    def look(self, at: str, closely: bool = False) -> tuple[tuple[str, ...], Array]:
        """What may be seen at a part, terminal or wire, and its probabilities (S, values). closely: once more, after a
        first look.

        A mark that the file does not name counts as the last value, "something else".
        """
        if (at, closely) not in self._looks:
            self._looks[at, closely] = self._look(at, MISSED_CLOSELY if closely else MISSED_LOOK)
        return self._looks[at, closely]

    def _look(self, at: str, missed: float) -> tuple[tuple[str, ...], Array]:
        values = marks.seen(self.candidates.faults, at)
        strange = FALSE_LOOK / (len(values) - 1)
        plain = np.full(len(values), strange)
        plain[0] = 1 - FALSE_LOOK
        table = np.tile(plain, (len(self.candidates.variants), 1))
        for row, variant in enumerate(self.candidates.variants):
            here = (self.candidates.faults[i] for i in variant.faults)
            seen = next((one.looks for one in here if marks.is_at(one, at)), FINE)
            if seen != FINE:
                table[row] = strange
                table[row, 0] = missed
                table[row, values.index(seen)] = 1 - missed - strange * (len(values) - 2)
        return values, table

    def marks(self, at: str) -> tuple[str, ...]:
        """The marks that some fault leaves at a place."""
        return marks.left(self.candidates.faults, at)
