"""Changing from condition to condition in the arrays of a plan, against what the same steps cost one after another."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.machine import loading
from halfsplit.operate import condition as conditions
from halfsplit.plan import ahead, pricing, problem, taken
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.plan.switching import Modes
from halfsplit.work import places
from halfsplit.work.state import JobState, to_open
from tests.rehearse import benches

FRIDGE = loading.load("refrigerator")
USUAL = conditions.usual(FRIDGE)
RUN = Step("symptom", USUAL, at="compressor runs")
RAN = taken.after(FRIDGE, JobState(), RUN)


@cache
def planner() -> ahead.Ahead:
    """The planner of the refrigerator."""
    return ahead.Ahead(benches.adviser("refrigerator"))


def isolated_at(part: str) -> Step:
    """A look at a part, for which its bay is opened."""
    return Step("look", at=part, places=(part,))


@pytest.mark.parametrize("state", [JobState(), RAN], ids=["found", "run"])
def test_minutes_in_the_arrays_are_those_of_the_cost_from_here(state: JobState) -> None:
    """After a run as well: what is hot is waited for in both. Of steps in one hot mode the one that opens least sets
    what is still waited for, so the others are dearer in the arrays by no more than what they open beyond."""
    weighed = planner().bench.weigh([f.Perceived("compressor runs", False, USUAL, "repairer")])
    view, waited = planner().view(weighed, state), 0
    for step, found in zip(view.steps, view.problem.at(0, 0).test, strict=True):
        cost = pricing.cost_of(FRIDGE, state, step)
        if step.condition is not None and not step.condition.isolated:
            assert found <= cost.minutes + 1e-9
        else:
            assert cost.minutes - 1e-9 <= found <= cost.minutes + min(cost.opening, state.warm) + 1e-9
            waited += cost.cooling > 0
    assert (waited > 0) == (state.warm > 0)


def test_what_runs_and_what_is_hot_are_parted_by_a_wait() -> None:
    """20 minutes from a run to the compressor, less those of isolating and of opening the machine room."""
    modes = Modes(FRIDGE, JobState())
    look = isolated_at("compressor")
    running, hot, cold = modes.of_steps([RUN, look, isolated_at("cold control")])
    minutes = modes.switching()
    opened = sum(FRIDGE.bays[bay].open_minutes for bay in to_open(FRIDGE, JobState(), bays_needed(FRIDGE, look)))
    isolate = FRIDGE.handwork.isolate
    assert minutes[running, cold] == pytest.approx(isolate)
    assert minutes[running, hot] == pytest.approx(isolate + places.cooling(FRIDGE) - isolate - opened)
    assert minutes[0, hot] == minutes[0, cold] == pytest.approx(isolate)
    assert minutes[cold, hot] == minutes[hot, cold] == 0.0


def test_what_is_still_warm_is_waited_for_whatever_is_done_before() -> None:
    """A look elsewhere in between spares nothing: else a plan would look anywhere so as not to wait."""
    modes = Modes(FRIDGE, RAN)
    hot, cold = modes.of_steps([isolated_at("compressor"), isolated_at("cold control")])
    minutes = modes.switching()
    assert minutes[0, hot] > minutes[0, cold]
    assert minutes[cold, hot] == pytest.approx(RAN.warm - modes.opening[modes.known[hot]])


def test_where_nothing_gets_hot_no_mode_is_hot() -> None:
    """The water heater's file says so of its elements."""
    machine = loading.load("water-heater")
    modes = Modes(machine, JobState())
    numbers = modes.of_steps([Step("look", at="limit", places=("limit",)), isolated_at("dip tube")])
    assert not any(mode.hot for mode in modes.known)
    assert problem.ANY_MODE not in numbers
    assert np.all(modes.switching() >= 0)
