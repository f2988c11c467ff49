"""A cover that takes two people says so at its own line, wherever it is opened or closed."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

from halfsplit.evidence import finding as f
from halfsplit.machine import loading
from halfsplit.operate import condition as conditions
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.service import beside, closing, proof_run, repairing, tasks, wording
from halfsplit.service.guiding import Guided
from halfsplit.work import together
from halfsplit.work.state import JobState
from tests.rehearse import benches

FILE = Path(__file__).parent / "heavy-dryer.yaml"
MACHINE = loading.load(str(FILE))
HEAVY = {"drum space", "heater can"}
DEAD = conditions.condition(MACHINE, isolated=True)


def named(said: str) -> dict[str, bool]:
    """Each cover that is told to be opened or closed, and whether its line says two people."""
    found = re.findall(r"(?:[Oo]pen|[Cc]lose) the (\w[\w ]*?)( \(two people\))?(?=[:.;,]| \()", said)
    return {bay: bool(two) for bay, two in found}


def test_at_each_cover_that_is_opened() -> None:
    """In the words of a step and of a repair: at the heavy ones, and at no other."""
    said = " ".join(wording.opening(MACHINE, JobState(), ("heater can",)))
    assert named(said) == {"top": False, "drum space": True, "drum housing": False, "heater can": True}
    assert "Open the drum space (two people): 4 x 1/4 in hex." in said
    assert "Open the top (2 x PH2 under the lint screen)." in said


def test_at_each_cover_that_is_closed() -> None:
    """On the list of putting together, as for a stop or a repair, and where covers go on for a run or may be off."""
    was = together.undone(MACHINE, ["heater can"])
    said = " ".join(closing.sentences(MACHINE, together.closing(MACHINE, was)))
    assert {bay for bay, two in named(said).items() if two} == HEAVY
    assert "Close the drum space (two people): 4 x 1/4 in hex." in said
    opened = frozenset({"top", "drum space", "drum housing"})
    run = Step("symptom", conditions.usual(MACHINE), at="drum turns")
    shut = wording.shutting(MACHINE, JobState(opened, DEAD), run)
    loose = wording.made_good(MACHINE, JobState(condition=DEAD, perhaps_open=opened), run)
    for some in (shut, loose):
        assert named(" ".join(tasks.sentences(MACHINE, some)))["drum space"]


def test_in_the_picture_of_the_bays() -> None:
    """Beside the minutes of a heavy cover, and of no other."""
    drawn = " ".join(ElementTree.fromstring(beside.bays(MACHINE)["svg"]).itertext())
    assert drawn.count("(two people)") == len(HEAVY)
    assert "open 5 min, close 7 min (two people)" in " ".join(drawn.split())


def test_before_a_repair_behind_one_that_lies_open() -> None:
    """That closing it takes two stands before the work begins; where the cover comes off for the repair, there."""
    closed = Guided(benches.guide(str(FILE)))
    opened = closed.told(f.Look("motor", "fine"))
    motor = [closed.bench.repairs["replace motor"]]
    help_first = repairing.HELP_LATER.format(bays="drum space", people="two people")
    first = repairing.work(opened, motor).first
    assert first[0] == help_first
    assert not [one for one in first if "Open the drum space" in one]
    other = repairing.work(closed, motor).first
    assert help_first not in other
    assert any("Open the drum space (two people)" in one for one in other)


def test_at_a_cover_that_is_opened_for_what_is_read_to_the_frame() -> None:
    """Its task on the list names two people as well."""
    probe = Probe("ohms", "motor.line", "cabinet.metal")
    found = [Step("reading", DEAD, probe, places=("motor.line", "cabinet.metal"))]
    was = together.closing(MACHINE, together.undone(MACHINE, ["top"]))
    made = proof_run.insulated(MACHINE, JobState(frozenset({"top"}), DEAD), found, was)
    said = " ".join(closing.sentences(MACHINE, made))
    assert "open the drum space and the drum housing (two people)" in said
