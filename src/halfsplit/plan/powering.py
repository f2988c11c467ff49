"""Whether a step has the machine under power, whether it can have it so, and what has to be closed and warm for it.

Knows steps, bays and how the machine stands; prices nothing.
"""

from __future__ import annotations

from dataclasses import replace

from halfsplit.machine import model
from halfsplit.operate.condition import WARMTH, Condition, cut_off
from halfsplit.plan import steps, warmth
from halfsplit.work import burning, minutes, places, waits
from halfsplit.work.state import JobState, to_open, with_fronts

LEFT_RUNNING = 2.0
"""A machine that is watched for so many minutes, or has to come to a warmth first, is left to itself meanwhile: nobody
stands before an open cover for that long. This program's own choice; shorter than any such time in the library."""


def runs(machine: model.Machine, at: Condition) -> bool:
    """Whether the machine itself is under power in a condition."""
    return not cut_off(machine, at)


def powered(machine: model.Machine, step: steps.Step) -> bool:
    """Whether a step has the machine itself under power (a reading at the wall with the plug out has not)."""
    return step.condition is not None and runs(machine, step.condition)


def wants_power(machine: model.Machine, step: steps.Step) -> bool:
    """Whether a step wants power on the machine or at the leads; what its owner is asked does not."""
    return not step.asks and (step.live or powered(machine, step))


def possible(machine: model.Machine, step: steps.Step) -> bool:
    """Whether a step can be done at all: none wants a machine to run while a bay is open that stops it, nor reads it
    dead at a warmth that is gone by then."""
    behind = with_fronts(machine, steps.bays_needed(machine, step))
    if not powered(machine, step):
        return not (step.condition and step.condition.isolated) or warmth.lasts(machine, step.condition, behind, False)
    return all(machine.bays[bay].runs for bay in behind)


def shut_to_run(machine: model.Machine, state: JobState, step: steps.Step) -> tuple[str, ...]:
    """The open bays that must be closed for a step: those with which it cannot run, those that parted what is to be
    seen, those over bare live parts where it is left running, those with which a duct came off a burner that burns, and
    all behind them."""
    if not powered(machine, step):
        return ()
    stops = {*stopping(machine, state), *parting(machine, state, step), *unducted(machine, state, step)}
    if state.open_bays & machine.bare_bays and left_running(machine, state, step):
        stops |= state.open_bays & machine.bare_bays - set(with_fronts(machine, steps.bays_needed(machine, step)))
    return tuple(b for b in machine.bays if b in state.open_bays and stops & set(with_fronts(machine, (b,))))


def stopping(machine: model.Machine, state: JobState) -> tuple[str, ...]:
    """The open bays with which a machine cannot run."""
    return tuple(b for b in machine.bays if b in state.open_bays and not machine.bays[b].runs)


def parting(machine: model.Machine, state: JobState, step: steps.Step) -> tuple[str, ...]:
    """The open bays for which something came off through which goes what a step wants seen: no air comes out at the end
    of a duct that is off its outlet.

    >>> from halfsplit.machine import loading
    >>> dryer = loading.load("vented-dryer")
    >>> pulled_out = JobState(open_bays=frozenset({"back"}))
    >>> seen = [steps.Step("symptom", at=what) for what in ("air flows at the vent", "drum turns")]
    >>> [parting(dryer, pulled_out, step) for step in seen]
    [('back',), ()]
    """
    through = machine.symptoms[step.at].through if step.kind == "symptom" else ()
    return tuple(b for b in machine.bays if b in state.open_bays and set(machine.bays[b].frees) & set(through))


def unducted(machine: model.Machine, state: JobState, step: steps.Step) -> tuple[str, ...]:
    """The open bays with which a duct came off and that can be closed, where gas burns for a step."""
    needed = with_fronts(machine, steps.bays_needed(machine, step))
    burns = step.condition is not None and burning.should_burn(machine, step.condition)
    return tuple(bay for bay in burning.unducted(machine, state.open_bays) if burns and bay not in needed)


def fumes(machine: model.Machine, after: JobState, step: steps.Step) -> bool:
    """Whether gas burns for a step while a duct is off, from how the machine stands for it."""
    if step.asks or step.condition is None or not burning.should_burn(machine, step.condition):
        return False
    return any(burning.unducted(machine, after.open_bays))


def parted_by_hand(machine: model.Machine, state: JobState, step: steps.Step) -> bool:
    """Whether something came off, through which a hand would have to turn what a step wants turned.

    >>> from halfsplit.machine import loading
    >>> by_hand = steps.Step("symptom", at="drum takes the motor round by hand")
    >>> belt_off = JobState(open_bays=frozenset({"top", "drum space", "drum housing"}))
    >>> [parted_by_hand(loading.load("vented-dryer"), state, by_hand) for state in (JobState(), belt_off)]
    [False, True]
    """
    by_hand = step.kind == "symptom" and step.at in machine.symptoms and machine.symptoms[step.at].by_hand
    return by_hand and bool(parting(machine, state, step))


