"""Where a charge is met, where it is taken away, what that costs: steps, repairs and lists for putting together."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from halfsplit.cli import ending
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading, model
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.plan import pricing, safely, score, steps, switching, taken
from halfsplit.plan.setups import Setups
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.predict.readings import Probe
from halfsplit.rehearse.random_steps import Sessions
from halfsplit.service import advising, closing, guiding, meaning, proof_run, proving, refusing, repairing, wording
from halfsplit.service.guiding import Guided
from halfsplit.work import minutes, places, refusals, safety
from halfsplit.work.hazards import CAUTIONS, Hazard, Kind
from halfsplit.work.state import JobState, with_fronts
from tests.rehearse.watcher import Watcher, of_sessions

HERE = Path(__file__).parent
FAN, BOXED = (loading.load(str(HERE / name)) for name in ("capacitor-start-fan.yaml", "boxed-capacitor-fan.yaml"))
WARNING = ": ".join(CAUTIONS[Hazard.CHARGE])
ACROSS = Probe("capacitance", "start capacitor.1", "start capacitor.2")
IN_ROOM = ("motor.cap", "motor.R")
"""What wires join to the two ends of the capacitor that lies in a box of its own."""


def dead(machine: model.Machine, *ends: str) -> Step:
    """Ohms across two terminals of an isolated machine."""
    return Step("reading", conditions.condition(machine, isolated=True), Probe("ohms", *ends), places=ends)


def live(machine: model.Machine, *ends: str) -> Step:
    """Volts across two terminals of a machine that runs."""
    at = conditions.condition(machine, {"selector": "fan"})
    return Step("reading", at, Probe("volts", *ends), places=ends)


def course(machine: model.Machine, *wanted: Step) -> Iterator[tuple[JobState, Step, safely.Safely]]:
    """Steps one after another, the automaton asked each time."""
    state, safe = JobState(), safely.begin(machine)
    for step in wanted:
        then = taken.after(machine, state, step)
        done = safely.prepared(machine, safe, state, then, step)
        yield state, step, done
        state, safe = then, done.state


# ---- in another bay ----------------------------------------------------------------------------------------


def test_a_charge_is_met_at_all_that_is_wired_to_a_capacitor() -> None:
    """Leads at the motor are across the capacitor by bare wire: its warning, and discharged there, the box closed."""
    ((_, step, done),) = course(BOXED, dead(BOXED, *IN_ROOM))
    kinds = [doing.kind for doing in done.doings]
    assert kinds.index(Kind.PROVE_DEAD) < kinds.index(Kind.DISCHARGE) < kinds.index(Kind.OHMS)
    assert WARNING in done.cautions
    bays = steps.bays_needed(BOXED, step)
    assert "cap box" not in bays
    told = wording.sentence(Bench(BOXED).predictor, JobState(), step, bays, done.kinds)
    assert told.index("Open the motor room") < told.index("across motor.cap and motor.R") < told.index("Meter at ohms")


def test_a_repair_there_tells_of_the_charge() -> None:
    """A new motor comes off two wires that lead to the capacitor in its box."""
    guided = guiding.Guided(advising.adviser(Bench(BOXED)))
    work = repairing.work(guided, [listing.repairs(BOXED)["replace motor"]])
    assert WARNING in work.dangers
    assert any("Discharge start capacitor" in said for said in work.first)


@pytest.mark.parametrize(("machine", "inner"), [(FAN, "motor room"), (BOXED, "cap box")])
def test_where_one_end_alone_can_be_reached_the_capacitor_is_laid_bare_first(
    machine: model.Machine, inner: str
) -> None:
    """The front has one end: hands on the dead machine there want its own bay open; leads on a live one do not."""
    ends = ("cord block.N", "mode switch.1")
    assert inner in steps.bays_needed(machine, dead(machine, *ends))
    assert inner in steps.bays_needed(machine, Step("look", at="cord block", places=("cord block",)))
    assert steps.bays_needed(machine, live(machine, *ends)) == ("front",)
    assert inner in listing.repairs(machine)["replace mode switch"].bays
    assert steps.bays_needed(machine, dead(machine, "receptacle.prong L", "receptacle.prong N")) == ()


def test_its_own_terminals_laid_bare_later_it_is_discharged_there_too() -> None:
    """The wire to where it was discharged first may be off; a second reading there discharges nothing more."""
    inside = dead(BOXED, "start capacitor.1", "start capacitor.2")
    made = list(course(BOXED, dead(BOXED, *IN_ROOM), dead(BOXED, "motor.C", "motor.cap"), inside, inside))
    assert [Kind.DISCHARGE in done.kinds for _, _, done in made] == [True, False, True, False]
    state, _, done = made[2]
    text = wording.sentence(Bench(BOXED).predictor, state, inside, ("cap box",), done.kinds)
    assert text.index("Open the cap box") < text.index("across start capacitor.1 and start capacitor.2")


@pytest.mark.parametrize("machine", [FAN, BOXED])
def test_no_random_session_meets_a_charge(machine: model.Machine) -> None:
    """The watcher follows the wires by itself, and finds no danger; what is priced is what is told."""
    made, told = Sessions(score.Adviser(Bench(machine))), 0
    for number in range(40):
        watcher = Watcher(machine, safely.facts(machine).capacitor)
        for state, step, done in made.session(np.random.default_rng([5, number])):
            assert not list(watcher.reads(step, done.doings, state.refused))
            told += Kind.DISCHARGE in done.kinds
    assert told > 20


def where_it_lies(machine: model.Machine, opened: frozenset[str]) -> frozenset[Hazard]:
    """The rule of before: a charge is met where the capacitor lies, and nowhere else."""
    return frozenset({Hazard.CHARGE} if any(one.bay in opened for one in machine.stored) else ())


@pytest.mark.parametrize("ends", [IN_ROOM, ("cord block.N", "mode switch.1")])
def test_the_watcher_sees_leads_across_a_capacitor_in_another_bay(
    ends: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the rule of before it finds leads on a charge, and where one end of it is in reach."""
    monkeypatch.setattr(places, "charge", where_it_lies)
    monkeypatch.setattr(model.Machine, "to_discharge", lambda *_: ())
    ((_, step, done),) = course(BOXED, dead(BOXED, *ends))
    found = list(Watcher(BOXED, True).reads(step, done.doings))
    assert any("hands beside a charged capacitor" in one for one in found)


