"""Whether the warmth that a run gives lasts: the wait until what is hot may be touched, and a break.

Knows the machine file, conditions and how the machine stands; no steps.
"""

from __future__ import annotations

from collections.abc import Collection

from halfsplit.machine import model
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.work import places
from halfsplit.work.state import JobState
from halfsplit.work.waits import COOL_DOWN


def lasts(machine: model.Machine, at: Condition, bays: Collection[str], seen_into: bool) -> bool:
    """Whether a machine that has run is still as warm as a condition says once these bays are open: what gets hot in
    them cools first, and the whole machine with it, in the minutes that its file gives for that. Where the file gives
    none a dead reading is taken to be soon enough.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate.condition import condition
    >>> dryer = loading.load("vented-dryer")
    >>> lasts(dryer, condition(dryer, {"warmth": "hot"}, isolated=True), ["drum housing"], False)
    True
    """
    rest = machine.warmths[0] if machine.warmths else ""
    if not rest or at.position(WARMTH) == rest or machine.warmth_behind(bays):
        return True
    if at.isolated and rest not in machine.comes_to:
        return True
    waited = not machine.hot_bays.isdisjoint(bays) if at.isolated else cools_first(machine, bays, seen_into)
    return not waited or machine.comes_to.get(rest, COOL_DOWN) > places.cooling(machine)


def cools_first(machine: model.Machine, bays: Collection[str], seen_into: bool) -> bool:
    """Whether what gets hot in bays has cooled before they are opened, though nothing is touched there: in a burner's,
    and where they are opened to see into them at work. For leads that go to a live machine a caution does."""
    return any(places.burns(machine, bay) or (seen_into and bay in machine.hot_bays) for bay in bays)


def has(machine: model.Machine, state: JobState) -> bool:
    """Whether a machine stands warmer than at rest, by its condition, with all covers on that would leave it otherwise.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate.condition import condition
    >>> dryer = loading.load("vented-dryer")
    >>> [has(dryer, JobState(condition=condition(dryer, {"warmth": warmth}))) for warmth in ("cold", "hot")]
    [False, True]
    """
    at, left = state.condition, machine.warmth_behind(state.open_bays)
    return bool(at and machine.warmths and not left) and _stands(state) != machine.warmths[0]


def goes(machine: model.Machine, state: JobState) -> bool:
    """Whether a warmth that the machine has may be gone after a break, or where nobody says what was done: of one that
    gets hot in a run. A tank and a cabinet keep theirs for long."""
    return has(machine, state) and (machine.heats or machine.gas is not None)


def is_unsure(machine: model.Machine, state: JobState, restarted: bool) -> bool:
    """Whether the warmth that a machine has may be gone, so that it is come to anew: as the job says, or where gas
    warms it and it is cut off on the way and started again."""
    return has(machine, state) and (state.perhaps_cold or (machine.gas is not None and restarted))


def _stands(state: JobState) -> str:
    return state.condition.position(WARMTH) if state.condition else ""
