"""Whether a machine, as it was found, can reach the warmth that a step wants: one that stays cold gets no hotter.

Temperatures are inputs as long as nothing computes the course of a machine; this keeps advice to what can be done.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.work import burning

HEATS = (100.0, 2000.0)
"""Watts between which a symptom says whether the machine heats at all: not a bias heater, not its full power."""

FELT = 30.0
"""Watts below which nobody feels that something heats: a bias heater shows in how warm the machine gets, so only where
that gets warm at all. Common practice, no source."""

Shows = Callable[[f.Perceived], bool]
"""Whether a healthy machine shows a symptom, in the setting in which it was looked for (unstated: the usual one)."""


def can_be_met(machine: model.Machine, findings: Sequence[f.Finding], at: Condition | None, shows: Shows) -> bool:
    """False where a condition is hotter than rest and a finding says that the machine does not heat; what opening a bay
    leaves of its warmth takes no heat of its own."""
    if at is None or not machine.warmths:
        return True
    rest = machine.warmths[0]
    wanted = dict(at.setting).get(WARMTH, rest)
    if at.isolated and wanted in machine.left_at.values():
        return True
    hotter = _mean(machine, wanted) > _mean(machine, rest)
    return not (hotter and stays_cold(machine, findings, shows))


def can_be_felt(machine: model.Machine, findings: Sequence[f.Finding], what: str, shows: Shows) -> bool:
    """False for what a small heater does to a machine of which a finding says that it does not heat: a person who was
    never warm cannot say that it was milder."""
    symptom = machine.symptoms[what]
    small = symptom.kind == "heat" and 0 < symptom.at_least < FELT
    return not (small and stays_cold(machine, findings, shows))


def stays_cold(machine: model.Machine, findings: Sequence[f.Finding], shows: Shows) -> bool:
    """Whether somebody found missing the heat that a healthy machine would give from cold."""
    missed = [x for x in findings if isinstance(x, f.Perceived) and not x.there]
    return any(heats_from_cold(machine, machine.symptoms[x.what]) and shows(x) for x in missed)


def heats_from_cold(machine: model.Machine, symptom: model.Symptom) -> bool:
    """Whether a symptom says that the machine heats at all, from where it stands at rest: that a heater gives so many
    watts, or that a burner burns, which its file may say of as warm as that makes the machine first."""
    rest = machine.warmths[0] if machine.warmths else ""
    wanted, (low, high) = dict(symptom.setting).get(WARMTH, rest), HEATS
    if machine.gas is not None and burning.is_burning(machine, symptom):
        return wanted in (rest, _first_warmed(machine))
    return symptom.kind == "heat" and low <= symptom.at_least <= high and wanted == rest


def _first_warmed(machine: model.Machine) -> str:
    """The coolest warmth above rest; "" where there is none."""
    above = [one for one in machine.warmths if _mean(machine, one) > _mean(machine, machine.warmths[0])]
    return min(above, key=lambda one: _mean(machine, one), default="")


def _mean(machine: model.Machine, warmth: str) -> float:
    """Mean degrees Celsius of the places that are given for a warmth."""
    degrees = [place[warmth] for place in machine.places.values() if warmth in place]
    return sum(degrees) / len(degrees) if degrees else 0.0
