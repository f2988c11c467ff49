"""Which thermostats hot air makes act on a dead machine, and the contacts that are then seen to move.

Knows the machine file; nothing of readings. A thermostat that stands ready reads like one that is stuck: only warmth
tells them apart, and hot air brings it while the meter is clipped on.
"""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.machine import model, primitives
from halfsplit.modes.fault import WARM
from halfsplit.modes.listing import may_be_warmed

HOT_AIR = 150.0
"""[°C] To which a hot-air gun brings the face of a thermostat in a minute or two; common practice, no source."""
SLOW = 10.0
"""Minutes that a machine takes to warm the place of a thermostat from which on hot air does nothing there, since it
sits on a tank full of water; common practice, no source."""
SURELY = 15.0
"""[K] So far above what a good one may take within its tolerance hot air has to be; common practice, no source."""


def ways(machine: model.Machine) -> tuple[str, ...]:
    """All that can be warmed until it acts, in the order of the file.

    >>> from halfsplit.machine import loading
    >>> ways(loading.load("vented-dryer"))
    ('warm control thermostat', 'warm inlet thermostat', 'warm high limit')
    """
    return tuple(dict.fromkeys(WARM + contact.part for contact, _ in contacts(machine)))


def contacts(machine: model.Machine) -> Iterator[tuple[primitives.Contact, primitives.Thermostat]]:
    """The contacts that a thermostat alone works, with it: where hot air surely makes it act, and it goes back by
    itself once it is cool."""
    for contact in machine.elements.values():
        device = _worked_by(machine, contact)
        if not isinstance(contact, primitives.Contact) or device is None or _sits_on_a_mass(machine, device):
            continue
        if _acts(machine, machine.parts[contact.part]):
            yield contact, device


def has_acted(machine: model.Machine, device: primitives.Thermostat, warmth: str) -> bool:
    """Whether its place alone makes it act at a warmth: then hot air shows nothing more."""
    celsius = machine.places[device.place].get(warmth)
    return celsius is not None and celsius >= device.trips.nominal


def spoilt_beside(machine: model.Machine, name: str) -> tuple[str, ...]:
    """What hot air that is blown at a part or a wire may open for good, or until a hand resets it, in the same bay:
    near the nozzle it is hotter than a thermostat ever gets.

    >>> from halfsplit.machine import loading
    >>> spoilt_beside(loading.load("vented-dryer"), "high limit")
    ('thermal fuse', 'cut-off')
    """
    bay = machine.parts[name].bay if name in machine.parts else ""
    near = [part for part in machine.parts.values() if part.bay == bay and part.name != name]
    stay = (part for part in near if any(one.resets != "itself" for one in _thermostats(machine, part)))
    return tuple(part.name for part in stay)


def _sits_on_a_mass(machine: model.Machine, device: primitives.Thermostat) -> bool:
    """Whether the machine itself takes so long to warm the place of a thermostat that hot air never does."""
    celsius, rest = machine.places[device.place], next(iter(machine.warmths), "")
    warmer = (warmth for warmth in celsius if celsius[warmth] > celsius.get(rest, celsius[warmth]))
    return any(machine.comes_to.get(warmth, 0.0) >= SLOW for warmth in warmer)


def _worked_by(machine: model.Machine, element: primitives.Element) -> primitives.Thermostat | None:
    """The thermostat that works a contact, where nothing else does."""
    if not isinstance(element, primitives.Contact) or len(element.when) != 1:
        return None
    when = element.when[0]
    device = machine.devices[when.device] if isinstance(when, primitives.ByDevice) else None
    return device if isinstance(device, primitives.Thermostat) and device.part == element.part else None


def _acts(machine: model.Machine, part: model.Part) -> bool:
    """Whether hot air may be blown at a part, and makes all in it act that warmth makes act, until it is cool again."""
    sure = all(
        device.resets == "itself" and device.trips.high + SURELY <= HOT_AIR for device in _thermostats(machine, part)
    )
    return sure and not part.house and may_be_warmed(machine, part)


def _thermostats(machine: model.Machine, part: model.Part) -> list[primitives.Thermostat]:
    found = (device for device in machine.devices.values() if isinstance(device, primitives.Thermostat))
    return [device for device in found if device.part == part.name]
