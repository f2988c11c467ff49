"""Rules about what settings promise by their names: off, a pressed start, a timer that goes on, a lamp of a door."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from halfsplit.audit.survey import Run, Survey
from halfsplit.circuit.network import Array
from halfsplit.machine import primitives
from halfsplit.machine.rules.facts import Flaw
from halfsplit.operate import condition as conditions

__all__ = ["lamp_of_a_shut_door", "setting_idle", "timer_stuck", "works_at_off"]

OFF = "off"
SHUT = ("shut", "closed")
ALIKE = 0.02
"""Share of the supply's volts by which two settings must differ."""


def timer_stuck(survey: Survey) -> Iterator[Flaw]:
    """A timer's motor is fed in no setting of one of its own positions, so that it would stand there for ever."""
    for device in survey.machine.devices.values():
        if isinstance(device, primitives.Motor) and survey.machine.parts[device.part].symbol == "timer":
            for control, position in _own_positions(survey, device.part):
                moves = any(device.name in run.other for run in _runs_at(survey, control, position))
                if not moves and position != OFF:
                    message = (
                        f"'{device.part}' would stand still at '{position}' for ever: its motor is never fed there."
                    )
                    remedy = "Look at the marks and wires of the contacts that feed its motor."
                    yield Flaw(("parts", device.part), message, remedy)


def works_at_off(survey: Survey) -> Iterator[Flaw]:
    """A control at off feeds a load that it does not feed in another of its positions."""
    for name, control in survey.by_hand.items():
        others = [p for p in control.positions if p != OFF]
        if OFF not in control.positions or not others:
            continue
        at_off = _fed(survey, name, OFF)
        for index in np.flatnonzero(at_off & ~np.all([_fed(survey, name, p) for p in others], axis=0)).tolist():
            load = survey.loads[index]
            message = f"'{load.name}' is fed with '{name}' at off, and not in every other position."
            yield Flaw(("controls", name), message, "A contact has a mark at off that it must not have.")


def lamp_of_a_shut_door(survey: Survey) -> Iterator[Flaw]:
    """A lamp is lit with a door shut and dark with it open: two wires of the door's switch are exchanged."""
    for name, control in survey.by_hand.items():
        for shut in (p for p in control.positions if p in SHUT and "open" in control.positions):
            reversed_ = _fed(survey, name, shut) & ~_fed(survey, name, "open")
            for load in (survey.loads[index] for index in np.flatnonzero(reversed_).tolist()):
                if survey.machine.parts[load.part].symbol == "lamp":
                    message = f"'{load.name}' is lit with '{name}' {shut} and dark with it open."
                    yield Flaw(("parts", load.part), message, f"Look at the wires of the switch that '{name}' moves.")


def setting_idle(survey: Survey) -> Iterator[Flaw]:
    """In a named setting, what is pressed, or the position that it has its name from, makes no difference."""
    for name, setting in survey.machine.settings.items():
        for control, position in setting:
            others = _alternatives(survey, name, control, position)
            here = conditions.condition(survey.machine, setting)
            there = [conditions.condition(survey.machine, dict(setting) | {control: other}) for other in others]
            if others and all(_same(survey, here, one) for one in there):
                message = f"In the setting '{name}', '{control}' at '{position}' makes no difference."
                yield Flaw(
                    ("settings", name), message, "Look at the contacts that are closed in it, and at their marks."
                )


# ---- what the rules ask -----------------------------------------------------------------------------------


def _own_positions(survey: Survey, part: str) -> list[tuple[str, str]]:
    """The controls that move a part's own contacts, with each of their positions."""
    own = [contact for contact in survey.own_contacts if contact.part == part]
    moved = {when.control for contact in own for when in contact.when if isinstance(when, primitives.ByControl)}
    return [(name, p) for name in sorted(moved) for p in survey.machine.controls[name].positions]


def _runs_at(survey: Survey, control: str, position: str) -> list[Run]:
    return [run for run in survey.runs if run.condition.position(control) == position]


def _fed(survey: Survey, control: str, position: str) -> Array:
    """(loads,) True where some setting with a control so feeds a load."""
    rows = [i for i, run in enumerate(survey.runs) if run.condition.position(control) == position]
    return np.asarray((survey.load_volts[rows] >= survey.fed_volts).any(axis=0))


def _alternatives(survey: Survey, setting: str, control: str, position: str) -> list[str]:
    """What a position is compared with: a press with none; what the setting has its name from with all the others."""
    if control not in survey.by_hand:
        return []
    known = survey.machine.controls[control]
    if known.momentary:
        return [known.rest] if position == "pressed" else []
    named = position in setting and len(known.positions) > 1
    return [other for other in known.positions if other != position] if named else []


def _same(survey: Survey, one: conditions.Condition, two: conditions.Condition) -> bool:
    a, b = survey.run_of(one), survey.run_of(two)
    volts = np.abs(survey.across(a.settled.volts[0]) - survey.across(b.settled.volts[0]))
    return a.other == b.other and bool((volts < ALIKE * survey.supply_volts).all())
