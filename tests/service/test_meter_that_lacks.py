"""A function that the meter lacks serves the safety needs too: what proves a machine dead, and its frame bonded."""

from __future__ import annotations

from functools import cache

import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading, model
from halfsplit.operate import condition as conditions
from halfsplit.plan import barring, insulated, pricing
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.predict.readings import Probe
from halfsplit.service import (
    advising,
    closing,
    diagnosing,
    following,
    guiding,
    isolating,
    proof_cards,
    proving,
    refusing,
    repairing,
    replaying,
)
from halfsplit.service.guiding import Guided
from halfsplit.work import staying, stopping, together
from halfsplit.work.hazards import STOPS
from halfsplit.work.refusals import NoMeter
from halfsplit.work.state import JobState
from tests.hazards.test_stops_in_the_guide import led
from tests.rehearse.benches import guide

NO_OHMS, NO_VOLTS, NO_LOW = map(NoMeter, ("ohms", "volts", "low-impedance volts"))
COLD = f.Perceived("water gets hot", False)
WANTS_OHMS = ("ohms from", "Ohms from")


@cache
def job(name: str = "water-heater") -> Guided:
    """A job begun, with what was complained of."""
    found = {"water-heater": COLD, "coil-cooktop": f.Perceived("left front glows", False)}
    return Guided(guide(name)).told(found[name])


def offered(guided: Guided) -> list[Step]:
    """The steps that may be done from here."""
    can = guided.asked.allowed(guided.standing)
    return [step for step, may in zip(guided.asked.steps.usual, can, strict=True) if may]


@pytest.mark.parametrize("name", ["water-heater", "coil-cooktop"])
def test_without_ohms_no_power_beside_open_covers(name: str) -> None:
    """No live reading behind a cover, nothing powered once one is off; and no ohms in the words of what is left."""
    guided = job(name).without(NO_OHMS)
    machine = guided.machine
    assert offered(guided)
    for step in offered(guided):
        powered = step.condition is not None and not conditions.cut_off(machine, step.condition)
        assert not (powered and bays_needed(machine, step)), step
        said = advising.advice_for(guided.asked, guided.weighed, step, guided.refused).text if step.live else ""
        assert not any(words in said for words in WANTS_OHMS)
    bay = next(iter(machine.bays))
    opened = JobState(frozenset({bay}), conditions.condition(machine, isolated=True), guided.refused)
    usual = conditions.usual(machine)
    run = next(one for one in guided.asked.steps.usual if one.kind == "symptom" and one.condition == usual)
    assert not barring.bars(machine, JobState(refused=guided.refused), run)
    assert barring.bars(machine, opened, run)


def test_without_volts_nothing_wants_hands_inside() -> None:
    """Questions, looks from outside and runs are left; a repair with hands in it is handed over."""
    guided = job().without(NO_VOLTS).without(NO_LOW)
    machine = guided.machine
    left = offered(guided)
    assert {"question", "look", "symptom"} <= {step.kind for step in left}
    assert not [s for s in left if bays_needed(machine, s) or (s.condition and s.condition.isolated)]
    names = ("replace upper element", "breaker: switch fully off and on")
    element, breaker = (guided.bench.repairs[one] for one in names)
    assert pricing.handed_over(machine, guided.standing, element)
    assert not pricing.handed_over(machine, guided.standing, breaker)
    assert STOPS[stopping.NOT_DEAD].say in repairing.work(guided, [element]).first


def test_what_is_due_behind_no_proof_of_dead_ends_the_search() -> None:
    """The stop says what is due, and that nobody opens it; with either kind of volts it is made."""
    dead = conditions.condition(job().machine, isolated=True)
    read = f.Reading(Probe("ohms", "upper element.1", "upper element.2"), dead, None, text="OL")
    sure = job().told(read, read)
    assert sure.due
    assert sure.without(NO_VOLTS).due
    stopped = sure.without(NO_VOLTS).without(NO_LOW)
    assert stopped.advice is not None
    assert stopped.advice.rule == stopping.NOT_DEAD
    assert "replace upper element" in stopped.advice.reason
    assert not stopped.due
    handed = following.handed_over(stopped)
    assert handed is not None
    assert STOPS[stopping.NOT_DEAD].say in handed.text
    told = closing.sentences(stopped.machine, proving.left_as_it_is(stopped))
    assert any(isolating.UNPROVED in one or "tag on it" in one for one in told)


def test_low_impedance_volts_alone_prove_it_dead_and_are_told() -> None:
    """At a step, on the list of putting together, and at a repair."""
    guided = job().without(NO_VOLTS)
    ohms = next(one for one in offered(guided) if one.probe and one.probe.meter == "ohms")
    said = advising.advice_for(guided.asked, guided.weighed, ohms, guided.refused).text
    assert "low-impedance volts between limit.1" in said
    work = repairing.work(guided, [guided.bench.repairs["replace upper element"]])
    assert any("low-impedance volts between" in one for one in work.first)
    assert not [one for one in work.first if ": volts between" in one]
    dryer = isolating.isolate(loading.load("vented-dryer"), volts="low-impedance volts")
    assert dryer.endswith("on a source known to be live) at low-impedance volts.")


