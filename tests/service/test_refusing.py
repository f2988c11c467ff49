"""What stands in the way of a step is said once and holds for the rest of the job."""

from __future__ import annotations

import pytest

from halfsplit.evidence import finding as f
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.service import advising, refusing
from halfsplit.service.guiding import Guided
from halfsplit.work import refusals
from halfsplit.work.state import with_fronts
from tests.rehearse.benches import adviser

COLD = f.Perceived("water gets hot", False)


def advised(guided: Guided) -> list[Step]:
    """The next dozen steps, best first."""
    return [one.step for one in advising.advise(guided.asked, guided.weighed, guided.refused, 12)]


def said(guided: Guided, step: Step) -> dict[str, object]:
    """What may be the matter with a step, in words, and what is refused by that."""
    state = advising.standing(guided.asked, guided.findings, guided.refused)
    return dict(refusing.of_step(guided.machine, state, step))


def test_a_cover_that_will_not_open_is_planned_around() -> None:
    """No step behind it is advised any more; a step elsewhere still is."""
    guided = Guided(adviser("water-heater"), (COLD,))
    step = next(one for one in advised(guided) if bays_needed(guided.machine, one))
    (bay, refusal) = next((w, r) for w, r in said(guided, step).items() if isinstance(r, refusals.CannotOpen))
    assert bay == f"the {refusal.bay} will not open"
    after = guided.without(refusal)
    assert advised(after)
    for one in advised(after):
        assert refusal.bay not in with_fronts(guided.machine, bays_needed(guided.machine, one))


@pytest.mark.parametrize("meter", ["ohms", "volts"])
def test_a_meter_without_a_function_is_planned_around(meter: str) -> None:
    """What it does not read is asked for no more."""
    guided = Guided(adviser("water-heater"), (COLD,))
    step = next(one for one in advised(guided) if one.probe and one.probe.meter == meter)
    after = guided.without(said(guided, step)[f"the meter does not read {meter}"])
    assert advised(after)
    assert all(one.probe is None or one.probe.meter != meter for one in advised(after))


def test_one_step_may_be_all_that_cannot_be_done() -> None:
    """Only it is gone then; every step can be refused so, a look from outside as well."""
    guided = Guided(adviser("water-heater"), (COLD,))
    for step in advised(guided):
        choices = said(guided, step)
        assert list(choices.values())[-1] == step
        assert step not in advised(guided.without(step))


def test_nobody_to_help_is_asked_where_two_lift() -> None:
    """Behind a cover that takes two people, and nowhere else."""
    guided = Guided(adviser("vented-dryer"), (f.Perceived("air is warm", False),))
    heavy = {name for name, bay in guided.machine.bays.items() if bay.people > 1}
    for step in guided.asked.steps.usual[::97]:
        behind = with_fronts(guided.machine, bays_needed(guided.machine, step))
        assert (refusals.NoHelper() in said(guided, step).values()) == bool(heavy.intersection(behind))
