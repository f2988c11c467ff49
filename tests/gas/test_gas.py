"""A machine that burns gas: what its file says, the mistakes found in it, the smell that ends the work, the closing."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from halfsplit.evidence import finding as f
from halfsplit.machine import formatting, loading, model
from halfsplit.machine.expand.symptoms import SMELL
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.plan import safely, taken
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.service import (
    advising,
    closing,
    guiding,
    in_short,
    proving,
    remembering,
    repairing,
    unlisted,
    visiting,
    wording,
)
from halfsplit.work import handling, safety, stopping
from halfsplit.work.hazards import STOPS, Kind, Pipe
from halfsplit.work.state import JobState

PLACE = Path(__file__).parent / "gas-air-heater.yaml"
TEXT = PLACE.read_text("utf-8")


@pytest.fixture(scope="module")
def heater() -> model.Machine:
    """The invented machine."""
    return loading.load(str(PLACE))


@pytest.fixture(scope="module")
def guided(heater: model.Machine) -> guiding.Guided:
    """A diagnosis of it at its beginning."""
    return guiding.Guided(advising.adviser(remembering.bench(heater, "")))


# ---- the file ----------------------------------------------------------------------------------------------


def test_what_the_file_says(heater: model.Machine) -> None:
    """The cock, the bays and the parts; and the smell of gas, which the file did not write."""
    assert heater.gas == model.Gas(
        "on the wall behind the machine", ("burner box",), ("gas valve", "burner", "gas joints")
    )
    assert heater.symptoms[SMELL].of == ("burner", "gas joints")
    assert SMELL not in TEXT


def test_the_canonical_form_keeps_gas_in_its_place() -> None:
    """Gas moved to the end of the file comes back behind the frame; nothing is lost."""
    section = re.search(r"^gas:\n(?:  .*\n)+", TEXT, re.MULTILINE)
    assert section
    assert formatting.canonical(TEXT.replace(section[0], "") + section[0]) == formatting.canonical(TEXT) == TEXT


@pytest.mark.parametrize(
    ("old", "new", "blamed", "says", "remedy"),
    [
        ("bays: [burner box]", "bays: [burner bx]", "  bays: [burner bx]", "no bay 'burner bx'", "burner box"),
        ("parts: [gas valve,", "parts: [gas valv,", "  parts: [gas valv,", "no part 'gas valv'", "gas valve"),
        ("  cock: on the wall behind the machine\n", "", "gas:", "cock", ""),
        ("  bays: [burner box]\n", "", "  parts: [gas", "not among the bays of `gas`", "burner box"),
        ("gas:\n  cock", "hot gas:\n  cock", "hot gas:", "hot gas", "gas"),
        (
            re.search(r"^gas:\n(?:  .*\n)+", TEXT, re.MULTILINE)[0],  # type: ignore[index]
            "",
            "  gas valve: {type",
            "the file has no `gas`",
            "cock",
        ),
        ("symptoms:\n", "symptoms:\n  smell of gas: {leaks: [burner]}\n", "  smell of gas", "comes with `gas`", "out"),
    ],
)
def test_mistakes_are_found_where_they_are(old: str, new: str, blamed: str, says: str, remedy: str) -> None:
    """Names that are not there, a bay forgotten, gas not said: each on its line, with what to do."""
    assert TEXT.count(old) == 1
    text = TEXT.replace(old, new)
    problems = loading.examine_text(text, "x")[1]
    found = [p for p in problems if re.search(says, p.message) and remedy in p.remedy]
    assert found, problems
    lines = text.split("\n")
    assert any(lines[p.line - 1].startswith(blamed) for p in found)


def test_a_leak_of_gas_ends_the_work_whatever_it_is_called() -> None:
    """Written as a symptom of its own it stops like the smell that comes with `gas`; the check tells it."""
    text = TEXT.replace("symptoms:\n", "symptoms:\n  whiff at the back: {leaks: [burner]}\n")
    machine = loading.load_text(text, "x")
    assert stopping.now(machine, [f.Perceived("whiff at the back", True)]) == "smell of gas"
    assert stopping.now(machine, [f.Perceived("whiff at the back", False)]) is None
    (problem,) = (one for one in loading.examine_text(text, "x")[1] if "whiff" in one.message)
    assert SMELL in problem.message


@pytest.mark.parametrize("sees", ["leaking", "bubbles grow", "Leak at the union", "smells of gas"])
def test_gas_seen_to_escape_stops_like_the_smell(heater: model.Machine, sees: str) -> None:
    """By eye or as bubbles of leak solution, at what gas flows through; not at other parts, nor where all is tight."""
    for at in ("gas joints", "gas valve.1"):
        assert stopping.now(heater, [f.Look(at, sees)]) == "smell of gas"
    assert stopping.now(heater, [f.Look("fan", sees)]) is None
    assert unlisted.sentences(heater, [f.Look("gas joints", sees)]) == []
    for well in ("fine", "no bubbles", "leak-free", "leakproof", "dusty"):
        assert stopping.now(heater, [f.Look("gas joints", well)]) is None


# ---- the smell ---------------------------------------------------------------------------------------------


def test_the_smell_of_gas_leaves_only_the_stop(guided: guiding.Guided) -> None:
    """No step and no repair, whatever else was found; nothing may be switched; taken back, the steps come back."""
    smelt = guided.told(f.Perceived("air is warm", False)).told(f.Perceived(SMELL, True))
    assert smelt.advice is not None
    assert smelt.advice.step.kind == advising.STOP
    assert STOPS["smell of gas"].say in smelt.advice.text
    for word in ("Touch no switch", "Leave", "outside", "gas supplier", "local codes"):
        assert word in smelt.advice.text
    assert smelt.due == ()
    assert STOPS["smell of gas"].still == frozenset()
    before = smelt.undone().advice
    assert before is not None
    assert before.step.kind != advising.STOP


def test_the_smell_goes_before_every_other_stop(heater: model.Machine) -> None:
    """Where the frame tingles as well, nobody is sent to the breaker."""
    assert stopping.reason(heater, [f.Perceived("cabinet tingles", True), f.Perceived(SMELL, True)]) == "smell of gas"
    assert stopping.reason(heater, [f.Perceived(SMELL, False)]) is None
    assert stopping.calls_for("gas supplier", "smell of gas")


def test_the_smell_is_asked_for_on_the_phone_first(heater: model.Machine) -> None:
    """Before a visit it is the first question, with what its yes means."""
    sheet = visiting.sheet(heater, [f.Perceived("air is warm", False)])
    first = sheet["questions"][0]
    assert first["what"] == SMELL
    assert next(one["stop"] for one in first["answers"] if one["value"] == "yes") == (
        f"STOP: smell of gas. {STOPS['smell of gas'].say}"
    )


# ---- steps and repairs -------------------------------------------------------------------------------------


def test_what_a_repair_has_to_do_with_gas(heater: model.Machine) -> None:
    """Its own parts come out of the pipe, what lies beside is repaired with the cock shut, the rest is free."""
    repairs = listing.repairs(heater)
    expected = {
        "replace gas valve": Pipe.APART,
        "clean burner": Pipe.APART,
        "replace limit": Pipe.BESIDE,
        "replace fan": Pipe.AWAY,
    }
    assert {name: handling.pipe(heater, repairs[name]) for name in expected} == expected


def test_a_run_for_heat_opens_the_cock_again(heater: model.Machine) -> None:
    """After a repair beside the pipe the fan is run with the cock shut; the warm air is asked for with it open."""
    limit = listing.repairs(heater)["replace limit"]
    dead = JobState(frozenset({"front", "burner box"}), conditions.condition(heater, (), isolated=True))
    repaired = safely.repaired(heater, safely.begin(heater), JobState(), dead, limit)
    assert Kind.GAS_OFF in {doing.kind for doing in repaired.doings}
    at = conditions.usual(heater)
    run = JobState(frozenset(), at)
    fan = safely.prepared(heater, repaired.state, dead, run, Step("symptom", at, at="fan turns"))
    warm = safely.prepared(heater, repaired.state, dead, run, Step("symptom", at, at="air is warm"))
    assert Kind.GAS_ON not in {doing.kind for doing in fan.doings}
    kinds = [doing.kind for doing in warm.doings]
    assert kinds.index(Kind.GAS_ON) < kinds.index(Kind.ENERGISE) < kinds.index(Kind.RUN)


def _ohms(machine: model.Machine) -> Step:
    """Ohms across the gas valve, dead: behind the burner box."""
    dead = conditions.condition(machine, (), isolated=True)
    return Step("reading", dead, Probe("ohms", "gas valve.1", "gas valve.2"), places=("gas valve.1", "gas valve.2"))


def test_the_burner_box_is_opened_with_the_cock_shut(guided: guiding.Guided) -> None:
    """For a reading, as for a look: shut before its cover comes off, told there, and once in a job."""
    step = _ohms(guided.machine)
    look = next(one for one in guided.asked.steps.usual if one.kind == "look" and one.at == "burner")
    for one in (step, look):
        advice = advising.advice_for(guided.asked, guided.weighed, one)
        words = ("Isolate", "Shut the gas cock (on the wall", "Open the burner")
        told = [advice.text.find(one) for one in words]
        assert -1 not in told, advice.text
        assert told == sorted(told)
        assert advice.text.count("gas cock") == 1
    assert step.probe
    assert step.condition
    again = guided.told(f.Reading(step.probe, step.condition, None, text="OL"))
    assert "cock" not in advising.advice_for(again.asked, again.weighed, step).text
    assert "cock" not in " ".join(repairing.work(again, [again.bench.repairs["replace gas valve"]]).first)


def test_what_was_shut_is_opened_again_by_who_leaves(guided: guiding.Guided) -> None:
    """On the list of who stops, and on paper left shut; else shut only where the power stays off."""
    step = _ohms(guided.machine)
    assert step.probe
    assert step.condition
    opened = guided.told(f.Reading(step.probe, step.condition, None, text="OL"))
    looked = guided.told(f.Look("receptacle", "fine"))
    kinds = [task.kind for task in proving.left_as_it_is(opened).tasks]
    assert kinds.index("gas") < kinds.index("cover")
    assert "leak" not in kinds
    assert "gas" not in {task.kind for task in proving.left_as_it_is(looked).tasks}
    assert in_short.left(opened).startswith("leave the gas shut; close the burner box")
    assert in_short.left(looked).startswith("shut the gas; ")
    off = proving.left_as_it_is(looked, stopping.STAYS_OFF)
    assert "Shut the gas cock (on the wall behind the machine), and leave it shut." in closing.sentences(
        looked.machine, off
    )


def test_what_should_burn_is_read_with_the_cock_open(heater: model.Machine) -> None:
    """Volts set to heat after the burner box was open want the gas on; with the fan alone it may stay shut."""
    step, opened = _ohms(heater), JobState()
    inside = taken.after(heater, opened, step)
    safe = safely.prepared(heater, safely.begin(heater), opened, inside, step).state
    assert safe.gas is safety.Gas.OFF
    for setting, wanted in ({"selector": "heat"}, True), ({"selector": "fan"}, False):
        at = conditions.condition(heater, setting)
        volts = Step("reading", at, Probe("volts", "fan.1", "fan.2"), places=("fan.1", "fan.2"))
        done = safely.prepared(heater, safe, inside, taken.after(heater, inside, volts), volts)
        assert (Kind.GAS_ON in done.kinds) is wanted


@pytest.mark.parametrize("since", [f.Resumed(), f.TakenBack(f.Look("limit", "fine"))])
def test_after_a_break_the_cock_is_told_either_way(guided: guiding.Guided, since: f.Finding) -> None:
    """Nobody knows how it stands: shut for hands, opened for what should burn."""
    step, machine = _ohms(guided.machine), guided.machine
    assert step.probe
    assert step.condition
    job = guided.told(f.Reading(step.probe, step.condition, None, text="OL"), since)
    run = Step("symptom", conditions.usual(machine), at="air is warm")
    assert "Shut the gas cock" in advising.advice_for(job.asked, job.weighed, step).text
    assert "Open the gas cock" in advising.advice_for(job.asked, job.weighed, run).text
    untouched = guided.told(since) if isinstance(since, f.Resumed) else guided
    assert "cock" not in advising.advice_for(untouched.asked, untouched.weighed, run).text


def test_a_repair_tells_that_the_gas_is_shut(guided: guiding.Guided) -> None:
    """The gas is shut after isolating, with its place; its caution is among what is acknowledged."""
    work = repairing.work(guided, [guided.bench.repairs["replace gas valve"]])
    assert work.first[0].startswith("Isolate the machine")
    assert work.first[1] == "Shut the gas cock (on the wall behind the machine)."
    assert any(danger.startswith("WARNING: Gas pipe.") for danger in work.dangers)
    assert "gas" not in " ".join(repairing.work(guided, [guided.bench.repairs["replace fan"]]).first)


def test_the_joint_is_tested_before_the_covers_and_the_proof_run(heater: model.Machine) -> None:
    """After a gas part was replaced: pipe, cock, leak solution; then covers, power, and the warm air is proved."""
    made = closing.closing(heater, findings=[f.Tried("replace gas valve", True)])
    kinds = [task["kind"] for task in made["tasks"]]
    assert [k for k in kinds if k in ("isolate", "pipe", "gas", "leak", "cover", "power")] == [
        "isolate", "pipe", "gas", "leak", "cover", "cover", "power",
    ]  # fmt: skip
    assert any("Is the air warm? It must be yes." in one for one in made["proof"])
    beside = [task["kind"] for task in closing.closing(heater, findings=[f.Tried("replace limit", True)])["tasks"]]
    assert "gas" in beside
    assert not {"pipe", "leak"} & set(beside)
    away = [task["kind"] for task in closing.closing(heater, findings=[f.Tried("replace fan", True)])["tasks"]]
    assert not {"pipe", "gas", "leak"} & set(away)


def test_the_sentence_says_what_is_done_about_gas(guided: guiding.Guided) -> None:
    """A run for heat right after the repair: the pipe is joined, the cock opened, the joint tested, then closed."""
    machine = guided.machine
    at = conditions.usual(machine)
    step = Step("symptom", at, at="air is warm")
    dead = JobState(frozenset({"front", "burner box"}), conditions.condition(machine, (), isolated=True))
    run = JobState(frozenset({"front"}), at)
    repair = guided.bench.repairs["replace gas valve"]
    safe = safely.repaired(machine, safely.begin(machine), JobState(), dead, repair).state
    wanted = {doing.kind for doing in safely.prepared(machine, safe, dead, run, step).doings}
    said = wording.sentence(guided.bench.predictor, dead, step, (), wanted)
    told = ["Join the gas pipe.", "Open the gas cock (on the wall", "leak solution", "Close the burner box", "power"]
    places = [said.index(words) for words in told]
    assert places == sorted(places)