def test_the_watcher_sees_what_was_discharged_elsewhere_taken_for_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the capacitor's own terminals are laid bare and nothing is made of that."""
    monkeypatch.setattr(places, "charge_bare", lambda *_: False)
    watcher, found = Watcher(BOXED, True), list[str]()
    for _, step, done in course(BOXED, dead(BOXED, *IN_ROOM), dead(BOXED, "start capacitor.1", "start capacitor.2")):
        found += watcher.reads(step, done.doings)
    assert any("hands beside a charged capacitor" in one for one in found)


# ---- putting together --------------------------------------------------------------------------------------

TOLD = (f.Perceived("fan turns", False, None, "owner"), f.Perceived("fan hums", True, None, "owner"))


def read() -> f.Reading:
    """The capacitor, read with one of its wires off."""
    at = conditions.condition(FAN, isolated=True, lift=["start capacitor.1"])
    return f.Reading(ACROSS, at, 147e-6, step=1e-7)


def left(*findings: f.Finding) -> list[str]:
    """The kinds of task by which the fan is put together after these findings, its warning among what is told."""
    guided = guiding.Guided(advising.adviser(Bench(FAN)), findings=(*TOLD, *findings))
    made = proving.left_as_it_is(guided)
    kinds = [task.kind for task in made.tasks]
    assert (WARNING in closing.acknowledge(made)) == ("discharge" in kinds)
    return kinds


