"""The supply loaded by the machine itself: what answers to it, where it is read, what it costs, and that it is live."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfsplit.circuit.network import Array
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading, model, primitives
from halfsplit.modes import listing
from halfsplit.modes.fault import LOAD_SUPPLY
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import powering, pricing, safely, steps, switching, taken, under_load, view
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.rehearse import play, trials
from halfsplit.service import advising, pacing
from halfsplit.service.wording import sentence
from halfsplit.work import minutes, places, safety
from halfsplit.work.hazards import CAUTIONS, Hazard, Kind
from halfsplit.work.pace import Factor, Pace, paced
from halfsplit.work.state import JobState, with_fronts
from tests.rehearse.benches import NAMES, adviser, bench

each_machine = pytest.mark.parametrize("name", [*NAMES, "coil-cooktop"])
FEW = 10
JOINTS = {
    "water-heater": {"breaker.load L1", "breaker.load L2", "limit.1", "limit.3"},
    "vented-dryer": {f"{at}{end}" for at in ("receptacle.prong ", "terminal block.") for end in ("L1", "L2", "N")},
    "refrigerator": {f"{at}{end}" for at in ("receptacle.prong ", "cord block.") for end in ("L", "N")},
    "coil-cooktop": {f"{at}{end}" for at in ("receptacle.prong ", "terminal block.") for end in ("L1", "L2", "N")},
}
"""Where cord or cable meets prongs, breaker and machine, live conductors and neutral, by the machines' wiring; the
joints of the house's fixed wires stand with the house's parts."""
HEAVIEST = {
    "water-heater": ("tank cold", 240 / (12.8 * 1.01)),
    "vented-dryer": ("high heat", 240 / 10.75 + 2.5),
    "refrigerator": ("defrosting", 120 / (31 * 1.02)),
    "coil-cooktop": ("all high", 2 * 240 / 27 + 2 * 240 / 45),
}
"""The named setting that draws the most, and about how many amps, by Ohm's law from the ohms of the machine files; the
dryer's motor takes some of its 5 A in phase with that."""
LOADED = "breaker: pole L1 gives way under load"


def loaded(name: str) -> list[Step]:
    """The steps in which the supply is loaded."""
    return list(under_load.steps_of(bench(name).predictor))


# ---- what answers to it -----------------------------------------------------------------------------------


@each_machine
def test_the_joints_of_the_supply_answer_to_it_and_no_others(name: str) -> None:
    """Loose ones where the whole current passes; not the earth's, nor those of the machine's own wires."""
    found = {fault.name: fault for fault in listing.faults(bench(name).machine) if LOAD_SUPPLY in fault.provoked}
    joints = {fault.subject.removeprefix("joint ") for fault in found.values() if fault.subject.startswith("joint ")}
    assert joints == JOINTS[name]
    house = {part.name for part in bench(name).machine.parts.values() if part.house}
    assert {fault.subject for fault in found.values()} - {f"joint {at}" for at in joints} <= house
    assert {"breaker", "service"} <= {fault.subject for fault in found.values()}


@each_machine
def test_it_is_one_way_of_the_whole_machine(name: str) -> None:
    """Named once, beside the shaking that a loose joint answers to as well."""
    machine = bench(name).machine
    assert listing.ways_to_provoke(machine).count(LOAD_SUPPLY) == 1
    loose = listing.by_name(machine)[f"joint {min(JOINTS[name])}: loose"]
    assert {way.split(" ")[0] for way in loose.provoked} == {"shake", "load"}


# ---- what it does to volts --------------------------------------------------------------------------------


def _shown(pair: tuple[str, str], meter: str, warmth: str) -> Array:
    """A reading of the water heater under each size of LOADED, the healthy machine first."""
    made = bench("water-heater")
    at = conditions.condition(made.machine, {"warmth": warmth})
    number = [fault.name for fault in made.faults].index(LOADED)
    rows = [s for s, one in enumerate(made.singles.variants) if one.faults in ((), (number,))]
    return np.asarray(made.predictor.reading(Probe(meter, *pair), at).value[rows])


