"""A repair behind what will not open, or for which there is nobody to help: handed over, in all faces alike."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from halfsplit.service import repairing
from tests.cli.typed import Capture, talk
from tests.cli.words import run

FILE = str(Path(__file__).parent / "heavy-dryer.yaml")
FOUND = """
- symptom: {what: drum turns, value: yes}
- symptom: {what: air is warm, value: no}
- symptom: {what: air flows at the vent, value: yes}
- reading: {meter: ohms, red: motor.line, black: motor.heat 1, isolated: yes, set: {cycle: automatic}, value: OL}
- reading: {meter: ohms, red: cut-off.1, black: cut-off.2, isolated: yes, value: OL}
- closed: {power: off}
"""
REFUSED: list[tuple[tuple[str, ...], str]] = [(("help",), repairing.ALONE), (("drum housing",), repairing.BARRED)]
REFUSED += [(("help", "drum housing"), repairing.BARRED)]


@pytest.fixture
def found(tmp_path: Path) -> str:
    """The cut-off read open, and the dryer closed since."""
    path = tmp_path / "found.yaml"
    path.write_text(FOUND)
    return str(path)


@pytest.mark.parametrize(("cannot", "why"), REFUSED)
def test_diagnose_hands_over(capsys: Capture, found: str, cannot: tuple[str, ...], why: str) -> None:
    """In words and as data; where nothing was refused neither is there."""
    words = [word for one in cannot for word in ("--cannot", one)]
    enough: dict[str, Any] = run(capsys, "diagnose", FILE, found, *words, "--json").data["enough"]
    assert (enough["known"], enough["repair"], enough["handed_over"]) == (True, "replace cut-off", why)
    said = " ".join(run(capsys, "diagnose", FILE, found, *words).out.split())
    assert f"Enough is known: replace cut-off (99.2 %). {why}" in said
    plain = run(capsys, "diagnose", FILE, found, "--json").data["enough"]
    assert (plain["known"], plain["handed_over"]) == (True, None)


@pytest.mark.parametrize(("cannot", "why"), REFUSED)
def test_paper_hands_over_for_the_same_reason(capsys: Capture, found: str, cannot: tuple[str, ...], why: str) -> None:
    """A box that hands over says which of the two it is."""
    words = [word for one in cannot for word in ("--cannot", one)]
    box = run(capsys, "visit", FILE, found, "--tree", *words, "--json").data["tree"]
    assert (box["kind"], box["text"]) == ("hand over", f"What is due: replace cut-off. {why}")


@pytest.mark.parametrize("before", [["cannot"], ["ok", "cannot"]])
@pytest.mark.parametrize(("choice", "why"), [("nobody", repairing.ALONE), ("the drum housing", repairing.BARRED)])
def test_the_guide_is_told_at_a_repair_what_stands_in_the_way(
    capsys: Capture, monkeypatch: pytest.MonkeyPatch, found: str, before: list[str], choice: str, why: str
) -> None:
    """At its cautions and at the question of its proof run: each cover of the repair, and the helper; then the repair
    says that it is handed over, and what was said is not offered again."""
    closed = ["no"] if before[0] == "ok" else []
    typed = [*before, choice, *closed, "ok", "cannot", "undo", "stop"]
    said = " ".join(talk(monkeypatch, capsys, typed, FILE, "--found", found, "--no-further").out.split())
    first, _, after = said.partition("Planned around: ")
    for one in ("top", "drum space", "drum housing", "heater can"):
        assert f"the {one} will not open" in first
    assert "nobody is here to help What stands" in first or "nobody is here to help 6" in first
    assert why not in first
    assert after.count(why) == 1
    assert "the top will not open" in after
    assert choice not in after.partition("1 the top will not open")[2].partition("What stands")[0]


def test_who_stops_there_is_told_how_to_leave_it_as_it_stands(
    capsys: Capture, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A console that lies open, and a repair behind a housing that will not open: the list closes the one, and nothing
    of the other."""
    path = tmp_path / "open.yaml"
    path.write_text(FOUND + "- look: {at: timer, sees: fine}\n")
    typed = ["ok", "cannot", "the drum housing", "no", "ok", "stop"]
    said = " ".join(talk(monkeypatch, capsys, typed, FILE, "--found", str(path), "--no-further").out.split())
    handed = said[said.index(repairing.BARRED) :]
    assert "Close the console" in handed
    assert "Close the drum housing" not in handed
    assert handed.count("Put together, in this order:") == 1  # and not once more at the stop


@pytest.mark.parametrize(("cannot", "why"), REFUSED)
def test_the_guide_hands_over_and_tells_nothing_of_the_work(
    capsys: Capture, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, cannot: tuple[str, ...], why: str
) -> None:
    """What is due and why it is not made, how the machine is left, and what is written down for who takes over; no
    cover is told to be opened, no wire to come off, nothing to be proved."""
    path = tmp_path / "found.yaml"
    path.write_text(FOUND + "- look: {at: timer, sees: fine}\n" + "".join(f"- cannot: {{what: {x}}}\n" for x in cannot))
    ended = talk(monkeypatch, capsys, ["ok", "yes", "why", "stop"], FILE, "--found", str(path), "--no-further")
    said = " ".join(ended.out.split())
    told = [
        "ENOUGH IS KNOWN", why, "DANGER: Until it is proved dead", "Put together, in this order:", "Isolate the",
        "Close the console", "Power last", "Write down for who takes over:",
        f"- Due: replace cut-off (99.2 % sure, 15 USD for parts). Not made: {repairing.IN_SHORT[why]}.",
        "- Found: drum turns: yes;", "look at timer: fine.", "- Left: put together, not mended",
        "It is handed over. Type undo", "such jobs replace cut-off cures",
    ]  # fmt: skip
    places = [said.index(one) for one in told]
    assert places == sorted(places)
    assert said.count(why) == 1
    for work in ("Open the", "Photograph", "Repair:", "Wires back", "Prove it", "Done and checked", "Let it cool"):
        assert work not in said
