"""What a hand turns on the dead machine: under which faults it goes round, when it is offered, how it is made safe.

That a broken belt leaves the drum free and a seized motor stops it is common practice, no source."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import yaml

from halfsplit.errors import BadInput
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.machine import library, loading
from halfsplit.operate import condition as conditions
from halfsplit.plan import barring, owner, powering, proof, safely, steps, taken
from halfsplit.plan.steps import Step
from halfsplit.service import after_repair, guiding
from halfsplit.work import safety
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser, bench

WHAT = "drum takes the motor round by hand"
DRYER = loading.load("vented-dryer")
DEAD = conditions.condition(DRYER, isolated=True)
STEP = Step("symptom", DEAD, at=WHAT)
STOPS_IT = {"belt: broken", "motor: seized"}


def test_it_goes_round_unless_the_belt_is_off_or_the_motor_seized() -> None:
    """Under every single fault of the dryer, by name; sure but for the person, who errs as with any other symptom."""
    known, usual = bench("vented-dryer"), conditions.usual(DRYER)
    yes = known.predictor.symptom(WHAT, DEAD, False)
    singles = known.predictor.candidates
    no = [variant for row, variant in enumerate(singles.variants) if yes[row] < 0.5]
    assert {singles.faults[number].name for variant in no for number in variant.faults} == STOPS_IT
    assert np.allclose(np.minimum(yes, 1 - yes), 1 - yes.max())
    assert np.array_equal(yes, known.predictor.symptom(WHAT, usual, False))  # whatever the network does


def test_it_is_offered_once_dead_and_to_no_owner() -> None:
    """On every machine: isolated in the search; no owner is asked, and no proof run shows it."""
    for name in library.names():
        machine = loading.load(name)
        by_hand = {what for what, one in machine.symptoms.items() if one.kind == "hand"}
        offered = [step for step in steps.steps(machine) if step.at in by_hand]
        assert [(step.at, step.kind) for step in offered] == [(what, "symptom") for what in by_hand]
        assert all(step.condition is not None and step.condition.isolated for step in offered)
        assert by_hand.isdisjoint(owner.perceives(machine))
        runs = proof.runs(bench(name).predictor) if by_hand else {}
        assert by_hand.isdisjoint(what for seen in runs.values() for what in seen)
    assert STEP in steps.steps(DRYER)


def test_it_is_not_offered_with_the_belt_off() -> None:
    """Behind the bulkhead the belt is off the idler; with the front off it still lies round the drum."""
    front = JobState(open_bays=frozenset({"top", "drum space"}))
    inside = replace(front, open_bays=front.open_bays | {"drum housing"})
    assert [barring.bars(DRYER, state, STEP) for state in (JobState(), front, inside)] == [False, False, True]
    assert not powering.powered(DRYER, STEP)


@pytest.mark.parametrize("name", ["vented-dryer", "vented-dryer-3-wire"])
def test_hands_turn_what_is_proved_dead(name: str) -> None:
    """From a machine in use: isolated, proved dead, then turned; nothing of it is allowed under power."""
    machine = loading.load(name)
    step = next(one for one in steps.steps(machine) if one.at == WHAT)
    after = taken.after(machine, JobState(), step)
    made = safely.prepared(machine, safely.begin(machine), JobState(), after, step)
    kinds = [one.kind for one in made.doings]
    assert kinds[-1] is Kind.MOVE
    assert kinds.index(Kind.ISOLATE) < kinds.index(Kind.PROVE_DEAD) < kinds.index(Kind.MOVE)
    found = safety.unmet(safely.begin(machine), safety.Step(Kind.MOVE))
    assert found == ("Every feed must be isolated and proved dead.",)
    assert conditions.cut_off(machine, after.condition or conditions.usual(machine))


def test_a_file_tells_it_of_the_dead_machine() -> None:
    """A repairer's without a setting is of the isolated machine, and what is written reads the same again."""
    (short,) = findings_file.read(f"- symptom: {{what: {WHAT}, value: no, by: repairer}}\n", "f.yaml", DRYER)
    assert short == f.Perceived(WHAT, False, DEAD, "repairer")
    again = yaml.safe_dump([findings_file.written(short)])
    assert findings_file.read(again, "f.yaml", DRYER) == [short]
    (told,) = findings_file.read(f"- symptom: {{what: {WHAT}, value: no}}\n", "f.yaml", DRYER)
    assert told == f.Perceived(WHAT, False, None, "owner")


def test_a_free_drum_says_belt_or_motor_and_its_repair_is_proved_by_the_machine() -> None:
    """The belt is likeliest then, by its rate; after its repair nobody is asked to turn it by hand again."""
    told = (f.Perceived("drum turns", False), f.Perceived(WHAT, False, DEAD, "repairer"))
    guided = guiding.Guided(adviser("vented-dryer"), told)
    first = guided.ranked[:2]
    assert {one.faults[0] for one in first} == STOPS_IT
    assert sum(one.probability for one in first) > 0.85
    assert [one.what for one in after_repair.asked_back(guided)] == ["drum turns"]
    seen = [f.Perceived("drum turns", True, conditions.usual(DRYER), "repairer")]
    assert after_repair._is_cured(guided, seen)


def test_a_machine_file_names_a_motor_for_it() -> None:
    """A part that is no motor is complained of, with its place."""
    text = library.text("vented-dryer").replace("hand turns: [motor]", "hand turns: [belt]")
    with pytest.raises(BadInput, match="'belt' is no motor"):
        loading.load_text(text, "dryer.yaml")
