"""A step, a repair or putting together as it is emitted for the safety of steps: how the machine stood, what is done.

Knows the safety automaton's preparation; chooses nothing and judges nothing.
"""

from __future__ import annotations

from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.plan import safely
from halfsplit.plan.steps import Step
from halfsplit.work import safety
from halfsplit.work.state import JobState

Emitted = tuple[JobState, Step | Repair | None, safely.Safely]
"""How the machine stood, the step or the repair (None: it is put together), and all that is done for it."""


def emitted(
    machine: model.Machine, safe: safety.State, state: JobState, then: JobState, step: Step | Repair
) -> safely.Safely:
    """All that is done for a step, or for a repair."""
    if isinstance(step, Repair):
        return safely.repaired(machine, safe, state, then, step)
    return safely.prepared(machine, safe, state, then, step)
