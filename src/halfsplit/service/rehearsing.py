"""`rehearse`: a fault is drawn and hidden, the plan is followed; how often was the first repair right?"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from halfsplit.evidence.weighing import Bench
from halfsplit.rehearse import summary, trials
from halfsplit.service import advising, asking, machines


def rehearse(
    file: str, fault: str, count: int, seed: int, truth: str, progress: Callable[[int], None] | None = None
) -> dict[str, Any]:
    """The trials and what they show together; readings come from the machine of `truth` ("": the same)."""
    machine = machines.load(file)
    hidden = machines.load(truth) if truth else machine
    if fault:
        asking.faults(hidden, [fault])
    adviser = advising.adviser(Bench(machine), machines.key(file))
    asked = trials.Asked(hidden, seed, fault=fault)
    played = list(trials.run(trials.Rehearsal(adviser, asked), count, progress=progress))
    return {"trials": trials.as_contract(played), "summary": summary.summary(played)}
