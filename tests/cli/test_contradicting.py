"""What contradicts itself is not taken in silence: settings, leads on one terminal, what is told both ways."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.cli.words import run

Capture = pytest.CaptureFixture[str]
Write = Callable[[str], str]


def test_a_control_may_be_put_elsewhere_than_a_named_setting_has_it(capsys: Capture) -> None:
    """But not in two places by its own name; the same twice is no contradiction."""
    words = ("closing", "vented-dryer", "--set", "high heat")
    assert run(capsys, *words, "--set", "heat=low").code == 0
    assert run(capsys, *words, "--set", "heat=low", "--set", "heat=low").code == 0
    ended = run(capsys, *words, "--set", "heat=low", "--set", "heat=high")
    assert ended.code == 2
    assert "'heat=low' and 'heat=high' contradict each other (heat)" in ended.err


def test_both_leads_on_one_terminal_are_refused(findings: Write, capsys: Capture) -> None:
    """In a file with its place, and what to do; taken over from the finding before it too; a clamp has one place."""
    ohms = "- reading: {meter: ohms, red: heater.front, black: heater.common, value: 9}\n"
    ended = run(capsys, "diagnose", "vented-dryer", findings(f"{ohms}- reading: {{red: heater.common, value: 0.2}}\n"))
    assert ended.code == 3
    assert ":2:" in ended.err
    assert "Red and black are both on 'heater.common'. Name the two places that it is read between." in ended.err
    words = ("expect", "vented-dryer", "--meter", "ohms", "--red", "heater.common", "--black", "heater.common")
    ended = run(capsys, *words)
    assert (ended.code, "Red and black are both on" in ended.err) == (2, True)


def test_what_is_told_both_ways_is_told_of(findings: Write, capsys: Capture) -> None:
    """It is weighed, as what comes and goes may be both; not by another person, in another setting, after a repair."""
    yes, no = (f"- symptom: {{what: drum turns, value: {word}}}\n" for word in ("yes", "no"))
    ended = run(capsys, "visit", "vented-dryer", findings(yes + no))
    assert ended.code == 0
    assert "drum turns: told yes and no by the owner, of no stated setting. Both are weighed" in ended.err
    seen = "- symptom: {what: drum turns, value: no, by: repairer, set: {start: pressed}}\n"
    for text in (yes + seen, f"{yes}- repair: {{made: replace belt, cured: no}}\n{no}", yes + yes):
        assert "told yes and no" not in run(capsys, "visit", "vented-dryer", findings(text)).err
