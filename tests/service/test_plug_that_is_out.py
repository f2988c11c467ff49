"""A plug that is out already, for ohms or for a reading at the wall, is not pulled again, nor the machine isolated."""

from __future__ import annotations

from halfsplit.plan import safely, taken
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.service import wording
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser

DRYER = adviser("vented-dryer")
MACHINE = DRYER.bench.machine
WALL = next(s for s in DRYER.table.steps if s.probe and s.condition and s.condition.position("plug") == "out")
DEAD = next(s for s in DRYER.table.steps if s.condition and s.condition.isolated and bays_needed(MACHINE, s))


def said(*before: Step) -> tuple[str, tuple[str, ...]]:
    """How the last of these steps is told once the others were done, and the cautions on the way to it."""
    state, safe = JobState(), safely.begin(MACHINE)
    for step in before:
        then = taken.after(MACHINE, state, step)
        done = safely.prepared(MACHINE, safe, state, then, step)
        text = wording.sentence(DRYER.bench.predictor, state, step, bays_needed(MACHINE, step), done.kinds)
        state, safe = then, done.state
    return text, done.cautions


def test_the_plug_is_pulled_once() -> None:
    """From a machine as its owner left it; not where it was isolated for ohms, nor for a second reading at the wall."""
    assert said(WALL)[0].startswith("Pull the plug. The receptacle stays live.")
    for before in ((DEAD,), (WALL,)):
        text = said(*before, WALL)[0]
        assert text.startswith("The receptacle stays live.")
        assert "Pull the plug" not in text


def test_a_machine_that_is_dead_is_not_isolated_once_more_after_a_reading_at_the_wall() -> None:
    """Neither told nor cautioned; one of which only the plug was pulled is isolated and proved dead."""
    again, cautions = said(DEAD, WALL, DEAD)
    assert "solate" not in again
    assert not [one for one in cautions if one.startswith("DANGER")]
    first, minded = said(WALL, DEAD)
    assert "Isolate the machine (plug out) and prove it dead" in first
    assert [one for one in minded if one.startswith("DANGER")]
