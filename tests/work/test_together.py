"""The list by which a machine is put together, judged by the file's own text and by an account kept by hand."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.cli import paper
from halfsplit.machine import library, loading, model
from halfsplit.modes import listing
from halfsplit.operate.condition import condition
from halfsplit.plan import safely
from halfsplit.service import closing
from halfsplit.work import handling, safety, together
from halfsplit.work.fasteners import fasteners
from halfsplit.work.hazards import CAUTIONS, Hazard, Kind

FAN = "fan"
"""Its motor room takes two people; no machine of the library has such a bay."""
HERE = Path(__file__).parent
FILES = {name: name for name in library.names()} | {FAN: str(HERE.parent / "hazards" / "capacitor-start-fan.yaml")}
MACHINES = {name: loading.load(file) for name, file in FILES.items()}
DRYER = MACHINES["vented-dryer"]


@st.composite
def histories(draw: st.DrawFn) -> tuple[model.Machine, list[str], list[str], list[str]]:
    """A machine, bays opened one by one (each when all before it were open), wires taken off, controls moved where a
    hand comes to them."""
    machine = MACHINES[draw(st.sampled_from(sorted(MACHINES)))]
    opened: list[str] = []
    for _ in range(draw(st.integers(0, len(machine.bays)))):
        can = [b for b, bay in machine.bays.items() if b not in opened and bay.behind in ("outside", "", *opened)]
        if not can:
            break
        opened.append(draw(st.sampled_from(can)))
    reach = [t for t in model.wired_terminals(machine) if machine.parts[model.part_of(t)].bay in ("outside", *opened)]
    lifted = draw(st.lists(st.sampled_from(reach), unique=True, max_size=6)) if reach else []
    at_hand = [c for c in machine.controls if machine.turned_in(c) in ("", *opened)]
    controls = [c for c in at_hand if c not in ("plug", "breaker")]
    moved = draw(st.lists(st.sampled_from(controls), unique=True)) if controls else []
    return machine, opened, lifted, moved


def made(history: tuple[model.Machine, list[str], list[str], list[str]]) -> together.Closing:
    """The list of a history."""
    machine, opened, lifted, moved = history
    at = condition(machine, {c: machine.controls[c].positions[-1] for c in moved}, isolated=True, lift=lifted)
    return together.closing(machine, together.undone(machine, opened, lifted, at))


def of_kind(found: together.Closing, kind: str) -> list[together.Task]:
    """The tasks of one kind, in order."""
    return [task for task in found.tasks if task.kind == kind]


@given(histories())
def test_all_that_was_undone_is_made_good_once(
    history: tuple[model.Machine, list[str], list[str], list[str]],
) -> None:
    """Covers are closed in the inverse order of opening, each once, and what water stands behind before it is let in;
    wires, controls and connectors once each.

    A button that is let go is not put back.
    """
    machine, opened, lifted, moved = history
    found = made(history)
    order = opened[::-1]
    order.sort(key=lambda bay: not machine.bays[bay].holds_water)
    assert [task.at for task in of_kind(found, "cover")] == order
    assert Counter(task.at for task in of_kind(found, "wires")) == Counter(lifted)
    assert Counter(task.at for task in of_kind(found, "setting")) == Counter(
        c for c in moved if len(machine.controls[c].positions) > 1 and not machine.controls[c].momentary
    )
    pulled = Counter(part for bay in opened for part in machine.bays[bay].unplugs)
    assert Counter(task.at for task in of_kind(found, "connector")) == pulled
    assert found.tasks[-1].kind == "power"
    assert found.tasks[-1].to in ("in", "on")


@given(histories())
def test_fasteners_are_the_files(history: tuple[model.Machine, list[str], list[str], list[str]]) -> None:
    """The sum of all fasteners is that of the numbers that the file writes for the bays that were opened."""
    machine, opened, _, _ = history
    written = " and ".join(machine.bays[bay].fasteners for bay in opened)
    count = sum(int(number) for number in re.findall(r"(\d+) x ", written))
    found = made(history)
    assert sum(one.count for one in found.fasteners) == count
    covers = Counter[str]()
    for task in of_kind(found, "cover"):
        covers.update({one.kind: one.count for one in task.fasteners})
        assert sum(one.count for one in task.fasteners) <= count
    assert covers == Counter({one.kind: one.count for one in found.fasteners})
    assert bool(of_kind(found, "count")) == bool(count)


@given(histories())
def test_the_order_can_be_done(history: tuple[model.Machine, list[str], list[str], list[str]]) -> None:
    """No cover over an open bay or a wire that is off, connectors and screws before their cover, in words of a hand."""
    machine, opened, lifted, _ = history
    still, off = set(opened), set(lifted)
    for task in made(history).tasks:
        if task.kind == "wires":
            assert machine.parts[model.part_of(task.at)].bay in {"outside", *still}
            off.discard(task.at)
        if task.kind == "connector":
            assert any(task.at in machine.bays[bay].unplugs for bay in still)
        if task.kind == "cover":
            assert not [bay for bay in still if machine.bays[bay].behind == task.at]
            assert not off
            still.discard(task.at)
        if task.kind == "earth" and machine.supply.hard_wired and "cable" in task.to:
            assert machine.parts[model.part_of(machine.supply.meets[0])].bay in still
            assert not off
        elif task.kind in ("count", "earth", "power"):
            assert not still
            assert not off


@given(histories())
def test_the_automaton_lets_it_be_done(history: tuple[model.Machine, list[str], list[str], list[str]]) -> None:
    """What is discharged, each wire, cover and the power are allowed in turn, with nothing but proofs and cautions in
    between; the list itself tells the cautions that are wanted: that a cover is heavy, that a charge may be held."""
    machine, opened, lifted, _ = history
    charged = frozenset({Hazard.CHARGE} if "motor room" in opened and machine is MACHINES[FAN] else ())
    state = _undone(machine, opened, lifted)
    left = {"wires": len(lifted), "cover": len(opened)}
    kinds = {"wires": Kind.REFIT, "cover": Kind.CLOSE, "power": Kind.ENERGISE, "discharge": Kind.DISCHARGE}
    for task in made(history).tasks:
        if task.kind not in kinds:
            continue
        heavy = task.kind == "cover" and machine.bays[task.at].people > 1
        there = frozenset({Hazard.HEAVY} if heavy else ()) | (charged if task.kind == "wires" else frozenset())
        step = safety.Step(kinds[task.kind], inside=task.kind == "wires" and bool(opened), hazards=there)
        for one in (*safety.prepare(state, step), step):
            if task.kind in ("cover", "discharge") and one.hazard and one.hazard is not Hazard.LIVE:
                assert ": ".join(CAUTIONS[one.hazard]) in task.cautions
            undone = (Kind.OPEN, Kind.CLOSE, Kind.LIFT, Kind.REFIT, Kind.ISOLATE, Kind.DISCHARGE)
            assert one is step or one.kind not in undone
            state = safety.after(state, one)
        if task.kind in left:
            left[task.kind] -= 1
        state = state._replace(opened=left["cover"] > 0, lifted=left["wires"] > 0)


def test_a_cover_for_two_people_says_so_where_it_is_closed() -> None:
    """In the words told at its opening, at its own line, before the list and on paper; not at a cover for one."""
    machine = MACHINES[FAN]
    made = together.closing(machine, together.undone(machine, ["motor room"]))
    told = {task.at: task.cautions for task in of_kind(made, "cover")}
    heavy = ": ".join(CAUTIONS[Hazard.HEAVY])
    assert heavy in told["motor room"]
    assert heavy not in told["front"]
    assert closing.acknowledge(made).count(heavy) == 1
    lines = paper._put_together({"put_together": closing.as_data(machine, made)})
    printed = " ".join(f"{line.mark} {line.text}" for line in lines)
    minded = f"CAUTION: sharp edges. CAUTION: fan blades bend easily. {heavy} "
    assert f"Close the motor room (two people): 2 x PH2. {minded}" in printed


def _undone(machine: model.Machine, opened: list[str], lifted: list[str]) -> safety.State:
    """The automaton's state after opening and lifting."""
    state = safely.begin(machine)
    doings = [*([Kind.OPEN] * bool(opened)), *([Kind.LIFT] * bool(lifted)), Kind.ISOLATE]
    for kind in doings:
        step = safety.Step(kind, inside=kind is Kind.LIFT and bool(opened))
        for one in (*safety.prepare(state, step), step):
            state = safety.after(state, one)
    return state


