"""Questions to the owner on site: what they cost and change, when they are offered, what they tell in a job."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.operate import condition as conditions
from halfsplit.plan import fitting, owner, pricing, problem, safely, shown, steps, switching, taken, visit
from halfsplit.plan.ahead import Ahead
from halfsplit.plan.setups import Setups
from halfsplit.plan.steps import QUESTION, Step
from halfsplit.rehearse import random_steps, trials
from halfsplit.work import minutes, refusals
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState
from tests.depth import tried
from tests.rehearse.benches import NAMES, adviser

each_machine = pytest.mark.parametrize("name", NAMES)
COMPLAINTS = {"vented-dryer": "air is warm", "water-heater": "water gets hot", "refrigerator": "food is cold"}


def questions(name: str) -> list[Step]:
    """Those in the table of a machine."""
    return [step for step in adviser(name).table.steps if step.kind == QUESTION]


@each_machine
def test_a_question_changes_nothing_and_is_always_safe(name: str) -> None:
    """However a random session has left the machine: it stands as before, the automaton too, and all that is done for
    a question is to ask; it costs its minutes whatever is open and whether the power is on."""
    machine, random = adviser(name).bench.machine, np.random.default_rng(5)
    met = 0
    for number in range(20):
        state, safe = JobState(), safely.begin(machine)
        for _, step, done in random_steps.Sessions(adviser(name), 0.0).session(np.random.default_rng([4, number])):
            assert isinstance(step, Step)
            state, safe = taken.after(machine, state, step), done.state
            question = questions(name)[int(random.integers(len(questions(name))))]
            after = taken.after(machine, state, question)
            assert replace(after, done=state.done, warm=state.warm) == state
            assert after.done == state.done | {question}
            asked = safely.prepared(machine, safe, state, after, question)
            assert [doing.kind for doing in asked.doings] == [Kind.ASK]
            assert asked.state == safe
            assert asked.cautions == ()
            assert pricing.cost_of(machine, state, question) == minutes.Cost(itself=minutes.QUESTION)
            met += bool(state.open_bays)
    assert met
    assert not any(question.live or steps.bays_needed(machine, question) for question in questions(name))


@each_machine
def test_a_question_fits_any_mode_of_a_plan(name: str) -> None:
    """No power and no setting is asked for on the way to it, whatever else is planned."""
    machine = adviser(name).bench.machine
    modes = switching.Modes(machine, JobState(condition=conditions.condition(machine, (), isolated=True)))
    assert set(modes.of_steps(questions(name))) == {problem.ANY_MODE}
    assert len(modes.known) == 1


@each_machine
def test_on_site_the_same_is_asked_as_on_the_phone(name: str) -> None:
    """The same symptoms in the same settings; on site those that tell nothing of any fault are left out."""
    asked = adviser(name)
    phone = {(one.what, one.condition) for one in visit.questions(asked, asked.bench.weigh([]), lambda _: True)}
    offered = {(step.at, step.met) for step in steps.questions(asked.bench.machine)}
    assert phone == offered
    assert {(step.at, step.met) for step in questions(name)} <= offered
    assert len(questions(name)) > 0.8 * len(offered)


@each_machine
def test_what_was_told_is_not_asked_again(name: str) -> None:
    """Told with the complaint, on the phone or on site, or seen by the repairer to be wrong in that setting: gone; seen
    by them to be well, or told of another setting: not."""
    asked = adviser(name)
    for question in questions(name):
        told = f.Perceived(question.at, True)
        assert question.met is not None
        on_the_phone = f.Perceived(question.at, False, question.met, "owner")
        elsewhere = replace(question.met, isolated=True)
        well = asked.bench.predictor.healthy_shows(question.at, question.met)
        seen = [replace(on_the_phone, there=there, by="repairer") for there in (not well, well)]
        for found, gone in (
            (told, True), (on_the_phone, True), (seen[0], True), (seen[1], False),
            (replace(on_the_phone, condition=elsewhere), False),
        ):  # fmt: skip
            done = owner.told(asked.bench.predictor, asked.steps.usual, [found])
            assert done == (frozenset({question}) if gone else frozenset())
            assert asked.allowed(JobState(done=frozenset[object](done)))[asked.steps.place_of[question]] != gone


@each_machine
def test_an_owner_who_is_not_there_is_asked_nothing(name: str) -> None:
    """One word refuses all questions, and nothing but questions; looking ahead keeps to it too."""
    asked = adviser(name)
    without = asked.allowed(JobState(refused=frozenset({refusals.NoOwner()})))
    for step, with_, can in zip(asked.table.steps, asked.allowed(JobState()), without, strict=True):
        assert can == (with_ and step.kind != QUESTION)
    weighed = asked.bench.weigh([f.Perceived(COMPLAINTS[name], False)])
    alone = JobState(refused=frozenset({refusals.NoOwner()}))
    for planner in (asked, Ahead(asked)):
        assert all(one.step.kind != QUESTION for one in planner.next_steps(weighed, alone, 20))


@each_machine
def test_both_answers_are_outcomes(name: str) -> None:
    """Yes and no in the owner's name, their chances adding up to 1; the owner errs as with the complaint."""
    weighed = adviser(name).bench.weigh([f.Perceived(COMPLAINTS[name], False)])
    for question in questions(name):
        found = shown.outcomes(weighed, question)
        assert sum(one.probability for one in found) == pytest.approx(1.0, abs=5e-3)
        for one in found:
            assert isinstance(one.finding, f.Perceived)
            assert (one.finding.by, one.finding.what, one.finding.condition) == ("owner", question.at, question.met)


def test_no_question_of_a_warmth_that_the_machine_cannot_have_reached() -> None:
    """A dryer that stays cold was never hot: what it does when hot is not asked for, though the table has it."""
    asked = adviser("vented-dryer")
    machine, cold = asked.bench.machine, [f.Perceived("air is warm", False), f.Perceived("drum turns", True)]
    hot = {q for q in questions("vented-dryer") if q.met and q.met.position(conditions.WARMTH) == "hot"}
    assert hot
    refused = frozenset[object](step for step in asked.table.steps if step not in hot)
    for told, some in (([], True), (cold, False)):
        best = fitting.next_steps(asked, asked.bench.weigh(told), JobState(refused=refused), len(hot))
        assert bool(best) == some
    assert machine.warmths


def test_a_rehearsed_job_asks_its_owner() -> None:
    """On the dryer questions are advised in some jobs, each once, none that the owner answered with the complaint."""
    rehearsal = trials.Rehearsal(adviser("vented-dryer"), trials.Asked(adviser("vented-dryer").bench.machine, 1))
    asked_in = 0
    for number in range(tried(2, 4)):
        played = rehearsal.trial(number)
        told = [x for x in played.findings if isinstance(x, f.Perceived) and x.by == "owner"]
        assert len({x.what for x in told}) == len(told)
        asked_in += any(x.condition is not None for x in told)
    assert asked_in


def test_a_dead_step_leads_though_the_question_before_it_does_not_fit() -> None:
    """A heater that stays cold: its owner cannot tell how long hot water lasts, and the meter goes first to what is
    dead, as it does where the owner is out."""
    asked = Setups(adviser("water-heater").bench, adviser("water-heater").table)
    cold = asked.bench.weigh([f.Perceived("water gets hot", False)])
    best = fitting.next_steps(asked, cold, JobState(), 3)
    others = [one.step for one in best if one.step.kind != QUESTION]
    out = fitting.next_steps(asked, cold, JobState(refused=frozenset({refusals.NoOwner()})))
    assert not others[0].live
    assert others[0] == out[0].step
