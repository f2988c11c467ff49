"""The planner on machines: what it is given fits the machine and the posterior; what it advises can be done."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence import outcome
from halfsplit.evidence.weighing import Weighed
from halfsplit.modes.fault import Repair
from halfsplit.plan import (
    advise,
    ahead,
    fitting,
    options,
    outlook,
    pricing,
    safely,
    score,
    states,
    steps,
    table,
    taken,
    worth,
)
from halfsplit.plan.nodes import Nodes
from halfsplit.plan.view import Way
from halfsplit.work import prices, refusals
from halfsplit.work.state import JobState, with_fronts
from tests.rehearse import benches

QUICK = options.Limits(advise.BUDGET._replace(nodes=60, cut=0.1, trim=0.05, steps=4, order=2), exact_nodes=0)
COMPLAINTS = {
    "water-heater": [f.Perceived("water gets hot", False, None, "owner")],
    "refrigerator": [f.Perceived("compressor runs", False, None, "owner")],
}


@cache
def planner(name: str) -> ahead.Ahead:
    """The planner of a machine, at a budget that tests can wait for."""
    return ahead.Ahead(benches.adviser(name), QUICK)


def weighed(name: str) -> Weighed:
    """What is believed after the owner's complaint."""
    return planner(name).bench.weigh(COMPLAINTS[name], with_pairs=False)


@pytest.mark.parametrize("name", COMPLAINTS)
def test_the_arrays_hold_the_posterior(name: str) -> None:
    """Each set of repairs is as likely as in the posterior, given that the file says it; little is cut."""
    view, believed = planner(name).view(weighed(name), JobState()), weighed(name)
    chances = view.problem.cures @ view.problem.prior
    for repairs, chance in zip(view.repairs[:-1], chances, strict=False):
        assert chance == pytest.approx(believed.by_repair[repairs] / (1 - believed.unexplained), abs=2 * outlook.CUT)
    assert len(view.problem.prior) <= outlook.FAULTS


OUT_OF_PLACE = [
    ("water-heater", [f.Perceived("water gets hot", False)]),
    ("refrigerator", [f.Perceived("food is cold", False)]),
    ("refrigerator", [f.Perceived("keeps free of ice", False), f.Perceived("compressor runs", True)]),
]
"""What was found, where steps are out of place by that and told most: a reading at a warmth that is out of reach, and
questions whose answer goes without saying."""


@pytest.mark.parametrize(("name", "told"), OUT_OF_PLACE)
def test_what_does_not_fit_the_machine_as_found_is_not_followed(name: str, told: list[f.Finding]) -> None:
    """A plan that counted on such steps looked cheaper than it was, and what is usual was one of them."""
    asked = planner(name)
    believed = asked.bench.weigh(told, with_pairs=False)
    unfit = [one for one in asked.table.steps if not fitting.fits(asked, believed.findings, one)]
    assert unfit
    planned = asked.plan(believed, JobState())
    ways = {way.step for way in _ways(planned) if way.step}
    followed = {*asked.view(believed, JobState()).steps, *ways, *planned.usual}
    assert not followed & set(unfit)


@pytest.mark.parametrize(("name", "told"), OUT_OF_PLACE)
def test_steps_that_fit_alike_are_asked_once(name: str, told: list[f.Finding]) -> None:
    """Asked once of those that fit alike, or of each: the same."""
    asked = planner(name)
    believed = asked.bench.weigh(told, with_pairs=False)
    each = [fitting.fits(asked, believed.findings, one) for one in asked.table.steps]
    assert asked.fit(believed).tolist() == each


def test_an_odd_step_of_one_step_ahead_is_followed_too() -> None:
    """Where one step ahead would lay the leads between two places that nothing joins, the arrays hold that step."""
    asked, believed = planner("water-heater"), weighed("water-heater")
    dead = (asked.table.odd.step(k) for k in range(len(asked.table.odd)))
    odd = [step for step in dead if not step.live][:4]
    assert len(odd) == 4
    view = asked.view(believed, JobState(), odd)
    for step in odd:
        made = table.outcomes_of(asked.bench.predictor, step).codes
        tells = np.ptp(view.problem.shows[view.steps.index(step)], axis=1).max()
        assert (tells > 0) == bool((made[0] != made[0, 0]).any())
    assert not set(odd) & set(asked.view(believed, JobState()).steps)


