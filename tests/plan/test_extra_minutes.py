"""What a step takes beyond the repair, by the prices of the whole way: with the step, and without it."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.circuit.network import Array
from halfsplit.operate import condition as conditions
from halfsplit.plan import nodes, powering, pricing, problem, states, switching, taken
from halfsplit.plan.problem import Repairs, Tests
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.work.state import JobState
from tests.rehearse.benches import NAMES, adviser, bench


def whole_way(name: str, state: JobState, step: Step, repair: str) -> float:
    """Minutes of a step and the repair after it, less those of the repair alone."""
    machine, due = bench(name).machine, bench(name).repairs[repair]
    after = taken.after(machine, state, step)
    both = pricing.cost_of(machine, state, step).minutes + pricing.repair_cost(machine, after, due).minutes
    return both - pricing.repair_cost(machine, state, due).minutes


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("stands", ["as left", "isolated", "runs"])
def test_a_step_takes_what_the_way_with_it_takes_more(name: str, stands: str) -> None:
    """For every group of steps and a repair that is sure, on a machine of which nothing is hot: bays that the repair
    opens, isolating that it wants, and isolating again after power. A step for which bays are closed, and one that
    exchanges twins, takes more than that; a run warms, which the next test judges."""
    asked, machine = adviser(name), bench(name).machine
    usual = conditions.usual(machine)
    at = {"as left": None, "isolated": conditions.condition(machine, (), True), "runs": usual}[stands]
    state, met = JobState(condition=at), 0
    for repair in ("replace timer", "replace defrost heater", "replace lower element", "replace heater"):
        if repair not in bench(name).repairs:
            continue
        wanted = pricing.needed_anyway(machine, state, {(repair,): 1.0}, bench(name).repairs)
        for step in asked.table.steps[::7]:
            hot = powering.powered(machine, step) and wanted.hot
            if not (hot or powering.shut_to_run(machine, state, step) or (step.condition and step.condition.exchange)):
                found = pricing.plain(machine, state, step).extra(wanted)
                assert found == pytest.approx(whole_way(name, state, step, repair)), step
                met += 1
    assert met > 20


@pytest.mark.parametrize("name", NAMES)
def test_what_another_trade_repairs_is_left_closed_and_isolated(name: str) -> None:
    """Nothing is opened nor waited for; the machine is isolated, as it is left at the stop."""
    machine, known = bench(name).machine, bench(name).repairs
    handed = [one for one in known.values() if one.by != "repairer"]
    assert handed
    for one in handed:
        wanted = pricing.needed_anyway(machine, JobState(), {(one.name,): 1.0}, known)
        assert wanted == pricing.NeededAnyway({}, 1.0, ())
        (mode,) = switching.Modes(machine, JobState()).of_repairs([[one]])
        modes = switching.Modes(machine, JobState())
        assert modes.known[modes.of_repairs([[one]])[0]].isolated
        assert mode != problem.ANY_MODE


def test_ice_is_thawed_once() -> None:
    """From a refrigerator as its owner left it, a reading behind the ice waits for no warmth beside the thaw."""
    machine = bench("refrigerator").machine
    dead = [s for s in adviser("refrigerator").table.steps if s.condition and s.condition.isolated]
    dead = [s for s in dead if machine.warmth_behind(bays_needed(machine, s))]
    assert dead
    assert {pricing.cost_of(machine, JobState(), s).waiting for s in dead} == {0.0}
    modes = switching.Modes(machine, JobState())
    numbers = modes.of_steps(dead)
    costs = [pricing.cost_of(machine, JobState(), step) for step in dead]
    changed = [one.power + one.setting + one.lifting + one.spades for one in costs]
    assert np.allclose(modes.switching()[0, numbers], changed)


def test_cooling_that_the_repair_waits_for_too_is_not_charged_to_a_reading() -> None:
    """A refrigerator just run: what waits until the compressor has cooled waits once, before the reading or before the
    repair; where the repair is the breaker's, the reading alone waits."""
    machine, known = bench("refrigerator").machine, bench("refrigerator").repairs
    state = JobState(frozenset(machine.bays), conditions.usual(machine), warm=10.0)
    steps = adviser("refrigerator").table.steps
    across = next(s for s in steps if s.probe and {s.probe.red, s.probe.black} == {"overload.1", "overload.2"})
    price = pricing.plain(machine, state, across)
    assert price.cost.cooling > 5
    here = pricing.needed_anyway(machine, state, {("replace overload",): 1.0}, known)
    house = pricing.needed_anyway(machine, state, {("breaker: switch fully off and on",): 1.0}, known)
    assert price.extra(here) == pytest.approx(whole_way("refrigerator", state, across, "replace overload"))
    assert price.extra(here) < 1
    assert price.extra(house) == pytest.approx(price.cost.minutes)


def test_a_run_makes_a_hot_repair_wait() -> None:
    """Seen under power with the bays open: the repair waits afterwards, but for the time in which it isolates."""
    machine, known = bench("refrigerator").machine, bench("refrigerator").repairs
    state = JobState(frozenset(machine.bays), conditions.usual(machine))
    wanted = pricing.needed_anyway(machine, state, {("replace overload",): 1.0}, known)
    seen = next(s for s in adviser("refrigerator").table.steps if s.live and powering.powered(machine, s))
    price = pricing.plain(machine, state, seen)
    assert price.extra(wanted) == pytest.approx(whole_way("refrigerator", state, seen, "replace overload"))
    assert price.extra(wanted) > price.cost.minutes + 5


def test_in_arrays_the_way_round_by_the_repair_counts_too() -> None:
    """Two tests of equal minutes, one in the repair's mode: that one is nearer by the way there, which the repair takes
    anyway; the other has to come back."""
    shows = [[[1, 0], [0, 1]]] * 2
    tests = Tests(shows, [2.0, 2.0], mode=[1, 2])
    switch = [[0.0, 3.0, 3.0], [1.0, 0.0, 4.0], [1.0, 5.0, 0.0]]
    made = problem.build([1, 1], tests, Repairs(np.eye(2), [30.0, 30.0], mode=[1, 1]), switch=switch)
    node = nodes.Nodes(made).root(states.start(made))
    assert node.extra_minutes.tolist() == [2.0, 2.0 + 3.0 + 5.0 - 3.0]


@pytest.mark.parametrize("name", NAMES)
def test_a_kept_price_belongs_to_all_of_how_the_machine_stands(name: str) -> None:
    """States that differ in one thing alone are priced each for itself, in whatever order they were met: a plug that
    stayed out, what may be warm, what was not proved since the job was taken up again."""
    machine = bench(name).machine
    out = conditions.condition(machine, dict(machine.supply.isolates))
    states = [JobState(condition=out), JobState(condition=out, kept_isolated=True), JobState(condition=out, warm=5.0)]
    states.append(JobState(condition=out, kept_isolated=True, unproved=True))
    alone = [_priced(name, [state])[0] for state in states]
    assert not np.array_equal(alone[0], alone[1])
    for order in (states, states[::-1]):
        together = dict(zip(order, _priced(name, order), strict=True))
        assert all(np.array_equal(together[state], price) for state, price in zip(states, alone, strict=True))


def _priced(name: str, each: list[JobState]) -> list[Array]:
    """What all trusted steps cost from each of these states, one after the other by one of what keeps prices."""
    grouped = pricing.Grouped(bench(name).machine, adviser(name).table.steps, adviser(name).table.odd)
    return [np.asarray(grouped.priced(state).extra(slice(len(grouped.usual)))) for state in each]
