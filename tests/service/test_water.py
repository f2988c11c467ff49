"""Repairs that let the water out: drained before, filled and looked at for drips before covers and power."""

from __future__ import annotations

import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import library, loading, model
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.plan import undoing
from halfsplit.plan.steps import Step
from halfsplit.service import advising, closing, guiding, repairing
from halfsplit.work import together

MACHINES = {name: loading.load(name) for name in library.names()}
HEATER = MACHINES["water-heater"]
ELEMENT = "replace lower element"
each_machine = pytest.mark.parametrize("name", MACHINES)


def wets(machine: model.Machine, name: str) -> bool:
    """Whether a part that stands in water is replaced or cleaned, by the names alone."""
    return machine.water is not None and any(
        name in (f"replace {part}", f"clean {part}", f"{part}: replace the whole appliance")
        for part in machine.water.parts
    )


@each_machine
def test_what_lets_water_out_is_filled_and_looked_at_before_the_covers_and_the_power(name: str) -> None:
    """Every repair of every machine: filled once and drips looked for, just where the part stands in water. A pipe that
    was opened is closed before."""
    machine = MACHINES[name]
    for repair in listing.repairs(machine).values():
        tasks = together.closing(machine, undoing.after(machine, (), [repair])).tasks
        pipes = [bay for bay in repair.bays if bay in machine.bays and machine.bays[bay].holds_water]
        kinds = [task.kind for task in tasks if not (task.kind == "cover" and task.at in pipes)]
        if repair.is_whole:  # the pipe that was opened is looked at besides
            kinds.remove("drips")
        assert (kinds.count("fill"), kinds.count("drips")) == ((1, 1) if wets(machine, repair.name) else (0, 0))
        if "fill" in kinds:
            after = [place for place, kind in enumerate(kinds) if kind in ("cover", "power")]
            wires = [place for place, kind in enumerate(kinds) if kind == "wires"]
            assert max(wires, default=-1) < kinds.index("fill") < kinds.index("drips") < min(after)


def test_a_pipe_is_closed_before_water_comes_into_it() -> None:
    """The union over the dip tube, which stood last on the list; opened for a look alone, it is filled too."""
    for repairs in ((listing.repairs(HEATER)["replace dip tube"],), ()):
        opened = undoing.after(HEATER, (), repairs) if repairs else together.Undone(("top fittings",), isolated=True)
        told = [(task.kind, task.at) for task in together.closing(HEATER, opened).tasks]
        union, fill = told.index(("cover", "top fittings")), told.index(("fill", "a hot tap"))
        power = next(n for n, (kind, _) in enumerate(told) if kind == "power")
        assert union < fill < told.index(("drips", "top fittings")) < power


def test_every_part_that_lets_water_out_is_named_in_the_file() -> None:
    """Elements, dip tube, drain valve and tank of the water heater: each of their repairs wants it filled again."""
    assert HEATER.water is not None
    assert {part for part, one in HEATER.parts.items() if one.type in ("heater", "tank", "water path", "seal")} < set(
        HEATER.water.parts
    )


def test_it_is_drained_before_the_cover_is_opened() -> None:
    """After isolating, with the place of the cock and the part; a part beside the water drains nothing."""
    guided = guiding.Guided(advising.adviser(Bench(HEATER)))
    first = repairing.work(guided, [guided.bench.repairs[ELEMENT]]).first
    drained = next(place for place, text in enumerate(first) if "drain it until the water stands below" in text)
    assert first[0].startswith("Isolate")
    assert 0 < drained < next(place for place, text in enumerate(first) if text.startswith("Open the"))
    assert "cold pipe above the tank" in first[drained]
    assert "lower element" in first[drained]
    said = closing.sentences(HEATER, repairing.work(guided, [guided.bench.repairs[ELEMENT]]).closed)
    (filled,) = (text for text in said if "Fill it:" in text)  # else it runs out at the valve it was drained by
    assert filled.startswith("Shut the drain valve, hose off. Fill it: water on (on the cold pipe above the tank)")
    dry = repairing.work(guided, [guided.bench.repairs["replace limit"]]).first
    assert "drain" not in " ".join(dry)


def test_what_it_is_drained_through_has_the_name_that_the_file_gives_it() -> None:
    """A cock instead of a valve, and a hose spout that is no part of the machine."""
    text = library.text("water-heater").replace("drain valve", "drain cock")
    for name, drain in (("drain cock", "drain cock"), ("hose spout", "hose spout")):
        machine = loading.load_text(text.replace("drain: drain cock", f"drain: {name}"), "x")
        guided = guiding.Guided(advising.adviser(Bench(machine)))
        for repair, runs_out in ((ELEMENT, False), ("replace drain cock", name == "drain cock")):
            work = repairing.work(guided, [guided.bench.repairs[repair]])
            (drained,) = (one for one in work.first if "drain it until" in one)
            assert f"a hose on the {drain}" in drained
            assert ("until nothing runs any more" in drained) == runs_out
            assert any(f"Shut the {drain}, hose off." in one for one in closing.sentences(machine, work.closed))


def test_a_run_after_the_repair_says_that_it_is_full() -> None:
    """Tried, it is gone over once more; after a step that ran it nobody fills it again."""
    tried = listing.repairs(HEATER)[ELEMENT]
    assert undoing.after(HEATER, [tried]).drained == ("lower element",)
    run = Step("symptom", conditions.usual(HEATER), at="water gets hot")
    assert undoing.after(HEATER, [tried, run]).drained == ()
    made = closing.closing(HEATER, findings=[f.Tried(ELEMENT, True)])
    texts = [task["text"] for task in made["tasks"] if task["kind"] in ("fill", "drips")]
    assert "a hot tap open until it runs free of air" in texts[0]
    assert "no drip" in texts[1]


def test_a_part_that_is_not_there_is_told_where_it_is_written() -> None:
    """A name mistyped under `water`."""
    text = library.text("water-heater").replace("tank, drain valve]", "tank, drain valv]")
    problem = next(one for one in loading.examine_text(text, "x")[1] if "'drain valv'" in one.message)
    assert "drain valve" in problem.remedy
    assert text.split("\n")[problem.line - 1].startswith("  parts:")
