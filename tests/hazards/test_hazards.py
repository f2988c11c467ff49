"""Heat, stored charge, weight and sharp edges: told where they are, once, and made safe before hands."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading, model
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.plan import powering, pricing, safely, score, steps, taken, undoing
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.rehearse import trials
from halfsplit.rehearse.random_steps import Sessions
from halfsplit.service import advising, expecting, guiding, repairing, wording
from halfsplit.work import handling, places, safety, together
from halfsplit.work.hazards import CAUTIONS, Hazard, Kind
from halfsplit.work.state import JobState
from tests.rehearse import benches
from tests.rehearse.watcher import Watcher

HERE = Path(__file__).parent
FAN = str(HERE / "capacitor-start-fan.yaml")
REFRIGERATOR = str(HERE / "small-refrigerator.yaml")


@pytest.fixture(scope="module")
def fan() -> guiding.Guided:
    """A diagnosis of the invented fan at its beginning."""
    return guiding.Guided(advising.adviser(Bench(loading.load(FAN))))


def said(hazard: Hazard) -> str:
    """A caution as a person reads it."""
    return "{}: {}".format(*CAUTIONS[hazard])


def ohms(machine: model.Machine, red: str, black: str) -> Step:
    """Ohms across two terminals of an isolated machine."""
    at = conditions.condition(machine, isolated=True)
    return Step("reading", at, Probe("ohms", red, black), places=(red, black))


def prepared(machine: model.Machine, step: Step) -> safely.Safely:
    """All that is done for a step on a machine as it is found."""
    before = JobState()
    return safely.prepared(machine, safely.begin(machine), before, taken.after(machine, before, step), step)


# ---- heat --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "red", "black", "hot"),
    [
        ("vented-dryer", "heater.common", "heater.front", True),
        ("vented-dryer", "timer.A", "timer.B", False),
        ("water-heater", "upper element.1", "upper element.2", False),
        (REFRIGERATOR, "compressor.C", "compressor.R", True),
        (REFRIGERATOR, "cold control.1", "cold control.2", False),
        (str(HERE.parent / "gas" / "gas-air-heater.yaml"), "gas valve.1", "gas valve.2", True),
    ],
)
def test_what_gets_hot_is_left_to_cool(name: str, red: str, black: str, hot: bool) -> None:
    """Beside heater, burner and compressor the caution comes first, then the wait; elsewhere, and in water, neither."""
    machine = loading.load(name)
    if red not in machine.terminals:
        red, black = [f"timer.{t}" for t in machine.parts["timer"].terminals[:2]]
    done = prepared(machine, ohms(machine, red, black))
    assert (said(Hazard.HOT) in done.cautions) == (Kind.COOL in done.kinds) == hot
    if hot:
        kinds = [(doing.kind, doing.step.hazard) for doing in done.doings]
        assert kinds.index((Kind.CAUTION, Hazard.HOT)) < kinds.index((Kind.COOL, None)) < len(kinds) - 1


def test_the_minutes_come_from_the_parts() -> None:
    """A compressor's dome takes longer than a heater; the file's own minutes go before those of the type."""
    machine = loading.load(REFRIGERATOR)
    assert places.cooling(machine) == machine.parts["compressor"].cools == 20.0
    text = Path(REFRIGERATOR).read_text("utf-8").replace("aux: 14 ohm ± 8 %,", "aux: 14 ohm ± 8 %, cools in: 35 min,")
    longer, problems = loading.examine_text(text, "x")
    assert not problems
    assert longer is not None
    assert places.cooling(longer) == 35.0
    assert "35 min after it last ran" in places.cool(longer)


def test_the_wait_is_counted_after_a_run_only() -> None:
    """20 minutes less those of isolating and opening, where we ran it; nothing for a machine that has stood."""
    machine = loading.load(REFRIGERATOR)
    step = ohms(machine, "compressor.C", "compressor.R")
    run = Step("symptom", conditions.usual(machine), at="compressor runs")
    ran = taken.after(machine, JobState(), run)
    cost = pricing.cost_of(machine, ran, step)
    assert cost.cooling == pytest.approx(20.0 - cost.power - cost.opening)
    assert cost.minutes == pytest.approx(cost.itself + 20.0 + cost.closing)
    assert pricing.cost_of(machine, JobState(), step).cooling == 0.0
    assert pricing.cost_of(machine, taken.after(machine, ran, step), step).cooling == 0.0


COOKTOP = loading.load("coil-cooktop")
GLOWS = Step("symptom", conditions.usual(COOKTOP), at="left front glows")


@pytest.mark.parametrize("name", ["refrigerator", "coil-cooktop"])
def test_what_is_waited_for_is_what_the_automaton_wants_cooled(name: str) -> None:
    """After a run: every third step of the table and every repair, priced with a wait just where cooling is ordered."""
    machine = loading.load(name)
    asked = benches.adviser(name)
    run = Step("symptom", conditions.usual(machine), at=next(iter(machine.symptoms)))
    ran = replace(taken.after(machine, JobState(), run), warm=1000.0)  # longer than hands take to isolate and open
    safe = safely.prepared(machine, safely.begin(machine), JobState(), ran, run).state
    seen = set()
    for step in filter(partial(powering.possible, machine), asked.table.steps[::3]):
        waited = pricing.cost_of(machine, ran, step).cooling > 0
        done = safely.prepared(machine, safe, ran, taken.after(machine, ran, step), step)
        assert (Kind.COOL in done.kinds) == waited, step
        seen.add(waited)
    for repair in asked.bench.repairs.values():
        if handling.hands_in(machine, repair):
            done = safely.repaired(machine, safe, ran, taken.under_repair(machine, ran, repair), repair)
            assert (Kind.COOL in done.kinds) == (pricing.repair_cost(machine, ran, repair).cooling > 0), repair
    assert seen == {True, False}


def test_a_burner_is_let_cool_before_it_is_replaced() -> None:
    """It lies in no bay, and is hot all the same: in the price, among what is done, and isolated first."""
    ran = taken.after(COOKTOP, JobState(), GLOWS)
    repair = Bench(COOKTOP).repairs["replace left front burner"]
    cost = pricing.repair_cost(COOKTOP, ran, repair)
    assert cost.power == COOKTOP.handwork.isolate
    assert cost.cooling == pytest.approx(places.cooling(COOKTOP) - cost.power)
    safe = safely.prepared(COOKTOP, safely.begin(COOKTOP), JobState(), ran, GLOWS).state
    done = safely.repaired(COOKTOP, safe, ran, taken.under_repair(COOKTOP, ran, repair), repair)
    kinds = [doing.kind for doing in done.doings]
    assert kinds.index(Kind.ISOLATE) < kinds.index(Kind.COOL) < kinds.index(Kind.REPAIR)
    assert pricing.repair_cost(COOKTOP, JobState(), repair).cooling == 0.0


@pytest.mark.parametrize("corner", ["left front", "right rear", "left rear", "right front"])
def test_the_top_is_hot_where_it_carries_the_burners(corner: str) -> None:
    """After all burners were on, a look at a receptacle has the caution and the wait before hands are behind the top,
    and its replacement too, with the burner out first and plugged in again."""
    glows = Step("symptom", conditions.condition(COOKTOP, dict(COOKTOP.settings["all high"])), at="left front glows")
    ran = taken.after(COOKTOP, JobState(), glows)
    safe = safely.prepared(COOKTOP, safely.begin(COOKTOP), JobState(), ran, glows).state
    look = Step("look", at=f"{corner} receptacle", places=(f"{corner} receptacle",))
    then = taken.after(COOKTOP, ran, look)
    done = safely.prepared(COOKTOP, safe, ran, then, look)
    kinds = [(doing.kind, doing.step.hazard) for doing in done.doings]
    assert kinds.index((Kind.CAUTION, Hazard.HOT)) < kinds.index((Kind.OPEN, None)) < kinds.index((Kind.COOL, None))
    assert kinds[-3:] == [(Kind.LOOK, None), (Kind.REFIT, None), (Kind.REFIT, None)]
    cost = pricing.cost_of(COOKTOP, ran, look)
    assert cost.cooling == pytest.approx(places.cooling(COOKTOP) - cost.power - cost.opening)
    repair = listing.repairs(COOKTOP)[f"replace {corner} receptacle"]
    assert Kind.COOL in safely.repaired(
        COOKTOP, safe, ran, taken.under_repair(COOKTOP, ran, repair), repair
    ).kinds  # fmt: skip
    assert pricing.repair_cost(COOKTOP, ran, repair).cooling > 0
    was = undoing.after(COOKTOP, (), [repair])
    assert set(was.lifted[:2]) == {f"{corner} burner.1", f"{corner} burner.2"}
    tasks = [(task.kind, task.at) for task in together.closing(COOKTOP, was).tasks]
    assert tasks.index(("plug in", f"{corner} burner")) < tasks.index(("cover", "top"))


def test_no_burner_is_under_power_with_the_top_open() -> None:
    """No step wants the top open and the burners fed; to run, it is closed first."""
    found = [s for s in steps.steps(COOKTOP) if "top" in steps.bays_needed(COOKTOP, s) and powering.powered(COOKTOP, s)]
    assert found
    assert not any(powering.possible(COOKTOP, step) for step in found)
    opened = JobState(open_bays=frozenset({"top", "front panel"}))
    assert powering.shut_to_run(COOKTOP, opened, GLOWS) == ("top",)


def test_twins_are_let_cool_before_they_change_places() -> None:
    """Though the step itself is on the live machine; once exchanged, nothing is waited for."""
    ran = taken.after(COOKTOP, JobState(), GLOWS)
    at = replace(conditions.usual(COOKTOP), exchange=("left front burner", "right rear burner"))
    exchanged = Step("symptom", at, at="left front glows")
    cost = pricing.cost_of(COOKTOP, ran, exchanged)
    assert cost.cooling == pytest.approx(places.cooling(COOKTOP) - cost.power)
    after = taken.after(COOKTOP, ran, exchanged)
    assert pricing.cost_of(COOKTOP, after, Step("symptom", at, at="right rear glows")).cooling == 0.0


def test_work_elsewhere_lets_it_cool_too() -> None:
    """A reading at the control housing after a run waits for nothing, and what it takes is not waited for again.

    What it opens is closed later."""
    machine = loading.load(REFRIGERATOR)
    run = Step("symptom", conditions.usual(machine), at="compressor runs")
    cold, hot = ohms(machine, "cold control.1", "cold control.2"), ohms(machine, "compressor.C", "compressor.R")
    ran = taken.after(machine, JobState(), run)
    assert ran.warm == 20.0
    elsewhere = pricing.cost_of(machine, ran, cold)
    assert elsewhere.cooling == 0.0
    then = taken.after(machine, ran, cold)
    assert elsewhere.closing > 0
    assert then.warm == pytest.approx(20.0 - (elsewhere.minutes - elsewhere.closing))
    after = pricing.cost_of(machine, then, hot)
    assert after.cooling == pytest.approx(max(0.0, then.warm - after.opening))


def test_told_once_a_power_state_and_no_more_once_it_is_cool() -> None:
    """A second reading beside the compressor says nothing; after a run it is said and waited for anew."""
    machine = loading.load(REFRIGERATOR)
    first, second = (ohms(machine, "compressor.C", end) for end in ("compressor.R", "compressor.S"))
    run = Step("symptom", conditions.usual(machine), at="compressor runs")
    safe, state, heard = safely.begin(machine), JobState(), []
    for step in (first, second, run, second):
        then = taken.after(machine, state, step)
        done = safely.prepared(machine, safe, state, then, step)
        heard.append((said(Hazard.HOT) in done.cautions, Kind.COOL in done.kinds))
        safe, state = done.state, then
    assert heard[0] == (True, True)
    assert heard[1] == (False, False)
    assert heard[3] == (True, True)


# ---- stored charge -----------------------------------------------------------------------------------------


def test_a_capacitor_is_read_in_farads() -> None:
    """145 µF between its terminals with a wire off; open, nearly none; shorted, over range; with less, less."""
    machine = loading.load(FAN)
    at = conditions.condition(machine, isolated=True, lift=["start capacitor.1"])
    told = expecting.expect(machine, Probe("capacitance", "start capacitor.1", "start capacitor.2"), at)
    assert told["reading"]["value"] == pytest.approx(145e-6)
    shown = {one["fault"]: one["value"] for one in told["faults"]}
    assert shown["start capacitor: open"] == 0
    assert shown["start capacitor: shorted"] is None
    assert 40e-6 < shown["start capacitor: lost capacity"] < 100e-6


@pytest.mark.parametrize("hidden", ["start capacitor: open", "motor: start switch open"])
def test_a_motor_that_hums_has_its_capacitor_read(hidden: str) -> None:
    """The reading is advised, with a wire off, and tells the capacitor from the motor; its tolerance is no fault."""
    machine = loading.load(FAN)
    asked = score.Adviser(Bench(machine))
    for number in range(3):
        played = trials.Rehearsal(asked, trials.Asked(machine, fault=hidden)).trial(number)
        (read,) = (x for x in played.findings if isinstance(x, f.Reading) and x.probe.meter == "capacitance")
        assert read.condition.isolated
        assert read.condition.lift
        assert played.right_first
        assert played.unsafe_steps == 0


@pytest.mark.parametrize(("farads", "likeliest"), [(133e-6, "motor"), (60e-6, "start capacitor")])
def test_a_capacitor_within_its_tolerance_is_good(farads: float, likeliest: str) -> None:
    """145 µF ± 10 %: 133 speak for the motor, 60 for the capacitor, and neither for what the file does not say."""
    machine = loading.load(FAN)
    at = conditions.condition(machine, isolated=True, lift=["start capacitor.1"])
    across = Probe("capacitance", "start capacitor.1", "start capacitor.2")
    told = [f.Perceived("fan turns", False, None, "owner"), f.Perceived("fan hums", True, None, "owner")]
    weighed = Bench(machine).weigh([*told, f.Reading(across, at, farads, step=1e-7)])
    assert weighed.ranked(0.001)[0].faults[0].startswith(likeliest)
    assert weighed.unexplained < 0.1


def test_hands_near_a_capacitor_wait_for_its_discharge(fan: guiding.Guided) -> None:
    """Its caution, proved dead, through a resistor for six time constants, proved with the meter; then the reading."""
    machine = fan.machine
    step = ohms(machine, "motor.C", "motor.R")
    done = prepared(machine, step)
    kinds = [doing.kind for doing in done.doings]
    assert said(Hazard.CHARGE) in done.cautions
    assert kinds.index(Kind.PROVE_DEAD) < kinds.index(Kind.DISCHARGE) < kinds.index(Kind.OHMS)
    text = wording.sentence(fan.bench.predictor, JobState(), step, ("motor room",), done.kinds)
    ((element, at),) = places.discharged(machine, ("motor room",))
    assert at == element.ends
    assert places.seconds(element) == 20  # 6 x 20 kohm x 159.5 uF = 19.1 s
    for word in ("20 kΩ", "20 s", "start capacitor.1 and start capacitor.2", "DC volts", "0 V"):
        assert word in text
    assert text.index("Open the motor room") < text.index("Discharge") < text.index("Meter at ohms")


def test_elsewhere_nothing_is_discharged(fan: guiding.Guided) -> None:
    """At the plug of a closed machine, and where it has been discharged in this power state."""
    machine = fan.machine
    outer = prepared(machine, ohms(machine, "receptacle.prong L", "receptacle.prong N"))
    assert Kind.DISCHARGE not in outer.kinds
    state, safe = JobState(), safely.begin(machine)
    for count, end in enumerate(("motor.R", "motor.cap")):
        step = ohms(machine, "motor.C", end)
        then = taken.after(machine, state, step)
        done = safely.prepared(machine, safe, state, then, step)
        assert (Kind.DISCHARGE in done.kinds) == (count == 0)
        state, safe = then, done.state


def test_a_repair_tells_of_the_charge(fan: guiding.Guided) -> None:
    """The job of a new capacitor: its cautions, then isolated, and discharged before hands go in."""
    work = repairing.work(fan, [listing.repairs(fan.machine)["replace start capacitor"]])
    assert said(Hazard.CHARGE) in work.dangers
    told = [sentence.split(" ")[0] for sentence in work.first]
    assert told.index("Isolate") < told.index("Open") < told.index("Discharge")


def test_no_random_session_beside_a_capacitor_is_unsafe(fan: guiding.Guided) -> None:
    """The watcher, which keeps its own account of charge, finds no danger, and charge is met."""
    machine, made = fan.machine, Sessions(score.Adviser(fan.bench))
    met: set[Kind] = set()
    for number in range(60):
        watcher = Watcher(machine, safely.facts(machine).capacitor)
        for state, step, done in made.session(np.random.default_rng([3, number])):
            assert not list(watcher.reads(step, done.doings, state.refused))
            met |= done.kinds
    assert Kind.DISCHARGE in met


@pytest.mark.parametrize("need", ["discharged", "cool"])
def test_the_watcher_sees_charge_and_heat_forgotten(need: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the need left out for readings, looks and repairs the watcher finds a danger."""
    machine = loading.load(FAN if need == "discharged" else REFRIGERATOR)
    without: dict[str, Any] = {need: False}
    bare = {kind: one._replace(**without) for kind, one in safety.NEEDS.items()}
    monkeypatch.setattr(safety, "NEEDS", bare)
    inside = {"discharged": ("motor.C", "motor.R"), "cool": ("compressor.C", "compressor.R")}[need]
    step, watcher = ohms(machine, *inside), Watcher(machine, safely.facts(machine).capacitor)
    found = list(watcher.reads(step, prepared(machine, step).doings))
    assert any(("charged" if need == "discharged" else "hot") in one for one in found)


# ---- edges and weight --------------------------------------------------------------------------------------


def test_edges_and_weight_are_told_at_the_bay_that_has_them(fan: guiding.Guided) -> None:
    """The motor room is sharp and takes two people; the front is neither; what the file words itself stays."""
    machine = fan.machine
    inner = prepared(machine, ohms(machine, "motor.C", "motor.R")).cautions
    ends = ("mode switch.P", "cord block.N")
    live = Step("reading", conditions.condition(machine), Probe("volts", *ends), places=ends)
    outer = prepared(machine, live).cautions
    for hazard in (Hazard.SHARP, Hazard.HEAVY):
        assert said(hazard) in inner
        assert said(hazard) not in outer
    assert places.own_cautions(machine.bays["motor room"]) == ("CAUTION: fan blades bend easily",)
