"""A gas dryer with a glow igniter and a flame switch: what is read, waited for and told where it has burnt or burns.

The judges: minutes added up by hand from the file, and the watcher of sessions, which keeps its own account.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading, model
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import WARMTH, Condition, condition
from halfsplit.plan import cock, fitting, opened, powering, pricing, proof, safely, score, steps, taken, undoing, warmth
from halfsplit.plan.proof_walk import Stage, Walk
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.predict.readings import Probe
from halfsplit.rehearse.proved_steps import ProofRuns
from halfsplit.rehearse.random_steps import Sessions
from halfsplit.service import advising, closing, guiding, proof_run, remembering, repairing, wording
from halfsplit.work import burning, places, safety, warms
from halfsplit.work.hazards import CAUTIONS, Hazard, Kind, Pipe
from halfsplit.work.state import Cock, JobState
from tests.rehearse.watcher import Watcher, of_sessions

PLACE = Path(__file__).parent / "glow-igniter-dryer.yaml"
DRYER = loading.load(str(PLACE))
FLAME = Probe("ohms", "flame switch.1", "flame switch.2")
PLUG = Probe("ohms", "cord block.L", "cord block.N")
COIL = Probe("ohms", "second coil.1", "second coil.2")
HOT = ": ".join(CAUTIONS[Hazard.HOT])
BURNING = condition(DRYER, DRYER.settings["burning"])
READ_LIT: tuple[f.Perceived, f.Reading] = (
    f.Perceived("igniter glows on and on", True, BURNING, "repairer"),
    f.Reading(Probe("volts", "flame switch.1", "flame switch.2"), BURNING, 0.0),
)
"""The igniter glows on, and leads were on the flame switch of the burner as it burnt."""
DUCT_OFF = JobState(frozenset({"back"}), conditions.usual(DRYER))
TOLD = ": ".join(CAUTIONS[Hazard.FUMES])


@cache
def asked() -> score.Adviser:
    """The adviser of the dryer."""
    return advising.adviser(remembering.bench(DRYER, ""))


def cooling_in(minutes: float) -> model.Machine:
    """The dryer as if it took so many minutes to cool."""
    return replace(DRYER, comes_to={**DRYER.comes_to, "cold": minutes})


def when_lit(machine: model.Machine) -> Step:
    """Ohms of the flame switch on a dead machine that is as warm as after it has burnt."""
    at = condition(machine, {WARMTH: "lit"}, isolated=True)
    return Step("reading", at, FLAME, places=(FLAME.red, FLAME.black))


def proof_stages() -> list[Stage]:
    """The proof run of the dryer."""
    healthy = proof.healthy(asked().bench)
    return list(Walk(healthy, JobState(), safely.begin(DRYER)).stages(proof.runs(healthy.predictor)))


def dangers(bench: Bench) -> Iterator[str]:
    """What the watcher finds in a proof run."""
    watcher = Watcher(DRYER, safely.facts(DRYER).capacitor)
    for state, step, done in ProofRuns(bench).after(JobState(), safely.begin(DRYER), hands_in=False):
        yield from watcher.reads(step, done.doings, state.refused)


def of(bench: Bench) -> set[str]:
    """The same without the places."""
    return {danger.split(":")[0] for danger in dangers(bench)}


# ---- a warmth that is gone ----------------------------------------------------------------------------------


def test_nothing_is_read_dead_at_a_warmth_that_is_gone_before_it_may_be_touched() -> None:
    """Ten minutes are waited for the igniter, and in five it is cold by its file: the flame switch, closed as it should
    be, would be taken to be stuck. In thirty it is not, and where the file says nothing it is read as before."""
    unsaid = replace(DRYER, comes_to={"lit": 1.0})
    for machine, offered in ((DRYER, False), (cooling_in(10.0), False), (cooling_in(30.0), True), (unsaid, True)):
        assert powering.possible(machine, when_lit(machine)) is offered
        assert bool(powering.first_warm(machine, JobState(), when_lit(machine))) is offered
    can = asked().allowed(JobState())
    lit = [step for step, ok in zip(asked().steps.usual, can, strict=True) if ok and _is_lit_and_dead(step)]
    assert not [step for step in lit if "burner bay" in bays_needed(DRYER, step)]


def _is_lit_and_dead(step: Step) -> bool:
    at = step.condition
    return at is not None and at.isolated and at.position(WARMTH) == "lit"


def test_a_run_before_a_dead_reading_is_waited_for_and_priced() -> None:
    """From cold: ten minutes after the run, of which isolating and opening pass by themselves; and after the reading
    nothing is hot any more."""
    machine = cooling_in(30.0)
    cost = pricing.cost_of(machine, JobState(), when_lit(machine))
    assert cost.waiting == 1.0
    assert cost.cooling == pytest.approx(10.0 - machine.handwork.isolate - machine.bays["burner bay"].open_minutes)
    assert taken.after(machine, JobState(), when_lit(machine)).warm == 0.0
    outside = Step("reading", when_lit(machine).condition, Probe("ohms", "cord block.L", "cord block.N"))
    outside = replace(outside, places=("cord block.L", "cord block.N"))
    passed = pricing.cost_of(machine, JobState(), outside).passed - 1.0
    assert taken.after(machine, JobState(), outside).warm == pytest.approx(max(0.0, 10.0 - passed))


# ---- a burner that does not light ---------------------------------------------------------------------------


def test_nothing_is_asked_that_a_burner_which_does_not_light_cannot_give() -> None:
    """The air is not warm, though the second coil of the valve should have power as soon as it is lit: no step wants
    the machine lit. A sound burner's drum that does not turn says nothing of it, nor does an igniter."""
    cold, shows = f.Perceived("air is warm", False), fitting.healthy(asked())
    at = condition(DRYER, DRYER.settings["burning"])
    assert not warms.can_be_met(DRYER, [replace(cold, condition=at)], at, shows)
    for what in ("igniter glows", "drum turns"):
        assert warms.can_be_met(DRYER, [f.Perceived(what, False)], at, shows)
    found = [
        f.Perceived("drum turns", True), f.Perceived("igniter glows on and on", True), cold,
        f.Perceived("air flows at the vent", True),
    ]  # fmt: skip
    for step in asked().steps.usual:
        if step.condition and step.condition.position(WARMTH) == "lit" and not step.asks:
            assert not fitting.fits(asked(), found, step), step
    hotter = replace(DRYER, places={"outlet": {"cold": 20.0, "lit": 55.0, "hot": 80.0}})
    later = replace(DRYER.symptoms["air is warm"], setting=((WARMTH, "hot"),))
    assert warms.heats_from_cold(hotter, DRYER.symptoms["air is warm"])
    assert not warms.heats_from_cold(hotter, later)


