"""All static rules by name, and applying them. Each rule's docstring says the mistake it finds."""

from __future__ import annotations

from halfsplit.machine.complaints import Complaints
from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.rules import bays, contacts, earth, gas, heat, symptoms, values, wires
from halfsplit.machine.rules.facts import Rule

__all__ = ["RULES", "apply"]

RULES: dict[str, Rule] = {
    name.replace("_", " "): getattr(room, name)
    for room in (wires, earth, contacts, heat, values, bays, gas, symptoms)
    for name in room.__all__
}
"""Name: rule."""


def apply(sheet: Sheet, complaints: Complaints) -> None:
    """Adds what every rule finds to the complaints."""
    for rule in RULES.values():
        for flaw in rule(sheet):
            complaints.add(flaw.path, flaw.message, flaw.remedy, flaw.shift)
