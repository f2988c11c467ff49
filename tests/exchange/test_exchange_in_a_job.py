"""An exchange as a repairer meets it: what it costs, that it is safe, how it is said, barred and put back."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from halfsplit.errors import BadInput
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.machine import loading
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import barring, fitting, powering, pricing, safely, steps, taken, undoing
from halfsplit.plan.setups import Setups
from halfsplit.plan.steps import Step
from halfsplit.plan.switching import Modes
from halfsplit.rehearse import truth
from halfsplit.rehearse.random_steps import Sessions
from halfsplit.service import advising, closing, guiding
from halfsplit.work import minutes, places, refusals, safety, together
from halfsplit.work.hazards import Hazard, Kind
from halfsplit.work.state import JobState
from tests.rehearse import benches
from tests.rehearse.watcher import is_found, of_sessions

COOKTOP = loading.load("coil-cooktop")
LARGE = ("left front burner", "right rear burner")
HANDS = COOKTOP.handwork
USUAL = conditions.usual(COOKTOP)
EXCHANGED = replace(USUAL, exchange=LARGE)
GLOWS = Step("symptom", EXCHANGED, at="left front glows")
IN_TOP = Repair("replace the block", "terminal block", 10.0, 5.0, ("top",))
COLD = f.Perceived("left front glows", False, USUAL, "repairer")
OTHERS = tuple(f.Perceived(f"{x} glows", True, USUAL, "repairer") for x in ("right rear", "left rear", "right front"))
PROVES_DEAD = refusals.NoMeter("low-impedance volts")
NO_METER = frozenset(refusals.NoMeter(meter) for meter in ("ohms", "volts", "amps"))


def asked() -> Setups:
    """The adviser of the cooktop."""
    return benches.guide("coil-cooktop")


def exchanged_steps() -> list[Step]:
    """The steps of its table that want twins exchanged."""
    return [step for step in asked().table.steps if step.condition and step.condition.exchange]


# ---- which steps -------------------------------------------------------------------------------------------


def test_no_step_stands_twice() -> None:
    """Like parts are read anyhow and as a comparison: one step, so that who has refused it is not asked again."""
    steps = asked().table.steps
    assert len(set(steps)) == len(steps)


def test_the_steps_ask_whether_the_fault_goes_with_the_part() -> None:
    """Symptoms of either twin and ohms through its receptacle: few, and none of the other two burners."""
    found = exchanged_steps()
    assert len(found) == 12
    assert set(found) < set(steps.exchanged_steps(COOKTOP))  # those that would show what they show anyhow are left out
    large = [step for step in found if step.condition and step.condition.exchange == LARGE]
    assert {step.at for step in large if step.kind == "symptom"} == {
        f"{place} {what}" for place in ("left front", "right rear") for what in ("glows", "never rests")
    }
    assert {step.places[0].split(".")[0] for step in large if step.places} == {
        "left front receptacle", "right rear receptacle",
    }  # fmt: skip


def test_no_live_lead_goes_to_blades_in_a_socket() -> None:
    """They lie in the receptacle: what plugs in is read lifted out, and so dead."""
    blades = {f"{name}.{n}" for name in COOKTOP.parts if name.endswith("burner") for n in "12"}
    live = [step for step in asked().table.steps if step.live]
    assert live
    assert all(blades.isdisjoint(step.places) for step in live)


def test_without_a_meter_the_exchange_is_what_a_repairer_does() -> None:
    """One burner cold, the others not, a meter that proves dead and no more, nothing that will open, nobody to ask: the
    twins are exchanged. Where the front panel opens, the look at the switch behind it is one more choice. With nothing
    to prove it dead no hand goes to them."""
    weighed = asked().bench.weigh((COLD, *OTHERS))
    seen = {Step("symptom", USUAL, at=found.what) for found in (COLD, *OTHERS)}
    refused = NO_METER | {refusals.CannotOpen("top"), refusals.NoOwner()} | seen
    hot = places.cooling(COOKTOP)  # the others glow
    for shut, offered in (("front panel", {LARGE}), ("rear cover", {LARGE, None})):
        state = JobState(condition=USUAL, refused=refused | {refusals.CannotOpen(shut)}, warm=hot)
        best = fitting.next_steps(asked(), weighed, state, 3)
        assert {one.step.condition and one.step.condition.exchange for one in best} == offered
        unproved = replace(state, refused=state.refused | {PROVES_DEAD})
        assert not fitting.next_steps(asked(), weighed, unproved, 3)


def test_what_is_then_seen_tells_the_burner_from_its_place() -> None:
    """The fault went with the burner, or it stayed at the place."""
    went = asked().bench.weigh((COLD, *OTHERS, f.Perceived("right rear glows", False, EXCHANGED, "repairer")))
    stayed = asked().bench.weigh((COLD, *OTHERS, f.Perceived("left front glows", False, EXCHANGED, "repairer")))
    before, burner = asked().bench.weigh((COLD, *OTHERS)), ("replace left front burner",)
    assert went.by_repair[burner] > 0.85 > 0.4 > before.by_repair[burner]
    assert stayed.by_repair[burner] < 0.05


# ---- what it costs -----------------------------------------------------------------------------------------


def test_making_and_undoing_cost_the_same_minutes() -> None:
    """Two parts out and two parts in; with the power on before and after, it is cut and brought back in between."""
    lifts = 2 * sum(COOKTOP.parts[name].lifts for name in LARGE)
    dead, done = replace(USUAL, isolated=True), replace(EXCHANGED, isolated=True)
    assert minutes.changing(COOKTOP, dead, done) == minutes.changing(COOKTOP, done, dead) == lifts
    assert minutes.changing(COOKTOP, USUAL, EXCHANGED) == lifts + HANDS.isolate + HANDS.energise
    assert minutes.changing(COOKTOP, EXCHANGED, EXCHANGED) == 0
    assert minutes.changing(COOKTOP, dead, EXCHANGED) == lifts + HANDS.energise
    other = replace(done, exchange=("left rear burner", "right front burner"))
    assert minutes.changing(COOKTOP, done, other) == 2 * lifts


def test_a_step_carries_its_exchange_in_its_price() -> None:
    """Made for the first step, free for the second, which is seen while it runs so; cutting the power is counted once,
    with or without a bay."""
    first = pricing.cost_of(COOKTOP, JobState(condition=USUAL), GLOWS)
    assert (first.exchanging, first.power) == (2.0, HANDS.isolate + HANDS.energise)
    after = taken.after(COOKTOP, JobState(condition=USUAL), GLOWS)
    then = pricing.cost_of(COOKTOP, after, Step("symptom", EXCHANGED, at="right rear glows"))
    assert then.minutes == minutes.SEEN_TOO < minutes.itself(COOKTOP, "symptom")
    back = pricing.cost_of(COOKTOP, after, Step("symptom", USUAL, at="left rear glows"))
    assert back.exchanging == 2.0
    opened = minutes.cost(COOKTOP, JobState(condition=USUAL), 0.0, ("top",), EXCHANGED)
    assert opened.power == HANDS.isolate + HANDS.energise


def test_the_planner_pays_for_putting_twins_back() -> None:
    """From the exchange to the dead machine of a repair, once they are cool, and from there to the exchange again; they
    cool while the top is opened."""
    modes = Modes(COOKTOP, JobState(condition=USUAL))
    at, _ = modes.of_steps([GLOWS, Step("symptom", USUAL, at="left rear glows")])
    (dead,) = modes.of_repairs([[IN_TOP]])
    switching = modes.switching()
    assert switching[0, at] == pytest.approx(2.0 + HANDS.isolate + HANDS.energise)
    assert switching[at, dead] == pytest.approx(2.0 + places.cooling(COOKTOP) - COOKTOP.bays["top"].open_minutes)
    assert switching[dead, at] == pytest.approx(2.0 + HANDS.energise)
    stands = Modes(COOKTOP, JobState(condition=EXCHANGED))
    (at,), (dead,) = stands.of_steps([GLOWS]), stands.of_repairs([[IN_TOP]])
    assert at == 0
    assert stands.switching()[0, dead] == pytest.approx(2.0 + HANDS.isolate)


def test_a_rehearsed_job_pays_for_putting_twins_back() -> None:
    """The list of putting together counts it among its minutes."""
    plain = together.closing(COOKTOP, together.undone(COOKTOP, at=USUAL))
    made = together.closing(COOKTOP, together.undone(COOKTOP, at=EXCHANGED))
    assert made.minutes == plain.minutes + 2.0


# ---- safety ------------------------------------------------------------------------------------------------


@cache
def sessions() -> Sessions:
    """Random sessions on the cooktop."""
    return Sessions(asked())


WATCHED = (11, 150)
"""Seed and number of them."""


def test_no_random_session_with_exchanges_is_unsafe() -> None:
    """Dead, cold, behind open covers, and never what was said not to come out."""
    found, kinds = of_sessions(sessions(), *WATCHED)
    assert not found
    assert Kind.EXCHANGE in kinds


@pytest.mark.parametrize(
    ("dropped", "said"),
    [({"power": "off"}, "not proved dead"), ({"power": ""}, "not proved dead"), ({"cool": False}, "hot parts")],
)
def test_the_watcher_sees_a_need_of_the_exchange_that_is_dropped(
    dropped: dict[str, object], said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The watcher is not blind."""
    needs = safety.NEEDS[Kind.EXCHANGE]._replace(**dropped)  # type: ignore[arg-type]
    monkeypatch.setitem(safety.NEEDS, Kind.EXCHANGE, needs)
    assert is_found(sessions(), *WATCHED, said)


