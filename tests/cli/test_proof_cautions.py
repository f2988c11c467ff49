"""What is to be minded in the proof run is acknowledged in the talk before what it belongs to is shown."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from halfsplit.cli.heeding import PROMPT
from tests.cli.typed import type_in
from tests.cli.words import Ended, run

Capture = pytest.CaptureFixture[str]
Lead = Callable[..., Ended]
BURNER = """
- symptom: {what: right rear glows, value: no}
- symptom: {what: left front glows, value: yes}
- reading: {meter: ohms, red: right rear burner.1, black: right rear burner.2, isolated: yes,
    lift: [right rear burner.1, right rear burner.2], value: OL}
"""
"""A burner that is open: its proof run has the clamp behind a cover on card 1, and two cards with all covers on."""
UNSHOWN = "Card 1 was not shown, nor the DANGER on it: done all the same? (yes / Enter: card by card)"
CHECKED = "Done and checked:"


@pytest.fixture
def lead(monkeypatch: pytest.MonkeyPatch, capsys: Capture, findings: Callable[[str], str]) -> Lead:
    """The talk from that repair on, with these lines typed."""

    def typing(typed: list[str], *words: str) -> Ended:
        first = [] if "--json" in words else ["ok"]  # what is minded before hands go to a machine of another day
        type_in(monkeypatch, [*first, *typed])
        return run(capsys, "guide", "coil-cooktop", "--found", findings(BURNER), "--no-further", *words)

    return typing


def proof(ended: Ended) -> str:
    """What was said from the question whether all is as it must be on, on one line."""
    assert ended.code == 0
    said = " ".join(ended.out.split())
    return said[said.index(CHECKED) :]


def test_cautions_of_a_card_are_acknowledged_before_its_lines(lead: Lead) -> None:
    """A number does not pass, Enter and ok do: once live, once more where it is isolated again, with what is new there;
    a card without cautions is shown at once."""
    said = proof(lead(["", "6", "ok", "", "", "stop"]))
    order = (
        "Card 1 of 3", "DANGER: Live parts", "CAUTION: Hot parts", PROMPT, "The cautions come first", "Meter at amps",
        "DANGER: Until it is proved dead", "CAUTION: Hot parts", PROMPT, "Then set back", "All so?", "Card 2 of 3",
    )  # fmt: skip
    at = 0
    for text in order:
        at = said.index(text, at) + len(text)
    assert said.count(PROMPT) == 3  # with the one that was answered by a number
    assert PROMPT not in said[said.index("Card 2 of 3") :]


@pytest.mark.parametrize(("typed", "says"), [("undo", "Taken back: "), ("cannot", "What stands in the way?")])
def test_what_may_be_typed_instead(typed: str, says: str, lead: Lead) -> None:
    """The words of the question below the card are understood before its lines are shown."""
    said = proof(lead(["", typed, "stop"]))
    assert says in said
    assert "Meter at amps" not in said


def test_yes_is_not_taken_for_a_card_that_was_not_shown(lead: Lead) -> None:
    """It is asked once, in one sentence; Enter and no show the card, and yes is believed."""
    for typed in ("", "no"):
        said = proof(lead(["yes", typed, "stop"]))
        assert said.count(UNSHOWN) == 1
        assert said.index(UNSHOWN) < said.index("Card 1 of 3") < said.index(PROMPT)
        assert "Proved" not in said
    said = proof(lead(["yes", "yes"]))
    assert said.count(UNSHOWN) == 1
    assert "Proved: replace right rear burner." in said


def test_nothing_more_is_asked_of_cards_that_were_shown(lead: Lead) -> None:
    """Once all cards were gone through, yes is all there is to say; gone through anew their cautions come anew."""
    said = proof(lead([*[""] * 6, "yes"]))
    assert "not shown" not in said
    assert "Proved: replace right rear burner." in said
    assert proof(lead([*[""] * 6, "", "", "", "stop"])).count(PROMPT) == 4


def test_without_the_clamp_nothing_is_to_be_minded(lead: Lead) -> None:
    """What cannot be had here is left out, and yes is believed at once: no card has a caution any more."""
    said = proof(lead(["cannot", "1", "yes"]))
    assert "Planned around" in said
    assert "not shown" not in said
    assert "Proved: replace right rear burner." in said


@pytest.mark.parametrize("typed", [["yes"], [*[""] * 4, "yes"]])
def test_a_program_is_not_held_up_by_them(typed: list[str], lead: Lead) -> None:
    """With --json and no terminal nothing more is asked; what is to be minded is listed, shown with its card or not."""
    ended = lead(typed, "--json")
    assert ended.data["cured"] == "replace right rear burner"
    assert [one.split(":")[0] for one in ended.data["acknowledge"][:1]] == ["DANGER"]
    assert any("Live parts" in one for one in ended.data["acknowledge"])
    assert "not shown" not in ended.err
    assert PROMPT not in ended.err
