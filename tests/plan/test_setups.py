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
from halfsplit.machine import model
from halfsplit.plan import fitting, pricing, safely, setups, taken, worth
from halfsplit.plan.setups import Setups
from halfsplit.plan.steps import QUESTION, Step
from halfsplit.rehearse import play, trials
from halfsplit.work import minutes, refusals, safety
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState
from tests.depth import some
from tests.rehearse.benches import NAMES, adviser, bench

each_machine = pytest.mark.parametrize("name", NAMES)
QUICK = [name for name in NAMES if "dryer" not in name]
TWO_LEGS = [name for name in NAMES if name != "refrigerator"]
TOLD = {
    "vented-dryer": (f.Perceived("drum turns", True), f.Perceived("air is warm", False)),
    "water-heater": (f.Perceived("water gets hot", False),),
    "refrigerator": (f.Perceived("food is cold", False),),
}
BETWEEN = {Kind.ISOLATE, Kind.ENERGISE, Kind.OPEN, Kind.CLOSE, Kind.LIFT, Kind.REFIT, Kind.CLIP, Kind.UNCLIP}


@cache
def asked(name: str) -> Setups:
    """The adviser with set-ups."""
    return Setups(bench(name), adviser(name).table)


@cache
def weighed(name: str) -> Weighed:
    """What is believed after the commonest complaint."""
    return bench(name).weigh(TOLD[name], with_pairs=False)


def states(name: str) -> list[JobState]:
    """As the owner left it, who is out; and with every bay that lets the machine run open, isolated."""
    machine = bench(name).machine
    first = next(s for s in adviser(name).table.steps if s.condition and s.condition.isolated and not s.condition.lift)
    runs, out = frozenset(b for b, one in machine.bays.items() if one.runs), frozenset[object]({refusals.NoOwner()})
    return [JobState(refused=out), JobState(runs, first.condition, out)]


@each_machine
def test_nothing_more_is_set_up_for_a_reading_of_the_set_up(name: str) -> None:
    """From where the reading before leaves the machine each takes its own minutes; no power, bay or wire between."""
    seen = 0
    for state in states(name):
        for one in asked(name).next_steps(weighed(name), state, 6):
            planned = one.setup.steps[1:] if one.setup else ()
            likely = tuple(more.step for more in asked(name).alongside(weighed(name), state, one))
            for chain in (planned, likely):
                seen += len(chain)
                _follows(name, state, (one.step, *chain))
    assert seen > 0


@each_machine
def test_a_question_sets_nothing_up(name: str) -> None:
    """Nothing is read in its set-up: it has none."""
    questions = [one for one in asked(name).next_steps(weighed(name), JobState(), 40) if one.step.kind == QUESTION]
    assert questions
    assert not any([*asked(name).alongside(weighed(name), JobState(), one)] for one in questions)


def _follows(name: str, state: JobState, chain: tuple[Step, ...]) -> None:
    machine, safe = bench(name).machine, _stands(bench(name).machine, state)
    assert len(set(chain)) == len(chain)
    for number, step in enumerate(chain):
        then = taken.after(machine, state, step)
        done = safely.prepared(machine, safe, state, then, step)
        if number:
            assert pricing.cost_of(machine, state, step).minutes == pytest.approx(minutes.itself(machine, step.kind))
            assert not {doing.kind for doing in done.doings} & BETWEEN
            assert step.kind != "symptom"
            assert not (step.condition and step.condition.provoke)
        state, safe = then, done.state


def _stands(machine: model.Machine, state: JobState) -> safety.State:
    """What the automaton knows of a machine that stands so: proved dead where it counts as isolated."""
    read = safety.Step(Kind.OHMS) if state.isolated else None
    return safely.brought(machine, safely.begin(machine), JobState(), state, read).state


@pytest.mark.parametrize("name", TWO_LEGS)
def test_a_comparison_tells_what_its_codes_tell_jointly(name: str) -> None:
    """Against a sum over joint outcomes, with comings and goings; minutes are those of both readings."""
    given, machine = asked(name), bench(name).machine
    believed = given.on_singles(weighed(name))
    checked = 0
    for state in states(name):
        for one in given._comparisons(weighed(name), state):
            assert one.setup is not None
            checked += 1
            assert one.step.condition is not None
            acting = weighed(name).candidates.acting_when(one.step.condition.provoke)
            both, alone = (_by_force(given, believed, acting, some) for some in (one.setup.steps, one.setup.steps[:1]))
            assert one.setup.bits == pytest.approx(one.bits + both - alone, abs=1e-6)
            assert one.setup.minutes == pytest.approx(one.extra + minutes.itself(machine, "reading"))
            assert one.rate == pytest.approx(one.setup.bits / max(one.setup.minutes, worth.LEAST_MINUTES))
            assert (both - alone) / minutes.itself(machine, "reading") > alone / max(one.extra, worth.LEAST_MINUTES)
    assert checked > 0


