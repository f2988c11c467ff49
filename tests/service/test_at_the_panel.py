"""What is reset at the panel may bring the machine's power back: last, to a machine that is closed, off and read."""

from __future__ import annotations

import pytest

from halfsplit.evidence import finding as f
from halfsplit.operate.condition import condition, usual
from halfsplit.plan import proof
from halfsplit.predict.readings import Probe
from halfsplit.service import repairing, tasks
from halfsplit.service.guiding import Guided
from halfsplit.work.refusals import NoPower
from halfsplit.work.state import JobState
from tests.rehearse.benches import guide

RESET = "breaker: switch fully off and on"
NAMES = ["coil-cooktop", "vented-dryer", "refrigerator", "water-heater"]


def begun(name: str) -> Guided:
    """A job at a machine of the library."""
    return Guided(guide(name))


def reset(job: Guided) -> repairing.Work:
    """The breaker is reset."""
    return repairing.work(job, [job.bench.repairs[RESET]])


def open_and_read(job: Guided) -> Guided:
    """With a part behind a cover read, dead."""
    known = job.machine
    part = next(p for p in known.parts.values() if len(p.terminals) == 2 and p.bay in known.bays and not p.house)
    red, black = (f"{part.name}.{terminal}" for terminal in part.terminals)
    return job.told(f.Reading(Probe("ohms", red, black), condition(known, isolated=True), 1.0, text="1"))


def in_use(job: Guided, what: str) -> Guided:
    """With something seen not to be there, the machine set as it is used, and on."""
    return job.told(f.Perceived(what, False, usual(job.machine), "repairer"))


def test_a_machine_that_is_set_is_set_back_isolated_and_read_before_its_breaker() -> None:
    """All four knobs HIGH under a dead breaker: four burners would come up."""
    work = reset(in_use(begun("coil-cooktop"), "left front glows"))
    kinds = [task.kind for task in work.closed.tasks]
    assert kinds.count("setting") == 4
    wanted = ["setting", "isolate", "insulation", "earth", "panel", "power"]
    assert list(dict.fromkeys(kind for kind in kinds if kind != "meter")) == wanted
    assert work.when == f"{RESET}: not before the list says so."


@pytest.mark.parametrize("name", NAMES)
def test_an_open_machine_is_closed_first(name: str) -> None:
    """Behind every cover the machine is dead until all of them are on; its plug may stay out for the breaker."""
    job = open_and_read(begun(name))
    tasks_ = reset(job).closed.tasks
    kinds = [task.kind for task in tasks_]
    brings = kinds.index("panel" if job.machine.supply.hard_wired else "power")
    assert brings == len(kinds) - 1
    assert max(place for place, kind in enumerate(kinds) if kind in ("cover", "insulation", "earth")) < brings
    assert kinds.count("panel") == 1
    if "provoke" in kinds:  # read at the wall, where the breaker has to be on for it
        assert kinds.index("panel") < kinds.index("provoke")
    said = tasks.sentence(job.machine, tasks_[kinds.index("panel")])
    assert said == f"Only now, hands clear: {RESET}."


@pytest.mark.parametrize("name", NAMES)
def test_nothing_more_is_told_of_a_machine_as_its_owner_left_it(name: str) -> None:
    """Closed, and nothing set: the breaker is switched off and on."""
    work = reset(begun(name))
    assert [task.kind for task in work.closed.tasks] == ["meter"]
    assert work.when == ""


def test_a_breaker_that_tripped_wants_the_frame_read_first() -> None:
    """Also of a machine that nobody has touched; not once that is read of each line conductor, both ways set."""
    job = begun("vented-dryer").told(f.Perceived("breaker trips", True))
    kinds = [task.kind for task in reset(job).closed.tasks]
    assert kinds[0] == "isolate"
    assert kinds[-4:] == ["insulation", "earth", "panel", "power"]
    bench = proof.healthy(job.bench)
    found = [one for one in proof.insulation(bench, JobState()) if one.probe and one.condition]
    rest = condition(job.machine, isolated=True)
    for one in found:
        assert one.probe is not None
        assert one.condition is not None
        job = job.told(*(f.Reading(one.probe, at, None, text="OL") for at in (one.condition, rest)))
    kinds = [task.kind for task in reset(job).closed.tasks]
    assert "insulation" not in kinds
    assert kinds[-2:] == ["panel", "power"]


def test_where_the_power_stays_off_the_breaker_does() -> None:
    """The person said that there may be none."""
    work = reset(open_and_read(begun("water-heater")).without(NoPower()))
    assert "tag" in [task.kind for task in work.closed.tasks]
    assert work.when == f"{RESET}: not while the power has to stay off."
