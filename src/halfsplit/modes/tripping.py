"""Faults that are no more than a device which has tripped: set again by hand, it may trip again for the same reason.

Knows the machine and its faults; nothing of evidence.
"""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.machine import model
from halfsplit.machine.primitives import ByDevice, Overcurrent, Thermostat
from halfsplit.modes.fault import Fault

AGAIN = 0.1
"""How often what was set again trips again before anything else is found wrong; common practice, no source."""


def has_tripped(machine: model.Machine, fault: Fault) -> bool:
    """Whether a fault is a device that opens contacts until it is set again by hand, and is so mended.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.modes import listing
    >>> heater = loading.load("water-heater")
    >>> [name for name, fault in listing.by_name(heater).items() if has_tripped(heater, fault)][-1]
    'limit: tripped'
    """
    if fault.repair.price or fault.repair.by != "repairer" or fault.repair.subject != fault.subject:
        return False
    changes = [change for _, made in fault.alternatives for change in made]
    return all(one.kind == "opened" and _set_by_hand(machine, one.what) for one in changes)


def opened_by(machine: model.Machine, contact: str) -> Iterator[Thermostat | Overcurrent]:
    """The devices that open a contact when it gets too hot, or too many amps flow.

    >>> from halfsplit.machine import loading
    >>> [one.name for one in opened_by(loading.load("refrigerator"), "overload.contact")]
    ['overload.trip']
    """
    element = machine.elements.get(contact)
    moved_by = (when.device for when in getattr(element, "when", ()) if isinstance(when, ByDevice))
    devices = (machine.devices[name] for name in moved_by)
    yield from (one for one in devices if isinstance(one, Thermostat | Overcurrent))


def _set_by_hand(machine: model.Machine, contact: str) -> bool:
    """Whether a device that is set again by hand opens a contact."""
    return any(one.resets == "by hand" for one in opened_by(machine, contact))
