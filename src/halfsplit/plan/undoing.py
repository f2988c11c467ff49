"""What the steps of a job leave undone: bays in the order of opening, wires off, controls moved.

Knows steps, bays and conditions; not what was found, nor how it is made good (that is work/together's).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import pricing
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.work import together
from halfsplit.work.state import JobState, with_fronts
from halfsplit.work.together import Undone


def after(machine: model.Machine, steps: Sequence[Step], repairs: Sequence[Repair] = ()) -> Undone:
    """What these steps, and then these repairs, leave undone; what was closed again on the way is closed.

    A repair is done with the machine isolated where hands go to it; what the house has is no bay to be closed.
    """
    opened: dict[str, None] = {}
    lifted: dict[str, None] = {}
    at: Condition | None = None
    for step in steps:
        opened, at = _stepped(machine, opened, at, step)
        lifted = _kept(lifted, at.lift if at else ())
    for repair in repairs:
        opened |= dict.fromkeys(with_fronts(machine, repair.bays) if together.hands_in(machine, repair) else ())
        lifted |= dict.fromkeys(together.taken_off(machine, repair))
    cut_off = at is not None and together.off(machine, at)
    isolated = cut_off or any(together.hands_in(machine, repair) for repair in repairs)
    return replace(together.undone(machine, opened, lifted, at), isolated=isolated)


def _stepped(
    machine: model.Machine, opened: dict[str, None], at: Condition | None, step: Step
) -> tuple[dict[str, None], Condition | None]:
    """One step: bays that it needs are opened, those that stop the machine are closed for a run."""
    needed = with_fronts(machine, bays_needed(machine, step))
    shut = pricing.shut_to_run(machine, JobState(frozenset(opened), at), step)
    now = {bay: None for bay in dict.fromkeys((*opened, *needed)) if bay not in shut}
    isolating = step.condition is None and not set(now) <= set(opened)
    return now, conditions.condition(machine, (), isolated=True) if isolating else step.condition or at


def _kept(before: dict[str, None], now: Iterable[str]) -> dict[str, None]:
    """What is there now, in the order in which it came."""
    wanted = dict.fromkeys(now)
    return {one: None for one in before if one in wanted} | wanted