def test_an_exchange_is_made_isolated_proved_dead_and_cold() -> None:
    """All that comes before it, in order, after the machine was run; and the power comes back after it."""
    ran = safely.prepared(
        COOKTOP, safely.begin(COOKTOP), JobState(), JobState(condition=USUAL), Step("symptom", USUAL, at=GLOWS.at)
    )
    made = safely.prepared(COOKTOP, ran.state, JobState(condition=USUAL), JobState(condition=EXCHANGED), GLOWS)
    kinds = [doing.kind for doing in made.doings]
    before = kinds[: kinds.index(Kind.EXCHANGE)]
    assert {Kind.ISOLATE, Kind.PROVE_METER, Kind.PROVE_DEAD, Kind.COOL} <= set(before)
    assert kinds.index(Kind.ENERGISE) > kinds.index(Kind.EXCHANGE)
    assert any(doing.step.hazard is Hazard.HOT for doing in made.doings)


def test_bays_of_both_twins_are_open_for_it() -> None:
    """Twins behind covers: both are opened first, and the machine is not run where one of them stops it."""
    inside = replace(COOKTOP, parts={n: replace(p, bay=_bay(n, p.bay)) for n, p in COOKTOP.parts.items()})
    assert set(steps.bays_needed(inside, GLOWS)) == {"top", "rear cover"}
    state = JobState(condition=USUAL)
    made = safely.prepared(inside, safely.begin(inside), state, taken.after(inside, state, GLOWS), GLOWS)
    order = [(doing.kind, doing.at) for doing in made.doings]
    exchange = order.index((Kind.EXCHANGE, " and ".join(LARGE)))
    assert {(Kind.OPEN, "top"), (Kind.OPEN, "rear cover")} <= set(order[:exchange])
    stops = replace(inside, bays={n: replace(b, runs=False) for n, b in inside.bays.items()})
    assert not powering.possible(stops, GLOWS)


