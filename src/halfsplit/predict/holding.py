"""Where a meter reads with one lead alone: a clamp around wires, a probe at a part that feels how warm its place is.

Knows the machine; computes no reading.
"""

from __future__ import annotations

from halfsplit.errors import did_you_mean
from halfsplit.machine import model, primitives

__all__ = ["place_felt", "refusal"]


FEELS = primitives.Thermostat | primitives.Sensor


def place_felt(machine: model.Machine, part: str) -> str:
    """The place whose warmth a part feels, of those that the file gives temperatures for; "" where there is none.

    >>> from halfsplit.machine import loading
    >>> tank = loading.load("water-heater")
    >>> place_felt(tank, "lower thermostat"), place_felt(tank, "lower element")
    ('bottom of tank', '')
    """
    able = (*machine.devices.values(), *machine.elements.values())
    places = (one.place for one in able if isinstance(one, FEELS) and one.part == part)
    return next((place for place in places if machine.places.get(place)), "")


def refusal(machine: model.Machine, meter: str, red: str) -> tuple[str, str] | None:
    """Why a meter shows nothing that could be computed with its red lead at a terminal, and what to do; None where it
    does."""
    part = model.part_of(red)
    if meter == "temperature" and not place_felt(machine, part):
        able = [name for name in machine.parts if place_felt(machine, name)]
        where = f"it can be read at: {', '.join(able)}." if able else "it can be read nowhere on this machine."
        return f"Nothing says how warm {part} gets;", where
    wired = model.wired_terminals(machine)
    if meter == "amps" and red not in wired:
        near = [terminal for terminal in machine.reachable if terminal in wired]
        return f"A clamp goes around wires, and none lands on {red}.", did_you_mean(red, near)
    return None