def test_hands_put_wires_back_on_what_has_been_discharged() -> None:
    """Not twice where it has been since the power was off; else before the meter and the wires."""
    assert "discharge" not in left(read())
    kinds = left(read(), f.Resumed())
    assert kinds.index("isolate") < kinds.index("discharge") < kinds.index("meter") < kinds.index("wires")


def test_a_list_from_names_alone_discharges() -> None:
    """Of what is only said to be open nobody knows; of the front alone nothing can be reached."""
    made = closing.closing(FAN, ["motor room"], ["start capacitor.1"])["tasks"]
    kinds = [task["kind"] for task in made]
    assert kinds.index("discharge") < kinds.index("wires")
    (discharge,) = (task for task in made if task["kind"] == "discharge")
    assert WARNING in discharge["cautions"]
    assert "across start capacitor.1 and start capacitor.2 for 20 s" in discharge["text"]
    assert "discharge" not in [task["kind"] for task in closing.closing(FAN, ["front"])["tasks"]]


def test_what_may_be_off_is_discharged_before_it_is_made_good() -> None:
    """On the way to power, after a step that was taken back."""
    step = Step("reading", read().condition, ACROSS, places=("start capacitor.1", "start capacitor.2"))
    state = taken.perhaps(FAN, JobState(), taken.Perhaps(step))
    run = Step("symptom", conditions.condition(FAN, {"selector": "fan"}), at="fan hums")
    kinds = [task.kind for task in wording.made_good(FAN, state, run)]
    assert kinds.index("discharge") < kinds.index("wires")
    told = wording.sentence(Bench(FAN).predictor, state, run, ())
    assert told.index("prove it dead") < told.index("Discharge start capacitor") < told.index("Wires back on")


def test_who_sets_a_step_aside_is_told_to_discharge_before_putting_back() -> None:
    """On a machine that holds a charge, and on no other."""
    told = ending.if_begun(FAN, "ohms")
    assert told.index("prove it dead") < told.index("discharge its capacitor") < told.index("put back")
    assert "discharge" not in ending.if_begun(loading.load("vented-dryer"), "ohms")


def test_what_is_opened_to_read_to_the_frame_is_discharged_first() -> None:
    """Within the list, where it opens a shut bay for that; not again where its own terminals were open before."""
    step = dead(FAN, "cord block.N", "cabinet.metal")
    shut = proof_run.opened_for(FAN, JobState(), [step])
    assert shut == ("front", "motor room")
    (task,) = proof_run._insulation(FAN, [step], shut, JobState())
    assert WARNING in task.cautions
    assert task.to.index("discharge start capacitor") < task.to.index("ohms from")
    (again,) = proof_run._insulation(FAN, [step], (), JobState(frozenset(shut)))
    assert "discharge" not in again.to


# ---- a meter that cannot see it gone ------------------------------------------------------------------------


def test_without_dc_volts_no_hand_goes_beside_a_charge() -> None:
    """What is left is done outside; a repair beside it is handed over, and says why. At a step it can be said."""
    no_dc = refusals.NoMeter("dc volts")
    adviser = advising.adviser(Bench(FAN))
    guided = Guided(adviser, (f.Perceived("fan turns", False), f.Perceived("fan hums", True)), frozenset({no_dc}))
    steps = [one for one, can in zip(adviser.steps.usual, adviser.allowed(guided.standing), strict=True) if can]
    assert steps
    assert not any(FAN.stored[0].met & set(with_fronts(FAN, bays_needed(FAN, one))) for one in steps)
    repair = guided.bench.repairs["replace start capacitor"]
    assert repairing.why_barred(guided, [repair]) == repairing.UNDISCHARGED
    assert not repairing.why_barred(Guided(adviser, guided.findings), [repair])
    step = dead(FAN, "start capacitor.1", "start capacitor.2")
    said = [one.said for one in refusing.of_step(FAN, JobState(), step)]
    assert "no DC volts to see it discharged" in said


