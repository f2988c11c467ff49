"""Rules about temperatures and heat switches: units, order, and what would open on a healthy machine."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.machine import tree
from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.model import Machine
from halfsplit.machine.primitives import ByDevice, Contact, Sensor, Thermostat
from halfsplit.machine.rules.facts import Flaw, value_path

__all__ = [
    "band_too_wide",
    "closes_above_opening",
    "limit_above_cut_off",
    "one_shot_blown",
    "place_lacks_warmth",
    "place_unused",
    "ranges_overlap",
    "sensor_off_curve",
    "temperature_absurd",
    "thermostat_always_open",
]

_COLDEST, _HOTTEST = -45.0, 550.0
_WIDEST_BAND = 60.0


def _thermostats(machine: Machine) -> Iterator[Thermostat]:
    return (device for device in machine.devices.values() if isinstance(device, Thermostat))


def _opens(machine: Machine, device: Thermostat) -> bool:
    """Whether a contact opens when the device gets warm."""
    wanted = ByDevice(device.name, other=False)
    return any(isinstance(e, Contact) and wanted in e.when for e in machine.elements.values())


def _path(sheet: Sheet, device: Thermostat, moves: str) -> tree.Path:
    """The value of the part that sets where a device trips or returns."""
    value = getattr(device, moves)
    template = getattr(sheet.types[sheet.machine.parts[device.part].type].devices[device.name.split(".", 1)[1]], moves)
    return value_path(device.part, template[1:]) if template.startswith("$") and value else value_path(device.part)


def closes_above_opening(sheet: Sheet) -> Iterator[Flaw]:
    """A thermostat would come back at or above the temperature at which it trips: the two were swapped."""
    for device in _thermostats(sheet.machine):
        if device.resets == "itself" and device.returns.nominal >= device.trips.nominal:
            back, trips = device.returns.nominal, device.trips.nominal
            message = f"'{device.part}' comes back at {back:g} °C, not below the {trips:g} °C at which it trips."
            yield Flaw(_path(sheet, device, "returns"), message, "Look which of the two is which.")


def ranges_overlap(sheet: Sheet) -> Iterator[Flaw]:
    """The tolerances of the two temperatures of a thermostat meet: one of them is too wide."""
    for device in _thermostats(sheet.machine):
        if device.resets == "itself" and device.returns.nominal < device.trips.nominal <= device.returns.high:
            message = f"The ranges of the two temperatures of '{device.part}' overlap."
            yield Flaw(_path(sheet, device, "trips"), message, "Look at their tolerances.")


def band_too_wide(sheet: Sheet) -> Iterator[Flaw]:
    """A thermostat comes back more than 60 K below where it trips: a digit or a sign is wrong (common practice)."""
    for device in _thermostats(sheet.machine):
        band = device.trips.nominal - device.returns.nominal
        if device.resets == "itself" and band > _WIDEST_BAND:
            message = f"'{device.part}' comes back {band:g} K below where it trips."
            yield Flaw(_path(sheet, device, "returns"), message, "Look at the digits, the sign and the unit.")


def thermostat_always_open(sheet: Sheet) -> Iterator[Flaw]:
    """A thermostat would be open at the coldest that its place ever is: the unit, the digits or the place are wrong."""
    for device in _thermostats(sheet.machine):
        coldest = min(sheet.machine.places[device.place].values(), default=None)
        if coldest is not None and _opens(sheet.machine, device) and device.trips.nominal <= coldest:
            message = f"'{device.part}' is open already at the coldest of '{device.place}', {coldest:g} °C."
            yield Flaw(_path(sheet, device, "trips"), message, "Look at the unit, and at the place.")


def one_shot_blown(sheet: Sheet) -> Iterator[Flaw]:
    """A one-shot cut-off would blow at a temperature that its place has on a healthy machine."""
    for device in _thermostats(sheet.machine):
        hottest = max(sheet.machine.places[device.place].values(), default=None)
        if hottest is not None and device.resets == "never" and device.trips.low <= hottest:
            message = f"'{device.part}' would blow on a healthy machine: '{device.place}' gets {hottest:g} °C."
            yield Flaw(_path(sheet, device, "trips"), message, "Look at the unit, and at the temperatures.")


def limit_above_cut_off(sheet: Sheet) -> Iterator[Flaw]:
    """A switch that comes back by itself trips above the one-shot cut-off of the same place: they were swapped."""
    found = list(_thermostats(sheet.machine))
    for shot in found:
        for limit in found:
            same = limit.place == shot.place and _opens(sheet.machine, limit)
            if shot.resets == "never" != limit.resets and same and limit.trips.nominal >= shot.trips.nominal:
                message = f"'{limit.part}' opens at {limit.trips.nominal:g} °C, not below the cut-off '{shot.part}'."
                yield Flaw(_path(sheet, limit, "trips"), message, "Look which of the two is which.")


def sensor_off_curve(sheet: Sheet) -> Iterator[Flaw]:
    """A sensor's place gets temperatures that its curve does not reach."""
    for element in sheet.machine.elements.values():
        if isinstance(element, Sensor):
            low, high = element.curve[0][0], element.curve[-1][0]
            off = [t for t in sheet.machine.places[element.place].values() if not low <= t <= high]
            if off:
                message = f"The curve of '{element.part}' does not reach {off[0]:g} °C of '{element.place}'."
                yield Flaw(value_path(element.part, "curve"), message, "Write more points, or look at the unit.")


def place_unused(sheet: Sheet) -> Iterator[Flaw]:
    """A place has temperatures and nothing feels them: a part's `at:` names another place."""
    felt = {device.place for device in _thermostats(sheet.machine)}
    felt |= {e.place for e in sheet.machine.elements.values() if isinstance(e, Sensor)}
    for place in sheet.machine.places:
        if place not in felt:
            message = f"Nothing feels the temperature of '{place}'."
            yield Flaw(("temperatures", place), message, f"Write `at: {place}` at its switch, or take it out.")


def place_lacks_warmth(sheet: Sheet) -> Iterator[Flaw]:
    """A place gives no temperature for a warmth that other places have."""
    for place, given in sheet.machine.places.items():
        for warmth in sheet.machine.warmths:
            if warmth not in given:
                message = f"'{place}' has no temperature for '{warmth}'."
                yield Flaw(("temperatures", place), message, f"Write `{warmth}: ... °C`, or mend the word.")


def temperature_absurd(sheet: Sheet) -> Iterator[Flaw]:
    """A temperature is none of any appliance: a digit too many, or a unit."""
    for place, given in sheet.machine.places.items():
        for warmth, celsius in given.items():
            if not _COLDEST <= celsius <= _HOTTEST:
                message = f"No place in an appliance has {celsius:g} °C."
                yield Flaw(("temperatures", place, warmth), message, "Look at the digits and the unit.")
    for device in _thermostats(sheet.machine):
        for moves in ("trips", "returns"):
            celsius = getattr(device, moves).nominal
            if not _COLDEST <= celsius <= _HOTTEST and (moves == "trips" or device.resets != "never"):
                message = f"No switch of an appliance moves at {celsius:g} °C."
                yield Flaw(_path(sheet, device, moves), message, "Look at the digits and the unit.")
