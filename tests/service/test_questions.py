"""What an owner is asked names of the setting what decides the answer, and nothing else."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.operate.condition import WARMTH
from halfsplit.plan import steps
from halfsplit.service import questions
from tests.rehearse.benches import NAMES, bench

MACHINES = ("coil-cooktop", *NAMES)
ASKED = {(name, step.at): step for name in MACHINES for step in steps.questions(bench(name).machine)}


def said(name: str, what: str) -> str:
    """A question as it is asked on site."""
    return questions.question(bench(name).predictor, what, ASKED[name, what].met)


@pytest.mark.parametrize(
    ("name", "what", "setting"),
    [
        ("coil-cooktop", "left front glows", "left front high"),
        ("coil-cooktop", "left rear pilot lights", "left rear high"),
        ("vented-dryer", "air is warm", "cycle timed, heat high, door shut, start pressed"),
        ("vented-dryer", "drum turns", "cycle timed, door shut, start pressed"),
        ("vented-dryer", "drum lamp lights", "door open"),
        ("refrigerator", "compressor runs", "cold dial normal"),
    ],
)
def test_what_decides_is_named(name: str, what: str, setting: str) -> None:
    """The burner's own knob and no other; of a dryer's warm air the heat, of its drum not."""
    assert said(name, what).endswith(f"? (when set to {setting})")


@pytest.mark.parametrize(
    ("name", "what"),
    [
        ("vented-dryer", "drum thumps or squeals"),
        ("vented-dryer", "breaker trips"),
        ("vented-dryer", "cabinet tingles"),
        ("coil-cooktop", "cooktop tingles"),
        ("refrigerator", "frost round the door"),
        ("water-heater", "hot water lasts"),
    ],
)
def test_what_nothing_decides_is_asked_plainly(name: str, what: str) -> None:
    """A healthy machine never does it, or there is nothing that a person sets."""
    assert said(name, what) == bench(name).machine.symptoms[what].question


@pytest.mark.parametrize("name", MACHINES)
def test_what_is_left_out_makes_no_difference(name: str) -> None:
    """In the table of all candidates, the healthy machine's row: moved elsewhere by itself, what is not named changes
    no answer; what is named changes it, or stands in the symptom's own setting."""
    predictor, machine = bench(name).predictor, bench(name).machine
    for what, at in ((what, step.met) for (owner, what), step in ASKED.items() if owner == name):
        assert at is not None
        named = questions.decides(predictor, what, at)
        for control in questions.stands(machine, what, at):
            if control == WARMTH:
                continue
            others = [p for p in machine.controls[control].positions if p != at.position(control)]
            moved = [replace(at, setting=tuple((dict(at.setting) | {control: p}).items())) for p in others]
            answers = {bool(predictor.symptom(what, other, True)[0] > 0.5) for other in (at, *moved)}
            own = control in dict(machine.symptoms[what].setting)
            assert (control in named) == (own or len(answers) == 2)
