"""Rehearsals by the outside contract: the fields of a trial, the same jobs for the same seed."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from halfsplit.cli import rehearse
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


def test_shares_of_counts_may_be_none_or_all(capsys: pytest.CaptureFixture[str]) -> None:
    """None of one job is 0 %, and not a little; one of one is 100 %."""
    said = run(capsys, "rehearse", "water-heater", "--fault", "upper element: open").out
    assert "The first repair was right in 1 of 1 jobs" in said
    assert "to 100 %)" in said
    assert "Needless parts: 0.00 a job; 0 % of the jobs bought one or more." in said
    assert "100 % of the jobs ended in a claim of 90 % or more; 0 % were wrong though claimed." in said


def test_a_table_that_is_cut_says_so(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """And says where the rest is; a whole one says nothing."""
    monkeypatch.setattr(rehearse, "SHOWN", 2)
    words = ("rehearse", "water-heater", "--fault", "upper element: open", "--trials")
    three, two = (run(capsys, *words, count).out for count in ("3", "2"))
    assert "The last 2 of 3 jobs; --json has all." in three
    assert three.count("\nupper element: open") == 2
    assert "The last" not in two


def test_a_named_fault_is_hidden(capsys: pytest.CaptureFixture[str]) -> None:
    """The fault that is named is the one that is hidden, also where the truth is told by another machine."""
    fault = ("--fault", "upper element: open", "--truth", "water-heater")
    (trial,) = run(capsys, "rehearse", "water-heater", *fault, "--json").data["trials"]
    assert trial["fault"] == "upper element: open"


def test_two_faults_are_hidden(capsys: pytest.CaptureFixture[str]) -> None:
    """The fields of the contract and whether both were found; a cause with its consequence as well; in sentences."""
    words = ("rehearse", "water-heater", "--trials", "2", "--faults")
    two = run(capsys, *words, "two", "--json")
    assert [set(one) for one in two.data["trials"]] == [TRIAL | {"all_found"}] * 2
    assert 0 <= two.data["summary"]["all_found_low"] <= two.data["summary"]["all_found"] <= 1
    assert "Both faults were repaired before the machine was closed" in run(capsys, *words, "consequence").out


@pytest.mark.parametrize(
    "words",
    [
        ["--fault", "upper element: opn"], ["--truth", "water-heatr"], ["--trials", "0"],
        ["--faults", "two", "--fault", "limit: tripped"], ["--faults", "three"],
    ],
)  # fmt: skip
def test_wrong_use(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Unknown names and no trials at all are wrong use."""
    assert run(capsys, "rehearse", "water-heater", *words).code == 2


def test_a_fixed_order_is_followed(capsys: pytest.CaptureFixture[str]) -> None:
    """Named from the library; off the model and on two workers it gives the fields of the contract as well."""
    words = ("rehearse", "water-heater", "--trials", "2", "--order", "water-heater.front-to-back", "--json")
    plain = run(capsys, *words)
    assert (plain.code, plain.err) == (0, "")
    assert [set(one) for one in plain.data["trials"]] == [TRIAL, TRIAL]
    off = run(capsys, *words, "--off-model", "--workers", "2")
    assert (off.code, off.data["summary"]["trials"]) == (0, 2)
    assert off.data != plain.data


def test_an_order_that_cannot_be_read(capsys: pytest.CaptureFixture[str], findings: Callable[[str], str]) -> None:
    """An unknown name is wrong use; a file with mistakes is a bad file, told with its places."""
    assert run(capsys, "rehearse", "water-heater", "--order", "front-to-back").code == 2
    told = run(capsys, "rehearse", "water-heater", "--order", findings("- look: {at: tnk}\n"))
    assert told.code == 3
    assert "findings.yaml:1:" in told.err


def test_people_are_told_in_sentences(capsys: pytest.CaptureFixture[str]) -> None:
    """A table of the jobs, then how many were right, how long it took, how sure it was."""
    told = run(capsys, "rehearse", "water-heater", "--fault", "upper element: open")
    assert "upper element: open" in told.out
    assert "The first repair was right in 1 of 1 jobs" in told.out


def test_what_the_hidden_machine_has_no_place_for_is_set_aside(
    capsys: pytest.CaptureFixture[str], findings: Callable[[str], str]
) -> None:
    """The plan knows a plug with an earth prong, the machine there has none: by an order that leads there, and by the
    plan, the job goes on without that reading."""
    order = """
- reading: {meter: ohms, red: receptacle.prong L1, black: receptacle.prong PE, isolated: yes}
- look: {at: belt}
"""
    words = ("rehearse", "vented-dryer", "--truth", "vented-dryer-3-wire", "--fault", "belt: broken", "--json")
    for given in ((), ("--order", findings(order))):
        made = run(capsys, *words, *given)
        assert made.code == 0
        assert made.data["trials"][0]["steps"] >= 1