def test_unloaded_volts_are_whole_and_loaded_ones_collapse() -> None:
    """5 and 100 ohms in a pole against the meter's megohms, and against the element's 12.9 by the divider's rule."""
    ends, element = ("limit.1", "limit.3"), 12.8 * 1.01
    at_rest = _shown(ends, "volts", "hot tank")
    assert at_rest == pytest.approx(240.0, rel=1e-3)
    healthy, slight, gone = _shown(ends, "volts", "cold tank")
    assert healthy == pytest.approx(237, abs=1)
    assert slight == pytest.approx(240 * element / (element + 5 + 0.18), rel=0.005)
    assert gone == pytest.approx(240 * element / (element + 100 + 0.18), rel=0.005)
    assert gone < 0.15 * healthy


def test_what_the_supply_drives_is_dropped_in_the_pole_and_in_the_rest() -> None:
    """Kirchhoff's second law: volts at the machine and the amps through the pole's ohms make up the supply's volts."""
    volts, amps = (_shown(("limit.1", end), meter, "cold tank") for end, meter in (("limit.3", "volts"), ("", "amps")))
    for ohms, across, through in zip((0, 5, 100), volts, amps, strict=True):
        assert across + through * (ohms + 0.18) == pytest.approx(240.0, abs=0.5)


# ---- where and how it is read -----------------------------------------------------------------------------


@each_machine
def test_the_setting_is_the_one_that_draws_the_most(name: str) -> None:
    """By the solved network; against Ohm's law on the values of the machine files."""
    at, amps = under_load.heaviest_setting(bench(name).predictor)
    setting, expected = HEAVIEST[name]
    machine = bench(name).machine
    named = conditions.condition(machine, machine.settings[setting])
    assert {item for item in at.setting if item[0] != "defrost"} >= set(named.setting) - {("defrost", "defrost")}
    assert amps == pytest.approx(expected, rel=0.05)


@each_machine
def test_few_live_readings_of_the_running_machine(name: str) -> None:
    """Volts between the conductors where they meet the machine, and across the heaviest load; reached while it runs."""
    machine, found = bench(name).machine, loaded(name)
    assert 1 <= len(found) <= FEW
    heaviest = under_load.heaviest_setting(bench(name).predictor)[0]
    for step in found:
        assert step.live
        assert step.probe is not None
        assert step.probe.meter == "volts"
        assert step.condition == replace(heaviest, provoke=LOAD_SUPPLY)
        assert powering.powered(machine, step)
        assert powering.possible(machine, step)
        assert not play.is_unsafe(machine, (), step)
    feeds = set(machine.supply.feeds)
    across = {model.part_of(step.places[0]) for step in found if not set(step.places) <= feeds}
    # the refrigerator's defrost heater lies behind ice: thawed, it does not heat
    assert across == ({"upper element"} if name == "water-heater" else set())


@each_machine
def test_to_the_safety_automaton_it_is_volts_on_a_live_machine(name: str) -> None:
    """Power back and the meter proven first, the live caution shown; never what is done dead with the meter on."""
    machine = bench(name).machine
    for step in loaded(name):
        before = JobState(condition=conditions.condition(machine, isolated=True))
        safe = safety.after(safely.begin(machine), safety.Step(Kind.ISOLATE))
        done = safely.prepared(machine, safe, before, taken.after(machine, before, step), step)
        kinds = [doing.kind for doing in done.doings]
        assert kinds[-1] is Kind.VOLTS
        assert Kind.PROVOKE not in kinds
        assert Kind.CLIP not in kinds
        assert kinds.index(Kind.ENERGISE) < len(kinds) - 1 - kinds[::-1].index(Kind.PROVE_METER)
        assert any(CAUTIONS[Hazard.LIVE][1] in told for told in done.cautions)
        assert safety.unmet(safe, safety.Step(Kind.VOLTS))
    assert all(safely.kind_of(step, inside) is Kind.VOLTS for step in loaded(name) for inside in (False, True))


def test_bays_that_stop_the_machine_rule() -> None:
    """No lead behind one of them; one that stands open is closed first."""
    plain = loading.load("vented-dryer")
    stops = replace(plain.bays["rear cover"], runs=False)
    shut = Bench(replace(plain, bays={**plain.bays, "rear cover": stops}))
    assert not list(under_load.steps_of(shut.predictor))
    (step, *_), machine = loaded("vented-dryer"), bench("vented-dryer").machine
    opened = JobState(frozenset(with_fronts(machine, ("drum housing",))), conditions.condition(machine, isolated=True))
    assert powering.shut_to_run(machine, opened, step) == ("drum space", "drum housing")
    assert not {"drum space", "drum housing"} & taken.after(machine, opened, step).open_bays


