"""A list that left the power off: the frame's bond before the next run and on the next list, and the gas on again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading, model
from halfsplit.operate import condition as conditions
from halfsplit.plan import pricing, safely, switching, taken
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.service import advising, closing, guiding, proving, wording
from halfsplit.work import refusals, safety, stopping, together
from halfsplit.work.hazards import GAS_SUPPLY, PROVING_DEAD, Kind, Pipe
from halfsplit.work.safety import Gas
from halfsplit.work.state import Cock, JobState
from tests.rehearse.benches import guide
from tests.rehearse.watcher import Watcher

GAS = str(Path(__file__).parents[1] / "gas" / "gas-air-heater.yaml")
NAMES = ["vented-dryer", "water-heater", "coil-cooktop", GAS]
BOND = "below 1 ohm; else leave the power off"
LEFT, USED = f.Closed(False), f.Closed(True)


def behind(machine: model.Machine) -> Step:
    """Something read dead behind the covers: with gas, in the bay of its pipe."""
    dead = conditions.condition(machine, isolated=True)
    bays = machine.gas.bays if machine.gas else tuple(machine.bays)
    red, black = [t for t in sorted(model.wired_terminals(machine)) if machine.parts[model.part_of(t)].bay in bays][:2]
    return Step("reading", dead, Probe("ohms", red, black), places=(red, black))


def run(machine: model.Machine) -> Step:
    """What is seen of it at work with all covers on."""
    seen = (one.name for one in machine.symptoms.values() if not one.bay and not one.unpowered and one.kind != "hand")
    return Step("symptom", conditions.usual(machine), at=next(seen))


def found(step: Step) -> f.Reading:
    """It as a finding."""
    assert step.probe
    assert step.condition
    return f.Reading(step.probe, step.condition, None, text="OL")


def course(
    machine: model.Machine, *wanted: Step | f.Closed | f.Resumed
) -> Iterator[tuple[JobState, Step | None, safely.Safely]]:
    """Steps and lists, the automaton as the guide asks it; of a list, what is done to put the machine together."""
    state, safe = JobState(), safely.begin(machine)
    for one in wanted:
        then = advising.then(machine, state, one)
        if isinstance(one, Step):
            done = safely.prepared(machine, safe, state, then, one)
            yield state, one, done
            safe = done.state
        else:
            if isinstance(one, f.Closed):
                yield state, None, safely.put_together(machine, safe, state)
            safe = safely.anew(machine, state, then)
        state = then


def dangers(machine: model.Machine, *wanted: Step | f.Closed | f.Resumed) -> list[str]:
    """What the watcher finds; it hears when a list has ended with the power off."""
    watcher, found = Watcher(machine, False), list[str]()
    for state, step, done in course(machine, *wanted):
        found += watcher.reads(step, done.doings, state.refused)
        if step is None:
            watcher.left_off()
    return found


# ---- the frame's bond --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("between", [(), (f.Resumed(),)])
def test_the_bond_is_measured_before_the_next_run(name: str, between: tuple[f.Resumed, ...]) -> None:
    """Dead, then the bond, then the power: once, in the words too, and the isolating for it among the minutes."""
    machine = loading.load(name)
    step, later = behind(machine), run(machine)
    *_, (state, _, done), (_, _, again) = course(machine, step, LEFT, *between, later, later)
    kinds = [doing.kind for doing in done.doings]
    assert kinds.index(Kind.PROVE_DEAD) < kinds.index(Kind.PROVE_BOND) < kinds.index(Kind.ENERGISE)
    assert ": ".join(PROVING_DEAD) in done.cautions
    assert Kind.PROVE_BOND not in again.kinds
    told = wording.sentence(Bench(machine).predictor, state, later, (), done.kinds)
    assert told.count(BOND) == 1
    assert told.index("Isolate the machine") < told.index(BOND) < told.index("bring the power back")
    cost = pricing.cost_of(machine, state, later)
    assert cost.power == pytest.approx(machine.handwork.isolate + machine.handwork.energise)


@pytest.mark.parametrize("name", NAMES)
def test_a_list_with_power_tells_nothing_more_at_the_next_run(name: str) -> None:
    """It has measured the bond itself."""
    machine = loading.load(name)
    *_, (_, _, done) = course(machine, behind(machine), USED, run(machine))
    assert Kind.PROVE_BOND not in done.kinds


@pytest.mark.parametrize("name", NAMES)
def test_the_watcher_sees_the_bond_forgotten_after_a_list_that_left_the_power_off(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With what the automaton asks for left out it finds power on a frame that nobody measured."""
    machine = loading.load(name)
    wanted = (behind(machine), LEFT, run(machine))
    assert not dangers(machine, *wanted)
    for kind in (Kind.ENERGISE, Kind.RUN):
        monkeypatch.setitem(safety.NEEDS, kind, safety.NEEDS[kind]._replace(guarded=False))
    assert any(
        one.startswith("power after it was left off, its frame not measured") for one in dangers(machine, *wanted)
    )


