"""What the steps and repairs of a job leave undone: bays in the order of opening, wires off, controls moved, gas shut.

Knows steps, repairs, bays and conditions; of what was found only that it was put together; not how it is made good
(that is work/together's).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import pricing, safely, taken
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.work import together
from halfsplit.work.hazards import Pipe
from halfsplit.work.state import JobState, with_fronts
from halfsplit.work.together import Undone

Hands = Step | Repair | f.Closed | taken.Perhaps
"""What hands do at a machine."""


def after(machine: model.Machine, done: Sequence[Hands], repairs: Sequence[Repair] = ()) -> Undone:
    """What was done so far, and then these repairs, leave undone; what surely was closed again on the way is closed.

    A repair among what was `done` has been tried, so that the machine is live again. Where nothing was done since, its
    bays count as open, and its wires and the twins exchanged are gone over once more: nobody has said that they were
    made good. A step after it begins at a machine that is closed, with all wires on.
    `repairs` are made now, with the machine isolated where hands go to it; what the house has is no bay to be closed.
    """
    opened: dict[str, None] = {}
    lifted: dict[str, None] = {}
    drained: dict[str, None] = {}
    state, pipe, perhaps = JobState(), Pipe.AWAY, tuple[Condition, ...]()
    for one in done:
        if isinstance(one, f.Closed):
            opened, lifted, drained, perhaps, pipe = {}, {}, {}, (), Pipe.AWAY
            state = taken.put_together(machine, state, one.power)
            continue
        step = one.step if isinstance(one, taken.Perhaps) else one
        pipe = _pipe(machine, pipe, step)
        if isinstance(step, Repair):
            state, perhaps = taken.tried(machine, state), ()
            opened |= dict.fromkeys(reached(machine, step))
            lifted |= dict.fromkeys((*together.out_first(machine, step), *together.taken_off(machine, step)))
            drained |= dict.fromkeys(_drained(machine, step))
            continue
        surely = step is one
        perhaps = () if surely else (*perhaps, *_stands(taken.after(machine, state, step)))
        state = (taken.after if surely else taken.perhaps)(machine, state, step)
        needed = with_fronts(machine, bays_needed(machine, step))
        open_now = state.open_bays | state.perhaps_open
        opened = {bay: None for bay in (*opened, *needed) if bay in open_now}
        lifted = _kept(lifted, (*(state.condition.lift if state.condition else ()), *sorted(state.perhaps_off)))
        drained = {} if surely and pricing.powered(machine, step) else drained
    used = bool(done) and (isinstance(done[-1], Repair) or (isinstance(done[-1], f.Closed) and done[-1].power))
    at = conditions.usual(machine) if used else state.condition
    for repair in repairs:
        pipe = _pipe(machine, pipe, repair)
        opened |= dict.fromkeys(reached(machine, repair))
        drained |= dict.fromkeys(_drained(machine, repair))
        for come_off in (together.out_first, together.taken_off, together.pulled_out):
            lifted |= dict.fromkeys(come_off(machine, repair))
    off = at is not None and conditions.cut_off(machine, at) and not perhaps
    isolated = off or any(together.hands_in(machine, repair) for repair in repairs)
    exchange = next((one.exchange for one in (*_stands(state), *perhaps) if one.exchange), ())
    at = at and replace(at, exchange=exchange)
    found = together.undone(machine, opened, lifted, at)
    moved = {control: to for one in perhaps for control, to in together.undone(machine, (), (), one).moved}
    moved |= dict(found.moved)
    return replace(found, isolated=isolated, pipe=pipe, drained=tuple(drained), moved=tuple(moved.items()))


def _stands(state: JobState) -> tuple[Condition, ...]:
    """The condition of a machine that does not stand as its owner left it."""
    return (state.condition,) if state.condition else ()


def _drained(machine: model.Machine, repair: Repair) -> tuple[str, ...]:
    return (repair.subject,) if together.in_water(machine, repair) else ()


def reached(machine: model.Machine, repair: Repair) -> tuple[str, ...]:
    """The bays that hands go to for a repair, in the order of opening; none for what the house has."""
    return with_fronts(machine, repair.bays) if together.hands_in(machine, repair) else ()


def _pipe(machine: model.Machine, was: Pipe, one: Step | Repair) -> Pipe:
    """How the gas pipe is left: apart until something is run, the cock shut until something should burn."""
    if isinstance(one, Repair):
        now = together.pipe(machine, one)
        return was if now is Pipe.AWAY or was is Pipe.APART else now
    now = safely.pipe(machine, one)
    if now is Pipe.LIT or (was is Pipe.APART and pricing.powered(machine, one)):
        return Pipe.AWAY
    return now if was is Pipe.AWAY else was


def _kept(before: dict[str, None], now: Iterable[str]) -> dict[str, None]:
    """What is there now, in the order in which it came."""
    wanted = dict.fromkeys(now)
    return {one: None for one in before if one in wanted} | wanted
