"""A meter without ohms and the power: off where it was left off, on where nothing was ever opened."""

from __future__ import annotations

from pathlib import Path

import pytest

from halfsplit.cli import ending
from halfsplit.service import proof_cards
from halfsplit.work import stopping
from halfsplit.work.hazards import STOPS
from tests.cli.typed import Capture, talk
from tests.cli.words import run

FAN = str(Path(__file__).parents[1] / "hazards" / "capacitor-start-fan.yaml")
HUMS = """
- symptom: {what: fan turns, value: no}
- symptom: {what: fan hums, value: yes}
- look: {at: start capacitor.1, sees: fine}
- closed: {power: %s}
"""
COLD = """
- symptom: {what: drum turns, value: yes}
- symptom: {what: air is warm, value: no}
- symptom: {what: air is warm, value: no, by: repairer, set: {cycle: timed, start: pressed, heat: high}}
- look: {at: receptacle, sees: fine}
"""


@pytest.mark.parametrize(("power", "runs"), [("off", False), ("on", True)])
def test_power_that_was_left_off_stays_off(capsys: Capture, tmp_path: Path, power: str, runs: bool) -> None:
    """The front was off, then all was put together: nobody has measured the frame's bond since, and this meter cannot.
    The front will not come off any more, so that a run is what is left."""
    path = tmp_path / "found.yaml"
    path.write_text(HUMS % power)
    told = run(capsys, "diagnose", FAN, str(path), "--cannot", "ohms", "--cannot", "front").out
    assert ("See for yourself" in told) == runs
    assert "bring the power back" not in told


def test_a_breaker_is_reset_on_a_machine_that_was_never_open(capsys: Capture, tmp_path: Path) -> None:
    """Its plug was out for readings at the wall and no more, since a cover would not open: what is made at the panel
    was told with a tag that keeps the power off."""
    path = tmp_path / "found.yaml"
    path.write_text(COLD)
    words = ("visit", "vented-dryer", str(path), "--tree", "--boxes", "25", "--cannot", "ohms")
    told = " ".join(run(capsys, *words, "--cannot", "drum housing").out.replace("|", " ").split())
    box = told.split("Repair: breaker: switch fully off and on. ")[1].split("Proof run:")[0]
    assert "Only now, hands clear: breaker: switch fully off and on." in box
    assert "No power" not in box


OPEN_ELEMENT = """
- symptom: {what: water gets hot, value: no}
- reading: {meter: ohms, red: upper element.1, black: upper element.2, lift: [upper element.1], value: OL}
- cannot: {what: ohms}
"""
TAG = STOPS[stopping.NOT_MEASURED].tag


def test_nothing_that_was_not_read_is_asked_for_after_a_repair(
    capsys: Capture, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Whether it is put together is all that is asked: no number can be wrong of it; the reason of the tag is one, on
    the repair's list and on the one that is told at the end."""
    path = tmp_path / "found.yaml"
    path.write_text(OPEN_ELEMENT)
    typed = ["ok", "ok", "no", "2", "yes"]
    said = talk(monkeypatch, capsys, typed, "water-heater", "--found", str(path), "--no-further")
    told = " ".join(said.out.split())
    assert "Done, nothing to be read, the power left off: is it put together as listed?" in told
    assert "was all that was read as it must be" not in told
    assert ending.NAMED not in told
    assert ending.UNMADE in told
    assert told.count("do not switch on; ") == told.count(f"do not switch on; {TAG}") > 1
    assert proof_cards.UNMEASURED in told


@pytest.mark.parametrize(
    ("words", "tag"), [(["ohms"], TAG), (["power"], STOPS[stopping.STAYS_OFF].tag), (["amps", "owner"], None)]
)
def test_closing_goes_without_what_cannot_be_done(
    capsys: Capture, tmp_path: Path, words: list[str], tag: str | None
) -> None:
    """By the words that the other commands take, or by the file: no ohms, no power, or neither in the way."""
    opened = ("closing", "water-heater", "--open", "upper cover")
    given = run(capsys, *opened, *(word for one in words for word in ("--cannot", one)), "--json").data
    path = tmp_path / "found.yaml"
    path.write_text("".join(f"- cannot: {{what: {one}}}\n" for one in words))
    assert run(capsys, opened[0], opened[1], str(path), *opened[2:], "--json").data == given
    texts = [task["text"] for task in given["tasks"]]
    assert any("Close the upper cover" in one for one in texts)
    assert ("No power" in texts[-1], f"do not switch on; {tag}" in texts[-1]) == (tag is not None,) * 2
    if words == ["ohms"]:
        assert given["proof"] == [proof_cards.UNMEASURED, proof_cards.NOT_PROVED]
        assert not [one for one in texts if "hms from" in one]


def test_closing_refuses_words_that_mean_nothing(capsys: Capture) -> None:
    """As every command that takes them."""
    ended = run(capsys, "closing", "water-heater", "--cannot", "upper covr")
    assert ended.code == 2
    assert "upper cover" in ended.err
