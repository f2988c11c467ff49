"""Rehearsals by the outside contract: the fields of a trial, the same jobs for the same seed."""

from __future__ import annotations

import pytest

from tests.cli.words import run

TRIAL = {
    "fault", "steps", "minutes", "repairs", "right_first", "needless_parts", "live_steps", "unsafe_steps", "claimed",
}  # fmt: skip


def test_trials_by_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    """Two trials of a seed have all their fields, a summary, and come out the same again."""
    words = ("rehearse", "water-heater", "--trials", "2", "--seed", "1", "--json")
    first, again = run(capsys, *words), run(capsys, *words)
    assert (first.code, first.err) == (0, "")
    assert first.data == again.data
    assert [set(one) for one in first.data["trials"]] == [TRIAL, TRIAL]
    assert first.data["summary"]["trials"] == 2


def test_a_named_fault_is_hidden(capsys: pytest.CaptureFixture[str]) -> None:
    """The fault that is named is the one that is hidden, also where the truth is told by another machine."""
    fault = ("--fault", "upper element: open", "--truth", "water-heater")
    (trial,) = run(capsys, "rehearse", "water-heater", *fault, "--json").data["trials"]
    assert trial["fault"] == "upper element: open"


@pytest.mark.parametrize("words", [["--fault", "upper element: opn"], ["--truth", "water-heatr"], ["--trials", "0"]])
def test_wrong_use(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Unknown names and no trials at all are wrong use."""
    assert run(capsys, "rehearse", "water-heater", *words).code == 2
