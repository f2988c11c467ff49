"""What would be read next in the same set-up, as `diagnose --alongside` and the guide tell it."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest

from halfsplit.plan import setups
from halfsplit.service import alongside, machines
from tests.cli.words import run
from tests.rehearse.benches import adviser

Capture = pytest.CaptureFixture[str]
COLD = "- symptom: {what: water gets hot, value: no}\n- look: {at: limit, sees: fine}\n"
MILD = "- symptom: {what: water scalds, value: no}\n"
FIELDS = {"when", "kind", "text", "minutes", "probability", "at", "closely", "meter", "red", "black", "alike", "within"}


def test_the_field_of_the_first_step(capsys: Capture, findings: Callable[[str], str]) -> None:
    """The first step alone has it, and names a reading by the same meter that takes only its own minutes."""
    found = run(capsys, "diagnose", "water-heater", findings(COLD), "--alongside", "--json").data["next"]
    first, *others = found
    (one, *_) = first["alongside"]
    assert set(one) == FIELDS
    assert (one["kind"], one["meter"], one["when"]) == ("reading", first["meter"], "While the leads are here")
    assert one["minutes"] == pytest.approx(machines.load("water-heater").handwork.reading)
    assert one["minutes"] <= first["minutes"]
    assert (one["red"], one["black"]) != (first["red"], first["black"])
    assert setups.MADE_NEXT < one["probability"] <= 1
    assert not [step for step in others if "alongside" in step]


def test_nothing_is_told_unasked(capsys: Capture, findings: Callable[[str], str]) -> None:
    """Without the option the steps are the same, without the field."""
    place = findings(COLD)
    asked, plain = (run(capsys, "diagnose", "water-heater", place, *more, "--json").data["next"]
                    for more in (["--alongside"], []))  # fmt: skip
    assert plain == [{name: value for name, value in step.items() if name != "alongside"} for step in asked]


def test_the_lines_for_people(capsys: Capture, findings: Callable[[str], str], monkeypatch: pytest.MonkeyPatch) -> None:
    """`diagnose` has it below the step with the minutes, the guide below the outcomes; a question to the owner, which
    would come first, sets nothing up."""
    place = findings(COLD)
    (one, *_) = run(capsys, "diagnose", "water-heater", place, "--alongside", "--json").data["next"][0]["alongside"]
    leads = f"red on {one['red']}, black on {one['black']}."
    said = run(capsys, "diagnose", "water-heater", place, "--alongside").out
    assert f"While the leads are here (35 s): {leads}" in said
    number = [*machines.load("water-heater").symptoms].index("water scalds") + 1
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{number} no\n\ncannot\nthe owner is not here\nstop\n"))
    said = " ".join(run(capsys, "guide", "water-heater", "--own", "--no-further").out.split())
    (two, *_) = run(
        capsys, "diagnose", "water-heater", findings(MILD), "--alongside", "--json", "--cannot", "owner"
    ).data["next"][0]["alongside"]  # fmt: skip
    assert f"While you are here: {two['text']}" in said


def test_not_with_many_steps_ahead(capsys: Capture, findings: Callable[[str], str]) -> None:
    """Both options at once are wrong use, with what to leave out."""
    ended = run(capsys, "diagnose", "water-heater", findings(COLD), "--alongside", "--further")
    assert ended.code == 2
    assert "Leave out --further or --alongside" in ended.err


def test_two_like_things_are_told_as_alike() -> None:
    """Where the other one was read before, what it showed is what a healthy one shows, within so many per cent."""
    compared = adviser("water-heater").table.compared
    first, second = (adviser("water-heater").table.steps[k] for k in compared.pairs[0].tolist())
    assert first.probe is not None
    showed = f"what {first.probe.red} to {first.probe.black} showed"
    said = alongside._alike(setups.Alongside(second, 0.9, first, 0.08))
    assert said == f"Healthy, it shows {showed}, within 8 %: the two are alike."
    assert alongside._alike(setups.Alongside(second, 0.9)) == ""
