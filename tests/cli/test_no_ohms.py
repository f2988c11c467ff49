"""A meter without ohms and the power: off where it was left off, on where nothing was ever opened."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.typed import Capture
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
    """Its plug was out for readings at the wall and no more: what is made at the panel was told with a tag that keeps
    the power off."""
    path = tmp_path / "found.yaml"
    path.write_text(COLD)
    words = ("visit", "vented-dryer", str(path), "--tree", "--boxes", "25", "--cannot", "ohms")
    told = " ".join(run(capsys, *words).out.replace("|", " ").split())
    box = told.split("Repair: breaker: switch fully off and on. ")[1].split("Proof run:")[0]
    assert "Only now, hands clear: breaker: switch fully off and on." in box
    assert "No power" not in box