def _by_force(given: Setups, believed: Array, acting: Array, steps: tuple[Step, ...]) -> float:
    """Bits about the repair of the joint code of some steps, by a dictionary."""
    places = [given.steps.place_of[step] for step in steps]
    compared = given.table.compared
    rows = [given.table.outcomes.codes[k] for k in places]
    rows += [compared.codes[n] for n, pair in enumerate(compared.pairs.tolist()) if set(pair) <= set(places)]
    both: dict[tuple[object, ...], float] = defaultdict(float)
    for s in np.flatnonzero(believed > setups.LIKELY * believed.sum()).tolist():
        repair = int(given.bench.singles.repair_of[s])
        both[(tuple(int(row[s]) for row in rows), repair)] += believed[s] * acting[s]
        both[(tuple(int(row[0]) for row in rows), repair)] += believed[s] * (1 - acting[s])
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
def test_what_was_refused_is_in_no_set_up(name: str) -> None:
    """A reading set aside is neither advised, nor compared, nor named alongside."""
    given, state = asked(name), states(name)[1]
    best = given.next_steps(weighed(name), state, 6)
    gone = {step for one in best for step in (one.setup.steps if one.setup else (one.step,))}
    then = JobState(state.open_bays, state.condition, frozenset(gone))
    for one in given.next_steps(weighed(name), then, 3):
        likely = tuple(more.step for more in given.alongside(weighed(name), then, one))
        assert not {*(one.setup.steps if one.setup else (one.step,)), *likely} & gone


@pytest.mark.parametrize("name", ["water-heater"])
def test_findings_that_nothing_explains_are_no_obstacle(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A dozen ohms that no fault shows leave all candidates together below LIKELY: what is left is compared."""
    given = asked(name)
    dead = [one for one in given.table.steps if one.probe and one.probe.meter == "ohms" and not _provokes(one)]
    lost = bench(name).weigh([_ohms(step, 777.0 * n) for n, step in enumerate(dead[::11][:12], 1)], with_pairs=False)
    assert 0 < given.on_singles(lost).sum() < setups.LIKELY
    found = [*given._comparisons(lost, JobState()), *given.next_steps(lost, JobState(), 3)]
    assert all(math.isfinite(one.rate) and one.rate > 0 for one in found)
    for one in found[:1]:
        assert all(0 <= more.probability <= 1 for more in given.alongside(lost, JobState(), one))
    monkeypatch.setattr(given, "on_singles", lambda _: np.zeros(len(bench(name).singles.variants)))
    assert not list(given._comparisons(lost, JobState()))


def _provokes(step: Step) -> bool:
    return bool(step.condition and step.condition.provoke)


def _ohms(step: Step, value: float) -> f.Reading:
    assert step.probe is not None
    assert step.condition is not None
    return f.Reading(step.probe, step.condition, value, None, 1.0, f"{value:.0f}")


@pytest.mark.parametrize("name", some(QUICK[::-1], 1))
def test_a_reading_alongside_is_made_next_as_often_as_it_is_said_to_be(name: str) -> None:
    """In rehearsals led by the adviser: of the first readings named alongside, nearly the share that was claimed."""
    given = asked(name)
    rehearsal = trials.Rehearsal(given, trials.Asked(bench(name).machine, 3))
    claimed: list[float] = []
    made: list[bool] = []
    for number in range(30):
        waiting: list[setups.Alongside] = []

        def choose(now: Weighed, state: JobState, waiting: list[setups.Alongside] = waiting) -> play.Choice | None:
            best = fitting.next_steps(given, now, state)
            goes_on = bool(best) and given.pays(now, best[0]) and len(state.done) < play.MOST_STEPS
            if waiting:
                claimed.append(waiting[0].probability)
                made.append(goes_on and best[0].step == waiting[0].step)
            waiting[:] = list(islice(given.alongside(now, state, best[0]), 1)) if goes_on else []
            return (best[0].step, best[0].cost) if goes_on else None

        rng = np.random.default_rng([3, number])
        _, truth, told = rehearsal._job(rng)
        play.play(given, truth, told, choose)
        given.bench.forget()
    assert len(made) > 10
    assert np.mean(made) > setups.MADE_NEXT
    assert abs(float(np.mean(made)) - float(np.mean(claimed))) < 0.2
