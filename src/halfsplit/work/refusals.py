"""What a person cannot do on this job: a bay that will not open, a part that will not lift out, a meter without a
function, nobody to help, no owner to be asked, power that has to stay off. And what safety lacks with it: a meter that
reads no volts proves nothing dead, one that reads no ohms proves no frame bonded.

Stands in `JobState.refused`, beside single steps that were refused. Knows bays and meters; chooses nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.work import handling
from halfsplit.work.state import with_fronts


@dataclass(frozen=True)
class CannotOpen:
    """A bay that will not open, and so none behind it."""

    bay: str


@dataclass(frozen=True)
class CannotLift:
    """A part that plugs in and will not come out by hand, and so is neither read nor exchanged with its twin.

    Nor is what it sits in looked at.
    """

    part: str


@dataclass(frozen=True)
class NoMeter:
    """A function that the meter lacks: amps where there is no clamp."""

    function: str


@dataclass(frozen=True)
class NoHelper:
    """Nobody to help: no bay and no repair that takes two people."""


@dataclass(frozen=True)
class NoOwner:
    """The owner is not there, and so nothing is asked."""


@dataclass(frozen=True)
class NoPower:
    """The power stays off: water stands on the floor, or the person said so."""


VOLTS, OHMS = "volts", "ohms"
PROVING = (VOLTS, "low-impedance volts")
"""The functions that prove a machine dead, the first the better known; either serves (common practice, no source)."""


def proving(refused: Collection[object]) -> str:
    """The function of the meter by which a machine is proved dead; "" where it has none.

    >>> proving([]), proving([NoMeter("volts")]), proving([NoMeter("volts"), NoMeter("low-impedance volts")])
    ('volts', 'low-impedance volts', '')
    """
    return next((function for function in PROVING if NoMeter(function) not in refused), "")


def measures(refused: Collection[object]) -> bool:
    """Whether the frame's bond and the insulation can be measured: in ohms, on a machine that is proved dead.

    >>> measures([]), measures([NoMeter("ohms")]), measures([NoMeter("volts"), NoMeter("low-impedance volts")])
    (True, False, False)
    """
    return NoMeter(OHMS) not in refused and bool(proving(refused))


def bars(
    machine: model.Machine,
    refused: Iterable[object],
    bays: tuple[str, ...],
    meter: str = "",
    out: tuple[str, ...] = (),
    asks: bool = False,
    powered: bool = False,
) -> bool:
    """Whether a refusal stands in the way of working in these bays with this function of the meter ("": none) and
    these parts out of their sockets, of asking the owner, or of power on the machine or at the leads."""
    behind = with_fronts(machine, bays)
    return any(_bars(machine, one, behind, meter, out, asks, powered) for one in refused)


def bars_repairs(machine: model.Machine, refused: Collection[object], repairs: Iterable[Repair]) -> bool:
    """Whether a refusal stands in the way of these repairs: of their bays, of the people that they take, or of hands in
    a machine that nobody can prove dead."""
    made = tuple(repairs)
    if unproved(machine, refused, made):
        return True
    alone = NoHelper() in refused and any(one.people > 1 for one in made)
    return alone or bars(machine, refused, tuple(bay for one in made for bay in one.bays))


def unproved(machine: model.Machine, refused: Collection[object], repairs: Iterable[Repair]) -> bool:
    """Whether hands go to the machine for these repairs, and nobody can prove it dead."""
    return not proving(refused) and any(handling.hands_in(machine, one) for one in repairs)


def _bars(
    machine: model.Machine, one: object, behind: tuple[str, ...], meter: str, out: tuple[str, ...], asks: bool,
    powered: bool,
) -> bool:  # fmt: skip
    match one:
        case CannotOpen(bay):
            return bay in behind
        case CannotLift(part):
            return part in out
        case NoMeter(function):
            return function == meter
        case NoHelper():
            return any(machine.bays[bay].people > 1 for bay in behind)
        case NoOwner():
            return asks
        case NoPower():
            return powered
    return False
