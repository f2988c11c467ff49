"""What decides the answer of what a repairer sees for himself is set, however its owner has left the machine."""

from __future__ import annotations

from halfsplit.operate.condition import usual
from halfsplit.plan import steps, taken
from halfsplit.plan.steps import Step
from halfsplit.service import wording
from halfsplit.work.state import JobState
from tests.rehearse.benches import bench

DRYER, FRIDGE = bench("vented-dryer"), bench("refrigerator")
WARM = Step("symptom", usual(DRYER.machine), at="air is warm")
AIR = Step("symptom", usual(DRYER.machine), at="air flows at the vent")


def said(state: JobState, step: Step) -> str:
    """A step in words from how the machine stands."""
    return wording.sentence(DRYER.predictor, state, step, ())


def test_what_stands_at_rest_is_told_as_well() -> None:
    """With the knob on AIR ONLY no air gets warm, though HIGH is where it rests."""
    assert said(JobState(), WARM).startswith("Set: cycle timed, heat high, door shut, start pressed. See for yourself")


def test_only_what_decides_is_told() -> None:
    """Of the air at the vent the heat decides nothing."""
    assert said(JobState(), AIR).startswith("Set: cycle timed, door shut, start pressed. See for yourself")


def test_it_is_told_once_on_a_job() -> None:
    """The heat, which mattered to nothing before, the first time; then nothing, since all of it was set."""
    state = taken.after(DRYER.machine, JobState(), AIR)
    assert said(state, WARM).startswith("Set: heat high. See for yourself")
    state = taken.after(DRYER.machine, state, WARM)
    assert said(state, WARM).startswith("See for yourself")


def test_the_dial_of_a_refrigerator_too() -> None:
    """From its own file: with the dial at off no compressor runs."""
    symptom = FRIDGE.machine.symptoms["compressor runs"]
    step = Step("symptom", steps.met_in(FRIDGE.machine, symptom), at="compressor runs")
    assert "cold dial normal" in wording.sentence(FRIDGE.predictor, JobState(), step, ())
