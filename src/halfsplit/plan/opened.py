"""What can be read dead of a machine that has been opened or isolated: it stands at the warmth that opening a bay left,
or at that which it had.

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


def warmths(offered: Sequence[Step]) -> Array:
    """(K,) the warmth at which each dead step reads; "" for those that are not dead, and where the file names none."""
    return np.array([_warmth(step) if _is_dead(step) else "" for step in offered], dtype=np.str_)


def in_reach(machine: model.Machine, at: Array, state: JobState) -> Array:
    """(K,) whether each step can be done as the machine stands: nothing dead at another warmth than the open bays left;
    nor, once it is isolated, at one that it does not have, or may have lost: it only cools, where it gets hot at all,
    or thaws; so with covers open after a break. at: (K,) the steps' `warmths`."""
    left = machine.warmth_behind(state.open_bays)
    if left:
        return np.asarray((at == "") | (at == left))
    gone = state.perhaps_cold and bool(state.open_bays)  # it would have to run beside open covers, for that alone
    if not (state.condition and machine.warmths and (state.left_isolated or gone)):
        return np.ones(len(at), bool)
    rest = machine.warmths[0] if machine.heats else ""
    has = "" if state.perhaps_cold else state.condition.position(WARMTH)
    return np.isin(at, ["", rest, has, *machine.left_at.values()])


def _is_dead(step: Step) -> bool:
    return step.kind == "reading" and step.condition is not None and step.condition.isolated


def _warmth(step: Step) -> str:
    return dict(step.condition.setting).get(WARMTH, "") if step.condition else ""
