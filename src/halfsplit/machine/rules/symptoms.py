"""Rules about what a person perceives, and about the readings seen on a healthy machine."""

from __future__ import annotations

import re
from collections.abc import Iterator

from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.expand.symptoms import WATER
from halfsplit.machine.loads import supply_volts
from halfsplit.machine.model import Machine, Symptom, is_inner, part_of
from halfsplit.machine.primitives import Impedance
from halfsplit.machine.rules.facts import Flaw, Nets, met_terminals

__all__ = [
    "heat_never_enough",
    "mechanical_unperceived",
    "seen_amiss",
    "seen_beyond",
    "seen_lifts_nothing",
    "seen_same_terminal",
    "share_absurd",
    "symptom_cannot",
    "symptom_never_changes",
    "symptom_out_of_sight",
    "symptom_twice",
    "water_by_another_name",
]

_GIVES = {"lit": ("lamp",), "sounds": ("buzzer", "motor")}
_GIVES_NO_HEAT = ("motor", "buzzer")
_ON_FLOOR = frozenset({
    "floor", "ground", "puddle", "under", "underneath", "beneath", "below", "leak", "leaks", "leaking",
})  # fmt: skip
"""Words of a name or a question by which what parts let out is taken to stand on the floor. Halfsplit's choice."""


def symptom_cannot(sheet: Sheet) -> Iterator[Flaw]:
    """A symptom is of a thing that cannot do it: a heater that lights, a motor that heats the air."""
    for name, symptom in sheet.machine.symptoms.items():
        for part in dict.fromkeys(part_of(one) for one in symptom.of):
            symbol = sheet.machine.parts[part].symbol
            wrong = symptom.kind in _GIVES and symbol not in _GIVES[symptom.kind]
            if wrong or (symptom.kind == "heat" and symbol in _GIVES_NO_HEAT):
                message = f"'{part}' is a {sheet.machine.parts[part].type}: it cannot do that."
                yield Flaw(("symptoms", name), message, "Name the part that does, or another kind of symptom.")


def heat_never_enough(sheet: Sheet) -> Iterator[Flaw]:
    """A symptom asks for more watts than its loads can give: kW was written for W, or the ohms are wrong.

    P = V²/R across the highest volts of the supply, added up over the loads: more than any wiring can give.
    """
    for name, symptom in sheet.machine.symptoms.items():
        if symptom.kind == "heat":
            most = _most_watts(symptom, sheet.machine)
            if symptom.at_least > most:
                message = f"{symptom.at_least:g} W can never be reached: at most {most:.3g} W."
                yield Flaw(("symptoms", name, "at least"), message, "Look at the watts here, and at the ohms there.")


def _most_watts(symptom: Symptom, machine: Machine) -> float:
    """Every load across the highest volts; elements that meet inside a part are in series."""
    elements = [e for e in map(machine.elements.__getitem__, symptom.of) if isinstance(e, Impedance)]
    inside = Nets((e.name, end) for e in elements for end in e.ends if is_inner(end))
    ohms: dict[str, float] = {}
    for element in elements:
        chain = inside.root(element.name)
        ohms[chain] = ohms.get(chain, 0.0) + abs(element.live) * element.ohms.nominal
    return sum(supply_volts(machine) ** 2 / r for r in ohms.values() if r)


def share_absurd(sheet: Sheet) -> Iterator[Flaw]:
    """`at least` of light or sound is a share of the rated volts and no more than one."""
    for name, symptom in sheet.machine.symptoms.items():
        if symptom.kind != "heat" and symptom.at_least > 1:
            message = f"{symptom.at_least:g} is no share of the rated volts."
            yield Flaw(("symptoms", name, "at least"), message, "Write it as in 0.5, or 50 %.")


def symptom_never_changes(sheet: Sheet) -> Iterator[Flaw]:
    """No fault can change what a symptom is about: its parts never fail by the file."""
    parts = sheet.machine.parts
    for name, symptom in sheet.machine.symptoms.items():
        mechanical = symptom.kind in ("noisy", "leaks")
        if mechanical and not any(parts[one].modes and parts[one].rate > 0 for one in symptom.of):
            message = "Nothing can change this symptom: its parts never fail."
            yield Flaw(("symptoms", name), message, "Give one of them a weight under `fails`.")