@pytest.mark.parametrize("name", NAMES)
def test_the_next_list_that_ends_with_power_measures_it(name: str) -> None:
    """Isolated, and the bond before the power, though nothing was opened since; not on a list that leaves it off."""
    asked = guide(name)
    guided = guiding.Guided(asked, (found(behind(asked.bench.machine)), LEFT))
    kinds = [task.kind for task in proving.left_as_it_is(guided).tasks]
    assert kinds.index("isolate") < kinds.index("earth") < kinds.index("power")
    assert "earth" not in {task.kind for task in proving.left_as_it_is(guided, stopping.STAYS_OFF).tasks}


def test_without_ohms_it_stays_unmeasured() -> None:
    """A run that somebody has made all the same has not measured it."""
    machine = loading.load("vented-dryer")
    lacks = JobState(refused=frozenset({refusals.NoMeter("ohms")}))
    left = taken.put_together(machine, lacks, False)
    assert taken.after(machine, left, run(machine)).left_off
    assert not taken.after(machine, taken.put_together(machine, JobState(), False), run(machine)).left_off


# ---- the gas -----------------------------------------------------------------------------------------------


def test_a_later_list_opens_the_cock_that_an_earlier_one_left_shut() -> None:
    """Before the power, with nothing done in between and with something done away from the pipe."""
    machine = loading.load(GAS)
    receptacle = f.Look("receptacle", "fine")
    for since in ((), (receptacle,), (f.Resumed(),)):
        guided = guiding.Guided(advising.adviser(Bench(machine)), (found(behind(machine)), LEFT, *since))
        made = proving.left_as_it_is(guided)
        kinds = [task.kind for task in made.tasks]
        assert kinds.index("isolate") < kinds.index("gas") < kinds.index("power")
        assert "Open the gas cock (on the wall behind the machine), nothing lit." in closing.sentences(machine, made)
    used = guiding.Guided(advising.adviser(Bench(machine)), (found(behind(machine)), LEFT, USED, receptacle))
    assert "gas" not in {task.kind for task in proving.left_as_it_is(used).tasks}


def test_a_joint_that_was_apart_is_tested_before_a_cover_hides_it() -> None:
    """On a list that leaves the power off too, and the cock shut after it; the supplier's joints are the supplier's."""
    machine = loading.load(GAS)
    was = replace(together.undone(machine, ["burner box"]), pipe=Pipe.APART)
    wanted = ("pipe", "gas", "leak", "gas off", "shut", "cover", "tag")
    expected = {
        stopping.STAYS_OFF: ("pipe", "gas", "leak", "gas off", "cover", "tag"),
        GAS_SUPPLY: ("pipe", "shut", "cover", "tag"),
    }
    for rule, told in expected.items():
        kinds = dict.fromkeys(task.kind for task in together.closing(machine, was, rule).tasks)
        assert tuple(kind for kind in kinds if kind in wanted) == told


# ---- the cock, followed and priced --------------------------------------------------------------------------


def smell(machine: model.Machine) -> Step:
    """Whether gas is smelt: at rest, and of use with the cock open alone."""
    return Step("symptom", at=next(name for name, one in machine.symptoms.items() if one.kind == "smells"))


def fan_alone(machine: model.Machine) -> Step:
    """The fan, with the cock left as it was."""
    return Step("symptom", conditions.condition(machine, {"selector": "fan"}), at="fan turns")


