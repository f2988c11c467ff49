"""How a machine is cut off from its supply and proved dead, in words.

Knows the machine file; neither steps nor findings, nor what is done then.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from halfsplit.machine import feeding, model
from halfsplit.work import earthing, places
from halfsplit.work.refusals import VOLTS

PROVED = "(meter proved before and after, on a source known to be live)"
PROVE = f"prove it dead {PROVED}"
LATER = "closed, nothing of it is bare: it is proved dead where the first cover comes off"
"""Of a machine that is locked off at the breaker and closed."""


UNPROVED = "This meter cannot prove it dead: touch nothing in it but its covers."
"""Where no function of the meter proves it."""


def isolate(
    machine: model.Machine, shut: Collection[str] = (), bare: bool = True, volts: str = VOLTS, breaker: bool = False
) -> str:
    """How the machine is made safe to open; `shut`: the bays that are opened next; `bare`: any is open. What is cut
    off at the breaker is locked off, and has to be opened before it can be proved dead (`proved_dead`). `volts`: by
    which function of the meter it is proved dead ("": by none); `breaker`: at its breaker, wherever that is done else.

    >>> from halfsplit.machine import loading
    >>> isolate(loading.load("vented-dryer"))
    'Isolate the machine (plug out) and prove it dead (meter proved before and after, on a source known to be live).'
    >>> isolate(loading.load("water-heater"), ["upper cover"])
    'Isolate the machine (breaker off, locked).'
    """
    isolates = ((model.BREAKER, "off"),) if breaker else machine.supply.isolates
    how = " and ".join(f"{control} {position}" for control, position in isolates)
    if not volts:
        return f"Isolate the machine ({how}). {UNPROVED}"
    if not (breaker or feeding.at_breaker(machine)):
        return f"Isolate the machine ({how}) and {_by(volts)}."
    if not (shut or bare):
        return f"Isolate the machine ({how}, locked and tagged); {LATER}."
    return f"Isolate the machine ({how}, locked){'' if shut else f' and {_dead(machine, (), volts)}'}."


def proved_dead(
    machine: model.Machine, shut: Collection[str], before: bool = False, volts: str = VOLTS
) -> Iterator[str]:
    """Once these bays are open: where what is locked off is proved dead; nothing where a plug is out. `before`:
    it was isolated and proved dead earlier, behind other covers; what lands in these is proved for itself.

    >>> from halfsplit.machine import loading
    >>> heater = loading.load("water-heater")
    >>> next(proved_dead(heater, ["upper cover"], before=True))[:24]
    'Prove it dead there too '
    >>> list(proved_dead(heater, ["lower cover"], before=True))
    []
    """
    lands = any(places.supply_lands(machine, bay) for bay in shut)
    if volts and feeding.at_breaker(machine) and (lands or (shut and not before)):
        dead = _dead(machine, shut, volts).replace("dead", "dead there too", 1 if before else 0)
        yield f"{dead[:1].upper()}{dead[1:]}."


def _by(volts: str) -> str:
    """That it is proved dead, and by which function where that is not the usual one."""
    return PROVE if volts == VOLTS else f"{PROVE} at {volts}"


def _dead(machine: model.Machine, shut: Collection[str], volts: str) -> str:
    """At the conductors where they land, if these bays hold them; else at all that lies bare. And at an earth besides
    the frame: with a pole closed and the frame's bond open, no reading among these shows it."""
    landed = [t for t in machine.supply.meets if machine.parts[model.part_of(t)].bay in shut]
    ends = landed or ["all that lies bare", "the frame"]
    if landed and machine.frame and machine.frame not in landed:
        ends.append(machine.frame)
    bonded, plugged = machine.frame in machine.supply.meets, not feeding.at_breaker(machine)
    earth = "an earth outside the machine that you have proved" if plugged else earthing.reached_at(machine, shut)
    ends.append(earth if bonded else "an earth that you have proved")
    where = f"{', '.join(ends[:-1])} and {ends[-1]}"
    return f"{PROVE}: {volts} between {where}, each pair"
