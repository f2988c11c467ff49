"""While water stands on the floor nothing is done under power: not advised, not planned, not rehearsed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import ahead, fitting, powering, setups
from halfsplit.plan.score import Adviser, Scored
from halfsplit.plan.steps import Step
from halfsplit.rehearse import order, play, trials
from halfsplit.service import advising, guiding, rehearsing
from halfsplit.work import stopping
from halfsplit.work.refusals import NoOwner, NoPower
from tests.rehearse import benches
from tests.rehearse.benches import adviser

WET = f.Perceived(stopping.WATER, True)
DRY = f.Perceived(stopping.WATER, False, None, "repairer")
COMPLAINT = f.Perceived("hot water lasts", False)
FAULTS = ("drain valve: worn", "tank: leaks")


def asked() -> Adviser:
    """Of the water heater, the one machine of the library that can flood."""
    return adviser("water-heater")


def wants_power(step: Step) -> bool:
    """On the water heater."""
    return powering.wants_power(asked().bench.machine, step)


def offered(*findings: f.Finding, refused: tuple[object, ...] = (NoOwner(),)) -> list[Step]:
    """The best forty steps after these findings, the owner out."""
    state = advising.standing(asked(), findings, refused)
    return [one.step for one in fitting.next_steps(asked(), asked().bench.weigh(findings), state, 40)]


def test_no_step_under_power_is_advised_until_the_water_is_gone() -> None:
    """With the complaint alone some want power; with water none does, whoever saw it; with the water gone some do."""
    assert any(map(wants_power, offered(COMPLAINT)))
    for wet in ((WET,), (WET, stopping.breaker_off(asked().bench.machine))):
        steps = offered(COMPLAINT, *wet)
        assert len(steps) > 5
        assert not any(map(wants_power, steps))
        assert any(map(wants_power, offered(COMPLAINT, *wet, DRY)))


def test_none_is_planned_many_steps_ahead() -> None:
    """Nor does any step of the arrays that are looked ahead in want it."""
    planner, told = ahead.Ahead(benches.guide("water-heater")), [COMPLAINT, WET]
    view = planner.view(asked().bench.weigh(told), advising.standing(planner, told))
    assert len(view.steps) > 5
    assert not any(map(wants_power, view.steps))


def test_the_guide_leads_on_without_power() -> None:
    """From the water, the breaker off, by looks and ohms: all that is seen is fine, all that is read is open."""
    started = guiding.Guided(benches.guide("water-heater"), (COMPLAINT, WET), frozenset({NoOwner()}))
    now = started.breaker_off()
    for _ in range(8):
        if now.due or now.advice is None or now.advice.step.kind == advising.STOP:
            break
        step = now.advice.step
        assert not wants_power(step)
        now = now.answered(step, "OL" if step.probe else "fine" if step.kind == "look" else "no")
    assert len(now.findings) > 4


@pytest.mark.parametrize("fault", FAULTS)
def test_no_rehearsed_step_is_under_power_in_the_wet(fault: str) -> None:
    """Ten jobs with a fault that lets water out: in those in which water is told or seen, no step after it."""
    jobs = trials.Rehearsal(asked(), trials.Asked(asked().bench.machine, 1, fault=fault))
    wet = 0
    for number in range(10):
        played = jobs.trial(number)
        assert played.unsafe_steps == 0
        wet += any(bool(stopping.barred(played.findings[:n])) for n in range(len(played.findings)))
    assert wet > 2


@pytest.mark.parametrize("kind", ["front-to-back", "cheapest-first"])
def test_a_fixed_order_passes_power_over_in_the_wet(kind: str) -> None:
    """On the refrigerator, whose orders have live steps: with water on its floor they choose dead ones only; dry they
    come to a live one."""
    fridge, complaint = adviser("refrigerator"), f.Perceived("freezer is cold", False)
    steps = rehearsing.read_order(f"refrigerator.{kind}", fridge.bench.machine)
    lives: dict[bool, list[bool]] = {}
    for wet in (True, False):
        told = [complaint, f.Perceived(stopping.WATER, wet)]
        weighed, state, lives[wet] = fridge.bench.weigh(told), advising.standing(fridge, told, ()), []
        choose = order.followed(_Paying(fridge), steps)
        while (chosen := choose(weighed, state)) is not None:
            lives[wet].append(powering.wants_power(fridge.bench.machine, chosen[0]))
            state = replace(state, done=state.done | {chosen[0]})
    assert len(lives[True]) > 5
    assert not any(lives[True])
    assert any(lives[False])


class _Paying(setups.Setups):
    """An adviser for whom every step pays, so that an order goes to its end."""

    def __init__(self, like: Adviser) -> None:
        super().__init__(like.bench, like.table)

    def pays(self, weighed: Weighed, advised: Scored, to_see: float = 0.0) -> bool:
        """Always."""
        return True


def test_power_in_the_wet_counts_as_unsafe() -> None:
    """Running the heater in the wet, and whatever comes after a jacket that tingles."""
    machine = asked().bench.machine
    run = next(step for step in asked().steps.usual if step.kind == "symptom" and wants_power(step))
    look = next(step for step in asked().steps.usual if step.kind == "look")
    assert play.is_unsafe(machine, [WET], run)
    assert not play.is_unsafe(machine, [WET], look)
    assert not play.is_unsafe(machine, [WET, DRY], run)
    assert play.is_unsafe(machine, [f.Perceived("jacket tingles", True)], look)


def test_who_cannot_have_power_is_asked_for_none() -> None:
    """Said by the person, whatever the reason; what the owner is asked wants none."""
    steps = offered(COMPLAINT, refused=(NoPower(),))
    assert any(step.asks for step in steps)
    assert not any(map(wants_power, steps))
