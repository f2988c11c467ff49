"""Cautions of a machine file: signal word, moment, text; what was meant for a word and is none is refused."""

from __future__ import annotations

import importlib
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import WrongUse
from halfsplit.machine import cautions, formatting, library, loading
from halfsplit.machine.cautions import MOMENTS, WORDS, Caution, read

jsonschema: Any = importlib.import_module("jsonschema")  # it comes without types
VALIDATOR = jsonschema.Draft202012Validator(cautions.as_schema({"type": "string"}))

WRONG = [
    "DANGR: 240 V behind it", "danger: 240 V behind it", "Warning: hot", "HAZARD: hot", "DANGER 240 V behind it",
    "DANGER: WARNING: hot", "when closing: WARNING: guard", "when shutting: guard", "DANGER: when shut: guard",
    "DANGER:", "WARNING: when closing: ",
]  # fmt: skip
SHEET = library.text("water-heater")
PLAIN = "foil insulation fibres"


@given(
    st.sampled_from(["", *WORDS]),
    st.sampled_from(["", *MOMENTS]),
    st.from_regex(r"[a-z0-9][a-z ;,']{0,30}(: [a-z]{1,9})?", fullmatch=True).filter(lambda text: text == text.strip()),
)
def test_what_is_written_is_read(word: str, moment: str, text: str) -> None:
    """Word and moment are told apart from the text; without a word it is CAUTION, without a moment told at both."""
    if text.split(":")[0] in ("danger", "warning", "caution", "notice"):
        return
    whole = f"{f'{word}: ' if word else ''}{f'when {moment}: ' if moment else ''}{text}"
    made = read(whole)
    assert made == Caution(word or "CAUTION", text, moment)
    assert [made.at(one) for one in MOMENTS] == [moment in ("", one) for one in MOMENTS]


@pytest.mark.parametrize("text", WRONG)
def test_what_was_meant_for_a_word_is_refused(text: str) -> None:
    """A signal word misspelled, in small letters, without colon, twice or in the wrong place; a moment unknown."""
    with pytest.raises(WrongUse) as refused:
        read(text)
    assert refused.value.message.endswith(".")
    assert refused.value.remedy.startswith("Write ")


@pytest.mark.parametrize("text", ["DANGR", "HAZARD", "when shutting", "WARNING: CAUTION"])
def test_a_wrong_word_is_told_on_its_line(text: str) -> None:
    """In a file: line, column, which item, what is wrong, and what to write."""
    bad = SHEET.replace(PLAIN, f'"{text}: fibres"', 1)
    problems = loading.examine_text(bad, "x")[1]
    line = next(n for n, row in enumerate(bad.split("\n"), 1) if ": fibres" in row)
    assert [(one.line, one.message.split(":")[0]) for one in problems] == [(line, "Item 2 of 'cautions'")]
    assert problems[0].column > 1
    assert problems[0].remedy.startswith("Write ")


def test_a_part_is_not_closed() -> None:
    """A moment belongs to a bay."""
    bad = SHEET.replace('caution: "WARNING: hot', 'caution: "WARNING: when closing: hot', 1)
    problems = loading.examine_text(bad, "x")[1]
    assert [one.message for one in problems] == ["'upper element': A part has no closing."]


def test_an_unquoted_word_is_told_to_be_quoted() -> None:
    """YAML takes `DANGER: live` for a mapping."""
    problems = loading.examine_text(SHEET.replace(PLAIN, "DANGER: fibres", 1), "x")[1]
    assert "quotes" in problems[0].remedy


@pytest.mark.parametrize("text", [one for one in WRONG if not re.match(r"danger|Warning", one)])
def test_the_schema_refuses_the_same(text: str) -> None:
    """An editor sees a wrong word as well, but for one in small letters, which only the loader takes for a slip."""
    assert list(VALIDATOR.iter_errors(text))


@pytest.mark.parametrize("text", ["sharp edges", "tip-over: feet", "NOTICE: when closing: fold it", "240 V: live"])
def test_the_schema_takes_what_the_loader_takes(text: str) -> None:
    """Good ones pass both."""
    assert read(text).text
    assert list(VALIDATOR.iter_errors(text)) == []


@pytest.mark.parametrize("name", library.names())
def test_canonical_form_keeps_cautions(name: str) -> None:
    """Bay by bay the same cautions; those of the library say who could be hurt how badly."""
    before, after = loading.load(name), loading.load_text(formatting.canonical(library.text(name)), name)
    assert before.bays == after.bays
    for bay in before.bays.values():
        for one in bay.cautions:
            if "240 V" in one.text or "stay live" in one.text:
                assert one.word == "DANGER"
            if "scald" in one.text or "burn" in one.text:
                assert one.word == "WARNING"
