"""What a step wants typed, and what undo takes back, in words.

Knows the guided diagnosis and the advice; asks nobody.
"""

from __future__ import annotations

from halfsplit.service import answers
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


def wanted(advice: Advice) -> str:
    """What a step wants typed."""
    if advice.step.perceived:
        return "yes or no"
    return "what you see" if advice.step.kind == "look" else "what the meter shows"


def example(advice: Advice) -> str:
    """How a reading may be typed; nothing where the step lists the words."""
    return f", as in {answers.EXAMPLES[advice.step.probe.meter]}" if advice.step.probe else ""
