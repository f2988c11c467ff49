"""Rules that need predictions: readings seen on a healthy machine that ours would not give, symptoms nothing changes.

Knows the sheet, the predictor and the meter; not what was found in a job. Rules as in audit, with their places.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from halfsplit.circuit.meter import Meter
from halfsplit.circuit.network import Array
from halfsplit.machine import model
from halfsplit.machine.complaints import Complaints
from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.rules.facts import Flaw
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.operate.effect import HEALTHY, Effect
from halfsplit.operate.settle import Operation
from halfsplit.predict import candidates
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import Probe, Reading, Readings

__all__ = ["RULES", "apply", "differs", "seen_otherwise", "symptom_unmoved"]

BEYOND = 3.0
"""So many standard deviations from ours, a reading was not of this machine."""
CHANGED = 0.4
"""By so much a fault must move a symptom's probability."""
TURNS = 6
"""Faults are tried every sixth first: most symptoms are moved by many."""


def seen_otherwise(sheet: Sheet, operation: Operation) -> Iterator[Flaw]:
    """A reading seen on a healthy machine is not what the file's wiring and values give."""
    readings = Readings(operation)
    for index, seen in enumerate(sheet.machine.seen):
        ours = _apart(readings, sheet.machine, seen)
        if ours:
            message = f"On a healthy machine this file gives {ours} here."
            remedy = "Look at the value, the setting and what was lifted; then at the wires and values in between."
            yield Flaw(("seen", index, "value"), message, remedy)


def _apart(readings: Readings, machine: model.Machine, seen: model.Seen) -> str:
    """What the meter would show, where that is not what was seen; else nothing."""
    apart, ours = differs(readings, machine, seen, (HEALTHY,))
    if not apart[0]:
        return ""
    shown = readings.meter.shown(seen.meter, float(ours.value[0]))[0]
    return "over range" if ours.over[0] >= 0.5 else shown


def differs(
    readings: Readings, machine: model.Machine, seen: model.Seen, effects: Sequence[Effect]
) -> tuple[Array, Reading]:
    """Under each effect, whether what the meter would show is not what was seen; and the reading."""
    at = conditions.of_seen(machine, seen)
    ours = readings.read(Probe(seen.meter, seen.red, seen.black), at, effects)
    if seen.value is None:
        return ours.over < 0.5, ours
    allowed = BEYOND * ours.deviation + _last_digit(readings.meter, seen, ours.scale)
    apart = np.abs(float(np.arcsinh(seen.value / ours.scale)) - ours.mean)
    return (apart > allowed) | (ours.over >= 0.5), ours


def _last_digit(meter: Meter, seen: model.Seen, scale: float) -> float:
    """What rounding by hand to three digits may move, in units of x."""
    value = abs(seen.value or 0.0)
    return float(np.arcsinh((1.005 * value + meter.lead_spread) / scale) - np.arcsinh(value / scale))


def symptom_unmoved(sheet: Sheet, operation: Operation) -> Iterator[Flaw]:
    """No fault, and no control that stood elsewhere, makes any difference to a symptom: asking for it tells nothing."""
    machine = sheet.machine
    found = candidates.singles(operation.assembly, listing.faults(machine))
    predictor = Predictor(operation, found)
    left = list(machine.symptoms)
    for turn in range(TURNS):
        effects = (HEALTHY, *found.effects[1 + turn :: TURNS])
        left = [name for name in left if not _moves(predictor, name, effects)]
    for name in left:
        message = f"No fault makes any difference to '{name}'."
        remedy = "Look at what it is of, at its `set` and at its `at least`, or take it out."
        yield Flaw(("symptoms", name), message, remedy)


def _moves(predictor: Predictor, name: str, effects: Sequence[Effect]) -> bool:
    """Whether some of these effects change a symptom where it is met."""
    machine = predictor.machine
    usual = next(iter(machine.settings.values()), ())
    there = predictor.symptom_itself(name, conditions.condition(machine, usual), effects)
    return bool((np.abs(there - there[0]) > CHANGED).any())


Rule = Callable[[Sheet, Operation], Iterator[Flaw]]
RULES: dict[str, Rule] = {"seen otherwise": seen_otherwise, "symptom unmoved": symptom_unmoved}
"""Name: rule."""


def apply(sheet: Sheet, operation: Operation, complaints: Complaints) -> bool:
    """Adds what every rule finds to the complaints; whether any did."""
    found = [flaw for rule in RULES.values() for flaw in rule(sheet, operation)]
    for flaw in found:
        complaints.add(flaw.path, flaw.message, flaw.remedy, flaw.shift)
    return bool(found)
