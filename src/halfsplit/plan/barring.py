"""Which steps something stands in the way of: what the person cannot do, water on the floor, what an open bay left.

Knows steps and how the machine stands; prices and scores nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.machine import model
from halfsplit.plan import cock, opened, powering, steps
from halfsplit.work import refusals
from halfsplit.work.state import JobState


class Barring:
    """Some steps of a machine, asked about once where all that can bar them is alike: what is done at the machine, in
    which condition and bays, by which function of the meter; not between which two places."""

    def __init__(self, machine: model.Machine, offered: Sequence[steps.Step]) -> None:
        self.machine, self.offered = machine, offered

    def of(self, state: JobState) -> Array:
        """(K,) whether each is barred, where something beyond single steps was refused; else none is."""
        if all(isinstance(one, steps.Step) for one in state.refused):
            return np.zeros(len(self.offered), bool)
        firsts, group_of = self._grouped
        return np.array([bars(self.machine, state, step) for step in firsts], bool)[group_of]

    @cached_property
    def _grouped(self) -> tuple[list[steps.Step], Array]:
        """A step of each group, and the group of every step."""
        places, group_of = steps.in_groups(map(self._alike, self.offered))
        return [self.offered[k] for k in places], np.array(group_of, np.intp)

    def _alike(self, step: steps.Step) -> object:
        """All that `bars` may read of a step."""
        where = steps.bays_needed(self.machine, step), steps.lifted_out(self.machine, step)
        meter = step.probe.meter if step.probe else ""
        return step.kind, step.at, step.condition, step.closely, step.live, meter, *where


def bars(machine: model.Machine, state: JobState, step: steps.Step) -> bool:
    """Whether something that the person said, water on the floor, the warmth that an open bay left, or a belt that came
    off for it, stands in the way of a step."""
    if powering.parted_by_hand(machine, state, step):
        return True
    return not opened.in_reach(machine, opened.warmths([step]), state).all() or is_refused(machine, state, step)


def is_refused(machine: model.Machine, state: JobState, step: steps.Step) -> bool:
    """Whether something that the person said, or water on the floor, stands in the way of a step."""
    meter = step.probe.meter if step.probe else ""
    out, bays = steps.lifted_out(machine, step), steps.bays_needed(machine, step)
    power = refusals.NoPower() in state.refused and (
        powering.wants_power(machine, step) or bool(powering.first_warm(machine, state, step))
    )
    shut = powering.shut_to_run(machine, state, step)
    if refusals.bars(machine, state, bays, meter, out, step.asks, power, shut):
        return True
    return not step.asks and not refusals.measures(state.refused) and _is_unproved(machine, state, step, bays)


def _is_unproved(machine: model.Machine, state: JobState, step: steps.Step, bays: tuple[str, ...]) -> bool:
    """Whether a step wants what the meter cannot prove: with no volts, hands, a dead reading or a cover off; with no
    ohms, power on a machine of which a cover is off or was, or whose power was left off: its frame's bond cannot be
    measured."""
    opened = bool(bays or state.open_bays or state.perhaps_open or state.perhaps_off or state.lifted)
    if refusals.proving(state.refused):
        powers = powering.powered(machine, step) or bool(powering.first_warm(machine, state, step))
        return (opened or state.left_off) and powers and bool(machine.frame)
    at = step.condition
    hands = at is not None and (at.isolated or at.exchange != state.exchange)
    hands |= cock.opened(machine, state, step)
    return opened or hands or bool(steps.lifted_out(machine, step))
