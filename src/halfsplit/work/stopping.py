"""When the right step is to stop: told from the findings, before anything else is advised.

Knows findings and the stop rules of work/hazards; weighs nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.work.hazards import STOPS

WATER = "water on the floor"
HANDED_OVER = {
    "electrician": "fixed wiring", "utility": "fixed wiring", "certified technician": "sealed refrigerant system",
    "gas supplier": "gas supply",
}  # fmt: skip
"""The stop rule by the trade whose work a repair is."""
FOR = {
    "tingling frame": "fixed wiring", "burnt receptacle": "fixed wiring", "fixed wiring": "fixed wiring",
    "sealed refrigerant system": "sealed refrigerant system", "smell of gas": "gas supply", "gas supply": "gas supply",
}  # fmt: skip
"""What each stop hands over."""


def reason(machine: model.Machine, findings: Sequence[f.Finding]) -> str | None:
    """The rule of `STOPS` that ends the work here; None where it may go on."""
    if any(_there(machine, x, "smells") for x in findings):
        return "smell of gas"
    if any(_there(machine, x, "tingles") for x in findings):
        return "tingling frame"
    if any(isinstance(x, f.Look) and x.sees == "burnt" and _is_receptacle(machine, x.at) for x in findings):
        return "burnt receptacle"
    return None


def of_repair(by: str) -> str | None:
    """The rule that ends the work where a repair is due that is another trade's; None for the repairer's own.

    >>> of_repair("certified technician"), of_repair("repairer")
    ('sealed refrigerant system', None)
    """
    return HANDED_OVER.get(by)


def calls_for(by: str, rule: str) -> bool:
    """Whether a fault that this trade repairs calls for a stop by this rule.

    >>> calls_for("electrician", "burnt receptacle"), calls_for("repairer", "burnt receptacle")
    (True, False)
    """
    return HANDED_OVER.get(by) == FOR[rule]


def first(findings: Sequence[f.Finding]) -> tuple[str, ...]:
    """What has to be said above every step: water on the floor."""
    wet = any(isinstance(x, f.Perceived) and x.there and x.what == WATER for x in findings)
    return (f"DANGER: {STOPS[WATER].say}",) if wet else ()


def _there(machine: model.Machine, found: f.Finding, kind: str) -> bool:
    return isinstance(found, f.Perceived) and found.there and machine.symptoms[found.what].kind == kind


def _is_receptacle(machine: model.Machine, at: str) -> bool:
    part = machine.parts.get(model.part_of(at))
    return part is not None and part.symbol == "receptacle"
