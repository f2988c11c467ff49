"""The list of putting together, read as a repairer would: every line can be done where it stands, and nothing is left.

Judge: the sentences themselves and the bays of the machine file; nothing of how the list is made.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from halfsplit.evidence import finding as f
from halfsplit.machine import library, model
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.service import closing, repairing
from halfsplit.service import tasks as tasks_told
from halfsplit.service.guiding import Guided
from halfsplit.work import handling
from halfsplit.work.refusals import CannotOpen, NoMeter
from halfsplit.work.together import Task
from tests.rehearse.benches import guide

GAS = str(Path(__file__).parents[1] / "gas" / "gas-air-heater.yaml")
MACHINES = [*library.names(), GAS]
OPENS, CLOSES = re.compile(r"Open the ([^.(]+?)(?: \(|\.)"), re.compile(r"Close the ([^.:]+?)[.:]")
NEEDS_THEM_OPEN = ("wires", "provoke", "plug in", "pipe", "leak", "fill", "drips")


def begun(name: str) -> Guided:
    """A diagnosis at its beginning."""
    return Guided(guide(name))


def complaint(job: Guided, place: int) -> f.Perceived:
    """The symptom of the file at this place, as it is on no healthy machine."""
    what = list(job.machine.symptoms)[place]
    well = job.bench.predictor.symptom(what, conditions.usual(job.machine), True)[0] > 0.5
    return f.Perceived(what, not well)


def chosen(job: Guided) -> list[Repair]:
    """One near the front, one behind the most covers, a wire, one that plugs in and one at the gas."""
    machine = job.machine
    mine = [one for one in job.bench.repairs.values() if handling.hands_in(machine, one)]
    new = [one for one in mine if handling.new_part(one)]
    kinds = [
        new[:1],
        sorted(new, key=lambda one: -sum(1 for _ in _fronts(machine, one)))[:1],
        [one for one in mine if one.subject.startswith("wire ")][:1],
        [one for one in new if machine.parts[one.subject].lifts][:1],
        [one for one in mine if machine.gas and one.subject in machine.gas.parts][:1],
    ]
    return list(dict.fromkeys(one for some in kinds for one in some))


def _fronts(machine: model.Machine, repair: Repair) -> Iterator[str]:
    for bay in repair.bays:
        while bay in machine.bays:
            yield bay
            bay = machine.bays[bay].behind


@cache
def works(name: str) -> list[tuple[Guided, repairing.Work]]:
    """The repairs chosen, after a complaint that they may explain or not."""
    told = [begun(name).told(complaint(begun(name), place)) for place in (0, 1)]
    return [(job, repairing.work(job, [repair])) for job in told for repair in chosen(job)]


def bay_of(job: Guided, task: Task) -> str:
    """The bay in which the hand of a task is."""
    part = job.machine.parts.get(model.part_of(task.at))
    return part.bay if part else ""


@pytest.mark.parametrize("name", MACHINES)
def test_what_was_opened_is_closed_once_and_nothing_else(name: str) -> None:
    """By the repair and by what is provoked before the covers close; each bay after what lies behind it."""
    for job, work in works(name):
        tasks = closing.sentences(job.machine, work.closed)
        opened = [bay for text in (*work.first, *work.before_closing) for bay in OPENS.findall(text)]
        closed = [bay for text in tasks for bay in CLOSES.findall(text)]
        assert sorted(opened) == sorted(closed), work.name
        for bay in closed:
            assert job.machine.bays[bay].behind not in closed[: closed.index(bay)], work.name


@pytest.mark.parametrize("name", MACHINES)
def test_every_line_can_be_done_where_it_stands(name: str) -> None:
    """Hands and leads inside before the cover closes; provoked with all wires on; no lead left on; power last."""
    for job, work in works(name):
        tasks = work.closed.tasks
        kinds = [task.kind for task in tasks]
        shut: set[str] = set()
        for task in tasks:
            if task.kind == "cover" and not job.machine.bays[task.at].holds_water:  # a pipe is closed to be filled
                shut.add(task.at)
            assert not (task.kind in NEEDS_THEM_OPEN and shut), (work.name, task)
            if task.kind in ("insulation", "earth") and job.machine.supply.hard_wired:
                reached = job.machine.parts[model.part_of(job.machine.supply.meets[0])].bay
                assert reached not in shut or "outside the machine" in task.to, (work.name, task)
        last_wire = max((place for place, kind in enumerate(kinds) if kind in ("wires", "plug in")), default=-1)
        shaken = [place for place, kind in enumerate(kinds) if kind == "provoke"]
        assert all(place > last_wire for place in shaken)
        assert not shaken or kinds[shaken[-1] + 1] == "meter"
        power = len(job.machine.supply.isolates)
        assert kinds[-power:] == ["power"] * power
        said = closing.sentences(job.machine, work.closed)
        for task, text in zip(tasks, said, strict=True):
            assert task.kind not in ("insulation", "earth") or text.endswith("Take the leads off.")
        else_off = [tasks[n].kind for n, text in enumerate(said) if tasks_told.ELSE_OFF in text]
        assert else_off == [kind for kind in kinds if kind in ("insulation", "earth")][-1:]


@pytest.mark.parametrize("name", MACHINES)
def test_bays_that_are_opened_to_shake_are_minded(name: str) -> None:
    """Their own cautions are acknowledged before the work begins, with those of the repair."""
    for job, work in works(name):
        opened = [bay for text in work.before_closing for bay in OPENS.findall(text)]
        for bay in opened:
            own = [one for one in job.machine.bays[bay].cautions if one.at("opening")]
            words = " ".join(work.acknowledge).casefold()
            assert all(one.text.split(maxsplit=1)[0].casefold().rstrip(":") in words for one in own), (work.name, bay)


def test_something_is_opened_to_shake() -> None:
    """The cooktop's second burner behind the top, while the front panel alone was open for the pilot."""
    job = begun("coil-cooktop").told(complaint(begun("coil-cooktop"), 0))
    work = repairing.work(job, [job.bench.repairs["replace left front pilot"]])
    assert any("Open the top" in text for text in work.before_closing)
    kinds = [(task.kind, task.at) for task in work.closed.tasks]
    assert ("cover", "top") in kinds
    assert kinds.index(("cover", "top")) > max(place for place, (kind, _) in enumerate(kinds) if kind == "provoke")