def _bay(name: str, bay: str) -> str:
    return {"left front burner": "top", "right rear burner": "rear cover"}.get(name, bay)


# ---- refusals ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", LARGE)
def test_a_part_that_will_not_come_out_bars_every_step_of_its_exchange(name: str) -> None:
    """And those that want it lifted out to be read; no other step."""
    allowed, free = (
        asked().steps.allowed(JobState(refused=refused))
        for refused in (frozenset({refusals.CannotLift(name)}), frozenset[object]())
    )
    wanting = np.array([name in steps.lifted_out(COOKTOP, step) for step in asked().table.steps])
    assert (allowed == (free & ~wanting)).all()
    assert wanting.any()


def test_a_bay_that_will_not_open_bars_the_exchange_behind_it() -> None:
    """The twins' own bays are among those that a step needs."""
    inside = replace(COOKTOP, parts={n: replace(p, bay=_bay(n, p.bay)) for n, p in COOKTOP.parts.items()})
    assert barring.bars(inside, JobState(refused=frozenset({refusals.CannotOpen("rear cover")})), GLOWS)


def test_who_cannot_make_the_exchange_is_not_asked_for_it_in_another_way() -> None:
    """Set aside before it is made: all its steps; once it is made: only the one step."""
    begun = guiding.Guided(asked(), (COLD,)).without(GLOWS)
    assert {step for step in exchanged_steps() if step.condition and step.condition.exchange == LARGE} <= begun.refused
    made = f.Perceived("right rear glows", True, EXCHANGED, "repairer")
    assert guiding.Guided(asked(), (COLD, made)).without(GLOWS).refused == {GLOWS}


