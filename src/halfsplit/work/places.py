"""What may hurt in a bay: hot parts, stored charge, sharp edges, weight. From the machine file and part types.

Knows bays and what lies in them; not how far the machine has cooled or been discharged (that is work/safety's).
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator
from typing import NamedTuple

from halfsplit.machine import feeding, model, primitives
from halfsplit.machine.cautions import Caution
from halfsplit.quantity.dimension import Dimension
from halfsplit.quantity.display import display, duration
from halfsplit.work.hazards import CAUTIONS, COOL_SAID, DISCHARGE_SAID, SIGNAL_WORDS, Hazard
from halfsplit.work.waits import COOL_DOWN

RESISTOR_OHMS = 20e3
"""Drains a motor's capacitor within seconds without a spark; common practice, no source."""
TIME_CONSTANTS = 6
"""A charge falls by e in each R C; after six, 340 V (the crest of 240 V) are below 1 V."""
WORDS = ("sharp",)
"""A caution of a bay that begins so is the hazard of that name, told in the hazard's own words."""


def cooling(machine: model.Machine) -> float:
    """Minutes after a run until all of the machine may be touched; 0 where nothing of it gets hot.

    >>> from halfsplit.machine import loading
    >>> cooling(loading.load("vented-dryer")), cooling(loading.load("water-heater"))
    (10.0, 0.0)
    """
    burns = COOL_DOWN if machine.gas else 0.0
    return max((burns, *(part.cools for part in machine.parts.values())))


def hazards(machine: model.Machine, bay: str) -> frozenset[Hazard]:
    """What may hurt where a bay is opened, and behind its cover.

    HOT: a part in it gets hot, or it is the burner's. CHARGE: it holds a terminal of a capacitor, or one that wires,
    joints and contacts join to it. GAS: gas pipe lies in it. SHARP:
    its file has a caution that begins with that word. HEAVY: it takes two people.
    """
    gassy = machine.gas is not None and bay in machine.gas.bays
    known = machine.bays[bay]
    there = {
        Hazard.HOT: bay in machine.hot_bays,
        Hazard.CHARGE: any(bay in one.met for one in machine.stored),
        Hazard.GAS: gassy,
        Hazard.SHARP: any(hazard_of(one) is Hazard.SHARP for one in known.cautions),
        Hazard.HEAVY: known.people > 1,
    }
    return frozenset(hazard for hazard, so in there.items() if so)


def burns(machine: model.Machine, bay: str) -> bool:
    """Whether a bay is a burner's: it and what lies beside it have cooled before that is opened, whatever for."""
    return machine.gas is not None and bay in machine.gas.bays


def near(machine: model.Machine, bays: Iterable[str], of: Collection[Hazard]) -> frozenset[Hazard]:
    """Which of some hazards there are in any of these bays."""
    return frozenset(hazard for bay in bays if bay in machine.bays for hazard in hazards(machine, bay) if hazard in of)


def beside(machine: model.Machine) -> frozenset[Hazard]:
    """What may hurt hands at any cover of a machine: a part outside that gets hot, as a burner that glowed.

    >>> from halfsplit.machine import loading
    >>> [len(beside(loading.load(name))) for name in ("coil-cooktop", "vented-dryer")]
    [1, 0]
    """
    hot = any(part.cools and not part.house and part.bay not in machine.bays for part in machine.parts.values())
    return frozenset({Hazard.HOT} if hot else ())


def at_closing(machine: model.Machine, bay: str) -> frozenset[Hazard]:
    """What may hurt where a bay is closed: its cover is lifted on again, and what gets hot behind it may not have
    cooled after a run with it open; a charge at its ground screws and connectors is told apart (`charge`)."""
    return hazards(machine, bay) & {Hazard.HEAVY, Hazard.HOT}


def supply_lands(machine: model.Machine, bay: str) -> bool:
    """Whether what is isolated at the breaker lands in a bay: dead is proved there once that is open. Of a plug that is
    out, anybody sees that it is.

    >>> from halfsplit.machine import loading
    >>> heater = loading.load("water-heater")
    >>> [bay for bay in heater.bays if supply_lands(heater, bay)]
    ['upper cover']
    """
    ends = machine.supply.meets if feeding.at_breaker(machine) else ()
    return any(machine.parts[model.part_of(terminal)].bay == bay for terminal in ends)


def own_cautions(bay: model.Bay) -> tuple[str, ...]:
    """The cautions for opening a bay that its file words itself, each with its signal word: those that no hazard tells
    in its own words, or that the file takes for graver."""
    return tuple(one.told for one in bay.cautions if one.at("opening") and not _said_by_hazard(one))


class Discharged(NamedTuple):
    """A capacitor, and the two terminals at which it is discharged."""

    capacitor: primitives.Capacitor
    at: tuple[str, str]


def discharged(machine: model.Machine, opened: Collection[str]) -> list[Discharged]:
    """The capacitors that hands can reach with these bays open, each with where it is discharged; of one that they
    cannot reach its bay is opened first where hands go (`Machine.to_discharge`)."""
    found = ((one, one.across(opened)) for one in machine.stored)
    return [Discharged(one.capacitor, at) for one, at in found if at and not one.met.isdisjoint(opened)]


def charge(machine: model.Machine, opened: Collection[str]) -> frozenset[Hazard]:
    """CHARGE where hands are in reach of a capacitor with these bays open."""
    return frozenset({Hazard.CHARGE} if discharged(machine, opened) else ())


def charge_bare(machine: model.Machine, bay: str, before: Collection[str]) -> bool:
    """Whether opening a bay lays bare a charge of which what was discharged `before`, with those bays open, says
    nothing: the capacitor's own terminals did not lie open then, and a wire to where it was done may be off."""
    return any(bay in one.met and one.bay not in before for one in machine.stored)


def cool(machine: model.Machine) -> str:
    """How hot parts are waited for, in a sentence."""
    return COOL_SAID.format(time=duration(cooling(machine)))


def discharge(machine: model.Machine, opened: Collection[str]) -> Iterator[str]:
    """How each capacitor in reach with these bays open is discharged and proved so, in sentences."""
    yield from (how_discharged(machine, found) for found in discharged(machine, opened))


def how_discharged(machine: model.Machine, found: Discharged) -> str:
    """How a capacitor is discharged and proved so, in a sentence."""
    element, (one, other) = found
    return DISCHARGE_SAID.format(
        part=machine.parts[element.part].title, one=one, other=other, seconds=seconds(element),
        ohms=f"{display(RESISTOR_OHMS, Dimension.RESISTANCE, digits=2)}, 5 W or more",
    )  # fmt: skip


def seconds(element: primitives.Capacitor) -> int:
    """Seconds for which the resistor is held on: six time constants R C of the largest that it may be, rounded up."""
    return max(1, math.ceil(TIME_CONSTANTS * RESISTOR_OHMS * element.farads.high))


def hazard_of(caution: Caution) -> Hazard | None:
    """The hazard in whose words a file's caution is told at opening; None where it is told in its own."""
    first = caution.text.split(maxsplit=1)[0].casefold()
    return Hazard(first) if first in WORDS and caution.at("opening") else None


def _said_by_hazard(caution: Caution) -> bool:
    hazard = hazard_of(caution)
    return hazard is not None and SIGNAL_WORDS.index(CAUTIONS[hazard][0]) <= SIGNAL_WORDS.index(caution.word)
