"""What the machine has to run for until a symptom is seen: told alike by everything that prices a step."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading, model
from halfsplit.operate import condition as conditions
from halfsplit.plan import odd, pricing, problem, steps, switching, table, taken, view, visit
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.work.pace import Factor, Pace, paced
from halfsplit.work.state import JobState
from tests.rehearse.benches import NAMES, adviser, bench

each_machine = pytest.mark.parametrize("name", NAMES)
COLD = ("freezer is cold", "food is cold")
LOAD, AIR = "one load dries in time", "air is warm"


def seen(name: str, what: str) -> Step:
    """The step that sees a symptom."""
    return next(step for step in steps.symptom_steps(bench(name).machine) if step.at == what)


@each_machine
def test_each_symptom_in_the_table_has_the_price_of_its_own_minutes(name: str) -> None:
    """However prices are grouped: against each step priced by itself."""
    asked, machine = adviser(name), bench(name).machine
    for state in (JobState(), JobState(condition=conditions.usual(machine))):
        prices, waited = asked.steps.priced(state), 0
        for k, step in enumerate(asked.table.steps):
            if step.kind == "symptom":
                found = prices.of(k)
                assert found == pricing.plain(machine, state, step).where(pricing.NOTHING)
                known = machine.symptoms[step.at]
                assert found.cost.running in ((0.0, known.takes) if known.shows_as_left else (known.takes,))
                waited += found.cost.running > 0
        assert waited > 0


@each_machine
def test_a_price_that_is_kept_is_no_other_history_s(name: str) -> None:
    """A machine that stands in one condition, looked on there alone or run in another before: what shows as its owner
    left it is there to see in the first only, whichever of the two was priced first."""
    asked, machine = adviser(name), bench(name).machine
    shown = [k for k, s in enumerate(asked.table.steps) if s.kind == "symptom" and machine.symptoms[s.at].shows_as_left]
    differ = 0
    for k in shown:
        step = asked.table.steps[k]
        other = next(s for s in asked.table.steps if s.live and s.condition not in (None, step.condition))
        watched, ran = (JobState(condition=step.condition, done=frozenset(done)) for done in ((), (other,)))
        for first, then in ((watched, ran), (ran, watched)):
            grouped = pricing.Grouped(machine, asked.table.steps, asked.table.odd)
            for state in (first, then):
                assert grouped.priced(state).of(k) == pricing.plain(machine, state, step).where(pricing.NOTHING)
        differ += pricing.cost_of(machine, watched, step) != pricing.cost_of(machine, ran, step)
    assert differ or not any(machine.symptoms[asked.table.steps[k].at].takes for k in shown)


def test_two_symptoms_of_one_run_are_priced_apart() -> None:
    """The dryer on timed high heat: warm air is felt at once, a load is dry after 40 minutes."""
    asked = adviser("vented-dryer")
    load, air = (asked.steps.place_of[seen("vented-dryer", what)] for what in (LOAD, AIR))
    assert asked.table.steps[load].condition == asked.table.steps[air].condition
    prices = asked.steps.priced(JobState())
    hands = asked.bench.machine.handwork.perceive
    assert prices.of(load).cost.minutes - prices.of(air).cost.minutes == pytest.approx(40.0 - hands)


@each_machine
@pytest.mark.parametrize("found", [True, False], ids=["as left", "usual setting"])
def test_the_arrays_of_a_plan_have_the_same_minutes(name: str, found: bool) -> None:
    """Every symptom that shows outside: its own minutes and the change of mode in the arrays are what it costs from
    where things stand. What bays cost stands elsewhere in the arrays."""
    asked, machine = adviser(name), bench(name).machine
    state = JobState() if found else JobState(condition=conditions.usual(machine))
    chosen = [s for s in asked.table.steps if s.kind == "symptom" and not steps.bays_needed(machine, s)]
    modes = switching.Modes(machine, state)
    made = view._tests(asked, state, np.zeros((len(chosen), 1, 1)), chosen, modes)
    changing = modes.switching()[0]
    own = zip(np.asarray(made.minutes).tolist(), np.asarray(made.mode).tolist(), strict=True)
    for step, (itself, mode) in zip(chosen, own, strict=True):
        switched = 0.0 if mode == problem.ANY_MODE else changing[mode]
        assert (mode == problem.ANY_MODE) == machine.symptoms[step.at].unpowered
        assert itself + switched == pytest.approx(pricing.cost_of(machine, state, step).minutes)


def test_of_two_that_tell_the_same_the_one_seen_sooner_is_kept_as_well() -> None:
    """Named first and seen late, a symptom does not keep another out of the table that is seen at once."""
    tank = loading.load("water-heater")
    late = tank.symptoms["water gets hot"]
    both = {"late": replace(late, name="late"), "soon": replace(late, name="soon", takes=0.0)}
    made = Bench(replace(tank, symptoms=both))
    offered = tuple(steps.symptom_steps(made.machine))
    strange = odd.odd_steps(made.machine)
    kept = table.compiled(made.predictor, (*offered, *offered), strange.take(np.array([], np.intp))).steps
    assert [step.at for step in kept] == ["late", "soon"]


def test_a_slow_shop_does_not_slow_the_machine() -> None:
    """Three times the minutes for what hands and eyes do; 40 minutes of running stay 40."""
    dryer = loading.load("vented-dryer")
    slow = paced(dryer, Pace({"perceiving": Factor(3.0), "changing": Factor(3.0)}))
    at = {what: seen("vented-dryer", what) for what in (LOAD, AIR)}
    quick, slowly = ({what: pricing.cost_of(one, JobState(), at[what]) for what in at} for one in (dryer, slow))
    assert slowly[LOAD].running == quick[LOAD].running == 40.0
    assert slowly[LOAD].itself == quick[LOAD].itself == 0.0
    assert slowly[AIR].itself == pytest.approx(3 * quick[AIR].itself)
    assert slowly[LOAD].setting == pytest.approx(3 * quick[LOAD].setting)


def test_on_the_phone_a_question_costs_no_running() -> None:
    """The owner has seen it already: at one pace on site a question saves the same, however long its answer takes."""
    tank = loading.load("water-heater")
    at_once = replace(tank, symptoms={what: replace(one, takes=0.0) for what, one in tank.symptoms.items()})
    saved = [_saved(machine, "hot water lasts") for machine in (tank, at_once)]
    assert saved[0] == pytest.approx(saved[1])
    assert saved[0] > 1.0


def _saved(machine: model.Machine, what: str) -> float:
    """Minutes that asking for a symptom saves, after a complaint, where a minute on site tells a tenth of a bit."""
    weighed = Bench(machine).weigh([f.Perceived("water gets hot", True)])
    at = next(step.condition for step in steps.symptom_steps(machine) if step.at == what)
    assert at is not None
    return visit.question(weighed, what, at, 0.1).saving


def test_a_freezer_in_use_is_felt_at_once() -> None:
    """As its owner left it, one thing after the other; once it was switched off it has to run a quarter of an hour."""
    machine = loading.load("refrigerator")
    freezer, food = (steps.Step("symptom", steps.met_in(machine, machine.symptoms[what]), at=what) for what in COLD)
    state, hands = JobState(), machine.handwork.perceive
    assert pricing.cost_of(machine, state, freezer).minutes == hands
    state = taken.after(machine, state, freezer)
    assert pricing.cost_of(machine, state, food).minutes < hands
    at, probe = conditions.condition(machine, isolated=True), Probe("ohms", "receptacle.prong L", machine.frame)
    dead = steps.Step("reading", at, probe)
    state = taken.after(machine, taken.after(machine, state, food), dead)
    assert [pricing.cost_of(machine, state, one).running for one in (freezer, food)] == [15.0, 30.0]
    assert pricing.cost_of(machine, taken.tried(machine, state), freezer).running == 15.0
