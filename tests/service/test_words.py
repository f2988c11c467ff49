"""Words on screen that could be taken for something else: at the wall, on a button, and whose word a finding is."""

from __future__ import annotations

import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import library, loading, model
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import WARMTH, condition
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.predict.readings import Probe
from halfsplit.service import naming, reasons, wording
from halfsplit.work.state import JobState
from tests.rehearse.benches import NAMES, adviser, bench


@pytest.mark.parametrize("name", library.names())
def test_the_plug_is_not_taken_for_the_wall(name: str) -> None:
    """Each contact of the house's receptacle is a prong or a slot, told apart; a machine's own terminals stay."""
    machine = loading.load(name)
    said = [naming.place(machine, terminal) for terminal in machine.terminals]
    assert len(set(said)) == len(said)
    for terminal, text in zip(machine.terminals, said, strict=True):
        part = machine.parts[model.part_of(terminal)]
        kind = ("the plug's", "prong") if ".prong" in terminal else (f"the {part.name}'s", "terminal")
        kind = ("the receptacle's", "slot") if kind[1] == "terminal" and part.name == "receptacle" else kind
        assert (text.startswith(kind[0]) and text.endswith(kind[1])) if part.house else text == terminal
        assert model.part_of(terminal) in machine.parts


def test_a_step_says_prongs_and_leaves_a_button_alone() -> None:
    """Ohms at the plug; a button that is let go is nothing to set."""
    machine = loading.load("vented-dryer")
    at = condition(machine, {"cycle": "timed"}, isolated=True)
    probe = Probe("ohms", "receptacle.prong L1", "receptacle.prong L2")
    state = JobState(condition=condition(machine, {"start": "pressed"}, isolated=True))
    step = Step("reading", at, probe, places=(probe.red, probe.black))
    text = wording.sentence(Bench(machine).predictor, state, step, ())
    assert "red on the plug's L1 prong, black on the plug's L2 prong" in text
    assert "cycle timed" in text
    assert "start" not in text


@pytest.mark.parametrize("name", ["vented-dryer", "vented-dryer-3-wire"])
def test_a_button_is_held_by_more_than_a_wish(name: str) -> None:
    """Every reading on a dead machine for which a control that springs back is held says how, each time anew."""
    machine = loading.load(name)
    predictor = Bench(machine).predictor
    held = [c for c in machine.controls.values() if c.momentary and "held" in c.positions]
    assert held
    for control in held:
        at = condition(machine, {control.name: "held"}, isolated=True)
        red, black = machine.wires[-1].ends
        step = Step("reading", at, Probe("ohms", red, black))
        for before in (condition(machine, (), isolated=True), at):
            text = wording.sentence(predictor, JobState(condition=before), step, ())
            assert f"Have {control.name} held for the whole reading, by a helper or with tape" in text
            assert "take the tape off" in text
        let_go = Step("reading", condition(machine, (), isolated=True), Probe("ohms", red, black))
        assert "tape" not in wording.sentence(predictor, JobState(condition=at), let_go, ())


def test_whose_word_a_finding_is() -> None:
    """The same symptom from the owner and as seen here are two findings, and read so."""
    told, seen = f.Perceived("drum turns", False), f.Perceived("drum turns", False, None, "repairer")
    assert [reasons.whose(one) for one in (told, seen)] == [
        "drum turns: no (the owner says)",
        "drum turns: no (seen here)",
    ]


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_powered_up_for_a_dead_step_once_it_is_isolated(name: str) -> None:
    """What has to be warm runs before it is isolated; behind ice nothing has to, opening leaves it thawed."""
    machine, told = bench(name).machine, 0
    offered = ((s, s.condition) for s in adviser(name).table.steps[::5])
    dead = [(step, at) for step, at in offered if at and at.isolated and not at.exchange]
    for step, _ in dead:
        bays = bays_needed(machine, step)
        for at in (None, conditions.usual(machine), condition(machine, (), isolated=True)):
            text = wording.sentence(bench(name).predictor, JobState(condition=at), step, bays)
            runs = "with the power on." in text
            assert not (runs and ((at and at.isolated) or machine.warmth_behind(bays))), text
            assert not runs or text.index("with the power on.") < text.index("Isolate the machine")
            told += runs
    assert (told > 0) == any(at.position(WARMTH) not in _never_run_for(machine) for _, at in dead)


def _never_run_for(machine: model.Machine) -> set[str]:
    return {*machine.warmths[:1], *machine.left_at.values()}