def _ways(planned: ahead.Planned) -> list[Way]:
    return [planned.way, *planned.others]


@pytest.mark.parametrize("name", COMPLAINTS)
def test_minutes_are_those_of_the_cost_of_a_step(name: str) -> None:
    """What a step takes in the arrays is what it costs from here."""
    asked, state = planner(name), JobState()
    view = asked.view(weighed(name), state)
    taken = view.problem.at(0, 0).test
    for step, found in zip(view.steps, taken, strict=True):
        assert found == pytest.approx(pricing.cost_of(asked.bench.machine, state, step).minutes)


def test_what_is_open_costs_nothing_more() -> None:
    """With its bay open a reading takes its own minute and the change of power, and no opening."""
    asked = planner("water-heater")
    view = asked.view(weighed("water-heater"), JobState(open_bays=frozenset(asked.bench.machine.bays)))
    assert view.problem.bay_minutes.tolist() == [0.0] * len(asked.bench.machine.bays)


@pytest.mark.parametrize("name", COMPLAINTS)
def test_the_budget_gives_the_same_answer_twice(name: str) -> None:
    """The plan is counted in nodes, not in time."""
    asked = planner(name)
    assert asked.plan(weighed(name), JobState()) == asked.plan(weighed(name), JobState())


@pytest.mark.parametrize("name", COMPLAINTS)
def test_the_cost_lies_between_its_bounds(name: str) -> None:
    """No plan costs less than the fault told for nothing, none more than repairs one after another."""
    asked = planner(name)
    view = asked.view(weighed(name), JobState())
    node = Nodes(view.problem, QUICK.budget.trim).root(states.start(view.problem))
    expected = asked.plan(weighed(name), JobState()).way.expected
    told = float(node.here.floor[node.faults] @ node.p)
    left_out = 3 * QUICK.budget.trim * float(node.repair_price.max())  # of what is least likely, state by state
    assert told - left_out <= expected <= node.in_order + QUICK.excess


@pytest.mark.parametrize("name", COMPLAINTS)
def test_no_step_that_pays_is_lost(name: str) -> None:
    """Whoever cannot do the best steps finds all those of one step ahead behind them that fit the machine as it was
    found: only then is nothing left."""
    asked = planner(name)
    usual = fitting.next_steps(score.Adviser(asked.bench, asked.table), weighed(name), JobState(), 20)
    found = [scored.step for scored in asked.next_steps(weighed(name), JobState(), 40)]
    assert len(found) == len(set(found))
    assert {scored.step for scored in usual} <= set(found)


@pytest.mark.parametrize("name", COMPLAINTS)
def test_refusals_are_planned_around(name: str) -> None:
    """No step is advised that was refused, in a bay that will not open, or with a meter that is not there."""
    asked, machine = planner(name), planner(name).bench.machine
    first = asked.next_steps(weighed(name), JobState(), 6)
    bay = list(machine.bays)[-1]
    refused = frozenset({first[0].step, refusals.CannotOpen(bay), refusals.NoMeter("ohms")})
    found = [scored.step for scored in asked.next_steps(weighed(name), JobState(refused=refused), 6)]
    assert first[0].step not in found
    for step in found:
        assert bay not in with_fronts(machine, steps.bays_needed(machine, step))
        assert step.probe is None or step.probe.meter != "ohms"


def _behind(repair: Repair, bays: Collection[str]) -> bool:
    """Whether a repair of our own lies behind one of these bays."""
    return repair.by == "repairer" and any(bay in bays for bay in repair.bays)


def test_a_repair_that_cannot_be_reached_is_handed_over() -> None:
    """With every bay refused, and every step, nothing is followed, and a repair behind a bay cures nothing any more."""
    asked = planner("water-heater")
    known = asked.bench.machine.bays
    refused = frozenset(refusals.CannotOpen(bay) for bay in known)
    state = JobState(refused=refused | set(asked.table.steps))
    planned = asked.plan(weighed("water-heater"), state)
    assert planned.way.step is None
    view = asked.view(weighed("water-heater"), state)
    behind = [any(_behind(asked.bench.repairs[name], known) for name in names) for names in view.repairs]
    assert 0 < sum(behind) < len(behind)
    assert view.problem.cures.any(axis=1).tolist() == [not barred for barred in behind]