@given(histories())
def test_wires_go_back_with_their_colours(history: tuple[model.Machine, list[str], list[str], list[str]]) -> None:
    """On each terminal stand the wires that the file lands there, with colour and far end."""
    machine = history[0]
    for task in of_kind(made(history), "wires"):
        ends = [(wire.colours, set(wire.ends) - {task.at}) for wire in machine.wires if task.at in wire.ends]
        assert [("".join(colours), far) for colours, far in ends] == [(c, {end}) for c, end in task.wires]


def test_a_live_machine_is_isolated_before_it_is_closed() -> None:
    """With a cover off and the power on the list begins with isolating and ends with the power; shut, with neither."""
    live = together.Undone(("console",), isolated=False)
    kinds = [task.kind for task in together.closing(DRYER, live).tasks]
    assert (kinds[0], kinds[-1]) == ("isolate", "power")
    assert [task.kind for task in together.closing(DRYER, together.Undone(isolated=False)).tasks] == ["meter"]


def test_the_frame_of_each_machine_is_bonded_where_the_supply_lands() -> None:
    """The dryer's ground screw stands behind the rear cover with its strap, the refrigerator's in the machine room;
    that of the cooktop is in the list as a person reads it."""
    found = {n: {b: [t.at for t in together.bonds(m, b)] for b in m.bays} for n, m in MACHINES.items()}
    assert found["vented-dryer"]["rear cover"] == ["cabinet.metal", "strap"]
    assert found["vented-dryer-3-wire"]["rear cover"] == ["strap"]
    assert found["refrigerator"]["machine room"] == ["cabinet.metal"]
    assert found["water-heater"]["upper cover"] == ["jacket.metal"]
    assert found["coil-cooktop"]["rear cover"] == ["cabinet.metal"]
    assert found[FAN]["front"] == ["cabinet.metal"]
    assert found["vented-dryer"]["console"] == []
    assert all(sum(map(bool, bays.values())) == 1 for bays in found.values())
    cooktop = MACHINES["coil-cooktop"]
    listed = closing.closing(cooktop, ["rear cover"])["tasks"]
    (screw,) = (task["text"] for task in listed if task["kind"] == "ground")
    assert screw.startswith("Ground screw at cabinet.metal: ")
    (strap,) = together.bonds(MACHINES["vented-dryer-3-wire"], "rear cover")
    assert (strap.kind, strap.to) == ("ground", "terminal block.N")
    said = {name: [text["text"] for text in closing.closing(MACHINES[name], ["rear cover"])["tasks"]]
            for name in ("vented-dryer", "vented-dryer-3-wire")}  # fmt: skip
    assert "No strap from terminal block.N to the frame: see that none was put in." in said["vented-dryer"]
    assert "The strap from terminal block.N to the frame: on and tight." in said["vented-dryer-3-wire"]


