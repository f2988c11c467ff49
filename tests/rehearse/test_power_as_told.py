"""The minutes of power that a step is priced with, against what the safety automaton has the person do for it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from functools import lru_cache

import numpy as np
import pytest

from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.operate.condition import condition
from halfsplit.plan import powering, pricing, safely
from halfsplit.plan.steps import Step
from halfsplit.rehearse.random_steps import Sessions
from halfsplit.work import minutes, safety
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState
from tests.rehearse import benches

NAMES = ("refrigerator", "vented-dryer", "water-heater", "coil-cooktop", "vented-dryer-3-wire")
SESSIONS = 60

Made = tuple[JobState, Step | Repair, JobState, safely.Safely]


@lru_cache
def made(name: str) -> tuple[Made, ...]:
    """What random sessions do at a machine, nothing refused for good."""
    adviser = benches.adviser(name)
    sessions, rng = Sessions(adviser), np.random.default_rng(23)
    return tuple(one for _ in range(SESSIONS) for one in session(sessions, rng, adviser.bench.machine))


def session(sessions: Sessions, rng: np.random.Generator, machine: model.Machine) -> Iterator[Made]:
    """One after another, the automaton asked each time."""
    state, safe = JobState(), safely.begin(machine)
    for _ in range(12):
        step, then = sessions.chosen(state, rng)
        if then is None:
            continue
        if isinstance(step, Repair):
            done = safely.repaired(machine, safe, state, then, step)
        else:
            done = safely.prepared(machine, safe, state, then, step)
        yield state, step, then, done
        state, safe = then, done.state


def price(machine: model.Machine, state: JobState, step: Step | Repair) -> minutes.Cost:
    """What it takes from where things stand."""
    if isinstance(step, Repair):
        return pricing.repair_cost(machine, state, step)
    return pricing.cost_of(machine, state, step)


def told(machine: model.Machine, done: safely.Safely) -> float:
    """Minutes of what is told of the power: isolating proves dead once, proving it once more takes its own."""
    many, hands = Counter(doing.kind for doing in done.doings), machine.handwork
    again = max(0, many[Kind.PROVE_DEAD] - many[Kind.ISOLATE])
    return many[Kind.ISOLATE] * hands.isolate + again * hands.prove + many[Kind.ENERGISE] * hands.energise


@pytest.mark.parametrize("name", NAMES)
def test_the_power_that_is_priced_is_the_power_that_is_told(name: str) -> None:
    """Of steps and repairs, from wherever things stand: live, isolated, or with the plug out for a reading at the
    wall."""
    machine = benches.bench(name).machine
    for state, step, _, done in made(name):
        priced = price(machine, state, step).power
        assert priced == pytest.approx(told(machine, done)), (state, step)


@pytest.mark.parametrize("name", NAMES)
def test_a_machine_that_counts_as_isolated_is_proved_dead(name: str) -> None:
    """With its plug out for a reading at the wall too; and one that runs never counts so."""
    machine, at_wall = benches.bench(name).machine, 0
    for _, step, then, done in made(name):
        stands = then.condition
        if stands is None or powering.runs(machine, stands):
            assert not then.isolated
        elif not stands.isolated:
            at_wall += then.isolated
            dead = done.state.dead is safety.Dead.PROVED and not any(done.state.live)
            assert dead or not then.isolated, step
    assert at_wall or machine.supply.hard_wired


def test_what_stands_isolated_has_its_plug_out_already() -> None:
    """For a reading at the wall nothing is brought back or pulled; after it the machine is as dead as before. One that
    was never isolated is isolated then; and what comes back to power does so once."""
    dryer = benches.bench("vented-dryer").machine
    hands, dead, wall, live = (
        dryer.handwork, condition(dryer, isolated=True), condition(dryer, {"plug": "out"}), condition(dryer),
    )  # fmt: skip
    assert minutes.changing(dryer, dead, wall) == 0.0
    assert minutes.changing(dryer, live, wall) == minutes.changing(dryer, None, wall) == hands.set
    assert minutes.changing(dryer, wall, dead, isolated=True) == 0.0
    assert minutes.changing(dryer, wall, dead) == hands.isolate
    assert minutes.changing(dryer, wall, live) == minutes.changing(dryer, dead, live) == hands.energise


def test_the_first_step_sets_what_is_not_at_rest() -> None:
    """Nobody has turned a control yet; one left at rest, and the plug that is in, take nothing."""
    dryer = benches.bench("vented-dryer").machine
    timed = condition(dryer, {"cycle": "timed", "heat": "low"})
    assert minutes.changing(dryer, None, timed) == pytest.approx(2 * dryer.handwork.set)
    assert minutes.changing(dryer, None, condition(dryer)) == 0.0


def test_dead_is_proved_once_more_where_the_supply_lands() -> None:
    """Behind the upper cover of a heater that is isolated already; one that is not is proved dead there alone."""
    heater = benches.bench("water-heater").machine
    hands = heater.handwork
    stands = {None: hands.isolate, condition(heater, isolated=True): hands.prove}
    for at, power in stands.items():
        assert minutes.cost(heater, JobState(condition=at), 0.0, ("upper cover",), None).power == power
    lower = minutes.cost(heater, JobState(condition=condition(heater, isolated=True)), 0.0, ("lower cover",), None)
    assert lower.power == 0.0
