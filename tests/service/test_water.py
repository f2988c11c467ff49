"""Repairs that let the water out: drained before, filled and looked at for drips before covers and power."""

from __future__ import annotations

from pathlib import Path

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


# ---- without a tank ----------------------------------------------------------------------------------------

FAN_TEXT = Path("tests/hazards/capacitor-start-fan.yaml").read_text("utf-8")
WATER = "water:\n  cock: on the tap\n  drain: sump\n  parts: [sump, pump seal]\nparts:\n"
PARTS = "  sump: {type: water path, in: motor room}\n  pump seal: {type: seal, in: motor room}\nwires:\n"
SYMPTOM = "symptoms:\n  water on the floor: {leaks: [pump seal]}\n  it drains: {running: [motor], through: [sump]}\n"


def pumped() -> model.Machine:
    """The fan with a sump that it pumps out, beside its capacitor; no tank in it."""
    text = FAN_TEXT.replace("symptoms:\n", SYMPTOM).replace("wires:\n", PARTS)
    return loading.load_text(text.replace("parts:\n", WATER, 1), "pumped")


def test_a_machine_that_fills_itself_is_told_of_no_tap_and_no_pressure() -> None:
    """Drained with no pressure to let off, filled by hand, since its valve is shut without power."""
    machine = pumped()
    guided = guiding.Guided(advising.adviser(Bench(machine)))
    work = repairing.work(guided, [guided.bench.repairs["replace pump seal"]])
    said = " ".join([*work.first, *closing.sentences(machine, work.closed)])
    assert not any(word in said for word in ("pressure", "scald", "free of air", "element", "open  "))
    assert "let out what stands in it through the sump" in said
    assert "pour in by hand" in said
    assert "Wipe round the pump seal dry" in said


def test_what_heats_it_may_scald_and_must_not_be_fed_dry() -> None:
    """An element among the parts that water stands against."""
    heater = "  element: {type: heater, ohms: 20 ohm ± 5 %, in: motor room, fails: 3}\n"
    text = FAN_TEXT.replace("symptoms:\n", SYMPTOM).replace("wires:\n", PARTS.replace("wires:", f"{heater}wires:"))
    text = text.replace("parts:\n", WATER.replace("pump seal]", "pump seal, element]"), 1)
    text = text.replace("wires:\n", "wires:\n  - BU  mode switch.1  element.1\n  - BU  element.2  cord block.N\n")
    machine = loading.load_text(text, "heated")
    guided = guiding.Guided(advising.adviser(Bench(machine)))
    work = repairing.work(guided, [guided.bench.repairs["replace pump seal"]])
    assert any("it may scald" in one for one in work.first)
    assert any("An element fed dry burns out." in one for one in closing.sentences(machine, work.closed))


def test_hands_go_to_a_drain_behind_a_cover_when_that_is_off_and_all_is_discharged() -> None:
    """The hose goes on it beside the capacitor: opened, proved dead, discharged, then drained."""
    guided = guiding.Guided(advising.adviser(Bench(pumped())))
    first = repairing.work(guided, [guided.bench.repairs["replace pump seal"]]).first
    order = [
        next(n for n, one in enumerate(first) if word in one) for word in ("Open the motor", "Discharge", "let out")
    ]
    assert order == sorted(order)


def test_the_bay_of_the_drain_is_opened_for_what_it_drains() -> None:
    """A part outside is drained through what lies behind a cover; nothing else changes."""
    dry = FAN_TEXT.replace("symptoms:\n", SYMPTOM)
    dry = dry.replace("wires:\n", PARTS.replace("seal, in: motor room", "seal, in: outside"))
    wet = dry.replace("parts:\n", WATER, 1)
    was, now = (listing.repairs(loading.load_text(text, "x")) for text in (dry, wet))
    assert {name for name in now if now[name] != was[name]} == {"replace pump seal"}
    assert "motor room" in now["replace pump seal"].bays


def test_a_tank_without_its_tap_is_told() -> None:
    """Where air comes out is not said of a tank that is filled."""
    text = library.text("water-heater").replace("  tap: a hot tap\n", "")
    (problem,) = loading.examine_text(text, "x")[1]
    assert "where air comes out when 'tank' is filled" in problem.message
    assert "tap:" in problem.remedy