# ---- heat in the proof run ----------------------------------------------------------------------------------


def test_what_is_seen_into_has_cooled_and_burns_again() -> None:
    """The igniter's bay is opened ten minutes after the run, each time; with it lit the cock is open again, and it is
    let come to that once more: it was cold meanwhile."""
    looks = {
        (walked.step.at, walked.step.condition.position(WARMTH)): walked
        for stage in proof_stages() for walked in stage.walked
        if walked.step and walked.step.condition and DRYER.symptoms.get(walked.step.at) and walked.shut
    }  # fmt: skip
    assert {at for at, _ in looks} == {"igniter glows", "igniter glows on and on"}
    for (_, warm), walked in looks.items():
        kinds = [doing.kind for doing in walked.done.doings]
        assert kinds.index(Kind.ISOLATE) < kinds.index(Kind.COOL) < kinds.index(Kind.OPEN) < kinds.index(Kind.WATCH)
        assert (Kind.GAS_ON in kinds) is (warm == "lit")
        waited = 10.0 - DRYER.handwork.isolate - DRYER.bays["burner bay"].open_minutes
        off = DRYER.handwork.isolate + DRYER.handwork.energise
        both = DRYER.bays["burner bay"].open_minutes + DRYER.bays["burner bay"].close_minutes
        assert walked.minutes == pytest.approx(off + both + waited + (warm == "lit"))
        assert walked.step
        predictor, wanted = asked().bench.predictor, walked.done.kinds
        said = wording.sentence(predictor, walked.before, walked.step, walked.shut, wanted)
        assert said.index("Let it cool: 10 min") < said.index("Open the burner bay")
        assert ("let it come to 'lit'" in said) is (warm == "lit")