def test_a_repair_without_ohms_is_left_without_power_and_says_why() -> None:
    """Nothing of the list or the proof run wants ohms; the tag and the words say that they are to be measured."""
    guided = job().without(NO_OHMS)
    work = repairing.work(guided, [guided.bench.repairs["replace upper element"]])
    told = closing.sentences(guided.machine, work.closed)
    assert not [one for one in told if any(words in one for words in WANTS_OHMS)]
    assert [task.kind for task in work.closed.tasks][-1] == "tag"
    assert STOPS[stopping.NOT_MEASURED].tag in told[-1]
    assert not work.proof.ran
    assert proof_cards.UNMEASURED in work.proof.sentences()
    with_all = repairing.work(job(), [guided.bench.repairs["replace upper element"]])
    assert with_all.proof.ran
    assert proof_cards.UNMEASURED not in with_all.proof.sentences()


def test_after_such_a_repair_the_tag_keeps_its_one_reason() -> None:
    """Told as made and not tried, it is left for the same reason as on its own list; with a meter that reads ohms
    something was wrong before it ran. What was read to lead to the frame is graver."""
    made = job().told(f.Tried("replace upper element", None))
    without, dead = made.without(NO_OHMS), conditions.condition(made.machine, isolated=True)
    assert guiding.left_by(without, ()) == stopping.NOT_MEASURED
    assert guiding.left_by(made, ()) == stopping.NOT_SAFE
    low = f.Reading(Probe("ohms", "limit.1", made.machine.frame), dead, 3.0, text="3")
    assert guiding.left_by(without.told(low), ()) == stopping.NOT_SAFE
    told = proving.left_as_it_is(without).tasks[-1]
    assert (told.kind, told.to) == ("tag", STOPS[stopping.NOT_MEASURED].tag)


def test_a_breaker_that_trips_is_told_before_what_is_not_measured() -> None:
    """The plug out for a reading at the wall, no ohms, a lead to the frame thought possible and none read: what was
    told of the breaker is the reason on the tag, and measuring alone brings no power back."""
    cooktop = job("coil-cooktop").told(f.Perceived("breaker trips", True))
    out = conditions.condition(cooktop.machine, isolated=True)
    read = cooktop.told(f.Reading(Probe("volts", "receptacle.L1", "receptacle.L2"), out, 240.0, text="240"))
    assert insulated.suspected(read.weighed)
    told = proving.left_as_it_is(read.without(NO_OHMS)).tasks[-1]
    assert (told.kind, told.to) == ("tag", STOPS[stopping.TRIPS].tag)


def test_who_leaves_it_open_without_ohms_leaves_the_power_off() -> None:
    """Opened and looked at: closed, tagged; not opened, nothing is said of it."""
    looked = job().told(f.Look("limit", "fine")).without(NO_OHMS)
    kinds = [task.kind for task in proving.left_as_it_is(looked).tasks]
    assert "cover" in kinds
    assert kinds[-1] == "tag"
    assert "earth" not in kinds
    assert "tag" not in [task.kind for task in proving.left_as_it_is(job().without(NO_OHMS)).tasks]


def test_what_safety_lacks_can_be_said_at_the_step() -> None:
    """At ohms behind a cover that nothing here reads volts, of either kind; at volts there, that nothing reads ohms."""
    guided = job()
    inside = [step for step in offered(guided) if step.probe and bays_needed(guided.machine, step)]
    dead, live = (next(one for one in inside if one.probe and one.probe.meter == meter) for meter in ("ohms", "volts"))
    choices = dict(refusing.of_step(guided.machine, guided.standing, dead))
    assert choices["no volts to prove it dead"] == NO_VOLTS
    then = guided.without(NO_VOLTS)
    choices = dict(refusing.of_step(then.machine, then.standing, dead))
    assert choices["no low-impedance volts to prove it dead"] == NO_LOW
    assert dict(refusing.of_step(guided.machine, guided.standing, live))["no ohms to prove its frame bonded"] == NO_OHMS


def test_a_break_does_not_bring_it_back() -> None:
    """A job taken up again with a cover off, or perhaps off, has no power without ohms."""
    for since in (f.Resumed(), f.TakenBack(f.Look("limit", "fine"))):
        before = (f.Look("limit", "fine"),) if isinstance(since, f.Resumed) else ()
        guided = job().told(*before, since).without(NO_OHMS)
        run = next(one for one in guided.asked.steps.usual if one.kind == "symptom" and one.condition)
        assert barring.bars(guided.machine, guided.standing, run)
    asked = diagnosing.diagnose(job().machine, [COLD], cannot=["ohms"])["next"]
    assert asked
    assert not [one for one in asked if one["live"]]


# ---- how it is left where no hand may go -------------------------------------------------------------------