# ---- what is said ------------------------------------------------------------------------------------------


def test_the_guide_says_plainly_what_goes_where() -> None:
    """Made: which where; the names are of places; and back again when the next step wants them so."""
    weighed = asked().bench.weigh((COLD, *OTHERS))
    text = advising.advice_for(asked(), weighed, GLOWS).text
    put = "Swap the left front burner and the right rear burner."
    assert put in text
    order = ("prove it dead", "Let it cool", put, "bring the power back")
    assert [*map(text.index, order)] == sorted(map(text.index, order))
    told = "Go by the place: the left front receptacle holds the right rear burner now. See for yourself: "
    assert told in text
    assert "right rear receptacle" not in text
    after = asked().bench.weigh((COLD, *OTHERS, f.Perceived("right rear glows", True, EXCHANGED, "repairer")))
    again = Step("reading", Condition(conditions.rest(COOKTOP).setting, True), exchanged_steps()[-1].probe)
    plain = next(s for s in asked().table.steps if s.condition == again.condition)
    back = advising.advice_for(asked(), after, plain).text
    assert "Put the left front burner and the right rear burner back, each in its own place." in back


def test_the_list_of_putting_together_names_what_still_stands_exchanged() -> None:
    """After a step, after a repair that is due, and after one that was tried; not once it was undone."""
    repair = asked().bench.repairs["replace left front burner"]
    said = "Put left front burner and right rear burner back, each in its own place"
    jobs: list[tuple[list[Step | Repair], list[Repair]]] = [
        ([GLOWS], []), ([GLOWS], [repair]), ([GLOWS, repair], []),
    ]  # fmt: skip
    for done, repairs in jobs:
        made = together.closing(COOKTOP, undoing.after(COOKTOP, done, repairs))
        told = closing.sentences(COOKTOP, made)
        assert sum(said in one for one in told) == 1
        kinds = [task.kind for task in made.tasks]
        assert kinds.index("exchange") < kinds.index("power")
    undone = undoing.after(COOKTOP, [GLOWS, Step("symptom", USUAL, at="left rear glows")])
    assert all(said not in one for one in closing.sentences(COOKTOP, together.closing(COOKTOP, undone)))


def test_twins_are_put_back_dead_and_cold() -> None:
    """A machine that still stands live with them exchanged is set back and isolated first, whoever asks for it."""
    shown = f.Perceived("right rear glows", True, EXCHANGED, "repairer")
    tasks = closing.closing(COOKTOP, findings=[shown])["tasks"]
    dead = [task["kind"] for task in tasks].index("isolate")
    assert [task["kind"] for task in tasks][:dead] == ["setting"] * 4
    assert [task["kind"] for task in tasks][dead:][:3] == ["isolate", "meter", "exchange"]
    assert "wait 10 min" in tasks[dead + 2]["cautions"][0]
    guided = guiding.put_together(guiding.Guided(asked(), (shown,)), ())
    assert [task.kind for task in guided.tasks][dead:][:3] == ["isolate", "meter", "exchange"]


