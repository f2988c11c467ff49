"""What the steps of a job leave undone: bays in the order of opening, wires off, controls moved.

Knows steps, bays and conditions; not what was found, nor how it is made good (that is work/together's).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.plan import taken
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
    state = JobState()
    for step in steps:
        state = taken.after(machine, state, step)
        needed = with_fronts(machine, bays_needed(machine, step))
        opened = {bay: None for bay in (*opened, *needed) if bay in state.open_bays}
        lifted = _kept(lifted, state.condition.lift if state.condition else ())
    at = state.condition
    for repair in repairs:
        opened |= dict.fromkeys(with_fronts(machine, repair.bays) if together.hands_in(machine, repair) else ())
        lifted |= dict.fromkeys(together.taken_off(machine, repair))
    cut_off = at is not None and together.off(machine, at)
    isolated = cut_off or any(together.hands_in(machine, repair) for repair in repairs)
    return replace(together.undone(machine, opened, lifted, at), isolated=isolated)


def _kept(before: dict[str, None], now: Iterable[str]) -> dict[str, None]:
    """What is there now, in the order in which it came."""
    wanted = dict.fromkeys(now)
    return {one: None for one in before if one in wanted} | wanted
