"""Where the supply's earth is reached, against which a frame's bond is measured.

Knows the supply and which bays are open; not whether the bond is to be measured (work/together, work/safety).
"""

from __future__ import annotations

from collections.abc import Collection

from halfsplit.machine import feeding, model


def reached_inside(machine: model.Machine, opened: Collection[str]) -> bool:
    """Whether the supply's earth is reached where it lands only, the plug being in or there being none, and that bay is
    open."""
    return feeding.at_breaker(machine) and feeding.landing_bay(machine) in opened


def reached_at(machine: model.Machine, opened: Collection[str]) -> str:
    """Where the other lead goes: the earth of the plug that is out, or of the cable or cord where that is uncovered;
    where a strap bonds the frame, the neutral instead. `opened`: the bays that are open.

    >>> from halfsplit.machine import loading
    >>> heater = loading.load("water-heater")
    >>> reached_at(heater, ["upper cover"]), reached_at(heater, ["lower cover"])
    ('the earth conductor of the cable', 'an earth outside the machine that you have proved')
    """
    bonded = machine.frame not in machine.supply.meets
    if not feeding.at_breaker(machine):
        return "the neutral prong of the plug" if bonded else "the earth contact of the plug"
    if not reached_inside(machine, opened):
        return "an earth outside the machine that you have proved"
    whose = "cable" if machine.supply.hard_wired else "cord"
    return f"the {'neutral' if bonded else 'earth'} conductor of the {whose}"