FAN = loading.load("tests/hazards/capacitor-start-fan.yaml")


def read_inside(machine: model.Machine, red: str, black: str) -> tuple[f.Reading, ...]:
    """Ohms across a part, its first wire off."""
    off = conditions.condition(machine, isolated=True, lift=(red,))
    return (f.Reading(Probe("ohms", red, black), off, None, text="OL"),)


@pytest.mark.parametrize("resumed", [False, True])
def test_nobody_puts_a_wire_back_beside_a_charge_that_cannot_be_seen_gone(resumed: bool) -> None:
    """Without DC volts: what hands would meet a charge at stays as it is, open and off, told, the power off."""
    found = read_inside(FAN, "motor.C", "motor.R")
    job = Guided(advising.adviser(Bench(FAN))).told(*found, *((f.Resumed(),) if resumed else ()))
    assert {"wires", "cover"} <= {task.kind for task in proving.left_as_it_is(job).tasks}
    left = proving.left_as_it_is(job.without(NoMeter("dc volts")))
    kinds = {task.kind for task in left.tasks}
    assert kinds <= {"isolate", "meter", "leave", "tag"}
    (task,) = (one for one in left.tasks if one.kind == "leave")
    assert "wires off motor.C" in task.to
    assert "motor room" in task.to
    assert staying.CHARGED in task.cautions
    assert left.tasks[-1].to == together.NOT_WHOLE
    said = closing.closing(FAN, findings=found, cannot=["dc volts"])
    assert {one["kind"] for one in said["tasks"]} == kinds - {"isolate"}
    assert said["proof"] == [proof_cards.NOT_PROVED]


def test_without_volts_the_covers_alone_are_closed() -> None:
    """The wire stays off and is told, with why; no hand goes in before the covers are on, and the power stays off."""
    heater = job().machine
    found = read_inside(heater, "upper element.1", "upper element.2")
    left = job().told(*found).without(NO_VOLTS).without(NO_LOW)
    told = [task.kind for task in proving.left_as_it_is(left).tasks]
    assert "wires" not in told
    assert told.index("leave") < told.index("cover")
    assert told[-1] == "tag"
    said = closing.closing(heater, findings=found, cannot=["volts", "low-impedance volts"])["tasks"]
    assert [one["kind"] for one in said] == told
    (text,) = (one["text"] for one in said if one["kind"] == "leave")
    assert staying.NO_PROOF in text
    assert "wires off upper element.1" in text


# ---- once the meter reads again ----------------------------------------------------------------------------


MADE = (f.Tried("replace upper element", None), f.Closed(False))


def test_what_only_waits_for_ohms_is_measured_and_proved_once_they_are_read() -> None:
    """Made, put together, left off, and nothing found since: insulation, bond, power, proof run, in the talk and of a
    file; not while the ohms are lacking, nor where something was found since."""
    begun = guide("water-heater")
    waits = replaying.replayed(begun, (COLD, *MADE)).resumed()
    awaited = proving.awaited(waits)
    assert awaited
    assert awaited.names == ("replace upper element",)
    kinds = [task.kind for task in awaited.closed.tasks]
    assert kinds.index("insulation") < kinds.index("earth") < kinds.index("power") == len(kinds) - 1
    assert awaited.proof.ran
    listed = closing.closing(waits.machine, findings=(COLD, *MADE))
    assert [one["kind"] for one in listed["tasks"]] == kinds
    assert proof_cards.NOT_PROVED not in listed["proof"]
    assert proving.awaited(waits.without(NO_OHMS)) is None
    assert proving.awaited(waits.told(f.Look("limit", "burnt"))) is None
    assert proving.awaited(replaying.replayed(begun, (COLD, *MADE))) is None
    lacks = closing.closing(waits.machine, findings=(COLD, *MADE), cannot=["ohms"])["tasks"]
    assert STOPS[stopping.NOT_MEASURED].tag in lacks[-1]["text"]


def test_what_was_wrong_before_the_power_goes_on_with_the_search() -> None:
    """Ohms read low after the repair: nobody is led to its proof run, and the power stays off."""
    begun = guide("water-heater")
    dead = conditions.condition(job().machine, isolated=True)
    low = f.Reading(Probe("ohms", "limit.1", job().machine.frame), dead, 3.0, text="3")
    found = (COLD, MADE[0], low, MADE[1])
    assert proving.awaited(replaying.replayed(begun, found).resumed()) is None
    assert closing.closing(job().machine, findings=found)["tasks"][-1]["kind"] == "tag"


def test_the_guide_leads_to_the_proof_run_that_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """It says so, and proves the repair by the answer; it is named once."""
    waits = replaying.replayed(guide("water-heater"), (COLD, *MADE)).resumed()
    said, now = led(waits, ["ok", "yes", "yes"], monkeypatch)
    assert "MADE, AND NOT PROVED YET: replace upper element" in said
    assert "Proved: replace upper element. Nothing is left to do." in said
    assert f.Tried("replace upper element", True) in now.findings
