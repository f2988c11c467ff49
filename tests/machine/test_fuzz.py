"""Whatever a file holds, reading it ends in a machine or in problems with their places; nothing else is raised."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.errors import BadInput
from halfsplit.machine import formatting, library, loading, tree
from halfsplit.service import checking, diagnosing
from tests.depth import tried
from tests.machine import strategies

GOOD, TANK = library.text("vented-dryer"), library.text("water-heater")


def read(text: str) -> list[str]:
    """Reads a text; what is wrong with it, after looking that each problem has a place."""
    machine, problems = loading.examine_text(text, "x")
    assert machine is not None or problems
    assert all(p.line >= 1 and p.column >= 1 and p.message for p in problems)
    return [p.message for p in problems]


@given(st.binary(max_size=300))
def test_any_bytes(raw: bytes) -> None:
    """Bytes are a text or a problem with a place."""
    try:
        text = library.decode(raw, "x")
    except BadInput as error:
        text, places = "", [(p.line, p.column) for p in error.problems]
    else:
        places = [(1, 1)]
    assert min(min(place) for place in places) >= 1
    read(text)


@given(st.text(max_size=200))
def test_any_text(text: str) -> None:
    """Any text is read or refused."""
    read(text)


@given(strategies.trees)
@settings(max_examples=tried(80, 200))
def test_trees_of_the_wrong_shape(shape: object) -> None:
    """The grammar's keys in wrong places, with wrong kinds of values, are refused with a place."""
    read(yaml.safe_dump(shape, allow_unicode=True))


@given(st.sampled_from(strategies.SECTIONS), strategies.trees)
@settings(max_examples=tried(60, 150))
def test_good_file_with_one_section_replaced(key: str, shape: object) -> None:
    """A good file with anything in the place of one section."""
    data = tree.plain(tree.compose(GOOD, "x"))
    assert isinstance(data, dict)
    read(yaml.safe_dump({**data, key: shape}, allow_unicode=True, width=10_000))


def leaf_replaced(text: str, seed: int) -> str:
    """A good file with a text, list or mapping in the place of any one of its leaves."""
    draw = random.Random(seed)
    data = tree.plain(tree.compose(text, "x"))
    where: Any = data
    while isinstance(where, dict | list) and where:
        key: Any = draw.choice(list(where)) if isinstance(where, dict) else draw.randrange(len(where))
        inner = where[key]
        if not isinstance(inner, dict | list) or not inner or draw.random() < 0.2:
            where[key] = draw.choice([*strategies.WORDS, [], {}, ["a"], {"a": "b"}, [["a"]]])
            break
        where = inner
    return yaml.safe_dump(data, allow_unicode=True, width=10_000)


@given(st.integers(0, 2**32))
@settings(max_examples=tried(60, 150))
def test_good_file_with_one_leaf_replaced(seed: int) -> None:
    """Any of its leaves, by anything, for the static rules."""
    read(leaf_replaced(GOOD, seed))


def run_through(text: str) -> bool:
    """All that `check` does with a text, and where a machine can be read of it one diagnosis; whether it could."""
    machine, problems = checking.examine_text(text, "x")
    assert machine is not None or problems
    assert all(p.line >= 1 and p.column >= 1 and p.message for p in problems)
    if machine is None or not machine.symptoms:
        return False
    complaint = f"- symptom: {{what: {json.dumps(next(iter(machine.symptoms)))}, value: no}}\n"
    told = diagnosing.diagnose(machine, diagnosing.read_findings(machine, complaint, "y"))
    assert sum(one["probability"] for one in told["candidates"]) + told["unexplained"] <= 1 + 1e-6
    return True


@given(st.integers(0, 2**32))
@settings(max_examples=tried(20, 40))
def test_a_leaf_replaced_never_breaks_check_or_diagnose(seed: int) -> None:
    """What the healthy machine would do and what could be wrong with it is worked out, or the file is refused: no
    traceback, no warning of the numbers."""
    run_through(leaf_replaced(TANK, seed))


