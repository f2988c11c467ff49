"""What will not open, or could not be lifted for want of a helper, is not told to be closed; what was set aside is."""

from __future__ import annotations

from pathlib import Path

import pytest

from halfsplit.evidence import finding as f
from halfsplit.machine import loading
from halfsplit.operate import condition as conditions
from halfsplit.plan import taken, undoing
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.service import advising, refusing
from halfsplit.work import refusals
from halfsplit.work.state import JobState
from tests.cli.typed import Capture, talk

FILE = str(Path(__file__).parent / "heavy-dryer.yaml")
MACHINE = loading.load(FILE)
FOUND = """
- symptom: {what: drum turns, value: yes}
- symptom: {what: air is warm, value: no}
- symptom: {what: air flows at the vent, value: yes}
- symptom: {what: one load dries in time, value: no, set: {cycle: timed, heat: high, start: pressed}}
- symptom: {what: time passes, value: yes, set: {cycle: timed, start: pressed}}
- symptom: {what: automatic passes when cold, value: no, set: {cycle: automatic, heat: high, start: pressed}}
- reading: {meter: ohms, red: receptacle.prong L2, black: receptacle.prong N, set: {cycle: timed, heat: low, plug: out},
    value: 10.2k}
- reading: {meter: low-impedance volts, red: receptacle.L1, black: receptacle.L2, set: {plug: out}, value: 240}
- look: {at: receptacle, sees: fine}
"""
OPENED = {"top", "drum space", "drum housing"}
LIFTED = ("heater.common",)
DEAD = conditions.condition(MACHINE, isolated=True)
STEP = Step(
    "reading", conditions.condition(MACHINE, isolated=True, lift=LIFTED),
    Probe("ohms", "heater.common", "heater.front"), places=("heater.common", "heater.front"),
)  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "closed"),
    [
        (["skip"], {"top", "drum space", "drum housing"}),
        (["cannot", "only this"], {"top", "drum space", "drum housing"}),
        (["cannot", "nobody"], {"top"}),
        (["cannot", "the drum housing"], {"top", "drum space"}),
        (["cannot", "the top"], set[str]()),
        (["skip", "ok", "cannot", "nobody"], {"top", "drum space", "drum housing"}),
    ],
)
def test_the_guide_closes_what_may_be_open_only(
    capsys: Capture, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, typed: list[str], closed: set[str]
) -> None:
    """A step that opens three covers was shown: how the machine is left, after each way to set it aside. What was set
    aside before may be open still, whatever is refused later."""
    path = tmp_path / "found.yaml"
    path.write_text(FOUND)
    monkeypatch.setenv("COLUMNS", "400")
    said = talk(monkeypatch, capsys, ["ok", *typed, "stop"], FILE, "--found", str(path), "--no-further").out
    assert "Open the drum housing" in said
    left = said.partition("Stopped.")[2]
    assert {bay for bay in MACHINE.bays if f"Close the {bay}" in left} == closed
    assert ("hex" in left) == ("drum space" in closed)


def perhaps(state: JobState, refused: object) -> JobState:
    """The state after a reading behind all covers was refused."""
    shut = refusing.shut_by(MACHINE, state, STEP, refused)
    return taken.perhaps(MACHINE, state, taken.Perhaps(STEP, shut))


def test_what_was_open_before_it_was_refused_stays_open() -> None:
    """A cover behind which something was found counts as open, whatever is said later of the next one."""
    stands = JobState(frozenset(OPENED), DEAD)
    for refused in (refusals.NoHelper(), refusals.CannotOpen("heater can")):
        then = perhaps(stands, refused)
        assert (then.open_bays, then.perhaps_open, then.perhaps_off) == (frozenset(OPENED), frozenset(), frozenset())
    look = Step("look", at="motor", places=("motor",))
    shut = refusing.shut_by(MACHINE, stands, STEP, refusals.NoHelper())
    left = undoing.after(MACHINE, (look, taken.Perhaps(STEP, shut)))
    assert (set(left.opened), left.lifted) == (OPENED, ())


def test_no_wire_is_off_behind_what_did_not_open() -> None:
    """Nor is it told to be put back; set aside for another reason it is."""
    other = perhaps(JobState(), refusals.NoMeter("ohms"))
    assert (other.perhaps_open, other.perhaps_off) == (frozenset(OPENED | {"heater can"}), frozenset(LIFTED))
    shut = perhaps(JobState(), refusals.CannotOpen("heater can"))
    assert (shut.perhaps_open, shut.perhaps_off) == (frozenset(OPENED), frozenset())
    assert undoing.after(MACHINE, (taken.Perhaps(STEP, ("heater can",)),)).lifted == ()
    assert undoing.after(MACHINE, (taken.Perhaps(STEP),)).lifted == LIFTED


def test_it_stands_among_the_findings() -> None:
    """As a step set aside, with what did not open."""
    found = advising.set_aside(STEP, ("heater can",))
    assert isinstance(found, f.TakenBack)
    assert (found.told, found.shut) == (False, ("heater can",))
    assert list(advising.course({}, [found])) == [(found, taken.Perhaps(STEP, ("heater can",)))]
