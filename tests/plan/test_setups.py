"""What is read in one set-up: nothing more is set up for it, and it is what would be made next."""

from __future__ import annotations

import math
from collections import defaultdict
from functools import cache
from itertools import islice

import numpy as np
import pytest

from halfsplit.circuit.network import Array
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import fitting, pricing, safely, setups, taken
from halfsplit.plan.setups import InSetups, Setups
from halfsplit.plan.steps import Step
from halfsplit.rehearse import play, trials
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState
from tests.rehearse.benches import NAMES, adviser, bench

each_machine = pytest.mark.parametrize("name", NAMES)
QUICK = [name for name in NAMES if "dryer" not in name]
TOLD = {
    "vented-dryer": (f.Perceived("drum turns", True), f.Perceived("air is warm", False)),
    "water-heater": (f.Perceived("water gets hot", False),),
    "refrigerator": (f.Perceived("food is cold", False),),
}
BETWEEN = {Kind.ISOLATE, Kind.ENERGISE, Kind.OPEN, Kind.CLOSE, Kind.LIFT, Kind.REFIT, Kind.CLIP, Kind.UNCLIP}


@cache
def asked(name: str, ranked: bool = False) -> Setups:
    """The adviser with set-ups; ranked: that lets them lead."""
    kind = InSetups if ranked else Setups
    return kind(bench(name), adviser(name).table)


@cache
def weighed(name: str) -> Weighed:
    """What is believed after the commonest complaint."""
    return bench(name).weigh(TOLD[name], with_pairs=False)


def states(name: str) -> list[JobState]:
    """As the owner left it; and with every bay that lets the machine run open, isolated."""
    machine = bench(name).machine
    first = next(s for s in adviser(name).table.steps if s.condition and s.condition.isolated and not s.condition.lift)
    return [JobState(), JobState(frozenset(b for b, one in machine.bays.items() if one.runs), first.condition)]


@each_machine
def test_nothing_more_is_set_up_for_a_reading_of_the_set_up(name: str) -> None:
    """From where the reading before leaves the machine each takes its own minutes; no power, bay or wire between."""
    seen = 0
    for state in states(name):
        for one in asked(name, True).next_steps(weighed(name), state, 20):
            planned = one.setup.steps[1:] if one.setup else ()
            likely = tuple(more.step for more in asked(name).further(weighed(name), state, one))
            for chain in (planned, likely):
                seen += len(chain)
                _follows(name, state, (one.step, *chain))
    assert seen > 5


def _follows(name: str, state: JobState, chain: tuple[Step, ...]) -> None:
    machine, safe = bench(name).machine, safely.begin(bench(name).machine)
    assert len(set(chain)) == len(chain)
    for number, step in enumerate(chain):
        then = taken.after(machine, state, step)
        done = safely.prepared(machine, safe, state, then, step)
        if number:
            assert pricing.cost_of(machine, state, step).minutes == pytest.approx(pricing.ITSELF[step.kind])
            assert not {doing.kind for doing in done.doings} & BETWEEN
            assert step.kind != "symptom"
            assert not (step.condition and step.condition.provoke)
        state, safe = then, done.state


@each_machine
def test_a_set_up_tells_what_its_codes_tell_jointly(name: str) -> None:
    """Against a sum over joint outcomes, with comings and goings and comparisons; minutes are those of its parts."""
    one_of_each = asked(name, True)
    believed = one_of_each.on_singles(weighed(name))
    checked = 0
    for state in states(name):
        for one in one_of_each.next_steps(weighed(name), state, 20):
            if one.setup is None:
                continue
            checked += 1
            first, *others = one.setup.steps
            acting = weighed(name).acting(first.condition)
            joint_bits, alone = (_by_force(one_of_each, believed, acting, some) for some in (one.setup.steps, (first,)))
            assert one.setup.bits == pytest.approx(one.bits + joint_bits - alone, abs=1e-6)
            more = sum(pricing.ITSELF[step.kind] for step in others)
            assert one.setup.minutes == pytest.approx(one.extra + more)
            assert one.rate == pytest.approx(one.setup.bits / max(one.setup.minutes, 0.05))
    assert checked > 0


def _by_force(given: Setups, believed: Array, acting: Array, steps: tuple[Step, ...]) -> float:
    """Bits about the repair of the joint code of some steps, by a dictionary."""
    places = [given.steps.place_of[step] for step in steps]
    compared = given.table.compared
    rows = [given.table.outcomes.codes[k] for k in places]
    rows += [compared.codes[n] for n, pair in enumerate(compared.pairs.tolist()) if set(pair) <= set(places)]
    both: dict[tuple[object, ...], float] = defaultdict(float)
    looks = [n < len(steps) and steps[n].kind == "look" for n in range(len(rows))]
    for s in np.flatnonzero(believed > setups.LIKELY * believed.sum()).tolist():
        repair = int(given.bench.singles.repair_of[s])
        dormant = tuple(int(row[s if look else 0]) for row, look in zip(rows, looks, strict=True))
        both[(tuple(int(row[s]) for row in rows), repair)] += believed[s] * acting[s]
        both[(dormant, repair)] += believed[s] * (1 - acting[s])
    total = sum(both.values())
    shown: dict[object, float] = defaultdict(float)
    due: dict[object, float] = defaultdict(float)
    for (outcome, wanted), p in both.items():
        shown[outcome] += p / total
        due[wanted] += p / total
    return _entropy(shown) + _entropy(due) - _entropy({key: p / total for key, p in both.items()})


def _entropy(chances: dict[object, float] | dict[tuple[object, ...], float]) -> float:
    return -sum(p * math.log2(p) for p in chances.values() if p > 0)


@each_machine
def test_what_was_done_or_refused_is_in_no_set_up(name: str) -> None:
    """A reading set aside is neither first nor among the further ones."""
    given, state = asked(name, True), states(name)[1]
    best = given.next_steps(weighed(name), state, 20)
    gone = {step for one in best if one.setup for step in one.setup.steps} | {best[0].step}
    then = JobState(state.open_bays, state.condition, frozenset(gone))
    for one in given.next_steps(weighed(name), then, 20):
        likely = tuple(more.step for more in given.further(weighed(name), then, one))
        assert not {*(one.setup.steps if one.setup else (one.step,)), *likely} & gone


@pytest.mark.parametrize("name", QUICK)
def test_a_further_reading_is_made_next_as_often_as_it_is_said_to_be(name: str) -> None:
    """In rehearsals led by the adviser: of the first further readings named, nearly the share that was claimed."""
    given = asked(name)
    rehearsal = trials.Rehearsal(given, trials.Asked(bench(name).machine, 3))
    claimed: list[float] = []
    made: list[bool] = []
    for number in range(30):
        waiting: list[setups.Further] = []

        def choose(now: Weighed, state: JobState, waiting: list[setups.Further] = waiting) -> play.Choice | None:
            best = fitting.next_steps(given, now, state)
            goes_on = bool(best) and play.worth_it(now, best[0]) and len(state.done) < play.MOST_STEPS
            if waiting:
                claimed.append(waiting[0].probability)
                made.append(goes_on and best[0].step == waiting[0].step)
            waiting[:] = list(islice(given.further(now, state, best[0]), 1)) if goes_on else []
            return (best[0].step, best[0].cost) if goes_on else None

        rng = np.random.default_rng([3, number])
        _, truth, told = rehearsal._job(rng)
        play.play(given, truth, told, choose)
        given.bench.kept.forget()
    assert len(made) > 10
    assert np.mean(made) > setups.MADE_NEXT
    assert abs(float(np.mean(made)) - float(np.mean(claimed))) < 0.2
