"""Rules about numbers: units off by a thousand, tolerances, money and minutes beyond reason.

What counts as beyond reason is common practice, no source; a part type may give its own `plausible` range.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfsplit.machine import amounts, tree
from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.loads import supply_volts
from halfsplit.machine.model import Machine
from halfsplit.machine.primitives import Impedance, Motor, Overcurrent, Relay, Value, Winding
from halfsplit.machine.rules.facts import Flaw, value_path
from halfsplit.quantity.display import duration

__all__ = [
    "dead_short_load",
    "foreign_currency",
    "implausible_value",
    "minutes_absurd",
    "never_trips",
    "price_absurd",
    "rated_volts",
    "relay_drops_above_pull",
    "starting_below_running",
    "tolerance_absurd",
]

_WIDEST = {"V": 0.2, "Hz": 0.05}
_WIDEST_ELSE = 0.5
_WIDEST_KELVIN = 25.0
_SMALLEST_PRICE, _LARGEST_PRICE, _LONGEST_JOB = 0.05, 3000.0, 300.0


def _given(sheet: Sheet) -> Iterator[tuple[tree.Path, str, Value, tuple[str, str] | None]]:
    """Every number that the file gives a part: its path, its kind, its value, and what its type holds plausible."""
    for part, entry in sheet.file.parts.items():
        for name, spec in sheet.types[entry.type].values.items():
            text = entry.values.get(name)
            if isinstance(text, str) and (spec.kind in amounts.KINDS or spec.kind == "number"):
                yield value_path(part, name), spec.kind, amounts.value(text, spec.kind), spec.plausible


def tolerance_absurd(sheet: Sheet) -> Iterator[Flaw]:
    """A tolerance is as large as its value: a sign of per cent was forgotten, or a point."""
    for path, kind, value, _ in _given(sheet):
        half = (value.high - value.low) / 2
        if kind in ("°C", "K"):
            wide = half > _WIDEST_KELVIN
        else:
            wide = half > _WIDEST.get(kind, _WIDEST_ELSE) * abs(value.nominal)
        if wide:
            remedy = "Look at it: 5 % and 5 differ."
            yield Flaw(path, f"A tolerance of {half:g} on {value.nominal:g} is too wide to be meant.", remedy)


def implausible_value(sheet: Sheet) -> Iterator[Flaw]:
    """A value is far from what parts of its type have: the unit is off by a thousand, or a digit is wrong."""
    for path, kind, value, plausible in _given(sheet):
        if plausible is None:
            continue
        low, high = (amounts.value(text, kind).nominal for text in plausible)
        if not low <= value.nominal <= high:
            kind_of = sheet.file.parts[str(path[1])].type
            message = f"'{path[-1]}' is {value.nominal:g}; of a {kind_of} it is {plausible[0]} to {plausible[1]}."
            yield Flaw(path, message, "Look at the unit (ohm, kohm; W, kW) and the digits.")


def dead_short_load(sheet: Sheet) -> Iterator[Flaw]:
    """A load would draw more than five times what trips the breaker: its ohms are off by a thousand."""
    machine = sheet.machine
    limit = 5 * _house_amps(machine)
    for element in machine.elements.values():
        ohms = _ohms(element)
        if ohms is not None and not machine.parts[element.part].house and supply_volts(machine) / ohms > limit:
            message = f"'{element.part}' has so few ohms that it would short the supply: {ohms:.3g} ohm under power."
            yield Flaw(value_path(element.part, "ohms"), message, "Look at the unit: ohm, kohm.")


def _overcurrents(machine: Machine, house: bool) -> list[Overcurrent]:
    found = [device for device in machine.devices.values() if isinstance(device, Overcurrent)]
    return [device for device in found if machine.parts[device.part].house is house]


def _house_amps(machine: Machine) -> float:
    """The fewest amps that trip a breaker; endless where there is none."""
    return min((device.amps for device in _overcurrents(machine, house=True)), default=math.inf)


def _ohms(element: object) -> float | None:
    if isinstance(element, Impedance) and element.load:
        return abs(element.live) * element.ohms.nominal or None
    return element.ohms.nominal or None if isinstance(element, Winding) and element.load else None


def rated_volts(sheet: Sheet) -> Iterator[Flaw]:
    """A part is rated for volts that its supply cannot give: a 230 V part in a 120 V machine."""
    highest = supply_volts(sheet.machine)
    for path, kind, value, _ in _given(sheet):
        if kind == "V" and "volts" in str(path[-1]) and value.nominal > 1.15 * highest:
            message = f"'{path[1]}' is rated for {value.nominal:g} V; the supply gives {highest:.0f} V at most."
            yield Flaw(path, message, "Look at the plate of the part, and at the supply's system.")


def relay_drops_above_pull(sheet: Sheet) -> Iterator[Flaw]:
    """A relay would drop out at more volts than it pulls in at: the two were swapped."""
    for device in sheet.machine.devices.values():
        if isinstance(device, Relay) and device.drops >= device.pulls:
            message = f"'{device.part}' drops at {device.drops:g} V, not below its pull-in at {device.pulls:g} V."
            yield Flaw(value_path(device.part), message, "Look which of the two is which.")


def starting_below_running(sheet: Sheet) -> Iterator[Flaw]:
    """A motor would draw less when locked than at work: the two were swapped."""
    for device in sheet.machine.devices.values():
        if isinstance(device, Motor) and device.starting and device.starting <= device.running:
            message = f"'{device.part}' draws {device.starting:g} A locked, not above its {device.running:g} A running."
            yield Flaw(value_path(device.part, "starting"), message, "Look which of the two is which.")


def never_trips(sheet: Sheet) -> Iterator[Flaw]:
    """A fuse or protector in the machine is rated above five times the breaker: it could never act."""
    limit = 5 * _house_amps(sheet.machine)
    for device in _overcurrents(sheet.machine, house=False):
        if device.amps > limit:
            message = f"'{device.part}' acts at {device.amps:g} A only, far above the breaker."
            yield Flaw(value_path(device.part, "amps"), message, "Look at its amps.")


def price_absurd(sheet: Sheet) -> Iterator[Flaw]:
    """A price is none of a part: a point was lost, or it is another currency."""
    for name, entry in sheet.file.parts.items():
        if entry.price and not _SMALLEST_PRICE <= entry.price[0] <= _LARGEST_PRICE:
            message = f"No part of an appliance costs {entry.price[0]:g} {entry.price[1]}."
            yield Flaw(value_path(name, "price"), message, "Look at the point.")


def foreign_currency(sheet: Sheet) -> Iterator[Flaw]:
    """A price is in another currency than the file."""
    for name, entry in sheet.file.parts.items():
        if entry.price and entry.price[1] != sheet.machine.currency:
            message = f"This price is in {entry.price[1]}, the file in {sheet.machine.currency}."
            yield Flaw(value_path(name, "price"), message, "Turn it into the file's, or write `currency:`.")


def minutes_absurd(sheet: Sheet) -> Iterator[Flaw]:
    """Replacing a part, opening a bay, or seeing what is asked takes no time or a whole day: the unit is wrong."""
    jobs: list[tuple[tree.Path, float | None]] = [
        (value_path(name, "replace"), entry.replace) for name, entry in sheet.file.parts.items()
    ]
    for name, bay in sheet.file.bays.items():
        jobs += [(("bays", name, "open"), bay.open), (("bays", name, "close"), bay.close)]
    jobs += [(("symptoms", name, "takes"), symptom.takes) for name, symptom in sheet.file.symptoms.items()]
    for path, minutes in jobs:
        if minutes is not None and not 0.2 <= minutes <= _LONGEST_JOB:
            message = f"'{path[-1]}' takes {duration(minutes)}: that is not meant."
            yield Flaw(path, message, "Look at the unit: s, min, h.")
