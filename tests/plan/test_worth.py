"""When a step pays: the same rule on machines and in arrays, and what a wrong repair wastes is its own price."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import advise, policies, worth
from halfsplit.plan.ahead import Ahead
from halfsplit.plan.nodes import Nodes
from halfsplit.plan.problem import Repairs, Tests, build, cures_from
from halfsplit.plan.score import Scored
from halfsplit.plan.states import start
from halfsplit.work.minutes import Cost
from halfsplit.work.prices import price_together
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser, bench

WET = f.Perceived("water on the floor", True)
NOT_THE_TANK = (WET, f.Look("tank", "fine"))
NOT_THE_VALVE = (WET, f.Look("drain valve", "fine"))


def dearest_that_pays(weighed: Weighed) -> float:
    """The most minutes that a step may take which would tell all of what is unknown of the repair."""
    chances = np.array([*weighed.by_repair.values(), weighed.unexplained])
    unsure = float(-(chances * np.log2(np.maximum(chances, 1e-12))).sum())
    step = adviser("water-heater").next_steps(weighed, JobState())[0].step
    scored = Scored(step, unsure, Cost(), 0.0)
    low, high = 0.0, 1000.0
    for _ in range(40):
        middle = (low + high) / 2
        pays = adviser("water-heater").pays(weighed, replace(scored, extra=middle))
        low, high = (middle, high) if pays else (low, middle)
    return low


@pytest.mark.parametrize(
    ("findings", "likeliest"), [(NOT_THE_TANK, "replace drain valve"), (NOT_THE_VALVE, "tank: replace")]
)
def test_on_a_machine_a_wrong_repair_wastes_its_own_price(findings: tuple[f.Finding, ...], likeliest: str) -> None:
    """Before a tank is given up a step may take longer than before a valve is, and neither counts below the usual."""
    weighed = bench("water-heater").weigh(findings)
    names, chance = next(iter(weighed.by_repair.items()))
    assert names[0].startswith(likeliest)
    price = price_together([bench("water-heater").repairs[name] for name in names]).minutes
    expected = (1 - chance) * max(price, worth.WRONG_REPAIR)
    assert dearest_that_pays(weighed) == pytest.approx(expected, abs=1e-3)
    assert (price > 2 * worth.WRONG_REPAIR) == likeliest.startswith("tank")


@pytest.mark.parametrize(
    ("price", "tested"), [(50.0, False), (150.0, False), (199.0, False), (201.0, True), (600.0, True)]
)
def test_in_arrays_the_same_test_is_taken_before_a_dear_repair_only(price: float, tested: bool) -> None:
    """A test of 60 minutes that tells all, the likelier repair 70 % likely: it pays where 0.3 x price is above 60."""
    tests = Tests([[[1, 0], [0, 1]]], [60.0])
    made = build([0.7, 0.3], tests, Repairs(cures_from([0, 1]), [price, 150.0]))
    node = Nodes(made).root(start(made))
    assert (node.action(policies.as_advised(node)).kind == "test") == tested


@pytest.mark.parametrize(("minutes", "tested"), [(1.0, True), (6.0, False)])
def test_looking_ahead_a_cheap_test_comes_before_a_repair_that_is_all_but_sure(minutes: float, tested: bool) -> None:
    """97.5 % likely, 150 minutes where it is wrong, 3.75 of them expected: a test of one minute spares them, one of six
    does not. One step ahead makes the repair either way."""
    tests = Tests([[[1, 0], [0, 1]]], [minutes])
    made = build([0.975, 0.025], tests, Repairs(cures_from([0, 1]), [150.0, 150.0]))
    node = Nodes(made).root(start(made))
    assert node.action(policies.as_advised(node)).kind == "repair"
    for limits in (advise.LIMITS, advise.LIMITS._replace(exact_nodes=0)):
        assert (advise.advise(made, start(made), limits=limits).action.kind == "test") == tested


def test_who_looks_ahead_knows_enough_later(monkeypatch: pytest.MonkeyPatch) -> None:
    """One step ahead from 97 % on; looking ahead only where the search leaves out the rest."""
    quick, ahead = adviser("water-heater"), Ahead(adviser("water-heater"))
    weighed = bench("water-heater").weigh([WET])
    assert pytest.approx(1 - advise.LIMITS.budget.trim) == worth.CERTAIN
    for chance, one, many in ((0.96, False, False), (0.98, True, False), (0.999, True, True)):
        monkeypatch.setattr(Weighed, "likeliest", (("replace drain valve",), chance))
        assert (quick.knows_enough(weighed), ahead.knows_enough(weighed)) == (one, many)
