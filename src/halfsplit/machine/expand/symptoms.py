"""Symptoms: what a person perceives, with the names in them looked up among elements, devices and parts.

Knows what the parts came to. A name may be a part, an element or device `part.name`, or the beginning of the
names of several elements (`heater.front coil` for its two halves).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from halfsplit.errors import WrongUse, did_you_mean
from halfsplit.machine import amounts, tree
from halfsplit.machine.expand.parts import Built
from halfsplit.machine.expand.scope import OUTSIDE, Scope
from halfsplit.machine.format import SYMPTOM_KINDS, SymptomEntry
from halfsplit.machine.model import Symptom
from halfsplit.machine.primitives import Impedance, Motor, Overcurrent, Relay, Winding

__all__ = ["SMELL", "WATER", "read_symptoms"]

SMELL = "smell of gas"
"""What every machine that burns gas is asked for; the file does not write it."""
WATER = "water on the floor"
"""The name by which water stops the work (`work/stopping`)."""


@dataclass(frozen=True)
class _Sort:
    """What a kind of symptom is about: how to say it, and which names it takes."""

    what: str
    pick: Callable[[Built], Iterable[str]]


def _motors(built: Built) -> Iterable[str]:
    return (name for name, device in built.devices.items() if isinstance(device, Motor))


def _loads(built: Built) -> Iterable[str]:
    return (n for n, e in built.elements.items() if isinstance(e, Impedance | Winding) and e.load)


def _relays(built: Built) -> Iterable[str]:
    return (name for name, device in built.devices.items() if isinstance(device, Relay))


def _trips(built: Built) -> Iterable[str]:
    return (name for name, device in built.devices.items() if isinstance(device, Overcurrent))


def _terminals(built: Built) -> Iterable[str]:
    return (terminal for part in built.parts.values() for terminal in part.reachable)


_MOTOR = _Sort("motor", _motors)
_LOAD = _Sort("load", _loads)
_MECHANICAL = _Sort("mechanical part", lambda built: built.mechanical)
_SORTS: dict[str, _Sort] = {
    "running": _MOTOR,
    "hums": _MOTOR,
    "air": _MOTOR,
    "hand": _MOTOR,
    "lit": _LOAD,
    "sounds": _LOAD,
    "energised": _LOAD,
    "heat": _LOAD,
    "chatters": _Sort("relay", _relays),
    "trips": _Sort("overcurrent switch", _trips),
    "tingles": _Sort("metal", _terminals),
    "noisy": _MECHANICAL,
    "leaks": _MECHANICAL,
}
_PERCEIVED = {"lit": math.sqrt(0.5), "sounds": math.sqrt(0.5), "energised": math.sqrt(0.3)}
"""From which share of the rated volts on what a person perceives by it, where the file gives none: half of the rated
watts, or three tenths; common practice, no source."""


def read_symptoms(built: Built, scope: Scope) -> dict[str, Symptom]:
    """The symptoms of the file; and the smell of gas, where the machine burns gas."""
    found = {name: _symptom(name, entry, built, scope) for name, entry in scope.file.symptoms.items()}
    if scope.file.gas is None:
        return found
    if SMELL in found:
        scope.complaints.add(("symptoms", SMELL), f"'{SMELL}' comes with `gas`.", "Take this symptom out.")
    leaking = tuple(part for part in scope.file.gas.parts if part in built.mechanical)
    found = {name: _smelt(symptom, leaking) for name, symptom in found.items()}
    return {**found, SMELL: Symptom(SMELL, "smells", leaking, question="Do you smell gas?")}


def _smelt(symptom: Symptom, gas: tuple[str, ...]) -> Symptom:
    """A leak of parts that gas flows through is a smell of gas, whatever it is called."""
    leaks = symptom.kind == "leaks" and not set(symptom.of).isdisjoint(gas)
    return replace(symptom, kind="smells") if leaks else symptom


def _symptom(name: str, entry: SymptomEntry, built: Built, scope: Scope) -> Symptom:
    """A symptom of the model; what is not there is complained of and left out."""
    path: tree.Path = ("symptoms", name)
    bay = entry.bay or OUTSIDE
    inside = scope.bay(bay, (*path, "in")) and bay != OUTSIDE
    key = entry.kinds[0]
    kind = SYMPTOM_KINDS[key]
    return Symptom(
        name=name,
        kind=kind,
        of=_look_up(getattr(entry, key.replace(" ", "_")), _SORTS[kind], (*path, key), built, scope),
        at_least=_at_least(kind, entry, path, scope),
        carriers=_look_up(entry.carried_by, _MOTOR, (*path, "carried by"), built, scope),
        through=_look_up(entry.through, _MECHANICAL, (*path, "through"), built, scope),
        setting=scope.setting(entry.set, (*path, "set")),
        question=entry.ask or "",
        takes=entry.takes or 0.0,
        shows_as_left=entry.shows_as_left,
        bay=bay if inside else "",
    )


def _at_least(kind: str, entry: SymptomEntry, path: tree.Path, scope: Scope) -> float:
    text = entry.at_least
    if kind == "heat" and text is None:
        scope.complaints.add(path, "It is not said from how much heat on.", "Write `at least: 300 W`.")
        return 0.0
    if text is None:
        return _PERCEIVED.get(kind, 0.0)
    try:
        least = amounts.value(text, "W").nominal if kind == "heat" else amounts.factor(text)
        if least <= 0:
            remedy = "Write it as in 300 W." if kind == "heat" else "Write it as in 0.5, or 50 %."
            raise WrongUse("What is perceived is above nought.", remedy)
    except WrongUse as error:
        scope.complaints.refuse((*path, "at least"), error)
        return 0.0
    return least


def _look_up(given: tuple[str, ...], sort: _Sort, path: tree.Path, built: Built, scope: Scope) -> tuple[str, ...]:
    candidates = list(sort.pick(built))
    found: dict[str, None] = {}
    for index, name in enumerate(given):
        matches = [one for one in candidates if _means(name, one)]
        found.update(dict.fromkeys(matches))
        if not matches and name.split(".")[0] not in scope.broken:
            scope.complaints.add((*path, index), *_unknown(name, sort, candidates, built))
    return tuple(found)


def _means(name: str, full: str) -> bool:
    """Whether a name in a symptom means an element or device: itself, its part, or the beginning of its name."""
    if full == name or full.startswith(f"{name}."):
        return True
    return "." in name and (full.startswith(f"{name} ") or full.startswith(f"{name},"))


def _unknown(name: str, sort: _Sort, candidates: list[str], built: Built) -> tuple[str, str]:
    offered = sorted({one.split(".")[0] for one in candidates} | set(candidates))
    if name in built.parts or name in built.elements or name in built.devices:
        return f"'{name[:60]}' is no {sort.what}.", did_you_mean(name, offered)
    return f"There is no {sort.what} '{name[:60]}'.", did_you_mean(name, offered)
