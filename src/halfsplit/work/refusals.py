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
from halfsplit.work.state import JobState, to_open, with_fronts


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
    """Nobody to help: no cover that takes two people is opened or closed, and no repair that does is made. What
    lies open is free."""


@dataclass(frozen=True)
class NoOwner:
    """The owner is not there, and so nothing is asked."""


@dataclass(frozen=True)
class NoPower:
    """The power stays off: water stands on the floor, or the person said so."""


VOLTS, DC_VOLTS, OHMS = "volts", "dc volts", "ohms"
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


def sees_charge(refused: Collection[object]) -> bool:
    """Whether the meter shows that a capacitor is discharged: in DC volts.

    >>> sees_charge([]), sees_charge([NoMeter("dc volts")])
    (True, False)
    """
    return NoMeter(DC_VOLTS) not in refused


def bars(
    machine: model.Machine,
    state: JobState,
    bays: tuple[str, ...],
    meter: str = "",
    out: tuple[str, ...] = (),
    asks: bool = False,
    powered: bool = False,
    shut: tuple[str, ...] = (),
) -> bool:
    """Whether a refusal stands in the way of working in these bays with this function of the meter ("": none) and
    these parts out of their sockets, of asking the owner, of power on the machine or at the leads, or of closing what
    is `shut` for it."""
    moved = (*to_open(machine, state, bays), *shut)
    behind = with_fronts(machine, bays)
    if undischarged(machine, state.refused, bays):
        return True
    return any(_bars(machine, one, behind, moved, meter, out, asks, powered) for one in state.refused)


def bars_repairs(machine: model.Machine, state: JobState, repairs: Iterable[Repair]) -> bool:
    """Whether a refusal stands in the way of these repairs: of their bays, of the people that they take, or of hands in
    a machine that nobody can prove dead."""
    made = tuple(repairs)
    bays = tuple(bay for one in made for bay in one.bays)
    return unproved(machine, state.refused, made) or lacks_help(machine, state, made) or bars(machine, state, bays)


def lacks_help(machine: model.Machine, state: JobState, repairs: Iterable[Repair]) -> bool:
    """Whether these repairs, or a cover that has to be opened for one, take a helper who is not there."""
    made = tuple(repairs)
    opened = to_open(machine, state, tuple(bay for one in made for bay in one.bays))
    return NoHelper() in state.refused and (any(one.people > 1 for one in made) or bool(heavy(machine, opened)))


def heavy(machine: model.Machine, bays: Iterable[str]) -> tuple[str, ...]:
    """Those of these bays whose covers take two people."""
    return tuple(bay for bay in bays if machine.bays[bay].people > 1)


def charged(machine: model.Machine, bays: Iterable[str]) -> bool:
    """Whether hands in these bays meet the charge of a capacitor."""
    behind = with_fronts(machine, tuple(bays))
    return any(not one.met.isdisjoint(behind) for one in machine.stored)


def undischarged(machine: model.Machine, refused: Collection[object], bays: Iterable[str]) -> bool:
    """Whether they do, and nobody can see it gone: that is read in DC volts."""
    return not sees_charge(refused) and charged(machine, bays)


def unproved(machine: model.Machine, refused: Collection[object], repairs: Iterable[Repair]) -> bool:
    """Whether hands go to the machine for these repairs, and nobody can prove it dead."""
    return not proving(refused) and any(handling.hands_in(machine, one) for one in repairs)


def _bars(
    machine: model.Machine, one: object, behind: tuple[str, ...], moved: tuple[str, ...], meter: str,
    out: tuple[str, ...], asks: bool, powered: bool,
) -> bool:  # fmt: skip
    match one:
        case CannotOpen(bay):
            return bay in behind
        case CannotLift(part):
            return part in out
        case NoMeter(function):
            return function == meter
        case NoHelper():
            return bool(heavy(machine, moved))
        case NoOwner():
            return asks
        case NoPower():
            return powered
    return False