def test_no_random_session_discharges_on_a_meter_without_dc_volts(monkeypatch: pytest.MonkeyPatch) -> None:
    """Read by the watcher, which finds it where that is forgotten."""
    asked = Setups(Bench(FAN))
    lacks = frozenset({refusals.NoMeter("dc volts")})
    found, kinds = of_sessions(Sessions(asked, lacks=lacks), seed=5, count=40)
    assert not found
    assert Kind.RUN in kinds
    assert Kind.DISCHARGE not in kinds
    monkeypatch.setattr(refusals, "undischarged", lambda *_: False)
    found, _ = of_sessions(Sessions(Setups(Bench(FAN)), lacks=lacks), seed=5, count=40)
    assert found == {"discharged, and seen so on a meter without DC volts"}


# ---- what it costs -----------------------------------------------------------------------------------------

ONCE = FAN.handwork.discharge + 20 / 60
"""The resistor for 20 s, and what hands do before and after."""


def test_discharging_is_priced_where_it_is_told() -> None:
    """Of steps and repairs in random sessions, from wherever things stand."""
    for machine in (FAN, BOXED):
        sessions, rng, seen = Sessions(score.Adviser(Bench(machine))), np.random.default_rng(29), set[bool]()
        for _ in range(30):
            state, safe = JobState(), safely.begin(machine)
            for _ in range(12):
                step, then = sessions.chosen(state, rng)
                if then is None:
                    continue
                if isinstance(step, Step):
                    done = safely.prepared(machine, safe, state, then, step)
                    cost = pricing.cost_of(machine, state, step)
                else:
                    done = safely.repaired(machine, safe, state, then, step)
                    cost = pricing.repair_cost(machine, state, step)
                many = [doing.kind for doing in done.doings].count(Kind.DISCHARGE)
                assert cost.discharging == pytest.approx(many * ONCE), (state, step)
                seen.add(many > 0)
                state, safe = then, done.state
        assert seen == {True, False}


def test_why_names_it() -> None:
    """It is among the minutes, and told when asked why."""
    step = dead(FAN, "motor.C", "motor.R")
    cost = pricing.cost_of(FAN, JobState(), step)
    assert cost.minutes == pytest.approx(0.6 + 1.5 + 5 + 5 + ONCE)
    assert "55 s to discharge what holds a charge" in meaning.spent(cost, cost.minutes)


def test_plans_of_arrays_price_it() -> None:
    """From how the machine stands to a mode in which hands reach the capacitor, not again within it, and again after
    the power was on."""
    modes = switching.Modes(FAN, JobState())
    inner, running = dead(FAN, "motor.C", "motor.R"), live(FAN, "cord block.N", "mode switch.1")
    at, on = modes.of_steps([inner, running])
    table = modes.switching()
    assert table[0, at] == pytest.approx(FAN.handwork.isolate + ONCE)
    assert table[at, at] == 0.0
    assert table[on, at] >= FAN.handwork.isolate + ONCE


def test_a_repair_that_wants_it_too_takes_it_off_the_price() -> None:
    """What the way with the step takes more than the way without it: nothing of the discharging."""
    motor = listing.repairs(FAN)["replace motor"]
    step = dead(FAN, "motor.C", "motor.R")
    anyway = pricing.needed_anyway(FAN, JobState(), {(motor.name,): 1.0}, {motor.name: motor})
    then = taken.after(FAN, JobState(), step)
    cost = pricing.cost_of(FAN, JobState(), step)
    more = cost.minutes + pricing.repair_cost(FAN, then, motor).minutes
    more -= pricing.repair_cost(FAN, JobState(), motor).minutes
    assert pricing.plain(FAN, JobState(), step).extra(anyway) == pytest.approx(more)
    assert minutes.discharged(FAN, then)
    assert safety.begin(safely.facts(FAN)).charged
