"""The guide goes on from a findings file: where `diagnose` would, and nowhere once a repair is proved."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from halfsplit.cli import complaining
from halfsplit.service import resuming
from tests.cli.typed import type_in
from tests.cli.words import Ended, run

Capture = pytest.CaptureFixture[str]
Guide = Callable[..., Ended]
"""The guide from these findings, with these lines typed."""
FOUND = """\
- symptom: {what: drum turns, value: yes}
- symptom: {what: air is warm, value: no}
- reading: {meter: ohms, red: cut-off.1, black: cut-off.2, value: OL}
"""
MADE = "- repair: {made: replace cut-off, cured: yes}\n"


@pytest.fixture
def guided(monkeypatch: pytest.MonkeyPatch, capsys: Capture, tmp_path: Path) -> Guide:
    """Runs the guide from a file of these findings, with these lines typed."""

    def runs(text: str, *typed: str, words: tuple[str, ...] = ()) -> Ended:
        (tmp_path / "found.yaml").write_text(text, "utf-8")
        type_in(monkeypatch, typed)
        place = str(tmp_path / "found.yaml")
        return run(capsys, "guide", "vented-dryer", "--found", place, "--no-further", *words)

    return runs


def advised(capsys: Capture, tmp_path: Path) -> Any:
    """What `diagnose` knows from the same file."""
    return run(capsys, "diagnose", "vented-dryer", str(tmp_path / "found.yaml"), "--json").data


@pytest.mark.parametrize("text", [FOUND, FOUND + MADE.replace("yes", "no") + "- closed: {power: on}\n"])
def test_it_goes_on_where_diagnose_would(guided: Guide, capsys: Capture, tmp_path: Path, text: str) -> None:
    """All findings are told, and the first step is the one that `diagnose` names."""
    told = " ".join(guided(text, "ok", "ok", "stop").out.split())
    assert "- ohms, cut-off.1 to cut-off.2: OL" in told
    found = advised(capsys, tmp_path)
    due = found["next"][0]["text"] if not found["enough"]["known"] else found["enough"]["repair"]
    assert " ".join(str(due).split()) in told


def test_nothing_is_left_once_a_repair_is_proved(guided: Guide, capsys: Capture, tmp_path: Path) -> None:
    """Where all is well since, no cover is opened any more, and the talk is over; where something was told since, or
    not all was well, it goes on."""
    ended = guided(FOUND + MADE, words=("--json",))
    assert ended.data["cured"] == "replace cut-off"
    found = advised(capsys, tmp_path)
    assert (found["next"], found["enough"]["proved"]) == ([], "replace cut-off")
    for more in (
        MADE.replace("yes}", "yes, well: no}"),
        MADE + "- closed: {power: on}\n- symptom: {what: air is warm, value: no}\n",
    ):
        assert guided(FOUND + more, "stop", words=("--json",)).data["cured"] is None


def test_nothing_counts_as_proved_any_more(guided: Guide, tmp_path: Path) -> None:
    """That is said, and how it is taken to stand; before hands go in the machine is proved dead, its cautions first.
    The file that comes of it says of the break nothing."""
    good = FOUND.replace("OL", "0.1")
    ended = guided(good, "stop")
    told = " ".join(ended.out.split())
    assert " ".join(complaining.ANEW.split()) in told
    assert "It is taken to stand as it was left: open: drum housing, drum space, top. " in told
    assert resuming.ELSE in told
    ended = guided(good, *("ok",) * 3, "stop")
    told = " ".join(ended.out.split())
    assert "Until it is proved dead take all of it for live" in told
    assert "NEXT Isolate the machine (plug out) and prove it dead" in told
    found = guided(good, "stop", words=("--json",)).data["findings"]
    assert [next(iter(one)) for one in found] == ["symptom", "symptom", "reading"]


def test_the_plan_on_paper_begins_with_a_proof_of_dead(guided: Guide, capsys: Capture, tmp_path: Path) -> None:
    """A sheet is for another visit: its first box tells it, though the file leaves the machine isolated and open."""
    (tmp_path / "found.yaml").write_text(FOUND.replace("OL", "0.1"), "utf-8")
    words = "visit", "vented-dryer", str(tmp_path / "found.yaml"), "--json", "--tree", "--least", "5"
    root = run(capsys, *words).data["tree"]
    assert "prove it dead" in root["text"]


def test_what_cannot_be_gone_on_from_is_said(guided: Guide, capsys: Capture) -> None:
    """All mistakes of the file at once; and a file without a machine."""
    ended = guided("- symptom: {what: drum spins, value: yes}\n- look: {at: lint scren, sees: fine}\n")
    assert ended.code == 3
    assert "drum turns" in ended.err
    assert "lint screen" in ended.err
    assert "Name the machine" in run(capsys, "guide", "--found", "found.yaml").err
