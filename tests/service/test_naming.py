"""What a person reads of places in the house is in words, whoever says it; files and data keep their names."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from halfsplit.cli import conversation
from halfsplit.cli.talking import Talk
from halfsplit.evidence import finding as f
from halfsplit.machine import library, loading, model
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.plan import leads, steps
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.service import (
    advising,
    alongside,
    closing,
    deciding,
    following,
    meaning,
    naming,
    reasons,
    repairing,
    sheets,
    standing,
)
from halfsplit.service.guiding import Guided
from halfsplit.work import together
from tests.cli.typed import type_in
from tests.cli.words import run
from tests.rehearse.benches import guide

each_machine = pytest.mark.parametrize("name", library.names())
SAMPLED = 301
"""One step of so many is put into words, beside all looks at the house and all that is shaken there."""


def begun(name: str) -> Guided:
    """A diagnosis at its beginning."""
    return Guided(guide(name))


def house(machine: model.Machine) -> list[str]:
    """The terminals of the house."""
    return [terminal for terminal in machine.terminals if machine.parts[model.part_of(terminal)].house]


def raw(machine: model.Machine, text: str) -> list[str]:
    """The raw names of the house's terminals that stand in a text. Told without a pattern of the naming's own."""
    found = [terminal for terminal in house(machine) if terminal in text]
    return [*found, *re.findall(r"\w+\.prong \w+", text)]


def complained(job: Guided) -> Guided:
    """With the first symptom of the file told as it should not be, and a look at a place of the house taken."""
    machine = job.machine
    what = next(iter(machine.symptoms))
    well = bool(job.bench.predictor.symptom(what, conditions.usual(machine), True)[0] > 0.5)
    at = next((step.at for step in _looks(machine)), machine.supply.meets[0])
    return job.told(f.Perceived(what, not well)).told(f.Look(at, "fine"))


def _looks(machine: model.Machine) -> Iterator[Step]:
    known = set(house(machine))
    yield from (step for step in steps.look_steps(machine) if step.at in known)


def chosen(job: Guided) -> Iterator[Step]:
    """Steps of the table: all at the house, and a sample of the rest."""
    known = house(job.machine)
    for number, step in enumerate(job.asked.steps.usual):
        leads = (step.probe.red, step.probe.black) if step.probe else (step.at,)
        way = step.condition.provoke if step.condition else ""
        at_house = step.kind == "look" and step.at in known
        if at_house or any(one in way for one in known) or (number % SAMPLED == 0 and leads):
            yield step


def said(advice: advising.Advice) -> Iterator[str]:
    """All texts of an advice."""
    yield from (advice.text, advice.reason, advice.spent, *advice.outcomes, *advice.cautions, *advice.acknowledge)


@each_machine
def test_no_advice_has_a_raw_place_of_the_house(name: str) -> None:
    """Text, reason, outcomes, cautions and what is read alongside, of steps at the house and elsewhere."""
    job, count = complained(begun(name)), 0
    for step in chosen(job):
        advice = advising.advice_for(job.asked, job.weighed, step)
        assert not [raw(job.machine, text) for text in said(advice) if raw(job.machine, text)], advice
        count += 1
    for one in alongside.readings(job.asked, job.weighed, advice):
        assert not raw(job.machine, f"{one.sentence} {one.alike}")
    assert count


@each_machine
def test_no_repair_has_a_raw_place_of_the_house(name: str) -> None:
    """What comes first, cautions, what is shaken, the closing list, the proof run and why: of every repair at the
    house, and of those of the first parts of the machine."""
    job = complained(begun(name))
    known = house(job.machine)
    there = {one.repair.name for one in job.bench.faults if any(terminal in one.subject for terminal in known)}
    repairs = [one for one in job.bench.repairs.values() if one.name in there]
    for repair in [*repairs[:4], *list(job.bench.repairs.values())[:4]]:
        work = repairing.work(job, [repair])
        texts = [*work.first, *work.acknowledge, *work.before_closing, *work.proof.sentences(), *work.proof.cautions]
        texts += closing.sentences(job.machine, work.closed) + closing.acknowledge(work.closed)
        texts += [task["text"] for task in closing.as_data(job.machine, work.closed)["tasks"]]
        assert not [text for text in texts if raw(job.machine, text)]
    assert repairs
    assert not [text for text in deciding.why(job, repairs[:1]) if raw(job.machine, text)]


@each_machine
def test_all_wires_off_are_told_back_in_words(name: str) -> None:
    """A closing list after every wire of the machine was off, those that lead to the house among them."""
    machine = loading.load(name)
    off = [terminal for terminal in model.wired_terminals(machine) if not machine.parts[model.part_of(terminal)].house]
    made = together.closing(machine, together.undone(machine, (), off))
    assert any(end in house(machine) for task in made.tasks for _, end in task.wires)
    assert not [text for text in closing.sentences(machine, made) if raw(machine, text)]
    data = closing.as_data(machine, made)["tasks"]
    assert any(wire["from"] in house(machine) for task in data for wire in task["wires"])  # a place for tools stays


@each_machine
def test_no_why_and_no_sheet_has_a_raw_place_of_the_house(name: str) -> None:
    """Labels of what was found at the house, and the notes under a picture of each of its faults."""
    job = complained(begun(name))
    dead = conditions.condition(job.machine, isolated=True)
    prongs = leads.prongs(job.machine)
    found = [f.Look(terminal, "fine") for terminal in house(job.machine)]
    weighed = job.bench.weigh([*job.findings, *found], with_pairs=False)
    said = reasons.of(weighed, weighed.ranked()[0])
    if prongs:
        probe = Probe("ohms", prongs[0], prongs[1])
        said += reasons.of(
            job.bench.weigh([f.Reading(probe, dead, 20.0, text="20")], False), job.ranked[0]
        )  # fmt: skip
    labels = [label for label, _ in meaning.weights(said)]
    assert labels
    assert not [label for label in labels if raw(job.machine, label)]
    for fault in (one.name for one in listing.faults(job.machine) if raw(job.machine, one.name)):
        at = standing.standing(job.machine, dead, (fault,))
        assert not raw(job.machine, " ".join(sheets.notes(at)))


@pytest.mark.parametrize("name", ["vented-dryer", "water-heater"])
def test_no_plan_on_paper_has_a_raw_place_of_the_house(name: str) -> None:
    """Every text of every box, but for what is copied into a findings file; the names of repairs and causes stay for
    tools and are told in words when printed."""
    job = complained(begun(name))
    tree = following.as_data(following.plan(Guided(job.asked, job.findings[:1]), 0.1))

    def texts(box: dict[str, object]) -> Iterator[str]:
        yield str(box.get("text", ""))
        yield str(box.get("reason", ""))
        for outcome in box["outcomes"]:  # type: ignore[attr-defined]
            yield outcome["shows"]
            yield from texts(outcome["then"]) if outcome["then"] else ()

    assert not [text for text in texts(tree) if raw(job.machine, text)]
    printed = re.sub(r"'write': \[[^\n]*?___\}['\"]\]", "", repr(naming.for_people(job.machine, tree["outcomes"])))
    assert not raw(job.machine, re.sub(r"'write': \['- repair[^\n]*?cured: no\}['\"]\]", "", printed))


@pytest.mark.parametrize("name", ["vented-dryer", "refrigerator"])
def test_no_command_prints_a_raw_place_of_the_house(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """`diagnose --why` and `visit` of a burnt prong, and `closing` after its repair; --json keeps the names to type."""
    machine = loading.load(name)
    prong = leads.prongs(machine)[0]
    what = next(iter(machine.symptoms))
    place = tmp_path / "findings.yaml"
    place.write_text(f"- symptom: {{what: {what}, value: no}}\n- look: {{at: {prong}, sees: burnt}}\n")
    told = run(capsys, "diagnose", name, str(place), "--why", "1", "--cannot", "amps").out
    assert f"joint at {naming.place(machine, prong)}" in " ".join(told.split())
    assert raw(machine, told) == []
    assert raw(machine, run(capsys, "visit", name, str(place)).out) == []
    data = run(capsys, "diagnose", name, str(place), "--json").data
    assert [f"joint {prong}: burnt"] in [one["faults"] for one in data["candidates"][:8]]
    by_words = naming.told(machine, f"joint {prong}: burnt")
    for why in (by_words, f"joint {prong}: burnt"):
        assert "why" in run(capsys, "diagnose", name, str(place), "--json", "--why", why).data
    place.write_text("- repair: {made: replace the cord, cured: yes}\n")
    assert raw(machine, run(capsys, "closing", name, str(place)).out) == []


def test_the_guide_says_no_raw_place_of_the_house(monkeypatch: pytest.MonkeyPatch) -> None:
    """Once the machine is known all that the talk says is in words: every fault and repair of the house tried."""
    type_in(monkeypatch, ["stop"])
    out = io.StringIO()
    talk = Talk(out)
    conversation.hold(talk, conversation.Asked(file="water-heater", own=True))
    machine = loading.load("water-heater")
    faults = [one for one in listing.faults(machine) if raw(machine, one.name)]
    for fault in faults:
        talk.say(f"Likeliest now: {fault.name}, {fault.repair.name}.", 2)
    assert "the breaker's load L1 terminal" in out.getvalue()
    assert raw(machine, " ".join(out.getvalue().split())) == []


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("receptacle.L10 and receptacle.L1", "receptacle.L10 and the receptacle's L1 slot"),
        ("joint receptacle.L1: burnt", "joint at the receptacle's L1 slot: burnt"),
        ("joint terminal block.L1: burnt", "joint terminal block.L1: burnt"),
        (
            "wire breaker.load L1 to receptacle.L1",
            "wire from the breaker's load L1 terminal to the receptacle's L1 slot",
        ),
        ("the receptacle", "the receptacle"),
        ("", ""),
    ],
)
def test_names_are_found_whole(text: str, says: str) -> None:
    """Not the beginning of another name; and what has been told is told again as it is."""
    machine = loading.load("vented-dryer")
    assert naming.told(machine, text) == says
    assert naming.told(machine, says) == says


def test_a_name_of_the_machine_that_ends_like_the_house_s_is_its_own() -> None:
    """A block in the machine that somebody called `spare receptacle`: its L1 is not the wall's."""
    text = re.sub(r"(?<!type: )terminal block", "spare receptacle", library.text("vented-dryer"))
    machine = loading.read_sheet(text, "x").machine
    said = "wire receptacle.prong L1 to spare receptacle.L1: broken"
    assert naming.told(machine, said) == "wire from the plug's L1 prong to spare receptacle.L1: broken"
