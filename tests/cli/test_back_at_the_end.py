"""The talk of the guide where something is taken back once a repair, or how the machine is left, was told to its end:
how the machine stands is asked or told, and nobody is sent into one that may be live."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from halfsplit.cli import conversation, ending, talking
from halfsplit.cli.conversation import Asked
from halfsplit.work import stopping
from halfsplit.work.hazards import STOPS
from tests.cli.typed import Capture, talk, type_in

ASKED = ending.CLOSED_BY_NOW[True]
TO_THE_REPAIR = ["2 no", "1 yes", "3 no", "4 no", "7 yes", "", "fine", "OL", "OL", "0.2"]
"""A water heater that trips its breaker and of which an element is open."""


def led(monkeypatch: pytest.MonkeyPatch, *typed: str) -> tuple[str, list[dict[str, object]]]:
    """What is said, on one line, and what was found."""
    type_in(monkeypatch, (*TO_THE_REPAIR, *typed))
    out = io.StringIO()
    found = conversation.hold(talking.Talk(out), Asked("water-heater", own=True), None, asks=False)
    return " ".join(out.getvalue().split()), found["findings"]


@pytest.mark.parametrize("closed", ["yes", "no", "begun"])
def test_undo_at_the_numbers_asks_how_the_machine_stands(closed: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """As undo one question before does; hands isolate and prove dead before anything else, whatever was answered."""
    said, found = led(monkeypatch, "no", "undo", closed, "stop")
    assert said.count(ASKED) == 1
    after = said[said.index(ASKED) :]
    assert "Isolate the machine (breaker off, locked)" in after or ending.DEAD_FIRST in after
    assert (ending.TO_THE_END in said) == (closed == "begun")
    assert ({"closed": {"power": "on"}} in found) == (closed != "no")
    assert not any("repair" in one for one in found)


def test_who_stops_at_that_question_is_told_of_both(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the repair was begun, its own list stands, with its covers, wires and water; else what was done before is
    made good, and the power stays off: its breaker tripped. What was taken back is so in what is found."""
    said, found = led(monkeypatch, "no", "undo")
    assert said.count("Put together, in this order:") == 1
    end = said[said.index("If anything of the repair was begun") :]
    assert end.count(ending.LEFT_NOW) == 1
    assert "Close the lower cover" in end
    assert STOPS[stopping.TRIPS].tag in end
    assert any("taken back" in str(one) for one in found)


def test_the_repair_stays_made_where_what_came_after_is_taken_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """An answer after the proof run, then that, then the proof run: it is asked of once more and not told anew; what
    was opened since is told to be closed."""
    said, _ = led(monkeypatch, "no", "", "no", "no", "no", "undo", "undo", "stop")
    repair = said.index("Repair: ")
    assert said.count("Repair: ") == 1
    assert said.rindex("Done and checked") > said.index("Taken back: what the proof run has shown.") > repair
    last = said[said.index("Taken back: what the proof run has shown.") :]
    assert ("Put together, in this order:" in last) == ("Open the" in said[said.index(ending.LEFT) :].split("undo")[0])


@pytest.mark.parametrize(("answer", "closes"), [("yes", False), ("no", True)])
def test_who_takes_a_stop_back_is_asked_whether_its_list_was_done(
    answer: str, closes: bool, monkeypatch: pytest.MonkeyPatch, capsys: Capture, tmp_path: Path
) -> None:
    """What was closed by that list is closed: it is on no later list, which measures the frame before the power; else
    all is as before. Of a machine on which hands did nothing nobody is asked."""
    asked = "Was the machine put together by the list told before undo, to its line 5?"
    opened = "- reading: {meter: ohms, red: defrost timer.1, black: defrost timer.3, value: 0.3}\n"
    for before in (opened, ""):
        burnt = f"- symptom: {{what: food is cold, value: no}}\n{before}- look: {{at: receptacle, sees: burnt}}\n"
        (tmp_path / "found.yaml").write_text(burnt, "utf-8")
        words = "refrigerator", "--found", str(tmp_path / "found.yaml"), "--own", "--no-further"
        said = talk(monkeypatch, capsys, [*(["ok"] if before else []), "undo", answer, "stop"], *words).out
        assert (asked in said) == bool(before)
        if before:
            told, later = said.split(asked)
            assert "\n     5  No power" in told
            assert "\n     6  " not in told
            assert ("Close the kick plate" in later) == closes
            assert "below 1 ohm" in " ".join(later.split())