LEAVES = {
    "a wire to itself": ("limit.2  upper thermostat.C", "limit.2  limit.2"),
    "heat below nought": ("at least: 2000 W", "at least: -5 W"),
    "an endless tolerance": ("12.8 ohm ± 5 %", "12.8 ohm ± 1e999 ohm"),
    "ohms below nought": ("12.8 ohm ± 5 %", "-12.8 ohm"),
    "no temperatures of a place": ("{cold tank: 15 °C, top hot: 20 °C, hot tank: 60 °C}", "{}"),
    "a control called warmth": ("settings:\n", "controls:\n  warmth: [off, on]\nsettings:\n"),
    "a wide tolerance": ("12.8 ohm ± 5 %", "12.8 ohm ± 1e9 %"),
    "shorted": ("L2: limit.3", "L2: limit.1"),
    "bays behind each other": ("    behind: outside\n", "    behind: upper cover\n"),
    "tingles elsewhere": ("tingles: jacket", "tingles: [limit.1]"),
}


@pytest.mark.parametrize("what", LEAVES)
def test_what_has_broken_a_command_once_breaks_none(what: str) -> None:
    """Each file is refused, or checked and diagnosed to the end."""
    old, new = LEAVES[what]
    assert old in TANK
    run_through(TANK.replace(old, new, 1))


def test_the_good_file_is_run_through_to_the_end() -> None:
    """So that what is tried here does reach the diagnosis."""
    assert run_through(TANK)


@given(st.integers(0, len(GOOD)), st.integers(0, 40), st.text(max_size=6))
@settings(max_examples=tried(80, 200))
def test_good_file_with_a_stretch_overwritten(start: int, length: int, put: str) -> None:
    """A good file with some characters lost and others put in."""
    read(GOOD[:start] + put + GOOD[start + length :])


HOSTILE = {
    "bomb": "a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nd: [*c, *c, *c]\n",
    "merge key": "a: &a {x: 1}\nb:\n  <<: *a\n",
    "deep flow": "a: " + "[" * 100_000,
    "deep mapping": "{a: " * 50_000,
    "deep block": "\n".join(" " * i + "a:" for i in range(500)),
    "deep dashes": "- " * 50_000 + "x",
    "deep question marks": "? " * 50_000 + "x",
    "too long": "a: " + "x" * 1_000_001,
    "many entries": "a: [" + "x," * 70_000 + "]",
    "tag": "a: !!python/object/apply:os.system ['true']\n",
    "two documents": "a: 1\n---\nb: 2\n",
    "key that is a list": "[a, b]: 1\n",
    "empty key": ": 1\n",
    "nothing": "",
    "only a comment": "# nothing\n",
    "null byte": "a: \0\n",
    "surrogate": "a: \udc80\n",
    "tab": "a:\n\tb: 1\n",
    "unclosed": "a: [1, 2\n",
    "list": "- a\n- b\n",
    "text": "just a text\n",
    "like itself": "like: like\n",
    "like up the tree": "format: halfsplit machine 1\nlike: ../../etc/passwd\n",
    "like of a list": "like: [a]\n",
    "directive": "%YAML 9.9\n---\na: 1\n",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_file_is_refused(name: str) -> None:
    """A file made to do harm is refused with a place."""
    assert read(HOSTILE[name])


NUMBERS = [
    *("nan ohm", "inf ohm", "-inf ohm", "1e999 ohm", "1e308 ohm", "-20 ohm", "0 ohm", "9" * 50 + " ohm", "1e-400 ohm"),
    *("20 ohm ± 1e999 %", "20 ohm ± -5 %", "20 ohm ± nan %", "٢٠ ohm", "20 ohm\u200b", "0x14 ohm", "1_0 ohm", "20"),
    *("ohm", ""),
]


@pytest.mark.parametrize("number", NUMBERS)
def test_number_that_is_none_is_refused_on_its_line(number: str) -> None:
    """No odd number slips through as the ohms of a resistor."""
    assert GOOD.count("4.5 kohm ± 10 %") == 1
    line = GOOD[: GOOD.index("4.5 kohm ± 10 %")].count("\n") + 1
    text = GOOD.replace("4.5 kohm ± 10 %", f'"{number}"')
    problems = loading.examine_text(text, "x")[1]
    assert line in [p.line for p in problems]


@given(st.one_of(st.text(max_size=120), st.integers(0, len(GOOD)).map(lambda cut: GOOD[:cut])))
@settings(max_examples=tried(50, 100))
def test_formatter_refuses_only_as_bad_input(text: str) -> None:
    """The canonical form of any text is a text, or the text is refused as bad input."""
    try:
        clean = formatting.canonical(text)
    except BadInput:
        return
    assert formatting.canonical(clean) == clean