def test_what_is_seen_into_is_waited_for_in_the_search_too() -> None:
    """After a run of ours the wait is a price of the step, as it is done."""
    at = condition(DRYER, DRYER.settings["heat"])
    ran, step = JobState(condition=at, warm=10.0), Step("symptom", at, at="igniter glows")
    waited = 10.0 - DRYER.handwork.isolate - DRYER.bays["burner bay"].open_minutes
    assert pricing.cost_of(DRYER, ran, step).cooling == pytest.approx(waited)
    begun = safely.begin(DRYER)
    done = safely.prepared(DRYER, begun, ran, taken.after(DRYER, ran, step), step)
    assert Kind.COOL in done.kinds
    plugged = replace(DRYER, gas=None)
    assert pricing.cost_of(plugged, ran, step).cooling == pytest.approx(waited)


def test_a_cover_that_goes_on_after_a_run_says_what_is_hot_behind_it() -> None:
    """At each closing of the burner's bay in the proof run, and in the list that ends a search; not in that of a repair
    for which it has cooled."""
    said = proof_run.of_repairs(asked().bench, ["replace timer"]).sentences()
    shut = [n for n, one in enumerate(said) if one.startswith("Then ") and "Close the burner bay" in one]
    assert len(shut) == 2
    for n in shut:
        told = next(k for k in range(n - 1, 0, -1) if said[k].startswith("DANGER"))
        assert HOT in said[told:n]
    ran = closing.closing(DRYER, findings=READ_LIT)["tasks"]
    assert [HOT in task["cautions"] for task in ran if task["kind"] == "cover"] == [True]
    away = closing.closing(DRYER, findings=READ_LIT[:1], opened=["burner bay"])["tasks"]
    assert [HOT in task["cautions"] for task in away if task["kind"] == "cover"] == [True]
    step = steps.of_finding(READ_LIT[1])
    assert step
    due = asked().bench.repairs["replace flame switch"]
    assert [undoing.after(DRYER, [step], repairs).hot for repairs in ([], [due])] == [True, False]


# ---- a warmth that may be gone --------------------------------------------------------------------------------


def _guided() -> guiding.Guided:
    return guiding.Guided(asked()).told(*READ_LIT)


@pytest.mark.parametrize("since", [f.Resumed(), f.TakenBack(READ_LIT[0])])
def test_after_a_break_a_warmth_is_come_to_again(since: f.Finding) -> None:
    """Of what a burner warmed nobody knows how warm it is, nor whether its cock is open: both are told and priced."""
    watch = Step("symptom", condition(DRYER, DRYER.settings["burning"]), at="igniter glows on and on")
    before: tuple[f.Finding, ...] = READ_LIT
    after = (*before, since)
    texts = [advising.advice_for(asked(), asked().bench.weigh(found), watch).text for found in (before, after)]
    assert ["let it come to 'lit', some 1 min" in text for text in texts] == [False, True]
    stood, now = (advising.standing(asked(), found) for found in (before, after))
    assert pricing.cost_of(DRYER, stood, watch).waiting == 0.0
    assert pricing.cost_of(DRYER, now, watch).waiting == 1.0
    if isinstance(since, f.Resumed):
        assert ["Open the gas cock" in text for text in texts] == [False, True]
    then = taken.after(DRYER, now, watch)
    assert pricing.cost_of(DRYER, then, watch).waiting == 0.0
    dead = Step(
        "reading", condition(cooling_in(30.0), {WARMTH: "lit"}, isolated=True), PLUG, places=(PLUG.red, PLUG.black)
    )
    assert [opened.in_reach(DRYER, opened.warmths([dead]), one).all() for one in (stood, now)] == [True, False]


def test_a_break_leaves_the_cock_of_an_untouched_machine_open() -> None:
    """Nobody of ours has turned it."""
    assert taken.resumed(DRYER, JobState()).cock is Cock.OPEN
    assert taken.resumed(DRYER, JobState(condition=conditions.usual(DRYER))).cock is Cock.PERHAPS