def _without_load(machine: model.Machine) -> model.Machine:
    """The same where nothing answers to a load."""
    def deaf(part: model.Part) -> model.Part:
        return replace(part, modes=tuple(mode for mode in part.modes if "load" not in mode.provoked))

    joint = machine.joint and deaf(machine.joint)
    return replace(machine, parts={name: deaf(part) for name, part in machine.parts.items()}, joint=joint)


def test_no_step_where_nothing_answers_or_nothing_loads() -> None:
    """A machine whose supply has no such joints, and one whose elements draw a hundredth of an amp."""
    plain = loading.load("water-heater")
    deaf = _without_load(plain)
    assert LOAD_SUPPLY not in listing.ways_to_provoke(deaf)
    assert not list(under_load.steps_of(Bench(deaf).predictor))
    elements = {
        name: replace(e, ohms=replace(e.ohms, nominal=1e3 * e.ohms.nominal))
        if isinstance(e, primitives.Impedance) else e
        for name, e in plain.elements.items()
    }  # fmt: skip
    assert not list(under_load.steps_of(Bench(replace(plain, elements=elements)).predictor))


@each_machine
def test_it_is_never_among_what_is_provoked_dead(name: str) -> None:
    """Ohms with the meter clipped on know nothing of it, and before covers close none is asked for."""
    ways = {step.condition.provoke for step in steps.provoking_steps(bench(name).machine) if step.condition}
    assert LOAD_SUPPLY not in ways


def test_what_brings_out_before_covers_close_is_dead() -> None:
    """Though nothing else than a load would bring a weak pole out."""
    asked = adviser("water-heater")
    number = [fault.name for fault in asked.bench.faults].index(LOADED)
    believed = np.array([one.faults == (number,) for one in asked.bench.singles.variants], float)
    assert asked.brings_out(believed, JobState()) is None


# ---- minutes ----------------------------------------------------------------------------------------------


def test_the_machine_runs_for_it_and_no_pace_scales_that() -> None:
    """Five minutes of running beside the reading's own; a shop three times as slow lets it run as long."""
    tank = loading.load("water-heater")
    slow = paced(tank, Pace({"reading": Factor(3.0), "changing": Factor(3.0)}))
    step = loaded("water-heater")[0]
    plain = replace(step, condition=step.condition and step.condition.still)
    for machine in (tank, slow):
        cost = pricing.cost_of(machine, JobState(), step)
        assert (cost.running, cost.itself) == (minutes.LOAD, machine.handwork.reading)
        assert cost.minutes - pricing.cost_of(machine, JobState(), plain).minutes == minutes.LOAD == 5.0
    record = pacing._record(tank, JobState(), step, 12.0)
    assert record.waiting == pytest.approx(minutes.LOAD)
    assert record.minutes["reading"] == pytest.approx(tank.handwork.reading)


def test_a_load_that_is_on_is_not_waited_for_again() -> None:
    """The second pair is read at once; after another setting, or a cover opened dead, it runs five minutes anew."""
    machine, (first, second, *_) = bench("vented-dryer").machine, loaded("vented-dryer")
    state = taken.after(machine, JobState(), first)
    assert pricing.cost_of(machine, state, second).running == 0.0
    moved = taken.after(machine, state, replace(second, condition=conditions.condition(machine)))
    assert pricing.cost_of(machine, moved, second).running == minutes.LOAD
    shut = replace(state, open_bays=frozenset())
    assert pricing.cost_of(machine, shut, second).running == minutes.LOAD


@each_machine
def test_it_leaves_heat_behind_as_any_run(name: str) -> None:
    """As many minutes until all may be touched as after any other step under power."""
    machine = bench(name).machine
    for step in loaded(name):
        assert taken.after(machine, JobState(), step).warm == places.cooling(machine)


