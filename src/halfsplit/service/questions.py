"""What an owner is asked, on the phone or on site, in words: a symptom, and the setting in which they may have met it.

Knows symptoms and settings; which questions there are is the plan's to say.
"""

from __future__ import annotations

from collections.abc import Mapping

from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.operate.condition import condition as conditions_of
from halfsplit.plan.steps import Step
from halfsplit.work import stopping

FROM_MEMORY = "From memory: nobody touches machine, plug or breaker for it."
"""Said with every question on site, where covers may be off and hands inside."""


def asking(machine: model.Machine, step: Step) -> str:
    """A question on site, of what was noticed: nothing is tried for it; of what may hurt no setting is said at all."""
    dangerous = any(stopping.now(machine, [f.Perceived(step.at, there)]) for there in (True, False))
    asked = question(machine, step.at, None if dangerous else step.met)
    return f"Ask the owner: {asked} {FROM_MEMORY}"


def question(machine: model.Machine, what: str, at: Condition | None = None) -> str:
    """The words in which an owner is asked for a symptom, on the phone or on site; `at`: with the setting in which they
    may have met it, where there is anything to set.

    >>> from halfsplit.machine import loading
    >>> question(loading.load("vented-dryer"), "motor hums")
    'Does the motor hum without turning?'
    """
    return f"{machine.symptoms[what].question or f'{what}?'}{when(stands(machine, what, at)) if at else ''}"


def when(setting: Mapping[str, str]) -> str:
    """The setting in which an owner may have met something, behind its question; nobody sets how warm a machine is.

    >>> when({"dial": "high", "warmth": "top hot"}), when({"warmth": "top hot"})
    (' (when set to dial high)', '')
    """
    stood = ", ".join(f"{control} {position}" for control, position in setting.items() if control != WARMTH)
    return f" (when set to {stood})" if stood else ""


def stands(machine: model.Machine, what: str, at: Condition) -> dict[str, str]:
    """What an owner sets for a question: what is moved, and what the usual setting or the symptom itself names; never
    what is turned behind a cover, of which no owner knows."""
    house = {control for control, _ in machine.supply.isolates} | {"plug", "breaker"}
    unknown = house | {control for control in machine.controls if machine.turned_in(control)}
    rest = dict(conditions_of(machine).setting)
    named = dict(next(iter(machine.settings.values()), ())) | dict(machine.symptoms[what].setting)
    return {c: p for c, p in at.setting if c not in unknown and (p != rest[c] or c in named)}
