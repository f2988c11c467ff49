"""`diagnose` where the work ends though nothing is dangerous: told with its reason, and passed over with --anyway."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.words import run

Capture = pytest.CaptureFixture[str]


def test_what_costs_too_much_is_told_with_the_amounts(tmp_path: Path, capsys: Capture) -> None:
    """The likeliest repair with its price, and what the owner would spend; --anyway names a step instead."""
    findings = tmp_path / "findings.yaml"
    findings.write_text("- symptom: {what: water gets hot, value: no}\n", encoding="utf-8")
    said = " ".join(run(capsys, "diagnose", "water-heater", str(findings), "--worth", "5").out.split())
    assert "NOTICE: not worth it." in said
    assert "the likeliest repair, replace upper element, costs about" in said
    assert "Its owner would spend 5 at most." in said
    going_on = run(capsys, "diagnose", "water-heater", str(findings), "--worth", "5", "--anyway").out
    assert "STOP" not in going_on
    assert "Next (" in going_on


def test_a_stop_has_its_rule_as_data(tmp_path: Path, capsys: Capture) -> None:
    """A tool need not read it out of a sentence."""
    findings = tmp_path / "findings.yaml"
    findings.write_text("- symptom: {what: water gets hot, value: no}\n", encoding="utf-8")
    (step,) = run(capsys, "diagnose", "water-heater", str(findings), "--worth", "5", "--json").data["next"]
    assert (step["kind"], step["rule"]) == ("stop", "not worth it")
    ways = run(capsys, "diagnose", "water-heater", str(findings), "--json").data["next"]
    assert all(one["rule"] is None for one in ways)


def test_nothing_may_be_spent_is_no_amount(tmp_path: Path, capsys: Capture) -> None:
    """Wrong use, in one sentence."""
    findings = tmp_path / "findings.yaml"
    findings.write_text("- symptom: {what: water gets hot, value: no}\n", encoding="utf-8")
    ended = run(capsys, "diagnose", "water-heater", str(findings), "--worth", "0")
    assert ended.code == 2
    assert "--worth" in ended.err
