"""A repair as work: what is open is free, and nothing is plugged in again that was not told to be pulled."""

from __future__ import annotations

import re

import pytest

from halfsplit.evidence import finding as f
from halfsplit.machine import loading
from halfsplit.operate import condition as conditions
from halfsplit.predict.readings import Probe
from halfsplit.service import closing, guiding, repairing, tasks
from halfsplit.service.guiding import Guided
from halfsplit.work import handling
from halfsplit.work.state import with_fronts
from tests.depth import some
from tests.rehearse.benches import guide

DRYER = loading.load("vented-dryer")
COLD = f.Perceived("air is warm", False)


def begun(name: str) -> Guided:
    """A diagnosis of a machine at its beginning."""
    return Guided(guide(name))


def with_the_housing_open() -> Guided:
    """The dryer cold, isolated, and read at its heater: all bays on that way are open."""
    dead = conditions.condition(DRYER, (), isolated=True)
    read = f.Reading(Probe("ohms", "heater.common", "heater.front"), dead, 15.0, text="15")
    return begun("vented-dryer").told(COLD).told(read)


def test_what_is_open_is_free() -> None:
    """The cut-off with its bays open takes what opening them and isolating takes less than with all shut."""
    shut, opened = begun("vented-dryer").told(COLD), with_the_housing_open()
    repair = shut.bench.repairs["replace cut-off"]
    before, after = (repairing.work(guided, [repair]) for guided in (shut, opened))
    bays = [DRYER.bays[name] for name in with_fronts(DRYER, repair.bays)]
    spared = sum(bay.open_minutes for bay in bays) + DRYER.handwork.isolate
    assert after.cost.opening == 0.0
    assert before.minutes - after.minutes == pytest.approx(spared)
    closed = sum(bay.close_minutes for bay in bays)
    assert after.minutes == pytest.approx(repair.minutes + closed)


def test_what_is_shaken_before_the_covers_close_counts() -> None:
    """A heater of which half glows does not explain a cold drum: each reading with something shaken, the leads clipped
    on and wires off for it, takes its minutes, opening counted once."""
    guided = begun("vented-dryer").told(COLD)
    repair = guided.bench.repairs["replace heater"]
    work = repairing.work(guided, [repair])
    shakes = [one for one in work.before_closing if "Shake" in one or "hot air" in one]
    assert shakes
    assert work.cost.provoking >= len(shakes) * (DRYER.handwork.reading + DRYER.handwork.shake)
    opened = sum(DRYER.bays[bay].open_minutes for bay in with_fronts(DRYER, repair.bays))
    assert work.cost.opening >= opened
    assert work.minutes == pytest.approx(sum(vars(work.cost).values()))


def test_two_repairs_share_what_is_opened() -> None:
    """Made in one go they take less than one after the other, by the bays that both lie in."""
    guided = begun("vented-dryer").told(COLD)
    both = [guided.bench.repairs[name] for name in ("replace cut-off", "replace heater")]
    one, other = (repairing.work(guided, [repair]) for repair in both)
    made = repairing.work(guided, both)
    assert made.name == "replace cut-off and replace heater"
    shared = set(with_fronts(DRYER, both[0].bays)) & set(with_fronts(DRYER, both[1].bays))
    minutes = sum(DRYER.bays[bay].open_minutes + DRYER.bays[bay].close_minutes for bay in shared)
    alone = sum(work.minutes - work.cost.provoking for work in (one, other))
    assert made.minutes - made.cost.provoking == pytest.approx(alone - minutes - DRYER.handwork.isolate)
    assert made.price == one.price + other.price


@pytest.mark.parametrize("name", ["vented-dryer", "refrigerator", "water-heater", "coil-cooktop"])
def test_nothing_is_put_back_that_was_not_told_to_come_off(name: str) -> None:
    """Of each repair, from shut: every connector and wire of the closing list is photographed before it comes off."""
    guided = begun(name)
    machine = guided.machine
    for repair in some([*guided.bench.repairs.values()], 16):
        work = repairing.work(guided, [repair])
        said = " ".join(work.first)
        frame = " ".join(tasks.sentence(machine, task) for task in work.closed.tasks if task.kind == "insulation")
        pulled = [task.at for task in work.closed.tasks if task.kind == "connector"]
        assert all(re.search(rf"Photograph the connectors of [^.]*\b{part}\b[^.]*, then pull them\.", said)
                   for part in pulled), repair.name  # fmt: skip
        for task in work.closed.tasks:
            if task.kind == "wires":
                assert f"Photograph {task.at.split('.')[0]} before its first wire comes off" in said, repair.name
        covers = [task.at for task in work.closed.tasks if task.kind == "cover"]
        opened = re.findall(r"(?:Open|: open) the ([^.(]+?)(?: \(|\.)", f"{said} {frame}")
        assert sorted(opened) == sorted(covers)
        pipes = {bay for bay in covers if machine.bays[bay].holds_water}  # closed before the water is in
        assert [one for one in opened if one not in pipes] == [one for one in covers[::-1] if one not in pipes]
        assert ("Isolate" in said) == handling.hands_in(machine, repair)


def test_the_list_is_that_of_the_command() -> None:
    """What is put together after the repair, and its minutes, are those of the closing list."""
    guided = with_the_housing_open()
    repair = guided.bench.repairs["replace cut-off"]
    work = repairing.work(guided, [repair])
    assert work.cost.closing == guiding.put_together(guided, [repair]).minutes
    assert closing.sentences(DRYER, work.closed)[0].startswith("Take the meter")


def test_a_burner_is_lifted_out_before_its_receptacle_is_replaced() -> None:
    """Once cool, and said before the wires are photographed; not where it is out already."""
    guided = begun("coil-cooktop")
    repair = guided.bench.repairs["replace left front receptacle"]
    first = repairing.work(guided, [repair]).first
    out = first.index("Lift the left front burner out.")
    assert any(one.startswith("Open the top") for one in first[:out])
    assert first[out + 1].startswith("Photograph left front receptacle")
    blades = ("left front burner.1", "left front burner.2")
    dead = conditions.condition(guided.machine, (), isolated=True, lift=blades)
    read = f.Reading(Probe("ohms", *blades), dead, 27.0, text="27")
    assert "Lift the left front burner out." not in repairing.work(guided.told(read), [repair]).first


def test_a_burner_is_plugged_in_once_what_it_sits_in_is_wired() -> None:
    """The wires of a new receptacle, or of the switch before it, go on first."""
    job = begun("coil-cooktop")
    work = repairing.work(job, [job.bench.repairs["replace left front receptacle"]])
    kinds = [task.kind for task in work.closed.tasks]
    assert kinds.count("plug in") == 1
    assert max(place for place, kind in enumerate(kinds) if kind == "wires") < kinds.index("plug in")
