"""Two like things compared: which are found, how far apart healthy ones lie, and what their difference tells."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.plan import alike, pricing, steps, table, taken
from halfsplit.plan.setups import Setups
from halfsplit.plan.steps import Step
from halfsplit.rehearse.truth import Truth
from halfsplit.work.state import JobState
from tests.operate.machines import two_loads
from tests.rehearse.benches import NAMES, adviser, bench

HEATER, DRYER = "water-heater", "vented-dryer"
each_machine = pytest.mark.parametrize("name", [HEATER, DRYER])
"""Each that has like things: nothing of the refrigerator is compared."""


def pairs_of(name: str) -> list[tuple[Step, Step]]:
    """The pairs of a machine, from its table."""
    found = adviser(name).table
    return [(found.steps[a], found.steps[b]) for a, b in found.compared.pairs.tolist()]


def test_like_loads_of_the_library() -> None:
    """The dryer's two coils, the water heater's two elements; none in the refrigerator."""
    found = {
        name: {tuple(sorted((a.places, b.places))) for a, b in alike.of_loads(bench(name).machine)} for name in NAMES
    }
    assert found[DRYER] == {(("heater.common", "heater.front"), ("heater.common", "heater.rear"))}
    assert found[HEATER] == {(("lower element.1", "lower element.2"), ("upper element.1", "upper element.2"))}
    assert found["refrigerator"] == set()


@pytest.mark.parametrize(("second", "alike_loads"), [(20.0, 1), (20.1, 1), (21.0, 0), (40.0, 0)])
def test_loads_are_like_by_type_and_value(
    tmp_path_factory: pytest.TempPathFactory, second: float, alike_loads: int
) -> None:
    """Two heaters of 20 ohms or nearly are compared, of 21 they are not."""
    machine = two_loads(tmp_path_factory.mktemp("two"), 20.0, second)
    assert len(alike.of_loads(machine)) == alike_loads


def test_a_load_through_hidden_points_is_one_section() -> None:
    """A heater is two halves to the file and one load to a lead, of the ohms that the file gives."""
    found = {s.ends: s.ohms for s in alike.sections(bench(HEATER).machine)}
    assert found[("upper element.1", "upper element.2")] == pytest.approx(12.8)
    dryer = {s.ends: s.ohms for s in alike.sections(bench(DRYER).machine)}
    assert dryer[("heater.common", "heater.front")] == pytest.approx(21.5)
    assert ("heater.front", "heater.rear") not in dryer


@each_machine
def test_legs_are_read_against_what_lies_at_earth(name: str) -> None:
    """Both readings are volts in one condition, share one lead, and are the same on the healthy machine."""
    asked = bench(name)
    legs = [pair for pair in pairs_of(name) if pair[0].live]
    assert legs
    for a, b in legs:
        assert a.condition == b.condition
        assert len(set(a.places) & set(b.places)) == 1
        first, second = (alike._reading(asked.predictor, step).value[0] for step in (a, b))
        assert first == pytest.approx(second, rel=0.01)
        assert first > 0.4 * 230


def test_one_leg_is_compared_with_nothing() -> None:
    """A machine on a single phase has no second leg; those on two legs have some in each cold live condition."""
    assert not pairs_of("refrigerator")
    assert len([pair for pair in pairs_of(HEATER) if pair[0].live]) == 1
    assert len([pair for pair in pairs_of(DRYER) if pair[0].live]) >= 10


@each_machine
def test_both_readings_of_a_pair_are_in_the_table_in_one_condition(name: str) -> None:
    """After the first the second costs its own minutes, and the way to it where that is another."""
    machine, pairs = bench(name).machine, pairs_of(name)
    assert pairs
    for a, b in pairs:
        assert a.condition == b.condition
        cost = pricing.cost_of(machine, taken.after(machine, JobState(), a), b)
        assert cost.minutes - cost.opening - cost.closing == pytest.approx(0.6)
        further = set(steps.bays_needed(machine, b)) - set(steps.bays_needed(machine, a))
        assert bool(cost.opening) == bool(further)


@each_machine
def test_healthy_ones_lie_as_near_as_is_said(name: str) -> None:
    """Hidden machines with drawn values: at least 9 of 10 within, and of loads the widest not far within."""
    found = adviser(name).table
    for number, (a, b) in enumerate(found.compared.pairs.tolist()[:2]):
        apart = []
        for seed in range(60):
            truth = Truth(bench(name).machine, None, (), np.random.default_rng(seed))
            values = [_read(truth, found.steps[k]) for k in (a, b)]
            apart.append(abs(values[0] - values[1]) / float(np.mean(values)))
        within = float(found.compared.within[number])
        assert np.mean(np.array(apart) <= within) >= 0.9
        if not found.steps[a].live:
            assert np.quantile(apart, 0.95) > within / 2


def _read(truth: Truth, step: Step) -> float:
    assert step.probe is not None
    assert step.condition is not None
    _, value, _ = truth.reads(step.probe, step.condition)
    assert value is not None
    return value


def test_what_both_share_drops_out_of_the_difference() -> None:
    """The line and the meter move each leg of the water heater; what is left is each reading's own spread."""
    asked = bench(HEATER).predictor
    (pair,) = [pair for pair in pairs_of(HEATER) if pair[0].live]
    a, b = (alike._reading(asked, step) for step in pair)
    each = float(np.sqrt((a.jacobian[0] ** 2).sum() + a.noise[0] ** 2))
    own = float(np.hypot(a.noise[0], b.noise[0]))
    assert alike.apart(a, b)[0] == pytest.approx(own, rel=0.02)
    assert alike.apart(a, b)[0] < 0.8 * np.hypot(each, each)