def test_what_goes_out_where_the_power_is_cut_comes_to_its_warmth_again() -> None:
    """It burns; the bay is opened for the leads, dead, and it is started again: it was cold meanwhile. A machine that
    no gas warms keeps its warmth that long."""
    at = condition(DRYER, DRYER.settings["burning"])
    lit = JobState(condition=at)
    volts = Step("reading", at, Probe("volts", "flame switch.1", "flame switch.2"), places=(FLAME.red, FLAME.black))
    bare = JobState(frozenset({"burner bay"}), at)
    assert pricing.cost_of(DRYER, lit, volts).waiting == 1.0
    assert pricing.cost_of(DRYER, bare, volts).waiting == 0.0
    assert pricing.cost_of(replace(DRYER, gas=None), lit, volts).waiting == 0.0
    predictor, bays = asked().bench.predictor, ("burner bay",)
    said = [wording.sentence(predictor, state, volts, bays) for state in (lit, bare)]
    assert ["let it come to 'lit'" in one for one in said] == [True, False]


def test_what_comes_before_the_power_is_told_once() -> None:
    """The frame's bond after what may be off, with the cock opened between; and what is set back before a repair."""
    off = condition(DRYER, isolated=True, lift=["second coil.1"])
    found: list[f.Finding] = [*READ_LIT, f.TakenBack(f.Reading(COIL, off, None, text="OL"))]
    at = condition(DRYER, DRYER.settings["burning"])
    volts = Step("reading", at, replace(COIL, meter="volts"), places=(COIL.red, COIL.black))
    text = advising.advice_for(asked(), asked().bench.weigh(found), volts).text
    assert "Wires back on second coil.1" in text
    assert text.count("Ohms from cabinet.metal") + text.count("ohms from cabinet.metal") == 1
    work = repairing.work(_guided(), [asked().bench.repairs["replace flame switch"]])
    assert work.first[0] == "First set back: cycle off."
    assert "setting" not in [task.kind for task in work.closed.tasks]