@pytest.mark.parametrize("name", library.names())
def test_a_repair_says_what_it_takes_off(name: str) -> None:
    """A new part loses all its wires, a joint its own, a wire both ends; cleaning and settings lose none."""
    machine = MACHINES[name]
    wired = model.wired_terminals(machine)
    for fault in listing.faults(machine):
        off = handling.taken_off(machine, fault.repair)
        assert set(off) <= set(wired)
        if fault.repair.name == "replace the cord":
            assert set(off) == set(machine.supply.meets)
        elif fault.subject.startswith("joint "):
            assert off == (fault.subject.removeprefix("joint "),)
        elif fault.subject.startswith("wire "):
            assert off == next(wire.ends for wire in machine.wires if wire.name == fault.subject)
        elif fault.repair.name.startswith(("clean", "show")) or fault.repair.by != "repairer":
            assert off == ()
        elif fault.repair.name == f"replace {fault.subject}":
            assert set(off) == {t for t in wired if model.part_of(t) == fault.subject}


def test_a_photograph_is_asked_for_once_a_part() -> None:
    """Before the first wire of a part comes off, and not again."""
    assert together.photograph(["heater.common", "heater.front", "timer.line"]) == ("heater", "timer")
    assert together.photograph(["heater.rear", "timer.line"], ["heater.common"]) == ("timer",)


@pytest.mark.parametrize(
    ("text", "held", "also"),
    [
        ("4 x T20", ["4 x T20"], ()),
        ("4 x PH2 in the lint trap, 2 x 1/4 in hex and 1 x union", ["4 x PH2", "2 x 1/4 in hex", "1 x union"], ()),
        ("belt off the idler and 6 x 1/4 in hex of the bulkhead", ["6 x 1/4 in hex"], ("belt off the idler",)),
        ("", [], ()),
        ("snaps", [], ("snaps",)),
    ],
)
def test_fasteners_are_read(text: str, held: list[str], also: tuple[str, ...]) -> None:
    """Counts with their kind; what is not counted is kept in its own words."""
    found, rest = fasteners(text)
    assert [f"{one.count} x {one.kind}" for one in found] == held
    assert rest == also


def test_tape_that_held_a_switch_comes_off_with_the_meter() -> None:
    """On a machine of which a button springs back, or a switch was held that opening has freed."""
    for name, tape in (("vented-dryer", True), ("refrigerator", True), ("water-heater", False)):
        machine = MACHINES[name]
        found = together.closing(machine, together.undone(machine, [next(iter(machine.bays))]))
        made = closing.sentences(machine, found)
        assert ("Take the meter, its clips, any tape and every tool off the machine." in made) == tape


def test_twins_go_back_into_sockets_that_are_wired_again() -> None:
    """After a receptacle was exchanged while two burners stood in each other's places: its wires first, then both
    burners, which are not told to be plugged in once more; another that was lifted out is."""
    cooktop = MACHINES["coil-cooktop"]
    pair = ("left front burner", "right rear burner")
    off = [f"right rear receptacle.{one}" for one in cooktop.parts["right rear receptacle"].terminals]
    off += [f"{name}.{one}" for name in ("right rear burner", "left rear burner") for one in ("1", "2")]
    wires = [one for one in off if together.landing(cooktop, one)]
    at = condition(cooktop, isolated=True, lift=[], exchange=pair)
    kinds = [
        (task.kind, task.at)
        for task in together.closing(cooktop, together.undone(cooktop, (), off, at)).tasks
        if task.kind in ("wires", "exchange", "plug in")
    ]
    assert wires
    assert {kind for kind, _ in kinds[:-2]} == {"wires"}
    assert kinds[-2:] == [("exchange", " and ".join(pair)), ("plug in", "left rear burner")]
