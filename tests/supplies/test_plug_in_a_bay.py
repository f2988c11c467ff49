"""A machine whose plug and receptacle lie behind it: isolated at the breaker, looked at and read once that is open."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import feeding, loading, model
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.plan import barring, leads, safely, taken
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.predict.readings import Probe
from halfsplit.rehearse.random_steps import Sessions
from halfsplit.service import closing, isolating, proving, tasks, wording
from halfsplit.service.guiding import Guided
from halfsplit.work import earthing, refusals, together
from halfsplit.work.hazards import STOPS, Kind
from halfsplit.work.state import JobState
from tests.rehearse.watcher import of_sessions

TEXT = (Path(__file__).parent / "built-in-oven.yaml").read_text("utf-8")
BAY = "out of the niche"
OUT = f"  in: {BAY}\n"


@cache
def asked(text: str = TEXT) -> Adviser:
    """An adviser on the oven."""
    found, problems = loading.examine_text(text, "x")
    assert found is not None
    assert not problems
    return Adviser(Bench(found))


def oven(text: str = TEXT) -> model.Machine:
    """The oven as its file says it."""
    return asked(text).bench.machine


def at_receptacle(text: str = TEXT) -> list[Step]:
    """Every look and reading at plug or receptacle."""
    there = {"receptacle", *leads.plug(oven(text)), *leads.slots(oven(text))}
    return [step for step in asked(text).table.steps if there & set(step.places)]


def slot() -> Step:
    """Volts between two slots."""
    return next(step for step in at_receptacle() if step.live)


def told(step: Step, *before: Step) -> tuple[str, tuple[str, ...], frozenset[Kind]]:
    """How a step is told after others, its cautions, and what is done for it."""
    machine, state, safe = oven(), JobState(), safely.begin(oven())
    for one in (*before, step):
        then = taken.after(machine, state, one)
        done = safely.prepared(machine, safe, state, then, one)
        said = wording.sentence(asked().bench.predictor, state, one, bays_needed(machine, one), done.kinds)
        state, safe = then, done.state
    return said, done.cautions, done.kinds


def test_it_is_isolated_at_the_breaker() -> None:
    """Locked off there, proved dead where the cord lands, its bond read at the cord's own earth."""
    machine = oven()
    assert machine.supply.isolates == (("breaker", "off"),)
    assert isolating.isolate(machine, ["control panel"]) == "Isolate the machine (breaker off, locked)."
    there = " ".join(isolating.proved_dead(machine, ["rear cover"]))
    assert all(terminal in there for terminal in (*machine.supply.feeds, "the earth conductor of the cord"))
    assert earthing.reached_at(machine, ["rear cover"]) == "the earth conductor of the cord"
    assert earthing.reached_at(machine, ["control panel"]) == "an earth outside the machine that you have proved"


def test_what_is_at_the_receptacle_wants_the_bay() -> None:
    """Looks and readings alike; with nobody to help, or where it will not come out, none of them is done."""
    machine, found = oven(), at_receptacle()
    assert {step.kind for step in found} == {"look", "reading"}
    for step in found:
        assert BAY in bays_needed(machine, step)
        for refused in (refusals.NoHelper(), refusals.CannotOpen(BAY)):
            assert barring.bars(machine, JobState(refused=frozenset({refused})), step)


def test_where_the_file_does_not_say_so_nothing_changes() -> None:
    """The plug is pulled with nothing opened."""
    plain = oven(TEXT.replace(OUT, ""))
    assert plain.supply.isolates == (("plug", "out"),)
    assert not feeding.plug_bay(plain)
    assert not any(bays_needed(plain, step) for step in at_receptacle(TEXT.replace(OUT, "")) if step.kind == "look")
    assert plain == oven(TEXT.replace(OUT, "  in: outside\n"))


def test_no_ohms_are_read_at_prongs_that_stay_in() -> None:
    """They would be read through the house; where the cord lands the same is read."""
    assert not [step for step in at_receptacle() if step.kind == "reading" and not step.live]


