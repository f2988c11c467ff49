"""Whether hands come to what gets hot in a step, on the way to it, or where bays are opened.

Knows steps, bays and how the machine stands; not for how long it is waited (`plan/pricing`, `work/minutes`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from halfsplit.machine import model, twins
from halfsplit.operate.condition import Condition, turned_inside
from halfsplit.plan import powering, steps
from halfsplit.work.state import JobState, with_fronts


def hot_at(machine: model.Machine, bays: Sequence[str], in_hand: Iterable[str] = ()) -> bool:
    """Whether something that gets hot lies in these bays or in those in front of them, or is one of the parts in the
    hand (what is no part, a joint or a wire, is not hot by itself)."""
    hot = any(machine.parts[name].cools for name in in_hand if name in machine.parts)
    return hot or not machine.hot_bays.isdisjoint(with_fronts(machine, tuple(bays)))


def touches_hot(machine: model.Machine, step: steps.Step) -> bool:
    """Whether a dead step has hands at what gets hot: beside it in a bay, or lifted out."""
    return hot_at(machine, steps.bays_needed(machine, step), steps.lifted_out(machine, step))


def moves_hot(machine: model.Machine, was: twins.Exchange, at: twins.Exchange) -> bool:
    """Whether twins that get hot change places or go back, from one exchange to another."""
    return was != at and hot_at(machine, (), (*was, *at))


def turns_hot(machine: model.Machine, was: Condition | None, at: Condition) -> bool:
    """Whether a control is turned beside what gets hot, from one condition to another."""
    return hot_at(machine, [machine.turned_in(control) for control in turned_inside(machine, was, at)])


def met_hot(machine: model.Machine, state: JobState, step: steps.Step) -> bool:
    """The same from where things stand: for a step on the live machine only twins that change places and controls that
    are turned, and what is waited for before it is opened; another cover wants a caution (`work/safety`)."""
    if step.condition is None or step.condition.isolated:
        return touches_hot(machine, step)
    moved = moves_hot(machine, state.exchange, step.condition.exchange)
    moved = moved or turns_hot(machine, state.condition, step.condition)
    return moved or powering.opens_hot(machine, state, step)
