"""What can be read dead of a machine that has been opened: it stands at the warmth that opening a bay left.

Knows steps, bays and how the machine stands; prices and scores nothing. To run it brings it to a step's warmth by
itself; to chill it with its covers off is nothing to plan.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.machine import model
from halfsplit.operate.condition import WARMTH
from halfsplit.plan.steps import Step
from halfsplit.work.state import JobState


def kept_apart(machine: model.Machine, step: Step) -> tuple[str, ...]:
    """What tells a dead step from one that would show the same at another warmth, on a machine whose opening leaves a
    warmth: once it is open, that one only can be done."""
    return (f"at {_warmth(step)}",) if machine.left_at and _is_dead(step) else ()


def warmths(offered: Sequence[Step]) -> Array:
    """(K,) the warmth at which each dead step reads; "" for those that are not dead, and where the file names none."""
    return np.array([_warmth(step) if _is_dead(step) else "" for step in offered], dtype=np.str_)


def in_reach(machine: model.Machine, at: Array, state: JobState) -> Array:
    """(K,) whether each step can be done with the bays open that are: nothing dead at another warmth than they left;
    at: (K,) the steps' `warmths`."""
    left = machine.warmth_behind(state.open_bays)
    return (at == "") | (at == left) if left else np.ones(len(at), bool)


def _is_dead(step: Step) -> bool:
    return step.kind == "reading" and step.condition is not None and step.condition.isolated


def _warmth(step: Step) -> str:
    return dict(step.condition.setting).get(WARMTH, "") if step.condition else ""
