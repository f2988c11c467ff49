"""Every step that may be advised, in words: nothing is left unsaid, and outcomes are told apart."""

from __future__ import annotations

import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import library
from halfsplit.operate import condition as conditions
from halfsplit.plan import owner, steps
from halfsplit.plan.score import Adviser
from halfsplit.service import advising, answers, guiding, machines, naming, wording
from halfsplit.work.state import JobState


@pytest.fixture(scope="module")
def adviser() -> Adviser:
    """The adviser of the water heater, the quickest to compile."""
    return advising.adviser(Bench(machines.load("water-heater")), machines.key("water-heater"))


@pytest.mark.parametrize("name", library.names())
def test_sentences_say_all(name: str) -> None:
    """Each step says its leads, what is isolated, and every bay in front of it."""
    bench = Bench(machines.load(name))
    for step in steps.steps(bench.machine)[::37]:
        bays = steps.bays_needed(bench.machine, step)
        text = wording.sentence(bench.predictor, JobState(), step, bays)
        if step.probe is not None:
            leads = (naming.place(bench.machine, lead) for lead in (step.probe.red, step.probe.black))
            assert all(lead in text for lead in leads)
        isolated = step.condition is not None and step.condition.isolated
        assert ("Isolate the machine" in text) == (isolated or bool(bays))
        assert all(f"Open the {bay}" in text for bay in bays)
        assert all(f"off {lifted}" in text for lifted in (step.condition.lift if step.condition else ()))


def test_what_stands_already_is_not_said_again(adviser: Adviser) -> None:
    """Once isolated, open and set, only the leads are left to say."""
    machine, predictor = adviser.bench.machine, adviser.bench.predictor
    step = next(s for s in adviser.table.steps if s.condition and s.condition.isolated and s.condition.lift)
    state = JobState(frozenset(machine.bays), step.condition)
    text = wording.sentence(predictor, state, step, steps.bays_needed(machine, step))
    assert text.startswith("Meter at ohms")


def test_lifted_wires_go_back(adviser: Adviser) -> None:
    """A step without lifted wires after one with says that they go back on."""
    machine = adviser.bench.machine
    lifted = next(s.condition for s in adviser.table.steps if s.condition and s.condition.lift)
    plain = next(s for s in adviser.table.steps if s.condition and s.condition.isolated and not s.condition.lift)
    text = wording.sentence(adviser.bench.predictor, JobState(frozenset(machine.bays), lifted), plain, ())
    assert f"Put the wires back on {lifted.lift[0]}." in text


def test_a_photograph_is_asked_for_before_the_first_wire(adviser: Adviser) -> None:
    """With the colours of the part's wires, before the first comes off; not again once wires of it have been off."""
    machine, predictor = adviser.bench.machine, adviser.bench.predictor
    step = next(s for s in adviser.table.steps if s.condition and s.condition.lift)
    assert step.condition is not None
    part = step.condition.lift[0].split(".", 1)[0]
    bays = steps.bays_needed(machine, step)
    text = wording.sentence(predictor, JobState(), step, bays)
    assert text.index(f"Photograph {part} before") < text.index("Take the wires off")
    colours = {"".join(w.colours) for w in machine.wires if any(end.startswith(f"{part}.") for end in w.ends)}
    assert colours
    assert all(colour in text for colour in colours)
    again = wording.sentence(predictor, JobState(done=frozenset({step})), step, bays)
    assert "Photograph" not in again
    assert "Take the wires off" in again


def test_a_photograph_before_connectors_are_pulled() -> None:
    """The dryer's front says its two connectors before it comes off."""
    bench = Bench(machines.load("vented-dryer"))
    step = steps.Step("look", at="belt", places=("belt",))
    text = wording.sentence(bench.predictor, JobState(), step, steps.bays_needed(bench.machine, step))
    assert text.index("Photograph the connectors of door switch and drum lamp") < text.index("Open the drum space")


def test_what_stops_the_machine_is_closed_for_a_run() -> None:
    """From a reading in the drum housing to a run: wires back, closed from within with all behind it, then power, then
    set."""
    machine = machines.load("vented-dryer")
    bench = Bench(machine)
    dead = conditions.condition(machine, isolated=True, lift=("heater.common",))
    open_ = frozenset({"top", "drum space", "drum housing"})
    run = next(s for s in steps.symptom_steps(machine) if s.at == "air is warm")
    text = wording.sentence(bench.predictor, JobState(open_, dead), run, ())
    order = ["wires back on heater.common", "Belt back", "Close the drum housing", "Close the drum space", "power back"]
    order += ["start pressed"]
    assert [text.index(said) for said in order] == sorted(text.index(said) for said in order)
    assert "Close the top" not in text
    assert "to the earth contact of the plug: below 1 ohm" in text


def test_the_power_comes_back_after_a_cover_is_opened_or_the_plug_was_out(adviser: Adviser) -> None:
    """A live step behind a cover says that the power comes back; so does one after a reading at the wall."""
    machine, predictor = adviser.bench.machine, adviser.bench.predictor
    live = next(s for s in adviser.table.steps if s.live and s.condition and steps.bays_needed(machine, s))
    text = wording.sentence(predictor, JobState(), live, steps.bays_needed(machine, live))
    assert text.index("Isolate") < text.index("Open the") < text.index("power back") < text.index("With the power on")
    dryer = Bench(machines.load("vented-dryer"))
    out = conditions.condition(dryer.machine, dict(dryer.machine.supply.isolates))
    run = next(steps.symptom_steps(dryer.machine))
    assert "power back" in wording.sentence(dryer.predictor, JobState(condition=out), run, ())
    usual = JobState(condition=conditions.condition(dryer.machine))
    assert "power back" not in wording.sentence(dryer.predictor, usual, run, ())


def test_outcomes_are_told_apart(adviser: Adviser) -> None:
    """Outcomes of a step have different words, and the likeliest cause stands in one of them."""
    told = f.Perceived("water gets hot", False)
    weighed = adviser.bench.weigh([told])
    best = " + ".join(weighed.ranked()[0].faults)
    for one in advising.advise(adviser, weighed, count=6):
        heads = [outcome.split(": ")[0] for outcome in one.outcomes]
        assert len(set(heads)) == len(heads) > 1
        assert sum(best in outcome for outcome in one.outcomes) <= 1


def test_steps_of_findings_are_steps(adviser: Adviser) -> None:
    """The answer to a step is a finding from which the same step is known again, so that it is not advised twice."""
    typed = {"look": "fine", "symptom": "yes", "question": "yes"}
    for step in adviser.table.steps[:: len(adviser.table.steps) // 40]:
        found = answers.understood(adviser.bench.predictor, step, typed.get(step.kind, "1"))
        asked = step.kind == "question"
        assert steps.of_finding(found) == (None if asked else step)
        assert owner.told(adviser.bench.predictor, [step], [found]) == ({step} if asked else set())


def test_no_step_twice(adviser: Adviser) -> None:
    """A step that has been done, or set aside, is not advised again."""
    done: list[f.Finding] = [f.Perceived("water gets hot", False)]
    guided = guiding.Guided(adviser, tuple(done))
    first = guided.advice
    assert first is not None
    aside = guided.without(first.step).advice
    assert aside is None or aside.step != first.step
    typed = {"look": "fine", "symptom": "no", "question": "no"}.get(first.step.kind, "0.0")
    answered = guided.answered(first.step, typed)
    assert answered.advice is None or answered.advice.step != first.step
    assert answered.undone().advice == first
