"""What a step costs, against minutes added up by hand from the dryer's file."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.machine import loading
from halfsplit.operate.condition import Condition, condition
from halfsplit.work import minutes, waits
from halfsplit.work.state import JobState, with_fronts

DRYER = loading.load("vented-dryer")
HANDS = DRYER.handwork
BAYS = sorted(DRYER.bays)
DEAD = condition(DRYER, isolated=True)
ISOLATED = JobState(condition=DEAD)


def test_a_bay_is_opened_once_and_free_when_open() -> None:
    """Top 3 + 3, drum space 5 + 7, drum housing 7 + 9 minutes; the second reading there costs its own time."""
    first = minutes.cost(DRYER, ISOLATED, 0.6, ("drum housing",), DEAD)
    assert (first.opening, first.closing, first.power) == (15.0, 19.0, 0.0)
    opened = replace(ISOLATED, open_bays=frozenset(with_fronts(DRYER, ("drum housing",))))
    assert minutes.cost(DRYER, opened, 0.6, ("drum housing",), DEAD) == minutes.Cost(0.6)


@given(st.lists(st.sampled_from(BAYS), max_size=4), st.sets(st.sampled_from(BAYS)))
def test_shared_fronts_are_paid_for_once(wanted: list[str], opened: set[str]) -> None:
    """Bays together cost what their distinct shut fronts cost, whatever their order."""
    state = replace(ISOLATED, open_bays=frozenset(opened))
    cost = minutes.cost(DRYER, state, 0.0, tuple(wanted), DEAD)
    shut = {bay for one in wanted for bay in with_fronts(DRYER, (one,))} - opened
    assert cost.minutes == pytest.approx(sum(DRYER.bays[b].open_minutes + DRYER.bays[b].close_minutes for b in shut))
    assert cost == minutes.cost(DRYER, state, 0.0, tuple(reversed(wanted)), DEAD)


def test_power_is_paid_for_when_it_changes() -> None:
    """Isolating a live machine, and bringing the power back; nothing where it stands already."""
    live = condition(DRYER)
    assert minutes.cost(DRYER, JobState(), 0.0, (), DEAD).power == HANDS.isolate
    assert minutes.cost(DRYER, ISOLATED, 0.0, (), live).power == HANDS.energise
    assert minutes.cost(DRYER, ISOLATED, 0.0, (), DEAD).power == 0.0
    assert minutes.cost(DRYER, JobState(condition=live), 0.0, (), live).power == 0.0


def test_no_bay_is_opened_under_power() -> None:
    """A look or a live reading behind a cover is isolated for, first."""
    assert minutes.cost(DRYER, JobState(), 0.3, ("top",), None).power == HANDS.isolate
    assert minutes.cost(DRYER, ISOLATED, 0.3, ("top",), None).power == 0.0
    assert minutes.cost(DRYER, JobState(), 0.3, (), None) == minutes.Cost(0.3)


def test_wires_are_lifted_and_put_back() -> None:
    """Two terminals off and on again cost four times pulling or pushing, the same ones again nothing; old spades break
    when they come off, never when they go on, nor of a part that plugs in."""
    off = condition(DRYER, isolated=True, lift=["heater.common", "heater.front"])
    assert minutes.cost(DRYER, ISOLATED, 0.0, (), off).lifting == 2 * HANDS.lift
    lifted = JobState(condition=off)
    assert minutes.cost(DRYER, lifted, 0.0, (), off).lifting == 0.0
    assert minutes.cost(DRYER, lifted, 0.0, (), DEAD).lifting == 2 * HANDS.lift
    changes = ((ISOLATED, off), (lifted, off), (lifted, DEAD))
    assert [minutes.cost(DRYER, state, 0.0, (), at).spades for state, at in changes] == [2 * HANDS.spade, 0.0, 0.0]
    cooktop = loading.load("coil-cooktop")
    dead = JobState(condition=condition(cooktop, isolated=True))
    out = condition(cooktop, isolated=True, lift=["left front burner.1", "left front burner.2"])
    assert minutes.cost(cooktop, dead, 0.0, (), out).spades == 0.0


def test_controls_are_set_one_by_one() -> None:
    """Two controls moved from rest; warmth is no control but takes its time."""
    moved = condition(DRYER, {"cycle": "timed", "heat": "low"}, isolated=True)
    assert minutes.cost(DRYER, ISOLATED, 0.0, (), moved).setting == pytest.approx(2 * HANDS.set)
    hot = Condition(condition(DRYER, {"warmth": "hot"}).setting)
    assert minutes.cost(DRYER, JobState(condition=condition(DRYER)), 0.0, (), hot).waiting == waits.WARM_UP
    cold = minutes.cost(DRYER, JobState(condition=hot), 0.0, (), DEAD)
    assert (cold.waiting, cold.setting) == (waits.COOL_DOWN, 0.0)


def test_what_has_to_run_is_waited_for_after_its_warmth() -> None:
    """Hot drum: six minutes to get there, then three until it is seen whether it goes on heating; none of hands."""
    at = Condition(condition(DRYER, {"warmth": "hot"}).setting)
    takes = minutes.running(DRYER, "symptom", "keeps heating when hot")
    hands = minutes.itself(DRYER, "symptom", "keeps heating when hot")
    cold = minutes.cost(DRYER, JobState(condition=condition(DRYER)), hands, (), at, takes)
    assert (cold.waiting, cold.running, cold.itself) == (waits.WARM_UP, 3.0, 0.0)
    assert cold.minutes == cold.passed == waits.WARM_UP + 3.0
    assert minutes.cost(DRYER, JobState(condition=at), hands, (), at, takes) == minutes.Cost(running=3.0)


def test_a_run_to_come_cools_nothing() -> None:
    """What is hot is let cool before hands come to it; the run for which they do is after that."""
    assert minutes.cooling(JobState(warm=10.0), minutes.Cost(power=2.0, running=40.0)) == 8.0


def test_what_is_seen_in_passing_takes_a_moment() -> None:
    """Where the file says nothing, and for readings and looks of the same name."""
    assert minutes.itself(DRYER, "symptom", "motor hums") == HANDS.perceive
    assert minutes.running(DRYER, "symptom", "motor hums") == 0.0
    assert minutes.running(DRYER, "look", "one load dries in time") == 0.0
    assert minutes.itself(DRYER, "look", "one load dries in time") == HANDS.look
