"""The guided diagnosis, typed line by line as a person would."""

from __future__ import annotations

import io
import re
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.cli.words import Ended, run

Capture = pytest.CaptureFixture[str]


def talk(monkeypatch: pytest.MonkeyPatch, capsys: Capture, typed: list[str], *words: str) -> Ended:
    """Runs the guide with these lines typed."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in typed)))
    return run(capsys, "guide", *words)


@pytest.mark.parametrize(("machine", "seed"), [("vented-dryer", "7"), ("water-heater", "3"), ("refrigerator", "5")])
def test_a_hidden_fault_is_found(machine: str, seed: str, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """With Enter alone the way leads to a repair with minutes and price, and to what is checked after."""
    ended = talk(monkeypatch, capsys, [""] * 60, machine, "--seed", seed)
    assert ended.code == 0
    assert re.search(r"Repair: .+ \d+ min, \d+ USD", ended.out)
    assert "Put together, in this order" in ended.out
    assert "Afterwards check" in ended.out
    assert "cured" in ended.out


def test_a_live_machine_is_isolated_before_its_repair(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """A knob's shaft found broken by eye: the machine was never isolated, so the repair says to, before anything else.

    What is put together afterwards ends with the power, and does not speak of a button that was let go.
    """
    ended = talk(monkeypatch, capsys, [""] * 60, "vented-dryer", "--seed", "11")
    told = ended.out[ended.out.index("Repair:") :]
    assert "Isolate" not in ended.out[: ended.out.index("Repair:")]
    assert told.index("DANGER") < told.index("Isolate the machine (plug out)") < told.index("Put together")
    assert "plug in" in told
    assert "untouched" not in told


def test_the_same_seed_hides_the_same(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """With --json the talk goes to stderr, and stdout holds what was found: the same for the same seed."""
    first, again = (talk(monkeypatch, capsys, [""] * 60, "water-heater", "--seed", "3", "--json") for _ in range(2))
    assert first.data == again.data
    assert first.data["hidden"]
    assert "NEXT" in first.err


def test_words_at_any_time(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """why, causes, help, skip, undo and a wrong answer all leave the talk where it can go on; stop ends it with 0."""
    typed = ["why", "causes", "help", "9.2 furlongs", "skip", "undo", "undo", "undo", "undo", "undo", "undo", "stop"]
    ended = talk(monkeypatch, capsys, typed, "water-heater", "--seed", "3")
    assert ended.code == 0
    for said in ("bits", "something this file does not say", "Taken back", "There is nothing to take back", "Stopped"):
        assert said in ended.out, said


def test_a_machine_is_chosen_and_own_findings_typed(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """Without FILE a machine is chosen by number, complaints are typed, and the end of input is a stop."""
    typed = ["99", "4", "own", "1 no", "77 no", "x", ""]
    ended = talk(monkeypatch, capsys, typed, "--json")
    assert ended.code == 0
    assert len(ended.data["findings"]) == 1
    assert "Type a number from 1 to" in ended.err
    assert "NEXT" in ended.err


def test_undo_gives_the_step_back(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """A finding taken back leaves the same step as before it."""
    ended = talk(monkeypatch, capsys, ["", "undo", "stop"], "refrigerator", "--seed", "5")
    steps = re.findall(r"^NEXT  (.+)$", ended.out, re.MULTILINE)
    assert len(steps) == 3
    assert steps[0] == steps[2] != steps[1]


def test_each_step_says_where(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """A step with a meter says where red and black go, and whether the machine is isolated."""
    ended = talk(monkeypatch, capsys, [""] * 60, "vented-dryer", "--seed", "7")
    flat = " ".join(ended.out.split())
    assert "red" in flat.lower()
    assert "black" in flat.lower()


@pytest.mark.parametrize("words", [["--seed", "-1"], ["no-such-machine"], ["vented-dryer", "extra"]])
def test_wrong_use(words: list[str], monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """Wrong words end with 2 before anything is asked."""
    ended: Any = talk(monkeypatch, capsys, [], *words)
    assert ended.code == 2


LINES = st.sampled_from(
    ["", "yes", "no", "OL", "0.2", "240 V", "fine", "burnt", "why", "causes", "skip", "undo", "help"]
)


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(typed=st.lists(LINES | st.text(max_size=6), max_size=12), own=st.booleans())
def test_whatever_is_typed(typed: list[str], own: bool, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """Any lines at all lead to an end with 0 and one document."""
    words = ["water-heater", "--json", *(["--own"] if own else ["--seed", "1"])]
    ended = talk(monkeypatch, capsys, [line.replace("\n", " ") for line in typed], *words)
    assert ended.code == 0
    assert set(ended.data) == {"findings", "cured", "hidden"}