def test_a_look_inside_leaves_twins_where_they_stand() -> None:
    """Nothing is said of putting them back, so they are not taken for put back."""
    look = Step("look", at="left front receptacle", places=("left front receptacle",))
    after = taken.after(COOKTOP, taken.after(COOKTOP, JobState(), GLOWS), look)
    assert after.condition is not None
    assert after.isolated
    assert after.condition.exchange == LARGE


# ---- findings ----------------------------------------------------------------------------------------------

SYMPTOM = "- symptom: {what: left front glows, value: no, by: repairer, set: {left front: high}, exchange: %s}\n"
READING = (
    "- reading: {meter: ohms, red: left front receptacle.1, black: left front receptacle.2, value: 27 ohm, "
    "exchange: %s}\n"
)


@pytest.mark.parametrize("text", [SYMPTOM, READING])
def test_a_finding_says_what_was_exchanged_and_is_written_as_it_was_read(text: str) -> None:
    """It holds for that finding only."""
    (found, then) = findings_file.read(text % "[right rear burner, left front burner]" + text % "none", "own", COOKTOP)
    assert isinstance(found, f.Reading | f.Perceived)
    assert isinstance(then, f.Reading | f.Perceived)
    assert found.condition is not None
    assert found.condition.exchange == LARGE
    assert then.condition is not None
    assert then.condition.exchange == ()
    (fields,) = findings_file.written(found).values()
    assert fields["exchange"] == list(LARGE)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (SYMPTOM % "[left front burner, left rear burner]", "are no two parts that plug in and are alike"),
        (READING % "left front burner", "are no two parts that plug in and are alike"),
        (SYMPTOM.replace("repairer", "owner") % f"[{', '.join(LARGE)}]", "An owner exchanges no parts"),
    ],
)
def test_a_finding_of_what_cannot_be_is_refused(text: str, said: str) -> None:
    """With line, column and what to write."""
    with pytest.raises(BadInput) as refused:
        findings_file.read(text, "own", COOKTOP)
    (problem,) = refused.value.problems
    assert said in problem.message
    assert problem.line == 1
    assert problem.remedy


def test_advice_as_data_names_the_exchange() -> None:
    """So that a tool can show it."""
    weighed = asked().bench.weigh((COLD,))
    assert advising.as_data(advising.advice_for(asked(), weighed, GLOWS))["exchange"] == list(LARGE)


# ---- the hidden machine of rehearsals ----------------------------------------------------------------------


def test_the_hidden_machine_is_rewired_and_agrees() -> None:
    """Without tolerance it gives what is predicted, for every fault of a large burner, its receptacle and switch."""
    bench = asked().bench
    dead = exchanged_steps()[-1]
    assert dead.probe is not None
    for number, fault in enumerate(bench.faults):
        here = fault.subject.startswith(("left front", "right rear", "joint left front"))
        if not here or fault.owner_only or fault.acting < 1:
            continue
        row = next(s for s, variant in enumerate(bench.singles.variants) if variant.faults == (number,))
        world, rng = truth.World(spread=0.0, mistaken=0.0), np.random.default_rng(1)
        hidden = truth.Truth(COOKTOP, fault, fault.alternatives[0][1], rng, world)
        for what in ("left front glows", "right rear glows"):
            told = float(bench.predictor.symptom(what, EXCHANGED, False)[row])
            if min(told, 1 - told) < 0.02:  # else people differ
                assert hidden.perceived(what, EXCHANGED, False) == (told > 0.5), fault.name
        assert dead.condition is not None
        reads = float(bench.predictor.reading(dead.probe, dead.condition).value[row])
        value = hidden.reads(dead.probe, dead.condition)[1]
        assert (value or np.inf) == pytest.approx(reads, rel=0.05, abs=0.5), fault.name