@pytest.mark.parametrize("name", ["refrigerator", "water-heater"])
def test_the_arrays_of_a_plan_have_the_same_minutes(name: str) -> None:
    """Its own minutes and the change of mode in the arrays are what it costs from where things stand, all open."""
    machine, chosen = bench(name).machine, loaded(name)
    for at in (None, conditions.usual(machine)):
        state = JobState(frozenset(machine.bays), at)
        modes = switching.Modes(machine, state)
        made = view._tests(adviser(name), state, np.zeros((len(chosen), 1, 1)), chosen, modes)
        changing = modes.switching()
        own = zip(np.asarray(made.minutes).tolist(), np.asarray(made.mode).tolist(), strict=True)
        for step, (itself, mode) in zip(chosen, own, strict=True):
            assert itself + changing[0][mode] == pytest.approx(pricing.cost_of(machine, state, step).minutes)
            assert changing[mode][mode] == 0.0


# ---- words, and a job -------------------------------------------------------------------------------------


def test_the_sentence_says_what_runs_and_what_sags() -> None:
    """Leads go on after the run: no hand holds them on live terminals for five minutes, nothing is clipped on."""
    made = bench("water-heater")
    said = sentence(made.predictor, JobState(), loaded("water-heater")[0], ("upper cover",))
    assert "With the power on, meter at volts: red on limit.1, black on limit.3." in said
    assert said.index("heaviest load on for five minutes, hands off") < said.index("red on")
    assert said.endswith("volts that sag or drop out are the supply or its joints.")
    assert "Clip" not in said


def test_a_load_that_is_on_is_not_asked_for_again() -> None:
    """The second pair is read as it goes on; behind a cover that was opened dead meanwhile it runs anew."""
    made, (first, second, *_) = bench("vented-dryer"), loaded("vented-dryer")
    state = taken.after(made.machine, JobState(), first)
    assert "Let it go on with the heaviest load." in sentence(made.predictor, state, second, ("rear cover",))
    shut = replace(state, open_bays=frozenset())
    assert "for five minutes, hands off" in sentence(made.predictor, shut, second, ("rear cover",))


@pytest.mark.parametrize(("fault", "least"), [(LOADED, 2), ("joint limit.1: loose", 1)])
def test_a_supply_that_gives_way_is_found_under_load(fault: str, least: int) -> None:
    """Rehearsed on the water heater: steady by every other reading, seen in that step, and rightly told then, though a
    reset that isolating has made may be believed first. A loose joint is mostly seen by who looks at it."""
    asked = adviser("water-heater")
    made = trials.Rehearsal(asked, trials.Asked(asked.bench.machine, 1, fault=fault))
    through = right = 0
    for number in range(8):
        _, truth, told = made._job(np.random.default_rng([1, number]))
        job = play.Job(asked, truth, told, play.as_advised(asked))
        played = job.play()
        asked.bench.forget()
        provoked = [at for at in (getattr(x, "condition", None) for x in job.findings) if _loads(at)]
        last = getattr(job.findings[-1], "condition", None)
        through += bool(provoked) and _loads(last) and (played.right_first or job._stops_rightly())
        right += played.right_first
        assert played.unsafe_steps == 0
    assert through >= least
    assert right >= 4


def _loads(at: Condition | None) -> bool:
    return at is not None and at.loads


@pytest.mark.parametrize("name", ["vented-dryer", "coil-cooktop"])
def test_minutes_at_work_with_covers_open_name_what_moves_and_what_gets_hot(name: str) -> None:
    """Beside live parts: a drum that turns and burners that glow for five minutes are said before it begins."""
    asked = adviser(name)
    weighed = asked.bench.weigh([])
    for step in loaded(name):
        told = advising.advice_for(asked, weighed, step).cautions
        assert any("Keep hands and clothes away" in one for one in told)
        assert any("Hot parts" in one for one in told)
        assert told[0].startswith("DANGER: Live parts")


def test_a_breaker_that_trips_is_left_off() -> None:
    """Whoever sees for himself whether it trips is told before; what a machine trips by itself comes back by itself."""
    asked = adviser("refrigerator")
    said = {
        step.at: advising.advice_for(asked, asked.bench.weigh([]), step).text
        for step in asked.table.steps if step.kind == "symptom" and step.at in ("breaker trips", "compressor clicks")
    }  # fmt: skip
    assert said["breaker trips"].endswith("Once only: if it trips, leave it off.")
    assert "leave it off" not in said["compressor clicks"]