def test_what_plugs_in_is_plugged_in_before_it_is_measured() -> None:
    """A new burner: nothing in the list had put it in its receptacle."""
    job = begun("coil-cooktop").told(complaint(begun("coil-cooktop"), 0))
    work = repairing.work(job, [job.bench.repairs["replace left front burner"]])
    kinds = [task.kind for task in work.closed.tasks]
    assert kinds.index("plug in") < kinds.index("insulation")
    assert not any("Photograph" in text for text in work.first)


def test_a_cable_s_earth_is_measured_while_it_can_be_reached() -> None:
    """The water heater: behind the upper cover before that is closed, whichever cover a repair opened: ohms to the
    frame are read there; where it will not open, against another proved earth; with a meter that lacks them nowhere,
    and the power stays off."""
    job = begun("water-heater")
    repairs = (job.bench.repairs[f"replace {part} thermostat"] for part in ("upper", "lower"))
    for one in repairs:
        tasks = repairing.work(job, [one]).closed.tasks
        kinds = [task.kind for task in tasks]
        assert kinds.index("earth") < [task.at for task in tasks].index("upper cover", kinds.index("ground"))
        assert tasks[kinds.index("earth")].to == "the earth conductor of the cable"
    unread = [task.kind for task in repairing.work(job.without(NoMeter("ohms")), [one]).closed.tasks]
    assert "earth" not in unread
    assert unread[-1] == "tag"
    shut = repairing.work(job.without(CannotOpen("upper cover")), [one]).closed
    assert [("outside the machine" in task.to) for task in shut.tasks if task.kind == "earth"] == [True]
