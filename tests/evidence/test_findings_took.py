"""How long a step took, in a findings file: read in any unit of time, written back, refused with its place."""

from __future__ import annotations

import json

import pytest

from halfsplit.errors import BadInput
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.machine import loading

DRYER = loading.load("vented-dryer")
GOOD = [
    "reading: {meter: ohms, red: heater.common, black: heater.front, value: OL",
    "look: {at: lint screen, sees: fine",
    "symptom: {what: air is warm, value: no, by: repairer, set: {heat: high}",
    "repair: {made: replace cut-off, cured: no",
]


def read(text: str) -> list[f.Finding]:
    """The findings of a text."""
    return findings_file.read(text, "x.yaml", DRYER)


@pytest.mark.parametrize("line", GOOD)
@pytest.mark.parametrize(("typed", "took"), [("3 min", 3.0), ("90 s", 1.5), ("1.5 h", 90.0), ("4,5 min", 4.5)])
def test_every_kind_of_finding_says_how_long_it_took(line: str, typed: str, took: float) -> None:
    """Minutes inside, whatever was written; read again from what is written back; silence stays silence."""
    said = f"{typed!r}" if "," in typed else typed
    (found,) = read(f"- {line}, took: {said}}}")
    assert found.took == pytest.approx(took)
    (again,) = read(json.dumps([findings_file.written(found)]))
    assert again.took == pytest.approx(found.took)
    (silent,) = read(f"- {line}}}")
    assert silent.took is None
    assert "took" not in json.dumps(findings_file.written(silent))


def test_the_time_taken_is_no_evidence() -> None:
    """Two findings that differ in it alone are equal."""
    assert f.Look("lint screen", "fine", took=3.0) == f.Look("lint screen", "fine")


def test_it_is_not_taken_over_by_the_next_finding() -> None:
    """Unlike the leads and the meter, a time holds for its own step."""
    first, second = read(f"- {GOOD[0]}, took: 3 min}}\n- reading: {{value: OL}}")
    assert (first.took, second.took) == (3.0, None)


@pytest.mark.parametrize(
    ("text", "column", "says", "remedy"),
    [
        ("- look: {at: lint screen, sees: fine, took: 3}", 45, "no time", "3 min"),
        ("- look: {at: lint screen, sees: fine, took: soon}", 45, "no time", "3 min"),
        ("- look: {at: lint screen, sees: fine, took: 0 min}", 45, "more than no time", "3 min"),
        ("- look: {at: lint screen, sees: fine, took: -2 min}", 45, "no time", "3 min"),
        ("- look: {at: lint screen, sees: fine, took: 9000 min}", 45, "no time", "a day"),
        ("- look: {at: lint screen, sees: fine, took: 3 ohm}", 45, "no time", "3 min"),
        ("- look: {at: lint screen, sees: fine, took: [1 min]}", 45, "one text", ""),
        ("- symptom: {what: air is warm, value: no, took: 2 min}", 49, "no step", "by: repairer"),
        ("- symptom: {what: air is warm, value: no, by: repairer, took: 2 min}", 63, "no step", "set"),
    ],
)
def test_mistakes_are_told_with_place_and_remedy(text: str, column: int, says: str, remedy: str) -> None:
    """What is no time, and what was no step."""
    with pytest.raises(BadInput) as refused:
        read(text)
    (problem,) = refused.value.problems
    assert (problem.line, problem.column) == (1, column)
    assert says in problem.message
    assert remedy in problem.remedy
