"""Where going on could hurt, the advice is to stop, and nothing else."""

from __future__ import annotations

import pytest

from halfsplit.evidence import finding as f
from halfsplit.machine import loading
from halfsplit.service import advising, guiding
from halfsplit.work import stopping
from halfsplit.work.hazards import STOPS
from tests.rehearse.benches import guide

TINGLES = f.Perceived("cabinet tingles", True)
BURNT = f.Look("receptacle", "burnt")


@pytest.mark.parametrize(("found", "rule"), [(TINGLES, "tingling frame"), (BURNT, "burnt receptacle")])
def test_the_only_advice_is_to_stop(found: f.Finding, rule: str) -> None:
    """Neither a step nor a repair is offered; taking the finding back brings the steps back."""
    adviser = guide("vented-dryer")
    bench = adviser.bench
    (advice,) = advising.advise(adviser, bench.weigh([found]))
    assert advice.step.kind == advising.STOP
    assert STOPS[rule].say in advice.text
    assert advising.as_data(advice)["kind"] == "stop"
    guided = guiding.Guided(adviser).told(found)
    assert guided.due == ()
    assert all(one.step.kind != advising.STOP for one in advising.advise(adviser, bench.weigh([])))


def test_water_is_a_stop_until_the_breaker_is_off() -> None:
    """Breaker first, before the leak is looked for."""
    adviser = guide("water-heater")
    (advice,) = advising.advise(adviser, adviser.bench.weigh([f.Perceived(stopping.WATER, True)]))
    assert advice.step.kind == advising.STOP
    assert "breaker" in advice.text.casefold()


def test_what_is_fine_stops_nothing() -> None:
    """A frame that does not tingle, a receptacle that looks fine, a burnt part of the machine."""
    machine = loading.load("vented-dryer")
    fine: list[f.Finding] = [
        f.Perceived("cabinet tingles", False),
        f.Look("receptacle", "fine"),
        f.Look("heater.front", "burnt"),
    ]
    assert stopping.reason(machine, fine) is None
