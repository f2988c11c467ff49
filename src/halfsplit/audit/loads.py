"""Rules about what loads get: nothing in any setting, one leg for two, too much, or power that nothing switches."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from halfsplit.audit.survey import Survey
from halfsplit.circuit.network import Array
from halfsplit.machine import primitives
from halfsplit.machine.loads import Load, made_for, made_for_both_legs, watts
from halfsplit.machine.rules.facts import Flaw

__all__ = ["load_never_fed", "load_never_off", "load_of_one_leg", "load_overfed", "load_underfed", "motor_never_starts"]

ENOUGH = 0.72
"""Share of its rated volts that a load gets at least where it is wired rightly (208 V on 240 V: 0.87)."""
TOO_MUCH = 1.3
"""Share of its rated volts above which a load is on too many legs."""
UNWATCHED_WATTS = 60.0
"""What takes more than this is switched by something; common practice, no source."""


def load_never_fed(survey: Survey) -> Iterator[Flaw]:
    """A load that no setting energises: the product of all hand controls and of how warm the machine is."""
    for load, most in _most(survey):
        if most < survey.fed_volts:
            message = f"No setting gives '{load.name}' any volts."
            yield Flaw(("parts", load.part), message, "Follow both of its wires: one ends elsewhere, or is missing.")


def load_underfed(survey: Survey) -> Iterator[Flaw]:
    """A load gets far less than its rated volts in every setting: it lies in series with another."""
    for load, most in _most(survey):
        if load.rated and survey.fed_volts <= most < ENOUGH * load.rated:
            message = f"'{load.name}' is made for {load.rated:g} V and gets {most:.0f} V at most."
            yield Flaw(("parts", load.part), message, "One of its wires goes to another load, or to the wrong leg.")


def load_of_one_leg(survey: Survey) -> Iterator[Flaw]:
    """A strong heater of a machine with two legs never sees both of them."""
    for load, most in _most(survey):
        if made_for_both_legs(survey.machine, load) and survey.fed_volts <= most < ENOUGH * survey.supply_volts:
            message = f"'{load.name}' never sees both legs: {most:.0f} V at most of {survey.supply_volts:.0f} V."
            yield Flaw(("parts", load.part), message, "One of its wires, or a wire of its string, is on a wrong leg.")


def load_overfed(survey: Survey) -> Iterator[Flaw]:
    """A load gets far more than its rated volts in some setting: it lies across both legs."""
    for index, (load, most) in enumerate(_most(survey)):
        if load.rated and most > TOO_MUCH * load.rated:
            at = survey.runs[int(survey.load_volts[:, index].argmax())].condition
            message = f"'{load.name}' is made for {load.rated:g} V and gets {most:.0f} V ({survey.words(at)})."
            yield Flaw(("parts", load.part), message, "One of its wires is on the wrong leg, or its volts are wrong.")


def load_never_off(survey: Survey) -> Iterator[Flaw]:
    """A motor or heater works in every setting: its wires go past every contact that should switch it."""
    for index, load in enumerate(survey.loads):
        least = float(survey.load_volts[:, index].min())
        strong = survey.machine.parts[load.part].symbol in ("heater", "motor")
        takes = watts(survey.machine, load, survey.supply_volts)
        if len(survey.runs) > 1 and strong and least > survey.fed_volts and takes > UNWATCHED_WATTS:
            message = f"'{load.name}' works in every setting: nothing switches it."
            yield Flaw(("parts", load.part), message, "One of its wires goes past the contacts that switch it.")


def motor_never_starts(survey: Survey) -> Iterator[Flaw]:
    """A motor is fed and starts in no setting, or a relay is fed and never pulls in."""
    moved = {name for run in survey.runs for name in run.other}
    fed = {load.part for load, most in _most(survey) if most >= survey.fed_volts}
    for device in survey.machine.devices.values():
        if isinstance(device, primitives.Motor | primitives.Relay) and device.name not in moved and device.part in fed:
            does = "starts" if isinstance(device, primitives.Motor) else "pulls in"
            message = f"'{device.part}' is fed in some setting and {does} in none."
            yield Flaw(("parts", device.part), message, "Look at its wires, its start winding's above all.")


def amiss(survey: Survey, most: Array) -> Array:
    """(..., loads) True where the most volts (..., loads) that any setting gives a load are too few or too many."""
    rated = np.array([_wanted(survey, load) for load in survey.loads])
    few = most < np.maximum(survey.fed_volts, ENOUGH * rated)
    many = (most > TOO_MUCH * rated) & (rated > 0)
    return np.asarray(few | many)


def _wanted(survey: Survey, load: Load) -> float:
    both = made_for_both_legs(survey.machine, load)
    return made_for(survey.machine, load) if load.rated or both else 0.0


def _most(survey: Survey) -> Iterator[tuple[Load, float]]:
    """Each load with the most volts that any setting gives it."""
    return zip(survey.loads, survey.load_volts.max(axis=0).tolist(), strict=True)
