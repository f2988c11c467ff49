"""What a step wants typed, and what undo takes back, in words.

Knows the guided diagnosis, the advice and its step; asks nobody.
"""

from __future__ import annotations

from halfsplit.machine import model
from halfsplit.plan.steps import Step
from halfsplit.service import answers, naming
from halfsplit.service.advising import Advice
from halfsplit.service.guiding import Guided


def taken_back(guided: Guided) -> str:
    """What undoing takes back, in words."""
    if guided.chosen:
        return "what you chose instead."
    if guided.before and guided.before.limits != guided.limits:
        return "that you would go on all the same."
    if guided.is_as_proved and not guided.before:
        return "what the proof run has shown."
    return "what could not be done." if guided.before or guided.last is None else guided.last.label


def shown(machine: model.Machine, step: Step) -> str:
    """A step that was shown, in so few words that it is told from one that was taken back.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.predict.readings import Probe
    >>> dryer = loading.load("vented-dryer")
    >>> shown(dryer, Step("look", None, at="heater")), shown(dryer, Step("symptom", None, at="air is warm"))
    ('look at heater', 'air is warm')
    >>> shown(dryer, Step("reading", None, Probe("ohms", "heater.1", "heater.2")))
    'ohms, heater.1 to heater.2'
    """
    if step.probe is None:
        return f"look at {naming.thing(machine, step.at)}" if step.kind == "look" else step.at
    to = f" to {step.probe.black}" if step.probe.black else ""
    return naming.told(machine, f"{step.probe.meter}, {step.probe.red}{to}")


def wanted(advice: Advice) -> str:
    """What a step wants typed."""
    if advice.step.perceived:
        return "yes or no"
    return "what you see" if advice.step.kind == "look" else "what the meter shows"


def example(advice: Advice) -> str:
    """How a reading may be typed; nothing where the step lists the words."""
    return f", as in {answers.EXAMPLES[advice.step.probe.meter]}" if advice.step.probe else ""
