"""Cautions in the guide: acknowledged before what they belong to is shown."""

from __future__ import annotations

import io
import re

import pytest

from halfsplit.cli.heeding import Heed
from halfsplit.cli.talking import Talk
from tests.cli.typed import Capture, talk, talk_from

TOP = "CAUTION: top: prop the top so that it cannot fall [Enter or ok: read, and minded] >"
COOKTOP = ("coil-cooktop", "--seed", "4", "--no-further")
"""One whose receptacle is burnt: it is read from outside first, and the top is opened to look."""


def test_cautions_are_acknowledged_before_the_step(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """An answer does not pass; ok does; told once a power state, not again at the repair and in the list. Nobody is at
    a hidden fault's proof run, so that those of it stand in its list and are not asked for (`test_proof_cautions`)."""
    said = talk_from(monkeypatch, capsys, TOP, ["10 ohm", "help", "ok", *[""] * 30], *COOKTOP)
    assert said.count("The cautions come first") == 2
    before, proof = said[: said.index("Prove it:")], said[said.index("Prove it:") :]
    assert before.count("Until it is proved dead") == 1
    assert said.count("prop the top") == 1
    assert "Live parts" not in before  # what the proof run wants minded an hour later stands before its own line
    assert proof.index("Live parts") < proof.index("Meter at amps")
    texts = (
        "DANGER: Until it is proved dead", "NEXT Isolate", "prop the top", "The cautions come first",
        "NEXT Open the top", "Repair:", "Close the top: 2 x PH2.", "Count: ",
    )  # fmt: skip
    places = [said.index(text) for text in texts]
    assert places == sorted(places)
    assert "cured" in said


def test_undo_and_the_end_of_input_at_a_caution(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """undo takes the last finding back, and the end of input ends as everywhere; the step was never shown."""
    said = talk_from(monkeypatch, capsys, TOP, ["undo"], *COOKTOP)
    found = re.findall(r"minded\] > NEXT .+? what the meter shows\] > (.+?) Likeliest now", said)
    assert found
    assert f"Taken back: {found[-1]}" in said
    assert "NEXT Open the top" not in said
    assert f"- {found[-1]}" not in said.partition("Stopped. Nothing is lost; found so far:")[2]


def test_cannot_at_a_caution(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """What stands in the way may be said before the step is shown; the repair says that it lies behind that, and
    nothing of the work."""
    said = talk_from(monkeypatch, capsys, TOP, ["cannot", "1", *[""] * 30], *COOKTOP)
    assert "1 the top will not open" in said
    assert "Planned around: the top will not open." in said
    repair = re.search(r"NO STEP IS WORTH|ENOUGH IS KNOWN", said)
    assert repair
    assert "it lies behind what will not open" in said[repair.start() :]
    assert "Open the top" not in said


def test_all_that_is_acknowledged_at_once_is_told_gravest_first() -> None:
    """What is new at a repair and what was known before, as of its closing, is one list in that order."""
    out = io.StringIO()
    heed = Heed(Talk(out), asks=False, also=lambda _: False)
    assert heed.asked(["WARNING: a", "NOTICE: b"], ["CAUTION: c", "DANGER: d"], {}, lambda: False)
    assert heed.all_shown == ["DANGER: d", "WARNING: a", "CAUTION: c", "NOTICE: b"]
    assert [line.strip() for line in out.getvalue().splitlines()] == heed.all_shown


def test_a_program_is_not_held_up(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """With --json and no terminal nothing waits; what is to be acknowledged is listed."""
    ended = talk(monkeypatch, capsys, ["", ""], "coil-cooktop", "--seed", "4", "--no-further", "--json")
    assert ended.data["acknowledge"][0].startswith("DANGER: Until it is proved dead")
    assert len(ended.data["findings"]) == 6
    assert "Enter or ok" not in ended.err