def test_a_look_for_which_the_cock_is_opened_is_isolated_with_its_caution_and_its_price() -> None:
    """On a machine that runs with its cock shut: DANGER until it is proved dead, and the minutes of that."""
    machine = loading.load(GAS)
    *_, (state, step, done) = course(machine, behind(machine), fan_alone(machine), smell(machine))
    assert step is not None
    kinds = [doing.kind for doing in done.doings]
    assert kinds.index(Kind.PROVE_DEAD) < kinds.index(Kind.GAS_ON) < kinds.index(Kind.LOOK)
    assert ": ".join(PROVING_DEAD) in done.cautions
    assert "Isolate the machine" in wording.sentence(Bench(machine).predictor, state, step, (), done.kinds)
    cost = pricing.cost_of(machine, state, step)
    assert (cost.power, cost.gas) == (machine.handwork.isolate, machine.handwork.cock)
    assert taken.after(machine, state, step).isolated


def hot(machine: model.Machine) -> Step:
    """The cord's end read warm, from outside of the burner box."""
    at = conditions.condition(machine, {"warmth": "hot"}, isolated=True)
    ends = ("receptacle.prong L", "receptacle.prong N")
    return Step("reading", at, Probe("ohms", *ends), places=ends)


def test_the_cock_is_opened_before_a_machine_that_burns_is_warmed_up() -> None:
    """Isolated, opened with nothing lit, run, and isolated again; told before the warming, priced, and watched."""
    machine = loading.load(GAS)
    *_, (state, step, done) = course(machine, behind(machine), LEFT, fan_alone(machine), hot(machine))
    assert step is not None
    assert (state.cock, state.open_bays) == (Cock.PERHAPS, frozenset())
    kinds = [doing.kind for doing in done.doings]
    assert kinds.index(Kind.GAS_ON) < kinds.index(Kind.ENERGISE) < kinds.index(Kind.RUN) < kinds.index(Kind.OHMS)
    assert kinds.count(Kind.ISOLATE) == 2
    told = wording.sentence(Bench(machine).predictor, state, step, (), done.kinds)
    wanted = ("Isolate the machine", "Open the gas cock", "Bring the power back", "let it come to 'hot'")
    places = [told.find(one) for one in wanted]
    assert -1 not in places, told
    assert places == sorted(places)
    assert told.count("gas cock") == 1
    hands = machine.handwork
    cost = pricing.cost_of(machine, state, step)
    assert (cost.gas, cost.power) == (hands.cock, 2 * hands.isolate + hands.energise)
    assert taken.after(machine, state, step).cock is Cock.OPEN
    assert done.state.gas is Gas.ON
    assert not dangers(machine, behind(machine), LEFT, fan_alone(machine), hot(machine))
    *_, (_, _, open_already) = course(machine, fan_alone(machine), hot(machine))
    assert Kind.GAS_ON not in open_already.kinds


def test_minutes_at_the_cock_are_those_of_what_is_told() -> None:
    """A repair beside the pipe shuts it and opens it again; one away from it opens what a step has shut."""
    machine = loading.load(GAS)
    bench, cock = Bench(machine), machine.handwork.cock
    shut = taken.after(machine, JobState(), behind(machine))
    expected = {("replace limit", JobState()): 2, ("replace limit", shut): 1, ("replace fan", JobState()): 0,
                ("replace fan", shut): 1}  # fmt: skip
    for (name, state), turns in expected.items():
        assert pricing.repair_cost(machine, state, bench.repairs[name]).gas == pytest.approx(turns * cock)
    assert pricing.cost_of(machine, JobState(), behind(machine)).gas == cock
    for name, turns in (("replace limit", 0), ("replace fan", 2)):
        repair = bench.repairs[name]
        anyway = pricing.needed_anyway(machine, JobState(), {(name,): 1.0}, {name: repair})
        priced = pricing.plain(machine, JobState(), behind(machine))
        without = priced._replace(cost=priced.cost, gas=(0.0, 0.0), whole=priced.whole - priced.cost.gas)
        assert priced.extra(anyway) - without.extra(anyway) == pytest.approx(turns * cock)


def test_plans_of_arrays_price_the_cock() -> None:
    """Shut for hands beside the pipe, not again within that, and open again for what should burn."""
    machine = loading.load(GAS)
    modes, hands = switching.Modes(machine, JobState()), machine.handwork
    warm = Step("symptom", conditions.usual(machine), at="air is warm")
    at, on = modes.of_steps([behind(machine), warm])
    table = modes.switching()
    assert table[0, at] == pytest.approx(hands.isolate + hands.cock)
    assert table[at, at] == 0.0
    assert table[at, on] == pytest.approx(table[0, on] + hands.energise + hands.cock)
