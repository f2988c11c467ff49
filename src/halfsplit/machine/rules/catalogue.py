"""All static rules by name, and applying them. Each rule's docstring says the mistake it finds."""

from __future__ import annotations

from halfsplit.machine.complaints import Complaints
from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.rules import bays, contacts, earth, gas, heat, supply, symptoms, values, wires
from halfsplit.machine.rules.facts import Rule

__all__ = ["RULES", "apply", "spoiled"]

RULES: dict[str, Rule] = {
    name.replace("_", " "): getattr(room, name)
    for room in (supply, wires, earth, contacts, heat, values, bays, gas, symptoms)
    for name in room.__all__
}
"""Name: rule."""


def spoiled(sheet: Sheet) -> bool:
    """Whether the supply itself is so wrong that whatever else is found may come of that."""
    return any(True for _ in supply.supply_volts_absurd(sheet))


def apply(sheet: Sheet, complaints: Complaints) -> None:
    """Adds what every rule finds to the complaints; where the supply spoils all the others, only that."""
    rules = [supply.supply_volts_absurd] if spoiled(sheet) else RULES.values()
    for rule in rules:
        for flaw in rule(sheet):
            complaints.add(flaw.path, flaw.message, flaw.remedy, flaw.shift)
