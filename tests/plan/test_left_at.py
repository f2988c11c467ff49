"""A bay whose opening leaves the machine at a warmth: all behind it is read, priced and told at that one only."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfsplit.evidence import findings_file
from halfsplit.machine import library, loading, model
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.operate.effect import HEALTHY
from halfsplit.operate.settle import Operation
from halfsplit.plan import barring, opened, pricing, steps, taken
from halfsplit.plan.odd import odd_steps
from halfsplit.predict.readings import Probe, Readings
from halfsplit.rehearse import order
from halfsplit.work import warms
from halfsplit.work.state import JobState

FRIDGE = loading.load("refrigerator")
USUAL = conditions.condition(FRIDGE, {}, isolated=True)
ACROSS = Probe("ohms", "terminator.1", "terminator.2")


def lies_behind(step: steps.Step) -> bool:
    """Whether a step wants the coil cover open, told from the parts alone."""
    return "coil cover" in steps.bays_needed(FRIDGE, step)


def reading(at: Condition, *pair: str) -> steps.Step:
    """Ohms between two terminals, in a condition."""
    return steps.Step("reading", at, Probe("ohms", *pair), places=pair)


THAWED = reading(conditions.at_warmth(USUAL, "warm"), "terminator.1", "terminator.2")
FAR = reading(USUAL, "defrost timer.1", "defrost timer.3")
LOOK = steps.Step("look", at="terminator", places=("terminator",))


def test_what_lies_behind_is_offered_at_that_warmth_only() -> None:
    """Every reading behind the cover is of a thawed machine, also the odd ones; elsewhere there are others, too."""
    made = [one for one in (*steps.dead_steps(FRIDGE), *steps.live_steps(FRIDGE)) if one.condition]
    behind = [one.condition.position(WARMTH) for one in made if one.condition and lies_behind(one)]
    assert len(behind) > 100
    assert set(behind) == {"warm"}
    assert len({one.condition.position(WARMTH) for one in made if one.condition and not lies_behind(one)}) > 1
    strange = odd_steps(FRIDGE)
    odd = [strange.step(n) for n in range(0, len(strange), 17)]
    assert {one.condition.position(WARMTH) for one in odd if one.condition and lies_behind(one)} == {"warm"}


def test_elsewhere_each_dead_step_can_be_made_before_and_after() -> None:
    """What does not lie behind the cover is offered cold and thawed, else the same."""
    cold = {one for one in steps.dead_steps(FRIDGE) if one.condition and not lies_behind(one)}
    for one in cold:
        assert one.condition is not None
        assert replace(one, condition=conditions.at_warmth(one.condition, "warm")) in cold


@pytest.mark.parametrize("step", [THAWED, LOOK], ids=["reading", "look"])
@pytest.mark.parametrize("state", [JobState(), JobState(condition=USUAL), JobState(condition=conditions.usual(FRIDGE))])
def test_opening_leaves_the_warmth(state: JobState, step: steps.Step) -> None:
    """Whatever is done behind the cover first, the machine stands thawed from then on, also through another look."""
    after = taken.after(FRIDGE, state, step)
    then = taken.after(FRIDGE, after, steps.Step("look", at="timer cam", places=("timer cam",)))
    for one in (after, then):
        assert one.condition is not None
        assert one.condition.position(WARMTH) == "warm"


def test_thawing_is_in_the_minutes_of_opening() -> None:
    """No wait is charged for a warmth that opening leaves, nor once it is there."""
    assert pricing.cost_of(FRIDGE, JobState(condition=USUAL), THAWED).waiting == 0.0
    after = taken.after(FRIDGE, JobState(condition=USUAL), THAWED)
    assert pricing.cost_of(FRIDGE, after, THAWED).waiting == 0.0


def test_with_it_open_nothing_dead_is_read_cold() -> None:
    """The same reading at the timer is barred cold and free thawed; with the cover shut none is barred."""
    after = taken.after(FRIDGE, JobState(), THAWED)
    thawed = replace(FAR, condition=conditions.at_warmth(USUAL, "warm"))
    assert barring.bars(FRIDGE, after, FAR)
    assert not barring.bars(FRIDGE, after, thawed)
    assert not any(barring.bars(FRIDGE, JobState(), one) for one in (FAR, thawed))
    assert opened.in_reach(FRIDGE, opened.warmths([FAR, thawed, LOOK]), after).tolist() == [False, True, True]


def test_it_takes_no_heat_of_the_machine() -> None:
    """A machine that was found not to heat is thawed all the same."""
    told = findings_file.read("- symptom: {what: frost melts in defrost, value: no}", "told", FRIDGE)
    assert warms.can_be_met(FRIDGE, told, THAWED.condition, lambda _: True)
    live = conditions.condition(FRIDGE, {"warmth": "warm"})
    assert not warms.can_be_met(FRIDGE, told, live, lambda _: True)


def shown(setting: dict[str, str], *pair: str) -> float:
    """Ohms between two terminals of the healthy machine, which are reached as they are."""
    at = conditions.condition(FRIDGE, conditions.as_reached(FRIDGE, setting, pair), isolated=True)
    return float(Readings(Operation(FRIDGE)).read(Probe("ohms", *pair), at, (HEALTHY,)).value[0])


def test_a_healthy_terminator_is_open_when_reached_and_told_closed_before() -> None:
    """Thawed it is open; from the kick plate, before the thaw, its way through the heater reads; chilled by hand, as
    the finding then states, it is closed."""
    assert np.isinf(shown({}, "terminator.1", "terminator.2"))
    assert shown({}, "defrost timer.2", "defrost timer.3") == pytest.approx(31.2, rel=0.02)
    assert shown({"warmth": "working"}, "terminator.1", "terminator.2") < 1.0


FINDINGS = """
- reading: {meter: ohms, red: defrost timer.2, black: defrost timer.3, set: {defrost: cooling}, value: 31 ohm}
- reading: {meter: ohms, red: terminator.1, black: terminator.2, value: OL}
- reading: {meter: ohms, red: defrost timer.1, black: defrost timer.3, value: 3.2k}
- reading: {meter: ohms, red: terminator.1, black: terminator.2, set: {warmth: working}, value: 0.1 ohm}
"""


def test_findings_take_the_warmth_of_where_they_were_made() -> None:
    """Cold before the cover, thawed behind it and from then on, and as stated where it is; echoed in full."""
    found = findings_file.read(FINDINGS, "found", FRIDGE)
    echoed = [findings_file.written(one)["reading"] for one in found]
    assert [one["set"][WARMTH] for one in echoed] == ["working", "warm", "warm", "working"]  # type: ignore[index]


def test_orders_are_followed_on_the_machine_as_it_was_opened() -> None:
    """In a fixed order, what is read dead after the cover is read thawed, and before it cold."""
    text = (
        "- reading: {meter: ohms, red: defrost timer.1, black: defrost timer.3}\n"
        "- look: {at: terminator}\n"
        "- reading: {meter: ohms, red: defrost timer.1, black: defrost timer.3}\n"
    )
    first, _, last = order.read(text, "order", FRIDGE)
    assert first.condition is not None
    assert last.condition is not None
    assert [one.condition.position(WARMTH) for one in (first, last) if one.condition] == ["working", "warm"]


def test_forgetting_to_set_freezes_nothing() -> None:
    """The slip of controls left at rest keeps the warmth that opening left, and no other."""
    thawed = conditions.condition(FRIDGE, {"defrost": "defrost", "warmth": "warm"}, isolated=True)
    assert conditions.not_set(FRIDGE, thawed) == conditions.at_warmth(USUAL, "warm")
    cold = conditions.condition(FRIDGE, {"defrost": "defrost", "warmth": "cold"}, isolated=True)
    assert conditions.not_set(FRIDGE, cold) == USUAL


@pytest.mark.parametrize("name", [name for name in library.names() if name != "refrigerator"])
def test_other_machines_are_left_as_they_were(name: str) -> None:
    """Where no bay leaves a warmth, no step is moved, added or barred."""
    machine: model.Machine = loading.load(name)
    settings = steps.dead_settings(machine)
    assert steps.with_left(machine, settings) == settings
    assert machine.warmth_behind(machine.bays) == ""
