"""What a person would perceive: symptoms as thresholds on settled quantities, with how sure each is.

Knows settled herds and the symptoms of a machine file; not who perceived what.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.machine import model, primitives
from halfsplit.machine.loads import made_for
from halfsplit.operate.effect import Effect
from halfsplit.operate.settle import Operation, Settled
from halfsplit.quantity import normal

SOFTNESS = 0.25
"""Deviation of ln(quantity / threshold) within which people differ; common practice, no source."""
TINGLE_VOLTS = 30.0
"""Volts to earth on metal from which a dry hand tingles; from memory, no source."""
MECHANICAL = ("noisy", "leaks", "smells")
"""Kinds of symptom that tell of a mechanical part's own failing, whatever the network does."""
FLOWS = 1e-3
"""Amps from which a motor's winding counts as fed (`operate/devices` calls it humming from the same)."""


def shows(operation: Operation, symptom: model.Symptom, herd: Settled, effects: Sequence[Effect]) -> Array:
    """(members,) probability that the symptom is there, for the members of one herd."""
    certain = _QUANTITIES[symptom.kind](operation, symptom, herd)
    if symptom.by_hand:
        return np.array([_goes_round(symptom, effects[m]) for m in herd.members.tolist()])
    works = np.array([_carried(symptom, herd, effects[m]) for m in herd.members.tolist()])
    if symptom.kind in MECHANICAL:
        return np.array([float(any(p in effects[m].failed for p in symptom.of)) for m in herd.members.tolist()])
    return np.where(works, certain, 0.0)


def _goes_round(symptom: model.Symptom, effect: Effect) -> float:
    """Whether what a hand turns takes the motors with it, whatever the network does: nothing between has failed, and
    none of them is seized."""
    return float(effect.failed.isdisjoint(symptom.through) and effect.halted.isdisjoint(symptom.of))


def _carried(symptom: model.Symptom, herd: Settled, effect: Effect) -> bool:
    """Whether the motors that carry it run and nothing that it goes through has failed."""
    return all(c in herd.other for c in symptom.carriers) and not effect.failed.intersection(symptom.through)


def _running(operation: Operation, symptom: model.Symptom, herd: Settled) -> Array:
    return np.full(len(herd.members), float(all(motor in herd.other for motor in symptom.of)))


def _hums(operation: Operation, symptom: model.Symptom, herd: Settled) -> Array:
    return np.full(len(herd.members), float(any(motor in herd.hummed for motor in symptom.of)))


def _chatters(operation: Operation, symptom: model.Symptom, herd: Settled) -> Array:
    heard = bool(herd.chatters) if not symptom.of else any(device in herd.chatters for device in symptom.of)
    return np.full(len(herd.members), float(heard))


def _trips(operation: Operation, symptom: model.Symptom, herd: Settled) -> Array:
    """A breaker trips where any overcurrent device of the parts named is in its other state."""
    devices = operation.machine.devices.values()
    named = {d.name for d in devices if d.name in symptom.of or d.part in symptom.of}
    return np.full(len(herd.members), float(bool(named & herd.other)))


def watts(operation: Operation, elements: Sequence[str], herd: Settled) -> Array:
    """(members,) watts turned to heat in these elements together."""
    built = operation.assembly
    k = np.array([built.branches[e] for e in elements], int)
    across = herd.volts[:, built.tail[k]] - herd.volts[:, built.head[k]]
    return np.asarray(np.maximum((across * np.conj(herd.amps[:, k])).real, 0.0).sum(axis=1))


def _heat(operation: Operation, symptom: model.Symptom, herd: Settled) -> Array:
    return _over(watts(operation, symptom.of, herd), symptom.at_least)


def _fed(operation: Operation, symptom: model.Symptom, herd: Settled) -> Array:
    """Lamps, buzzers and coils: the share of its rated volts that works on a load, on any of those named. What a person
    perceives of it goes as its watts, so as the square of that share."""
    built, named = operation.assembly, set(symptom.of)
    found = [load for load in built.loads if named.intersection(load.elements)]
    volts = (np.sum([_working(operation, name, herd) for name in load.elements], axis=0) for load in found)
    shares = [each / made_for(operation.machine, load) for each, load in zip(volts, found, strict=True)]
    return _over(np.max(shares, axis=0) ** 2, symptom.at_least**2)


def _working(operation: Operation, name: str, herd: Settled) -> Array:
    """(members,) volts across an element, as far as they drive current through what it is when whole: none across one
    that is open, few across one that is burnt to a high resistance."""
    built, element = operation.assembly, operation.machine.elements[name]
    k = built.branches[name]
    across, amps = np.abs(herd.volts[:, built.tail[k]] - herd.volts[:, built.head[k]]), np.abs(herd.amps[:, k])
    if isinstance(element, primitives.Winding):  # its amps follow from its sister's and the rotor as well
        return np.where(amps > FLOWS, across, 0.0)
    return np.asarray(np.minimum(across, amps * abs(built.live_impedance(element, herd.state))))


def _tingles(operation: Operation, symptom: model.Symptom, herd: Settled) -> Array:
    """The most volts to earth of the metal that the symptom names."""
    built = operation.assembly
    touched = [built.nodes[terminal] for terminal in symptom.of]
    earth = built.nodes[operation.machine.supply.earth]
    return _over(np.abs(herd.volts[:, touched] - herd.volts[:, [earth]]).max(axis=1), TINGLE_VOLTS)


def _over(quantity: Array, threshold: float) -> Array:
    return np.asarray(normal.share_below(np.log(np.maximum(quantity, 1e-12) / threshold) / SOFTNESS))


def _air(operation: Operation, symptom: model.Symptom, herd: Settled) -> Array:
    return _running(operation, symptom, herd)


def _mechanical(operation: Operation, symptom: model.Symptom, herd: Settled) -> Array:
    return np.zeros(len(herd.members))


_QUANTITIES = {
    "running": _running, "hums": _hums, "chatters": _chatters, "trips": _trips, "heat": _heat, "lit": _fed,
    "sounds": _fed, "energised": _fed, "tingles": _tingles, "air": _air, "noisy": _mechanical, "leaks": _mechanical,
    "smells": _mechanical, "hand": _mechanical,
}  # fmt: skip
