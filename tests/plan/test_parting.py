"""What comes off for a bay parts what goes through it: nothing of that is looked for before it is in its place."""

from __future__ import annotations

import pytest

from halfsplit.operate import condition as conditions
from halfsplit.plan import powering, pricing, safely, taken
from halfsplit.service import wording
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser

DRYERS = ("vented-dryer", "vented-dryer-3-wire")
OPENED = frozenset({"back", "rear cover"})


@pytest.mark.parametrize("name", DRYERS)
def test_no_air_is_looked_for_at_the_end_of_a_duct_that_is_off(name: str) -> None:
    """The dryer was pulled out and its duct taken off for a look: before the stream of air at its end is judged, or a
    load is dried, it is isolated where it is not, put on again, and paid for; what turns or heats is seen without."""
    asked = adviser(name)
    machine, told = asked.bench.machine, 0
    for step in asked.steps.usual:
        if step.asks or step.kind != "symptom" or not powering.powered(machine, step):
            continue
        through = "vent duct" in machine.symptoms[step.at].through
        for at in (conditions.condition(machine, isolated=True), step.condition):
            state = JobState(OPENED, at)
            then, done = taken.after(machine, state, step), pricing.cost_of(machine, state, step)
            assert not through or not then.open_bays
            safe = safely.brought(machine, safely.begin(machine), JobState(), state).state
            doings = safely.prepared(machine, safe, state, then, step)
            closed = [doing.at for doing in doings.doings if doing.kind is Kind.CLOSE]
            if through:
                assert closed == ["rear cover", "back"]
                assert done.power >= machine.handwork.energise
                again = sum(machine.bays[bay].open_minutes + machine.bays[bay].close_minutes for bay in OPENED)
                assert pricing.plain(machine, state, step).whole == pytest.approx(done.minutes + again)
            text = " ".join(wording.shutting_said(machine, state, step))
            assert ("With the back open the vent duct is off." in text) == through
            told += through
    assert told >= 4


def test_the_drum_is_not_said_to_lose_its_belt_where_it_cannot_run_at_all() -> None:
    """One reason is enough: without its front the machine does not run."""
    asked = adviser("vented-dryer")
    machine = asked.bench.machine
    step = next(s for s in asked.steps.usual if s.at == "drum turns" and not s.asks)
    state = JobState(frozenset({"top", "drum space", "drum housing"}), conditions.condition(machine, isolated=True))
    text = " ".join(wording.shutting_said(machine, state, step))
    assert "The machine does not run with the drum housing, the drum space open. First:" in text
    assert "belt is off" not in text
