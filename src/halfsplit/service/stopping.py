"""When the right step is to stop: told from the findings, before anything else is advised.

Knows findings and the stop rules of work/hazards; weighs nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.work.hazards import STOPS

WATER = "water on the floor"


def reason(machine: model.Machine, findings: Sequence[f.Finding]) -> str | None:
    """The rule of `STOPS` that ends the work here; None where it may go on."""
    if any(_there(machine, x, "tingles") for x in findings):
        return "tingling frame"
    if any(isinstance(x, f.Look) and x.sees == "burnt" and _is_receptacle(machine, x.at) for x in findings):
        return "burnt receptacle"
    return None


def first(findings: Sequence[f.Finding]) -> tuple[str, ...]:
    """What has to be said above every step: water on the floor."""
    wet = any(isinstance(x, f.Perceived) and x.there and x.what == WATER for x in findings)
    return (f"DANGER: {STOPS[WATER].say}",) if wet else ()


def _there(machine: model.Machine, found: f.Finding, kind: str) -> bool:
    return isinstance(found, f.Perceived) and found.there and machine.symptoms[found.what].kind == kind


def _is_receptacle(machine: model.Machine, at: str) -> bool:
    part = machine.parts.get(model.part_of(at))
    return part is not None and part.symbol == "receptacle"
