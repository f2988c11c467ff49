"""What holds a new part is told, put back once and counted with the covers; what else came off for it too."""

from __future__ import annotations

import re

import pytest

from halfsplit.machine import library, loading, model
from halfsplit.modes import listing
from halfsplit.modes.fault import Repair
from halfsplit.plan import undoing
from halfsplit.service import guiding, repairing, tasks
from halfsplit.work import together
from halfsplit.work.state import with_fronts
from tests.rehearse.benches import adviser

MACHINES = {name: loading.load(name) for name in library.names()}
DRYER = MACHINES["vented-dryer"]
BELT = "Belt back on the idler."


def closing(machine: model.Machine, *names: str) -> together.Closing:
    """The list after these repairs of a closed machine."""
    known = listing.repairs(machine)
    return together.closing(machine, undoing.after(machine, (), [known[name] for name in names]))


def number(text: str) -> int:
    """How many fasteners a text of a file speaks of, by its numbers alone."""
    return sum(int(count) for count in re.findall(r"(\d+) x ", text))


def replaces(machine: model.Machine, repair: Repair) -> bool:
    """Whether a repair puts a new part of this machine in the old one's place, by its name."""
    return repair.subject in machine.parts and repair.name == f"replace {repair.subject}"


@pytest.mark.parametrize("name", MACHINES)
def test_the_count_is_of_covers_and_of_the_new_part(name: str) -> None:
    """Every repair with hands in the machine: by the numbers in the texts of the file."""
    machine, seen = MACHINES[name], 0
    for repair in listing.repairs(machine).values():
        opened = undoing.reached(machine, repair)
        held = [machine.bays[bay].fasteners for bay in with_fronts(machine, opened)]
        part = machine.parts[repair.subject].fasteners if replaces(machine, repair) else ""
        made = closing(machine, repair.name)
        assert sum(one.count for one in made.fasteners) == sum(map(number, (*held, part))), repair.name
        back = [task for task in made.tasks if task.kind == "fasten" and not task.to]
        assert [task.at for task in back] == ([repair.subject] if part else [])
        seen += bool(part)
    assert seen


@pytest.mark.parametrize("repairs", [["replace belt"], ["replace idler"], ["replace belt", "replace idler"]])
def test_a_belt_that_came_off_goes_back(repairs: list[str]) -> None:
    """Once, though both were replaced, before the front is closed."""
    said = tasks.sentences(DRYER, closing(DRYER, *repairs).tasks)
    assert said.count(BELT) == 1
    assert said.index(BELT) < next(n for n, one in enumerate(said) if one.startswith("Close the drum space"))


def test_a_belt_goes_back_with_the_cover_for_which_it_came_off() -> None:
    """Behind the bulkhead, after all that lies there; and once where the belt is new besides."""
    for repairs in (["replace cut-off"], ["replace cut-off", "replace belt"]):
        said = tasks.sentences(DRYER, closing(DRYER, *repairs).tasks)
        assert said.count(BELT) == 1
        assert said.index(BELT) == next(n for n, one in enumerate(said) if one.startswith("Close the drum housing")) - 1


def test_what_holds_the_old_part_is_told_before_it_comes_out() -> None:
    """With the covers, before the repair; in the list the new one is held before its wires go on."""
    guided = guiding.Guided(adviser("vented-dryer"), ())
    first = repairing.work(guided, [guided.bench.repairs["replace timer"]]).first
    assert first[-1] == "For the old timer: knob off its shaft and 2 x PH2."
    said = tasks.sentences(DRYER, closing(DRYER, "replace timer").tasks)
    place = said.index("The new timer in its place: 2 x PH2.")
    assert said[place + 1] == "Knob back on its shaft."
    assert place < next(n for n, one in enumerate(said) if one.startswith("Wires back on"))
    assert not [one for one in repairing.work(guided, [guided.bench.repairs["clean vent duct"]]).first if "old" in one]