def test_tolerances_of_two_loads_do_not_drop_out() -> None:
    """Two elements of 5 % each, a range of two deviations each way: 7 % apart at most, with the leads' own spread 8."""
    found = adviser(HEATER).table
    number = next(n for n, (a, _) in enumerate(found.compared.pairs.tolist()) if not found.steps[a].live)
    assert 0.05 * np.sqrt(2) < found.compared.within[number] < 0.09


def test_the_difference_parts_what_neither_reading_parts() -> None:
    """On the water heater: a leg's joint that takes off a few volts looks like the line's own spread, one by one."""
    asked = adviser(HEATER)
    (pair,) = [pair for pair in pairs_of(HEATER) if pair[0].live]
    codes = table.outcomes_of(asked.bench.predictor, *pair).codes
    number = next(n for n, (a, _) in enumerate(asked.table.compared.pairs.tolist()) if asked.table.steps[a] == pair[0])
    difference = asked.table.compared.codes[number]
    only = np.flatnonzero((codes == codes[:, :1]).all(axis=0) & (difference != difference[0]))
    names = {asked.bench.singles.faults[asked.bench.singles.variants[s].faults[0]].name for s in only.tolist()}
    assert len(only) >= 10
    assert "breaker: pole L1 burnt" in names
    assert "service: voltage low" not in names


def test_the_evidence_weighs_two_legs_as_two_and_not_as_one_each() -> None:
    """Both legs 4 % low speak for the line; one of them alone low speaks for that leg's own joint."""
    asked = bench(HEATER)
    (pair,) = [pair for pair in pairs_of(HEATER) if pair[0].live]

    def odds(first: float, second: float) -> float:
        told = [f.Perceived("water gets hot", True)]
        read = [_volts(step, value) for step, value in zip(pair, (first, second), strict=True)]
        found = asked.weigh([*told, *read], with_pairs=False)
        by_name = {one.faults: one.probability for one in found.ranked(1e-12)}
        return by_name[("breaker: pole L2 burnt",)] / by_name[("breaker: pole L1 burnt",)]

    assert odds(119.0, 113.0) > 20 * odds(113.0, 113.0) > 20 * 20 * odds(113.0, 119.0)


def _volts(step: Step, value: float) -> f.Reading:
    assert step.probe is not None
    assert step.condition is not None
    return f.Reading(step.probe, step.condition, value, None, 1.0, f"{value:.0f} V")


def test_a_thing_is_compared_once_its_like_has_been_read() -> None:
    """With the first leg read, the second is scored by the difference where that tells more than the reading alone."""
    asked = Setups(bench(HEATER), adviser(HEATER).table)
    (pair,) = [pair for pair in pairs_of(HEATER) if pair[0].live]
    found = asked.bench.weigh(
        [f.Perceived("water gets hot", True), f.Perceived("hot water lasts", False)], with_pairs=False
    )
    state = JobState(frozenset(asked.bench.machine.bays), pair[0].condition, done=frozenset({pair[0]}))
    k = asked.steps.place_of[pair[1]]
    (beside,) = [one for one in asked._comparisons(found, state) if one.step == pair[1]]
    assert beside.bits >= asked.bits(found, k)
    assert all(one.setup for one in asked._comparisons(found, JobState()))