def symptom_out_of_sight(sheet: Sheet) -> Iterator[Flaw]:
    """What shows at work only is to be seen in a bay with which the machine does not run."""
    for name, symptom in sheet.machine.symptoms.items():
        stops = [bay.name for bay in sheet.machine.fronts(symptom.bay) if not bay.runs]
        if stops and not symptom.unpowered:
            message = f"The machine does not run with the {stops[0]} open, and this shows at work only."
            yield Flaw(("symptoms", name, "in"), message, "Name a bay that may be open, or what shows outside.")


def symptom_twice(sheet: Sheet) -> Iterator[Flaw]:
    """Two symptoms are the same but for their names."""
    seen: dict[object, str] = {}
    for name, s in sheet.machine.symptoms.items():
        same = (s.kind, s.of, s.at_least, s.carriers, s.through, frozenset(s.setting))
        if same in seen:
            message = f"This is the same as '{seen[same]}'."
            yield Flaw(("symptoms", name), message, "Take one out, or say how they differ.")
        seen.setdefault(same, name)


def water_by_another_name(sheet: Sheet) -> Iterator[Flaw]:
    """Water on the floor goes by another name than the one that stops the work until the breaker is off."""
    for name, symptom in sheet.machine.symptoms.items():
        words = set(re.findall("[a-z]+", f"{name} {symptom.question}".casefold()))
        if symptom.kind == "leaks" and name != WATER and not symptom.bay and words & _ON_FLOOR:
            message = f"'{name}' reads as water on the floor, and by that name it would not stop the work."
            remedy = f"Call it `{WATER}`, one symptom for all such parts; what is not on the floor, say in other words."
            yield Flaw(("symptoms", name), message, remedy)


def mechanical_unperceived(sheet: Sheet) -> Iterator[Flaw]:
    """A part without terminals can fail and no symptom, control or contact would tell: nobody could ever find it."""
    machine = sheet.machine
    told = {one for s in machine.symptoms.values() for one in (*s.through, *s.of)}
    told |= {control.through for control in machine.controls.values()}
    for name in machine.mechanical:
        electrical = any(c.kind != "failed" for m in machine.parts[name].modes for _, cs in m.alternatives for c in cs)
        if name not in told and not electrical and machine.parts[name].rate > 0:
            message = f"No symptom would tell that '{name}' has failed."
            yield Flaw(("parts", name), message, "Name it under `through` of a symptom, or under `noisy` or `leaks`.")


def seen_same_terminal(sheet: Sheet) -> Iterator[Flaw]:
    """Both leads of a reading stand on one terminal."""
    for index, seen in enumerate(sheet.machine.seen):
        if seen.red == seen.black:
            yield Flaw(("seen", index, "black"), f"Both leads stand on {seen.red}.", "Look where the other one stood.")


def seen_amiss(sheet: Sheet) -> Iterator[Flaw]:
    """Ohms on a machine that is not isolated, or volts or amps on one that is."""
    for index, seen in enumerate(sheet.machine.seen):
        if seen.meter == "ohms" and not seen.isolated:
            message = "Ohms are never measured on a machine that is not isolated."
            yield Flaw(("seen", index, "meter"), message, "Write `isolated: yes`, or another meter.")
        if seen.meter != "ohms" and seen.isolated and seen.value:
            message = f"An isolated machine shows no {seen.meter}."
            yield Flaw(("seen", index, "isolated"), message, "Take `isolated` out, or look at the value.")


def seen_beyond(sheet: Sheet) -> Iterator[Flaw]:
    """A reading that no meter shows: ohms or volts below nought, or more volts than the supply gives."""
    highest = 1.15 * supply_volts(sheet.machine)
    for index, seen in enumerate(sheet.machine.seen):
        if seen.value is not None and (seen.value < 0 or (seen.meter == "volts" and seen.value > highest)):
            message = f"A healthy machine never shows {seen.value:g} on the {seen.meter} range."
            yield Flaw(("seen", index, "value"), message, "Look at the sign, the digits and the unit.")


def seen_lifts_nothing(sheet: Sheet) -> Iterator[Flaw]:
    """A reading says that wires were lifted at a terminal that has none."""
    wired = met_terminals(sheet.machine)
    for index, seen in enumerate(sheet.machine.seen):
        for at, terminal in enumerate(seen.lift):
            if terminal not in wired and terminal not in sheet.machine.gripped:
                message = f"No wire could be lifted at {terminal}: it has none."
                yield Flaw(("seen", index, "lift", at), message, "Look at the terminal.")