def test_the_watcher_sees_a_cover_closed_hot_untold(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nothing is said of what is hot behind a cover that goes on."""
    monkeypatch.setattr(places, "at_closing", lambda *_: frozenset())
    assert of(asked().bench) == {"a hot bay closed, no caution"}


# ---- carbon monoxide ----------------------------------------------------------------------------------------


def test_the_duct_goes_back_before_it_burns() -> None:
    """With the back open, and so the duct off, it is closed before a run in which the burner burns; not for air alone,
    nor where no gas burns, nor where the step has its leads behind it. There the warning is told."""
    heat, fluff = (condition(DRYER, {"cycle": cycle, "start": "pressed"}) for cycle in ("timed", "fluff"))
    turns = Step("symptom", heat, at="drum turns")
    assert powering.shut_to_run(DRYER, DUCT_OFF, turns) == ("back",)
    assert powering.shut_to_run(DRYER, DUCT_OFF, replace(turns, condition=fluff)) == ()
    assert powering.shut_to_run(replace(DRYER, gas=None), DUCT_OFF, turns) == ()
    said = " ".join(wording.shutting_said(DRYER, DUCT_OFF, turns))
    assert "With the back open the vent duct is off. First:" in said
    for at, warned in ((heat, True), (fluff, False)):
        volts = Step("reading", at, Probe("volts", "cord block.L", "cord block.N"))
        volts = replace(volts, places=("cord block.L", "cord block.N"))
        after = taken.after(DRYER, DUCT_OFF, volts)
        assert "back" in after.open_bays
        done = safely.prepared(DRYER, safely.begin(DRYER), DUCT_OFF, after, volts)
        assert (TOLD in done.cautions) is warned
    assert TOLD.startswith("WARNING: Carbon monoxide")
    assert "Local codes" in TOLD


def test_the_proof_run_warns_of_carbon_monoxide_where_the_clamp_takes_the_duct_off() -> None:
    """On each card whose clamp lies behind the back, and on no other."""
    made = proof_run.of_repairs(asked().bench, ["replace timer"])
    cards = {card.number: TOLD in card.minded for card in made.run}
    assert {n for n, warned in cards.items() if warned} == {
        card.number for card in made.run if any(check.step.probe for check in card.checks)
    }
    assert set(cards.values()) == {True, False}


# ---- the smell ----------------------------------------------------------------------------------------------


def test_gas_is_smelt_before_the_clamp() -> None:
    """Before a cover is off and the burner burns beside it: first of all, with all covers on, and once."""
    stages = proof_stages()
    seen = [(n, walked.step.at) for n, stage in enumerate(stages) for walked in stage.walked if walked.step]
    smelt = [(n, what) for n, what in seen if what in DRYER.symptoms and DRYER.symptoms[what].unpowered]
    assert smelt == [(0, "smells of gas"), (0, "smell of gas")]
    assert not any(walked.shut for walked in stages[0].walked)
    assert any(walked.step and walked.step.probe for walked in stages[1].walked)


# ---- the watcher --------------------------------------------------------------------------------------------


def test_nothing_in_its_sessions_could_hurt() -> None:
    """Random sessions with their proof runs, and a proof run by itself."""
    found, kinds = of_sessions(Sessions(asked()), seed=3, count=40)
    assert not found
    assert {Kind.COOL, Kind.GAS_OFF, Kind.GAS_ON, Kind.WATCH} <= kinds
    assert not of(asked().bench)


def test_the_watcher_sees_hot_parts_laid_bare(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the wait before the burner's bay is opened."""
    needs = safety.needs
    monkeypatch.setattr(safety, "needs", lambda step: needs(step._replace(cool=False)))
    assert {"a burner's bay opened hot", "opened hot to see into it"} <= of(asked().bench)


def test_the_watcher_sees_a_burner_seen_lit_with_its_cock_shut(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where it has to burn for parts of it only to be seen."""
    monkeypatch.setattr(burning, "is_lit", lambda machine, at: False)
    assert of(asked().bench) == {"seen as warm as gas makes it, with the gas off"}


def test_the_watcher_sees_a_warmth_that_is_gone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a dead machine counts as warm for ever."""
    step = when_lit(DRYER)
    watcher = Watcher(DRYER, False)
    done = safely.prepared(DRYER, safely.begin(DRYER), JobState(), taken.after(DRYER, JobState(), step), step)
    assert any(danger.startswith("read at a warmth that is gone") for danger in watcher.reads(step, done.doings))
    monkeypatch.setattr(warmth, "lasts", lambda *_: True)
    assert powering.possible(DRYER, step)


def test_the_watcher_sees_carbon_monoxide_untold(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the warning, and with the duct off where it could be on."""
    monkeypatch.setattr(powering, "fumes", lambda *_: False)
    assert of(asked().bench) == {"burns with its duct off, no warning"}
    monkeypatch.undo()
    monkeypatch.setattr(powering, "unducted", lambda *_: ())
    turns = Step("symptom", conditions.usual(DRYER), at="drum turns")
    open_back = Step("look", at="vent duct", places=("vent duct",))
    watcher, safe, state, found = Watcher(DRYER, False), safely.begin(DRYER), JobState(), list[str]()
    for step in (open_back, turns):
        after = taken.after(DRYER, state, step)
        done = safely.prepared(DRYER, safe, state, after, step)
        found += watcher.reads(step, done.doings)
        state, safe = after, done.state
    assert [danger for danger in found if danger.startswith("burns with a duct off that could be on: back")]


def test_only_a_burner_that_should_burn_is_lit() -> None:
    """Set for heat and warm it is; cold, on air alone or isolated it is not, and no other machine ever is."""
    burns = condition(DRYER, DRYER.settings["burning"])
    fluff = condition(DRYER, dict(DRYER.settings["burning"]) | {"cycle": "fluff"})
    cold: Condition = conditions.usual(DRYER)
    assert burning.is_lit(DRYER, burns)
    assert burning.should_burn(DRYER, cold)
    for at in (cold, fluff, replace(burns, isolated=True)):
        assert not burning.is_lit(DRYER, at)
    assert cock.pipe(DRYER, Step("symptom", burns, at="drum turns")) is Pipe.LIT
    plain = loading.load("vented-dryer")
    assert not burning.should_burn(plain, conditions.usual(plain))
    assert not any(places.burns(plain, bay) for bay in plain.bays)
