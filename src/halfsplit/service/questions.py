"""What an owner is asked, on the phone or on site, in words: a symptom, and the setting in which they may have met it.

Knows symptoms and settings; which questions there are is the plan's to say.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.operate.condition import condition as conditions_of
from halfsplit.plan.steps import Step
from halfsplit.predict.predictor import Predictor
from halfsplit.service import setting_back
from halfsplit.work import stopping
from halfsplit.work.state import JobState

FROM_MEMORY = "From memory: nobody touches machine, plug or breaker for it."
"""Said with every question on site, where covers may be off and hands inside."""


def asking(predictor: Predictor, step: Step) -> str:
    """A question on site, of what was noticed: nothing is tried for it."""
    return f"Ask the owner: {question(predictor, step.at, step.met)} {FROM_MEMORY}"


def question(predictor: Predictor, what: str, at: Condition | None) -> str:
    """The words in which an owner is asked for a symptom, on the phone or on site; `at`: with what of the setting in
    which they may have met it makes a difference. Of what may hurt no setting is said at all."""
    machine = predictor.machine
    asked = machine.symptoms[what].question or f"{what}?"
    dangerous = any(stopping.now(machine, [f.Perceived(what, there)]) for there in (True, False))
    return asked if at is None or dangerous else f"{asked}{when(decides(predictor, what, at))}"


def when(setting: Mapping[str, str]) -> str:
    """The setting in which an owner may have met something, behind its question; nobody sets how warm a machine is.

    >>> when({"dial": "high", "warmth": "top hot"}), when({"warmth": "top hot"})
    (' (when set to dial high)', '')
    """
    stood = ", ".join(f"{control} {position}" for control, position in setting.items() if control != WARMTH)
    return f" (when set to {stood})" if stood else ""


def decides(predictor: Predictor, what: str, at: Condition) -> dict[str, str]:
    """What of the setting in which an owner met something (`stands`) decides the answer: what the symptom itself names,
    and what, moved elsewhere, a healthy machine would answer otherwise for. Whether a drum turns no heat decides.

    >>> from halfsplit.evidence.weighing import Bench
    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate.condition import usual
    >>> cooktop = Bench(loading.load("coil-cooktop"))
    >>> decides(cooktop.predictor, "left rear glows", usual(cooktop.machine))
    {'left rear': 'high'}
    """
    machine = predictor.machine
    own = dict(machine.symptoms[what].setting)
    told = stands(machine, what, at)
    return {c: p for c, p in told.items() if c in own or (c != WARMTH and _turns(predictor, what, at, c))}


def _turns(predictor: Predictor, what: str, at: Condition, control: str) -> bool:
    """Whether a healthy machine answers otherwise with this control in one of its other positions."""
    others = (p for p in predictor.machine.controls[control].positions if p != at.position(control))
    moved = (replace(at, setting=tuple((dict(at.setting) | {control: p}).items())) for p in others)
    there = predictor.healthy_shows(what, at)
    return any(predictor.healthy_shows(what, other) != there for other in moved)


def told_first(predictor: Predictor, state: JobState, step: Step) -> set[str]:
    """The controls that decide what a repairer sees for himself, and of which nobody has said on this job how they are
    to stand: their owner may have left them anyhow."""
    if step.kind != "symptom" or step.condition is None:
        return set()
    done = [one for one in state.done if isinstance(one, Step) and one.condition is not None]
    known = {c for one in done for c in setting_back.away(predictor.machine, one.condition)}
    known |= {c for one in done if one.kind == "symptom" and one.condition for c in _decide(predictor, one)}
    return _decide(predictor, step) - known - {WARMTH}


def _decide(predictor: Predictor, step: Step) -> set[str]:
    return set(decides(predictor, step.at, step.condition)) if step.condition else set()


def stands(machine: model.Machine, what: str, at: Condition) -> dict[str, str]:
    """What an owner sets for a question: what is moved, and what the usual setting or the symptom itself names; never
    what is turned behind a cover, of which no owner knows."""
    house = machine.house_controls
    unknown = house | {control for control in machine.controls if machine.turned_in(control)}
    rest = dict(conditions_of(machine).setting)
    named = dict(next(iter(machine.settings.values()), ())) | dict(machine.symptoms[what].setting)
    return {c: p for c, p in at.setting if c not in unknown and (p != rest[c] or c in named)}
