"""Symptoms that show on the machine as it stands: looked for without power, at no price of switching, never lost."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file, weigh
from halfsplit.machine import library, loading, model
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import pricing, safely, shown, steps, taken, visit
from halfsplit.plan.steps import Step
from halfsplit.service import advising, answers, guiding, remembering, wording
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState
from tests.rehearse.benches import NAMES, adviser, bench

GAS = str(Path(__file__).parents[1] / "gas" / "gas-air-heater.yaml")
WATER, FROST = "water on the floor", "frost round the door"
SHOWN_STANDING = {
    "coil-cooktop": set(),
    "refrigerator": {"water inside", WATER, FROST},
    "vented-dryer": set(),
    "vented-dryer-3-wire": set(),
    "water-heater": {WATER},
}
"""Judged by hand: a puddle and frost stand there; a noise, a cold shower, a warm drum and marks on a load do not."""
each_machine = pytest.mark.parametrize("name", [name for name in NAMES if SHOWN_STANDING[name]])
"""Each that has some: nothing is to be judged on another."""


def unpowered(machine: model.Machine) -> list[Step]:
    """The steps that want no power."""
    return [step for step in steps.symptom_steps(machine) if machine.symptoms[step.at].unpowered]


def states(machine: model.Machine) -> list[JobState]:
    """As the owner left it, at work, isolated, and with the plug out or the breaker off."""
    out = conditions.condition(machine, dict(machine.supply.isolates))
    dead = conditions.condition(machine, isolated=True)
    return [JobState(), *(JobState(condition=at) for at in (conditions.usual(machine), dead, out))]


@pytest.mark.parametrize("name", library.names())
def test_what_shows_without_power_is_known(name: str) -> None:
    """Each machine of the library against a list made by hand."""
    machine = loading.load(name)
    assert {step.at for step in unpowered(machine)} == SHOWN_STANDING[name]
    assert [step.condition for step in unpowered(machine)] == [None] * len(SHOWN_STANDING[name])
    soon = {name: one for name, one in machine.symptoms.items() if one.takes <= steps.LONGEST}
    seen = [name for name, symptom in soon.items() if symptom.kind != "tingles"]
    assert [step.at for step in steps.symptom_steps(machine)] == seen  # nobody touches a frame for that


def test_gas_is_smelt_without_power() -> None:
    """No switch is touched for it."""
    machine = loading.load(GAS)
    assert "smell of gas" in {step.at for step in unpowered(machine)}


@pytest.mark.parametrize("said", ["takes: 10 min", "set: {door: open}", "carried by: compressor"])
def test_what_wants_the_machine_run_is_looked_for_at_work(said: str) -> None:
    """Water that only runs while something is done is not looked for on a dead machine."""
    text = library.text("refrigerator").replace("{leaks: [drain],", f"{{leaks: [drain], {said},")
    machine = loading.read_sheet(text, "x").machine
    (step,) = (one for one in steps.symptom_steps(machine) if one.at == "water inside")
    assert not machine.symptoms["water inside"].unpowered
    assert step.condition is not None
    assert not step.condition.isolated


@each_machine
def test_no_condition_changes_what_would_be_seen(name: str) -> None:
    """That is what makes it right to look without power: every named setting, live and isolated, every fault."""
    machine, predictor = bench(name).machine, bench(name).predictor
    named = machine.settings.values()
    given = [conditions.condition(machine, one, isolated=dead) for one in named for dead in (False, True)]
    for step in unpowered(machine):
        all_of_them = [predictor.symptom(step.at, at, False) for at in given]
        assert len(all_of_them) > 1
        assert all((one == other).all() for one, other in pairwise(all_of_them))
        moved = np.flatnonzero(all_of_them[0] != all_of_them[0][0])
        assert len(moved)
        assert (predictor.candidates.acting[moved] == 1).all()  # a fault that comes and goes might not be there


@each_machine
def test_it_costs_no_switching_and_leaves_the_machine_as_it_stands(name: str) -> None:
    """From whatever state: eyes only, neither run nor set, in the table, and not asked twice."""
    asked, machine = adviser(name), bench(name).machine
    for step in unpowered(machine):
        assert step in asked.steps.place_of
        for state in states(machine):
            cost = pricing.cost_of(machine, state, step)
            assert (cost.minutes, cost.itself) == (machine.handwork.perceive, machine.handwork.perceive)
            after = taken.after(machine, state, step)
            assert after == replace(state, done=frozenset({step}))
            done = safely.prepared(machine, safely.begin(machine), state, after, step)
            assert done.kinds == {Kind.LOOK}
            assert done.cautions == ()
            told = wording.sentence(bench(name).predictor, state, step, (), done.kinds)
            assert told == f"See for yourself: {machine.symptoms[step.at].question}"


@each_machine
def test_beside_open_covers_it_is_proved_dead_first(name: str) -> None:
    """As for every look while the machine stands open: nobody kneels beside live terminals."""
    machine = bench(name).machine
    bay = next(one for one in machine.bays if one != "breaker panel")
    for step in unpowered(machine):
        state = JobState(frozenset({bay}), conditions.usual(machine))
        done = safely.prepared(
            machine, safely.begin(machine)._replace(opened=True), state, taken.after(machine, state, step), step
        )
        assert Kind.ISOLATE in done.kinds
        assert Kind.PROVE_DEAD in done.kinds
        assert not {Kind.RUN, Kind.WATCH, Kind.ENERGISE} & done.kinds


@each_machine
def test_what_is_answered_is_known_again(name: str) -> None:
    """The answer is a finding without a setting, from which the step is known; what is seen counts as a look does."""
    asked, machine = adviser(name), bench(name).machine
    for step in unpowered(machine):
        found = answers.understood(asked.bench.predictor, step, "yes")
        assert found == f.Perceived(step.at, True, None, "repairer")
        assert steps.of_finding(found) == step
        assert not weigh.is_unstated(found, machine)
        assert found in [one.finding for one in shown.outcomes(asked.bench.weigh([]), step)]
        (again,) = findings_file.read(f"[{findings_file.written(found)}]", "x", machine)
        assert again == found
        assert step in advising.standing(asked, [again]).done


@each_machine
def test_it_weighs_what_it_would_weigh_in_a_setting(name: str) -> None:
    """The same posterior as when it is seen in the usual condition, alone and beside what an owner told."""
    used, machine = bench(name), bench(name).machine
    owner = f.Perceived(next(iter(machine.symptoms)), False)
    for step in unpowered(machine):
        for more in ((), (owner,)):
            seen, stated = (
                used.weigh([*more, f.Perceived(step.at, True, at, "repairer")], with_pairs=False)
                for at in (None, conditions.usual(machine))
            )
            np.testing.assert_allclose(seen.posterior.probability, stated.posterior.probability, atol=1e-12)


def test_a_setting_before_it_is_not_taken_over() -> None:
    """A repairer's file: the machine stays isolated; an owner's word is read as before; minutes may be said."""
    machine = loading.load("water-heater")
    text = (
        "- reading: {meter: ohms, red: limit.1, black: limit.2, set: {warmth: top hot}, value: 0.2}\n"
        f"- symptom: {{what: {WATER}, value: no, by: repairer, took: 20 s}}\n"
        f"- symptom: {{what: {WATER}, value: no}}\n"
        f"- symptom: {{what: {WATER}, value: yes, by: repairer, set: {{breaker: off}}}}\n"
    )
    _, seen, told, off = findings_file.read(text, "x", machine)
    assert seen == f.Perceived(WATER, False, None, "repairer")
    assert isinstance(told, f.Perceived)
    assert told.condition == conditions.condition(machine, {"warmth": "top hot"})
    assert isinstance(off, f.Perceived)
    assert off.condition is not None
    assert off.condition.position("breaker") == "off"


def test_seen_in_a_setting_it_is_not_asked_again() -> None:
    """What a repairer says of it with a setting is the same thing seen."""
    asked = adviser("refrigerator")
    at = conditions.usual(asked.bench.machine)
    state = advising.standing(asked, [f.Perceived(FROST, False, at, "repairer")])
    assert Step("symptom", None, at=FROST) in state.done


def test_an_owner_is_asked_as_before() -> None:
    """In the usual setting, among the questions before a visit."""
    asked = adviser("refrigerator")
    machine = asked.bench.machine
    made = visit.questions(asked, asked.bench.weigh([f.Perceived("freezer is cold", False)]), lambda _: True)
    (frost,) = (one for one in made if one.what == FROST)
    assert frost.condition == conditions.usual(machine)
    assert all(isinstance(one.condition, Condition) for one in made)


def test_a_complaint_of_it_is_looked_at_first_and_dead() -> None:
    """Frost told by the owner and nothing else: the repairer is led to look, with no power."""
    machine = loading.load("refrigerator")
    guided = guiding.Guided(advising.adviser(remembering.bench(machine, ""))).told(f.Perceived(FROST, True))
    first = Step("symptom", None, at=FROST)
    advice = advising.advice_for(guided.asked, guided.weighed, first)
    assert advice.text == f"See for yourself: {machine.symptoms[FROST].question}"
    assert not advice.live
    data = advising.as_data(advice)
    assert (data["set"], data["isolated"], data["cautions"]) == (None, None, [])