def test_a_sure_repair_is_advised_without_a_step() -> None:
    """When a look has shown the mark of one repair, no step is worth its minutes."""
    asked = planner("water-heater")
    mark = next(v for v in asked.bench.predictor.look("tank")[0] if v not in (f.FINE, "something else"))
    believed = asked.bench.weigh([f.Perceived("water on the floor", True, None, "owner"), f.Look("tank", mark)])
    planned = asked.plan(believed, JobState())
    assert planned.way.step is None
    assert max(believed.by_repair.values()) >= worth.SURE


def test_where_one_step_tells_nothing_the_plan_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    """What no single step tells anything of may still be planned: the search does not end there, as it once did."""
    asked = planner("water-heater")
    monkeypatch.setattr(score.Adviser, "next_steps", lambda *_: [])
    believed = asked.bench.weigh(COMPLAINTS["water-heater"], with_pairs=False)
    planned = asked.plan(believed, JobState())
    assert planned.way.step is not None
    assert asked.next_steps(believed, JobState())[0].step == planned.way.step


@pytest.mark.parametrize("name", COMPLAINTS)
def test_every_step_of_a_plan_can_be_made_safe(name: str) -> None:
    """The automaton allows each advised step once what it asks for has been done."""
    asked, machine = planner(name), planner(name).bench.machine
    state = JobState()
    safe = safely.begin(machine)
    for scored in asked.next_steps(weighed(name), state, 6):
        then = taken.after(asked.bench.machine, state, scored.step)
        made = safely.prepared(machine, safe, state, then, scored.step)
        assert made.doings[-1].kind is safely.kind_of(scored.step, bool(then.open_bays)) or not scored.step.live
        state, safe = then, made.state


@pytest.mark.parametrize("name", COMPLAINTS)
def test_steps_followed_part_what_can_be_parted(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Variants that all steps followed show alike, though repairs differ, are unlikely, or all steps together tell
    nothing of which repair it is."""
    monkeypatch.setattr(ahead, "MOST_CLOSER", 1000)
    asked, believed = planner(name), weighed(name)
    view = asked.view(believed, JobState())
    followed = [asked.table.steps.index(step) for step in view.steps]
    belief = asked.on_singles(believed)
    rows = np.flatnonzero(belief > ahead.LEAST_ALIKE)
    codes, repair_of = asked.table.outcomes.codes, asked.bench.singles.repair_of[rows]
    _, alike = np.unique(codes[followed][:, rows], axis=1, return_inverse=True)
    usable = np.flatnonzero(asked.allowed(JobState()) & asked.fit(believed))
    _, ever = np.unique(codes[usable][:, rows], axis=1, return_inverse=True)
    groups = [np.flatnonzero(alike == number) for number in range(int(alike.max()) + 1)]
    differing = [members for members in groups if len(set(repair_of[members])) > 1]
    assert differing
    for members in differing:
        stake = belief[rows[members]].sum() - belief[rows[members]].max()
        share = belief[rows[members]] / belief[rows[members]].sum()
        told = outcome.information(share, repair_of[members], np.eye(len(rows))[ever[members]])
        assert stake < ahead.LEAST_ALIKE or told < 1e-9, view.steps


def test_a_wrong_repair_weighs_another_visit() -> None:
    """A repair's price holds its work, its part at the hourly rate, the trial and another visit."""
    fuse = replace(planner("water-heater").bench.faults[0].repair, minutes=10.0, price=45.0)
    assert prices.price(fuse, hourly=90.0).minutes == pytest.approx(10 + 30 + prices.PROOF + prices.AGAIN)


def test_condensing_keeps_the_probability() -> None:
    """Columns beyond the limit join their repair's likeliest, and what has none is counted as lost."""
    rng = np.random.default_rng(3)
    prior, repair_of = rng.dirichlet(np.ones(50)), rng.integers(0, 9, 50)
    shows = np.eye(4)[rng.integers(0, 4, (3, 50))].transpose(0, 2, 1)
    few = outlook.condensed(prior, repair_of, shows, most=12)
    assert few.prior.sum() + few.lost == pytest.approx(1.0)
    assert len(few.prior) <= 12
    assert np.allclose(few.shows.sum(axis=1), 1.0)
