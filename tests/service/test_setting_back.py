"""No plug is pulled or pushed in under load: what is set is set back first, and set again once the power is on."""

from __future__ import annotations

from dataclasses import replace

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading
from halfsplit.operate.condition import Condition, condition, usual
from halfsplit.plan import safely, steps, taken
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.service import proof_run, repairing, setting_back, wording
from halfsplit.service.guiding import Guided
from halfsplit.work.state import JobState
from tests.rehearse import benches

COOKTOP, FRIDGE = Bench(loading.load("coil-cooktop")), Bench(loading.load("refrigerator"))
HIGH = usual(COOKTOP.machine)
BACK = "left front off, right rear off, left rear off, right front off"
AGAIN = "Set: left front high, right rear high, left rear high, right front high."
DEAD = Step("reading", replace(HIGH, isolated=True), Probe("ohms", "terminal block.L1", "terminal block.L2"))


def told(before: Condition | None, step: Step, bench: Bench = COOKTOP) -> str:
    """A step in words from a closed machine that stands so."""
    machine = bench.machine
    if step.probe and step.condition:
        step = replace(step, places=steps.places_of(step.probe, step.condition))
    state, bays = JobState(condition=before), steps.bays_needed(machine, step)
    done = safely.prepared(machine, safely.begin(machine), state, taken.after(machine, state, step), step)
    return wording.sentence(bench.predictor, state, step, bays, done.kinds)


def test_it_is_set_back_before_the_plug_is_pulled_and_set_again_after() -> None:
    """Under four burners on HIGH, for ohms in the same setting."""
    said = told(HIGH, DEAD)
    assert said.startswith(f"First set back: {BACK}. Isolate the machine (plug out)")
    assert said.index("Isolate") < said.index(AGAIN)


def test_at_the_wall_the_plug_is_not_pulled_under_load_either() -> None:
    """The plug alone, and nothing to be set for it."""
    at = condition(COOKTOP.machine, {"plug": "out"})
    said = told(HIGH, Step("reading", at, Probe("low-impedance volts", "receptacle.L1", "receptacle.L2")))
    assert said.startswith(f"First set back: {BACK}. Pull the plug.")
    assert "Set:" not in said


def test_a_look_at_the_receptacle_pulls_no_plug_under_load() -> None:
    """And what was on is set again with the plug in."""
    said = told(HIGH, Step("look", None, at="receptacle"))
    assert said.startswith(f"First set back: {BACK}. Pull the plug.")
    assert said.endswith(AGAIN.replace("Set:", "Set again:"))


def test_the_power_comes_back_to_controls_at_rest() -> None:
    """As they stand for ohms: back first, then the power, then set as they are wanted."""
    said = told(replace(HIGH, isolated=True), Step("symptom", HIGH, at="left front glows"))
    assert f"Set back first: {BACK}." in said
    assert said.index(BACK) < said.index("bring the power back") < said.index(AGAIN)


def test_nothing_is_told_where_nothing_is_set() -> None:
    """As its owner left it, at rest, and with a button alone."""
    for before in (None, condition(COOKTOP.machine)):
        assert "et back" not in told(before, DEAD)
    dryer = loading.load("vented-dryer")
    assert setting_back.at_rest(dryer, condition(dryer, {"start": "pressed"})) == ""
    inside = condition(FRIDGE.machine, {"defrost": "defrost"})
    assert setting_back.at_rest(FRIDGE.machine, inside) == ""  # behind the kick plate


def test_the_clamp_and_the_cover_after_it_pull_no_plug_under_load() -> None:
    """In the proof run: the machine was put together with all at rest, and is set for the first amps; after the last it
    is set back."""
    said = proof_run.of_repairs(COOKTOP, ["replace left front burner"]).sentences()
    (first,) = (one for one in said if "Meter at amps" in one)
    (last,) = (one for one in said if one.startswith("Then "))
    assert "set back" not in first
    assert first.index("bring the power back") < first.index(AGAIN) < first.index("Meter at amps")
    assert last.startswith(f"Then set back: {BACK}. Isolate the machine (plug out)")


def test_hands_go_in_for_a_repair_once_it_is_set_back() -> None:
    """Before it is isolated."""
    seen = f.Perceived("left front glows", False, HIGH, "repairer")
    job = Guided(benches.guide("coil-cooktop"), (seen,))
    first = repairing.work(job, [job.bench.repairs["replace left front switch"]]).first
    assert first[0] == f"First set back: {BACK}."
    assert first[1].startswith("Isolate the machine")


def test_a_dead_reading_says_how_what_was_set_before_stands_still() -> None:
    """Left rear on LOW from the step before: with it off another machine is read. At rest nothing is said."""
    low = condition(COOKTOP.machine, {"left rear": "low"}, isolated=True)
    probe = Probe("ohms", "left front switch.L1", "left front switch.H1")
    said = told(low, Step("reading", low, probe))
    assert "Still set: left rear low." in said
    assert "Set:" not in said
    rest = condition(COOKTOP.machine, isolated=True)
    assert "Still set" not in told(rest, Step("reading", rest, probe))


def test_what_is_set_for_a_dead_reading_is_not_told_as_still_set() -> None:
    """One is set now, the other stood so before."""
    low = condition(COOKTOP.machine, {"left rear": "low"}, isolated=True)
    both = condition(COOKTOP.machine, {"left rear": "low", "left front": "low"}, isolated=True)
    said = told(low, Step("reading", both, Probe("ohms", "left front switch.L1", "left front switch.H1")))
    assert "Set: left front low. Still set: left rear low." in said
