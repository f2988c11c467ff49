"""A finding that was taken back tells nothing of the faults, and of the machine that its step may have been done: what
may be open is closed in the end, and nothing counts as proved dead."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

import numpy as np
import pytest
import yaml

from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.machine import model
from halfsplit.plan import safely, steps, taken
from halfsplit.plan.powering import shut_to_run
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.rehearse import trials
from halfsplit.rehearse.truth import answer
from halfsplit.service import advising, guiding, pacing, replaying
from halfsplit.service.guiding import Guided
from halfsplit.work import safety
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState
from tests.rehearse.benches import NAMES, adviser

STEPS = 10


def doings(guided: Guided, step: Step) -> dict[Kind, set[str]]:
    """All that is done for a step from where a job stands, and where, by kind."""
    machine, before = guided.machine, guided.standing
    safe = advising.safe_so_far(guided.asked, guided.findings)
    made: dict[Kind, set[str]] = {}
    for one in safely.prepared(machine, safe, before, taken.after(machine, before, step), step).doings:
        made.setdefault(one.kind, set()).add(one.at)
    return made


def on_the_list(guided: Guided, kind: str) -> set[str]:
    """Where the tasks of one kind are in the list for putting together."""
    return {task.at for task in guiding.put_together(guided, ()).tasks if task.kind == kind}


@dataclass
class Walk:
    """A job in which some findings are taken back as soon as they are typed. `bays`, `wires`: an account of its own of
    what may be open or off, by what is told to be done."""

    guided: Guided
    rng: np.random.Generator
    back: float
    bays: set[str] = field(default_factory=set)
    wires: set[str] = field(default_factory=set)
    seen: Counter[str] = field(default_factory=Counter)

    def step(self, step: Step, found: f.Finding) -> None:
        """One step, taken back or not; everything that must hold, holds."""
        made, told = doings(self.guided, step), self.guided.told(found)
        opened, off = made.get(Kind.OPEN, set()), made.get(Kind.LIFT, set())
        closed, on = made.get(Kind.CLOSE, set()), made.get(Kind.REFIT, set())
        self.bays, self.wires = self.bays | opened, self.wires | off
        if step.asks or self.rng.random() >= self.back:
            self.bays, self.wires, self.guided = self.bays - closed, self.wires - on, told
        else:
            before, self.guided = self.guided, told.undone()
            self.taken_back(before, step, found)
            self.seen.update(back=1, opened=len(opened), closed=len(closed), off=len(off), on=len(on))
        assert on_the_list(self.guided, "cover") == self.bays
        assert on_the_list(self.guided, "wires") >= self.wires

    def taken_back(self, before: Guided, step: Step, found: f.Finding) -> None:
        """Of the faults it tells nothing, and the step may be told again, the machine proved dead anew before hands go
        to it."""
        assert isinstance(found, f.Reading | f.Look | f.Perceived)
        assert self.guided.all_findings[-1] == f.TakenBack(found)
        assert self.guided.weighed.by_repair == before.weighed.by_repair
        assert self.guided.standing.done == before.standing.done
        assert self.guided.standing.open_bays >= before.standing.open_bays
        assert advising.safe_so_far(self.guided.asked, self.guided.findings).dead is safety.Dead.UNKNOWN
        again = doings(self.guided, step)
        hands = {Kind.OHMS, Kind.LOOK, Kind.PROVOKE, Kind.CLOSE, Kind.OPEN, Kind.LIFT, Kind.REFIT} & set(again)
        inside = bool(self.guided.standing.open_bays or again.keys() & {Kind.OPEN, Kind.OHMS})
        assert not (hands and inside) or Kind.PROVE_DEAD in again


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("back", [0.0, 0.4])
def test_what_may_be_open_is_closed_in_the_end(name: str, back: float) -> None:
    """Jobs led to where nothing more is worth its minutes; at the end, and after each step, the list has all that may
    be open or off, and nothing else. Without anything taken back the account is that of old."""
    asked, seen = adviser(name), Counter[str]()
    rehearsal = trials.Rehearsal(asked, trials.Asked(asked.bench.machine))
    for number in range(4):
        hidden, told = rehearsal.hidden(np.random.default_rng([3, number]))
        walk = Walk(Guided(asked).told(*told), np.random.default_rng([4, number]), back)
        for _ in range(STEPS):
            advice = walk.guided.advice
            if advice is None or advice.step.kind == advising.STOP or walk.guided.settled:
                break
            walk.step(advice.step, answer(hidden, advice.step))
        seen += walk.seen
    assert (seen["back"] > 0) == (back > 0)
    assert (seen["opened"] > 0) == (back > 0)


def test_a_run_taken_back_may_not_have_closed_the_cover() -> None:
    """A cover that comes on for a run counts as off: the next run tells to put it on."""
    asked = adviser("vented-dryer")
    machine = asked.bench.machine
    runs = [s for s in asked.steps.usual if s.kind == "symptom" and s.condition and not s.condition.isolated]
    dead = {bays_needed(machine, s): s for s in asked.steps.usual if s.probe and not s.live}
    inside, run = next((a, b) for a in dead.values() for b in runs if shut_to_run(machine, _open(machine, a), b))
    opened = Guided(asked).told(_read(inside))
    assert doings(opened, run)[Kind.CLOSE]
    back = opened.told(f.Perceived(run.at, True, run.condition, "repairer")).undone()
    assert back.standing.open_bays == opened.standing.open_bays
    assert doings(back, run)[Kind.CLOSE] == doings(opened, run)[Kind.CLOSE]


def _open(machine: model.Machine, step: Step) -> JobState:
    return taken.after(machine, JobState(), step)


def _read(step: Step) -> f.Reading:
    assert step.probe is not None
    assert step.condition is not None
    return f.Reading(step.probe, step.condition, 1.0, text="1.0")


def test_what_may_be_open_is_made_good_before_a_run() -> None:
    """A step that was shown and set aside: its covers and wires are told to be made good before the machine runs, dead,
    and are on the list until then; so is the isolating, since nobody says whether its power is on."""
    asked = adviser("vented-dryer")
    machine = asked.bench.machine
    lifts = [s for s in asked.steps.usual if s.probe and not s.live and s.condition and s.condition.lift]
    inside = next(s for s in lifts if len(bays_needed(machine, s)) == 1)
    job = Guided(asked).told(f.Perceived("air is warm", False)).set_aside(inside)
    bays, wires = doings(Guided(asked), inside)[Kind.OPEN], {*(inside.condition.lift if inside.condition else ())}
    assert on_the_list(job, "cover") == bays
    assert on_the_list(job, "wires") == wires
    assert on_the_list(job, "isolate")
    run = next(s for s in asked.steps.usual if s.kind == "symptom" and s.condition and not s.condition.isolated)
    text = advising.advice_for(asked, job.weighed, run).text
    assert all(f"Close the {bay}" in text for bay in bays)
    assert all(f"Wires back on {end}" in text for end in wires)
    assert text.index("prove it dead") < text.index("Wires back on") < text.index("Close the")
    after = job.told(f.Perceived(run.at, True, run.condition, "repairer"))
    assert not on_the_list(after, "cover")
    assert "may be open" not in advising.advice_for(asked, after.weighed, run).text
    again = advising.advice_for(asked, job.weighed, inside).text
    assert again == advising.advice_for(asked, Guided(asked).weighed, inside).text


@pytest.mark.parametrize("name", NAMES)
def test_a_step_set_aside_is_in_the_file(name: str) -> None:
    """Of each kind of step that is no question: written without what was found, and read again."""
    asked = adviser(name)
    kinds = {step.kind: step for step in asked.steps.usual if not step.asks}
    for step in kinds.values():
        one = advising.set_aside(step)
        assert steps.of_finding(one.found) == step
        assert "set aside: " in one.label
        text = yaml.safe_dump([findings_file.written(one)])
        assert "value" not in text
        assert findings_file.read(text, "kept.yaml", asked.bench.machine) == [one]


@pytest.mark.parametrize("name", NAMES)
def test_a_file_has_it_and_stands_as_the_talk_did(name: str) -> None:
    """Written and read again; the file played again leads to the same beliefs and the same list. It teaches no pace."""
    asked = adviser(name)
    rehearsal = trials.Rehearsal(asked, trials.Asked(asked.bench.machine))
    hidden, told = rehearsal.hidden(np.random.default_rng([3, 1]))
    walk = Walk(Guided(asked).told(*told), np.random.default_rng(4), 0.5)
    for step in asked.steps.usual[:: len(asked.steps.usual) // 5]:  # whatever the guide asks: some are no questions
        walk.step(step, answer(hidden, step))
    for _ in range(6):
        if walk.guided.advice and walk.guided.advice.step.kind != advising.STOP:
            walk.step(walk.guided.advice.step, answer(hidden, walk.guided.advice.step))
    found = walk.guided.all_findings
    assert any(isinstance(one, f.TakenBack) for one in found)
    data = [findings_file.written(one) for one in found]
    again = findings_file.read(yaml.safe_dump(data), "kept.yaml", asked.bench.machine)
    assert again == list(found)
    assert not list(pacing.records(asked.bench.machine, again))
    played = replaying.replayed(asked, again)
    assert played.weighed.by_repair == walk.guided.weighed.by_repair
    assert guiding.put_together(played, ()) == guiding.put_together(walk.guided, ())


@pytest.mark.parametrize("name", ["vented-dryer", "refrigerator"])
def test_a_machine_that_stands_isolated_is_switched_on_for_a_run_after_something_was_taken_back(name: str) -> None:
    """Closed, read at the prongs. To the automaton it may be live, since nothing counts as proved; its plug is out."""
    asked = adviser(name)
    usual = asked.bench.machine
    read = (s for s in asked.table.steps if s.probe and s.condition and s.condition.isolated)
    dead = next(s for s in read if not bays_needed(usual, s))
    look = next(s for s in asked.table.steps if s.kind == "look" and not bays_needed(usual, s))
    run = next(s for s in asked.table.steps if s.kind == "symptom" and s.condition and not bays_needed(usual, s))
    assert dead.probe is not None
    assert dead.condition is not None
    job = Guided(asked).told(f.Reading(dead.probe, dead.condition, None))
    assert Kind.ENERGISE in doings(job, run)
    job = job.told(f.Look(look.at, "fine")).undone()
    assert job.standing.isolated
    assert Kind.ENERGISE in doings(job, run)
    assert Kind.ENERGISE not in doings(job, dead)


def test_a_plug_that_is_out_for_a_reading_at_the_wall_is_put_in_for_a_run_after_something_was_taken_back() -> None:
    """The same where the machine is not isolated for ohms, but unplugged: what stands in the wall is read live."""
    asked = adviser("vented-dryer")
    usual = asked.bench.machine
    run = next(s for s in asked.table.steps if s.kind == "symptom" and s.condition and not bays_needed(usual, s))
    wall = next(s for s in asked.table.steps if s.probe and s.condition and dict(s.condition.setting)["plug"] == "out")
    read = (s for s in asked.table.steps if s.probe and s.condition and s.condition.isolated)
    dead = next(s for s in read if not bays_needed(usual, s))
    assert wall.probe is not None
    assert wall.condition is not None
    assert dead.probe is not None
    assert dead.condition is not None
    job = Guided(asked).told(f.Reading(dead.probe, dead.condition, None), f.Look("receptacle", "fine")).undone()
    job = job.told(f.Reading(wall.probe, wall.condition, 240.0))
    assert job.standing.condition == wall.condition
    assert Kind.ENERGISE in doings(job, run)