def test_the_slots_are_read_with_the_breaker_on_and_the_machine_off() -> None:
    """Isolated, out of its niche, plug out, breaker on, read, breaker off, with what live parts want minded."""
    said, cautions, kinds = told(slot())
    order = ["(breaker off, locked)", f"Open the {BAY} (two people)", "Pull the plug", "breaker on", "At the wall",
             "breaker off again", "Plug it in again"]  # fmt: skip
    places = [said.index(one) for one in order]
    assert places == sorted(places)
    assert "DANGER: Live parts. One hand, no jewellery, touch nothing but the probes." in cautions
    assert Kind.ISOLATE in kinds


def test_after_the_slots_it_is_isolated_and_proved_dead_anew() -> None:
    """The breaker was on: whatever has hands in the machine next proves it."""
    look = next(step for step in at_receptacle() if step.kind == "look")
    said, cautions, kinds = told(look, slot())
    assert said.startswith("Isolate the machine (breaker off, locked) and prove it dead")
    assert "Pull the plug. Look at the wall receptacle" in said
    assert {Kind.ISOLATE, Kind.PROVE_DEAD} <= kinds
    assert any(one.startswith("DANGER") for one in cautions)
    again = taken.after(oven(), JobState(), slot())
    assert not again.isolated
    assert conditions.cut_off(oven(), conditions.condition(oven(), {"plug": "out"}))


def test_the_electrician_is_told_the_bay_of_the_receptacle() -> None:
    """A repair of the receptacle has the machine out of its niche."""
    bays = {fault.repair.bays for fault in listing.faults(oven()) if fault.subject == "receptacle"}
    assert bays == {(BAY,)}


def test_nothing_unsafe_is_done_in_random_sessions() -> None:
    """Read by the watcher, the slots behind the machine among it."""
    found, kinds = of_sessions(Sessions(asked()), seed=5, count=120)
    assert not found
    assert {Kind.SUPPLY, Kind.PROVE_DEAD, Kind.REPAIR, Kind.OHMS, Kind.VOLTS} <= kinds


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (TEXT.replace(OUT, "  in: out of the nich\n"), "no bay 'out of the nich'"),
        (
            TEXT.replace("4 wires", "hard wired, 4 wires").replace("  cord: 8 AWG 1.2 m\n", ""),
            "What is wired in has no plug.",
        ),
    ],
)
def test_mistakes_are_found(text: str, says: str) -> None:
    """A bay that is not there; a plug of what has none."""
    problems = loading.examine_text(text, "x")[1]
    assert [one for one in problems if says in one.message]


def test_a_burnt_receptacle_stays_in_reach_and_all_else_is_closed() -> None:
    """Looked at with the rear cover off: nobody pushes the oven back over it; told alike in the talk and of a file."""
    dead = conditions.condition(oven(), isolated=True)
    feeds = oven().supply.feeds
    read = f.Reading(Probe("ohms", feeds[0], feeds[1]), dead, 20.0, text="20")
    stopped = Guided(asked(), (read, f.Look("receptacle", "burnt")))
    assert stopped.leaves
    left = proving.left_as_it_is(stopped).tasks
    assert BAY not in [task.at for task in left if task.kind == "cover"]
    assert "rear cover" in [task.at for task in left if task.kind == "cover"]
    (stays,) = (task for task in left if task.kind == "leave")
    assert stays.to == f"open: {BAY}"
    assert left[-1].to == STOPS["burnt receptacle"].tag
    same = closing.closing(oven(), findings=stopped.findings)["tasks"]
    assert [task["kind"] for task in same] == [task.kind for task in left]


def test_a_plug_that_nobody_touches_is_isolated_at_its_breaker() -> None:
    """A machine in use with its covers off, whose receptacle is burnt: its plug stays as it is."""
    dryer = loading.load("vented-dryer")
    first = together.closing(dryer, together.Undone(("console",), isolated=False), "burnt receptacle").tasks[0]
    said = tasks.sentence(dryer, first)
    assert "breaker off" in said
    assert "plug" not in said
