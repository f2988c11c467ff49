"""All rules of behaviour by name, in stages, and applying them. Each rule's docstring says the mistake it finds."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from types import ModuleType

from halfsplit.audit import contacts, danger, loads, settings
from halfsplit.audit.survey import Survey
from halfsplit.machine.complaints import Complaints
from halfsplit.machine.rules.facts import Flaw

__all__ = ["RULES", "STAGES", "apply"]

Rule = Callable[[Survey], Iterator[Flaw]]


def _rules(room: ModuleType) -> dict[str, Rule]:
    return {name.replace("_", " "): getattr(room, name) for name in room.__all__}


STAGES: tuple[dict[str, Rule], ...] = (_rules(danger), _rules(loads), _rules(contacts) | _rules(settings))
"""A stage is only looked at where those before found nothing: a short has starved loads and idle contacts behind it."""

RULES: dict[str, Rule] = {name: rule for stage in STAGES for name, rule in stage.items()}
"""Name: rule."""


def apply(survey: Survey, complaints: Complaints) -> bool:
    """Adds what the first stage that finds anything finds; whether any did."""
    for stage in STAGES:
        found = [flaw for rule in stage.values() for flaw in rule(survey)]
        for flaw in found:
            complaints.add(flaw.path, flaw.message, flaw.remedy, flaw.shift)
        if found:
            return True
    return False
