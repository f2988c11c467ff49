"""What of an opened machine stays as it is where the work ends: where no hand may go, and where a receptacle has to be
reached.

Knows bays, what the meter lacks and the stop rules; not how the rest is made good (work/together).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit.machine import feeding, model
from halfsplit.work import refusals
from halfsplit.work.hazards import STOPS
from halfsplit.work.state import with_fronts

NO_PROOF = "This meter reads no volts, so nobody can prove the machine dead: put no hands in it."
NO_CHARGE_SEEN = "This meter reads no DC volts, so nobody can see a capacitor discharged: put no hands beside it."
CHARGED = "WARNING: A capacitor may hold a charge. Put no hands beside it."
REACHED = "The electrician has to reach the receptacle."


@dataclass(frozen=True)
class Staying:
    """The bays that stay `open` as they stand; those into which no hand goes, whether their covers are closed or not;
    why, in sentences; whether a charge is met there."""

    open: tuple[str, ...] = ()
    barred: frozenset[str] = frozenset()
    why: tuple[str, ...] = ()
    charged: bool = False


def staying(machine: model.Machine, opened: Sequence[str], volts: str, sees_charge: bool, rule: str) -> Staying:
    """What stays of a machine of which these bays are open, fronts first. `volts`: by which function of the meter it is
    proved dead ("": by none, and then its covers alone are touched); `sees_charge`: whether the meter shows that a
    capacitor is discharged; `rule`: the stop rule by which it is left.

    What is in front of a bay that stays open stays open too. Common practice, no source.
    """
    unseen = not (volts and sees_charge)
    charged = tuple(bay for bay in opened if unseen and refusals.charged(machine, (bay,)))
    lies = feeding.plug_bay(machine) if rule and STOPS[rule].plug_stays else ""
    plug = lies if lies in opened else ""
    kept = with_fronts(machine, (*charged, *([plug] if plug else [])))
    why = [NO_PROOF] if opened and not volts else [NO_CHARGE_SEEN] if charged else []
    why += [REACHED] if plug else []
    barred = frozenset(charged if volts else machine.bays if opened else ())
    return Staying(tuple(bay for bay in opened if bay in kept), barred, tuple(why), bool(charged))