def left_running(machine: model.Machine, state: JobState, step: steps.Step) -> bool:
    """Whether a machine runs by itself for long (`LEFT_RUNNING`) until a symptom is seen; where leads are on it for a
    reading somebody stays by."""
    if step.kind != "symptom" or step.condition is None:
        return False
    waited = _waited(machine, state, step.condition)
    return waited + minutes.running(machine, step.kind, step.at) >= LEFT_RUNNING


def _waited(machine: model.Machine, state: JobState, at: Condition) -> float:
    """Minutes that the machine runs until it is as warm as a condition says."""
    if not machine.warmths:
        return 0.0
    off = state.condition is not None and cut_off(machine, state.condition)
    had = {state.condition.position(WARMTH) if state.condition else ""}
    had |= {machine.warmths[0]} if warmth.is_unsure(machine, state, off) else set()
    return max(waits.waiting(machine, stands, at.position(WARMTH), False) for stands in had)


def warmed_anew(machine: model.Machine, state: JobState, step: steps.Step, taken: minutes.Cost) -> minutes.Cost:
    """What a step costs where the machine comes to its warmth anew: as from rest, where the warmth that it had may be
    gone, on the way too (`warmth.is_unsure`)."""
    at, behind = step.condition, machine.warmth_behind(steps.bays_needed(machine, step))
    if at is None or step.asks or behind or not warmth.is_unsure(machine, state, restarts(machine, step, taken.power)):
        return taken
    cold = waits.waiting(machine, machine.warmths[0], at.position(WARMTH), at.isolated)
    return replace(taken, waiting=max(taken.waiting, cold))


def restarts(machine: model.Machine, step: steps.Step, minutes_of_power: float) -> bool:
    """Whether a machine is started for a step that has taken so many minutes of power, off and on."""
    return powered(machine, step) and minutes_of_power > 0


def first_warm(machine: model.Machine, state: JobState, step: steps.Step) -> str:
    """The warmth to which a machine that is not isolated yet has to run with its covers on before a step: for a dead
    one, and for leads behind a cover that is still on, where that takes long and lasts; "" where it has that warmth,
    where it comes to it by standing, and where opening leaves it so."""
    at = step.condition
    if at is None or state.left_isolated or not machine.warmths:
        return ""
    if not (at.isolated or _covered(machine, state, step, at)):
        return ""
    bays = steps.bays_needed(machine, step)
    if machine.warmth_behind(bays) or not warmth.lasts(machine, at, with_fronts(machine, bays), seen_into(step)):
        return ""
    kept = state.condition is not None and not warmth.is_unsure(machine, state, False)
    before, wanted = state.condition.position(WARMTH) if state.condition and kept else "", at.position(WARMTH)
    return "" if wanted in (before, machine.warmths[0]) else wanted


def seen_into(step: steps.Step) -> bool:
    """Whether eyes go behind a cover of a machine at work: where that is hot, it has cooled before it is opened."""
    return step.kind == "symptom"


def opens_hot(machine: model.Machine, state: JobState, step: steps.Step) -> bool:
    """Whether what is opened for a step at work is waited for until it has cooled."""
    bays = to_open(machine, state, steps.bays_needed(machine, step))
    return powered(machine, step) and warmth.cools_first(machine, bays, seen_into(step))


def cooling(machine: model.Machine, state: JobState, step: steps.Step, taken: minutes.Cost) -> float:
    """Minutes still to be waited before what is hot is touched for a step that takes so much (`minutes.cooling`); where
    the machine runs first for it, from that run on. The power comes back, and it warms up, after that."""
    if opens_hot(machine, state, step):
        taken = replace(taken, power=min(taken.power, machine.handwork.isolate), waiting=0.0)
    if heated_first(machine, state, step):
        state, taken = replace(state, warm=places.cooling(machine)), replace(taken, waiting=0.0)
    return minutes.cooling(state, taken)


def cooled(machine: model.Machine, state: JobState, step: steps.Step, taken: minutes.Cost) -> float:
    """Minutes until all may be touched after a step that takes so much."""
    if powered(machine, step):
        return places.cooling(machine)
    if heated_first(machine, state, step):
        return max(0.0, places.cooling(machine) - taken.passed + taken.waiting)
    return minutes.cooled(state, taken.passed) if state.warm else 0.0


def heated_first(machine: model.Machine, state: JobState, step: steps.Step) -> bool:
    """Whether a machine runs first for a step and is hot after that, where its file says how long it takes to cool."""
    return bool(first_warm(machine, state, step)) and machine.warmths[0] in machine.comes_to


def _covered(machine: model.Machine, state: JobState, step: steps.Step, at: Condition) -> bool:
    """Whether the covers are still on for a reading behind one of them, of a machine that first runs for long, until it
    is as warm as the file says that it takes its time to be: it stays so while it is opened."""
    shut = not state.open_bays and bool(to_open(machine, state, steps.bays_needed(machine, step)))
    lasts = at.position(WARMTH) in machine.comes_to and _waited(machine, state, at) >= LEFT_RUNNING
    return step.live and shut and lasts
