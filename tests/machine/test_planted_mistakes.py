"""Mistakes planted at many places in good files: each is found, on its line. Judge: the hand that planted them."""

from __future__ import annotations

import random
import re

import pytest

from halfsplit.machine import complaints, library, loading
from tests.machine import planting

FILES = ("vented-dryer", "refrigerator", "water-heater")
EACH = 3
SHEETS = {name: planting.Sheet.of(library.text(name)) for name in FILES}


def found(planted: planting.Planted, name: str) -> bool:
    """Whether the mistake is reported on one of its lines, in words that fit."""
    _, problems = loading.examine_text(planted.text, name)
    return any(p.line in planted.lines and p.file == name and re.search(planted.says, p.message) for p in problems)


@pytest.mark.parametrize("kind", planting.PLANTS)
def test_planted_mistake_is_found_on_its_line(kind: str) -> None:
    """A mistake of this kind, planted at several places in each good file, is found and placed rightly."""
    draw = random.Random(kind)
    count = 0
    for name, sheet in SHEETS.items():
        places = list(planting.PLANTS[kind](sheet))
        for planted in draw.sample(places, min(EACH, len(places))):
            assert found(planted, name), (name, planted.what)
            count += 1
    assert count >= EACH


def test_every_report_of_a_planted_mistake_says_what_to_do() -> None:
    """Each problem has a place and a sentence, and nearly all say what to do."""
    draw = random.Random(1)
    silent = []
    for name, sheet in SHEETS.items():
        for plant in planting.PLANTS.values():
            places = list(plant(sheet))
            for planted in draw.sample(places, min(1, len(places))):
                problems = loading.examine_text(planted.text, name)[1]
                assert all(p.line >= 1 and p.column >= 1 and p.message.endswith((".", ":")) for p in problems)
                silent += [p for p in problems if not p.remedy]
    assert silent == []


def test_hundreds_of_mistakes_end_the_reading() -> None:
    """A file with hundreds of mistakes is told a hundred, and that there are more."""
    more = "".join(f"  lamp {i}: {{type: lmp, in: topp}}\n" for i in range(300))
    machine, problems = loading.examine_text(library.text("vented-dryer").replace("parts:\n", "parts:\n" + more), "x")
    assert machine is None
    assert len(problems) == complaints.MOST + 1
    assert "and more" in min(problems).message


SLIPS = [
    *("terminal misspelled", "part misspelled", "type misspelled", "bay misspelled", "control misspelled"),
    *("place misspelled at a part", "bay behind nothing", "setting unknown", "control of a setting unknown"),
    *("lead misplaced",),
]


@pytest.mark.parametrize("kind", SLIPS)
def test_remedy_names_what_was_meant(kind: str) -> None:
    """For a slip in a name, the remedy offers the name that stood there, alone or among the known ones."""
    draw = random.Random(kind)
    for name, sheet in SHEETS.items():
        places = list(planting.PLANTS[kind](sheet))
        for planted in draw.sample(places, min(EACH, len(places))):
            problems = loading.examine_text(planted.text, name)[1]
            found = next(p for p in problems if p.line in planted.lines)
            wrong = found.message.rstrip(".").split("'")[-2]
            assert any(f"'{w}'" in found.remedy or f" {w}" in found.remedy for w in (wrong[:-1], wrong[1:])), found


def test_two_mistakes_are_reported_together() -> None:
    """Two mistakes of one file are both reported, in the order of the file."""
    text = library.text("vented-dryer").replace("type: lamp", "type: lampp").replace("buzzer.1\n", "buzzer.9\n")
    lines = text.split("\n")
    wanted = [n for n, row in enumerate(lines, 1) if "type: lampp" in row or "buzzer.9" in row]
    assert [p.line for p in loading.examine_text(text, "x")[1]][:2] == wanted


MISTYPED = [
    *(("kind:", "kindd:"), ("format:", "formt:"), ("about:", "abou:"), ("wires:", "wirs:"), ("parts:", "part:")),
    *(("supply:", "suply:"), ("symptoms:", "symtoms:"), ("bays:", "bas:"), ("    behind: top", "    behnd: top")),
    *(("  system: 120", "  sytem: 120"), ("    type: timer", "    tpe: timer"), ("kind:", "KIND:")),
    ("  - {meter: volts, red: terminal block.N", "  - {metr: volts, red: terminal block.N"),
]


@pytest.mark.parametrize(("key", "typed"), MISTYPED)
def test_mistyped_key_is_told_once_and_hides_nothing(key: str, typed: str) -> None:
    """A mistyped key is told once, with the one that was meant, and a wrong terminal elsewhere beside it."""
    text = "\n" + library.text("vented-dryer").replace("buzzer.1\n", "buzzer.9\n")
    assert text.count(f"\n{key}") == 1
    problems = loading.examine_text(text.replace(f"\n{key}", f"\n{typed}"), "x")[1]
    terminal, mistyped = sorted(problems, key=lambda p: "is not known here" in p.message)
    assert "has no terminal '9'" in terminal.message
    wrong, meant = (one.strip(" -{").partition(":")[0] for one in (typed, key))
    assert (mistyped.message, mistyped.remedy) == (f"'{wrong}' is not known here.", f"Did you mean '{meant}'?")


BROKEN = [
    *(("kind: tumble dryer", ""), ("kind: tumble dryer", "kind: [dryer]"), ("frame: cabinet", "frame: [cabinet]")),
    *(("  - WH  14 AWG 1.2 m", "  - a: WH  14 AWG 1.2 m"), ("kind: tumble", "gas: {cock: on the wall}\nkind: tumble")),
    ("  - {meter: volts, red: terminal block.N", "  - {red: terminal block.N"),
]


@pytest.mark.parametrize(("good", "bad"), BROKEN)
def test_what_breaks_the_grammar_is_told_once_and_hides_nothing(good: str, bad: str) -> None:
    """What is missing or of the wrong shape is told once, and a wrong terminal elsewhere beside it."""
    text = library.text("vented-dryer").replace("buzzer.1\n", "buzzer.9\n")
    assert text.count(f"\n{good}") == 1
    problems = loading.examine_text(text.replace(f"\n{good}", f"\n{bad}"), "x")[1]
    assert len(problems) == 2
    assert any("has no terminal '9'" in problem.message for problem in problems)


def test_a_key_that_looks_like_the_inside_of_the_checker_is_told_as_any_other() -> None:
    """The grammar's own word for a key does not break the telling."""
    problems = loading.examine_text(library.text("vented-dryer") + "\n'[key]': 1\n", "x")[1]
    assert [problem.message for problem in problems] == ["'[key]' is not known here."]
