"""What a sheet says of a machine, against the settled network and against the trade's practice."""

from __future__ import annotations

import pytest

from halfsplit.circuit import fast
from halfsplit.drawing import sheet as drawn
from halfsplit.drawing.sheet import Element, Rail, Sheet, State
from halfsplit.drawing.symbols import table
from halfsplit.errors import WrongUse
from halfsplit.machine import library, model, primitives
from halfsplit.operate.settle import Operation
from halfsplit.service import asking, beside, machines, sheets
from tests.service import pictures


def _element(sheet: Sheet, part: str, name: str) -> Element:
    return next(one for one in sheet.elements if (one.part, one.name) == (part, name))


def _state(sheet: Sheet, terminal: str) -> State:
    return next(net.state for net in sheet.nets if terminal in net.terminals)


@pytest.mark.parametrize(("name", "setting"), pictures.cases())
def test_live_nets_are_those_of_the_fast_solver(name: str, setting: str) -> None:
    """A net is live just where the fast solution of the settled network has 50 V or more against earth."""
    machine = machines.load(name)
    operation = Operation(machine)
    at = asking.condition(machine, [setting] if setting else [], False, ())
    (herd,) = operation.settle(at, [asking.together(operation.assembly, [])])
    volts = fast.Factored(operation.assembly.under_power(herd.state, loom=False)).solve().v
    nodes = operation.assembly.nodes
    earth = volts[nodes[machine.supply.earth]]
    for net in pictures.sheet(name, setting).nets:
        most = max(abs(volts[nodes[t]] - earth) for t in net.terminals if t in nodes)
        assert (net.state is State.LIVE) == (most >= sheets.LIVE_VOLTS), net.name


@pytest.mark.parametrize("name", library.names())
def test_every_part_of_the_wiring_is_drawn(name: str) -> None:
    """Each element of the machine has its symbol, two halves of a coil one, a strap that is not fitted none."""
    machine = machines.load(name)
    sheet = pictures.sheet(name, house=True)
    own = {e.part for e in machine.elements.values() if not isinstance(e, primitives.Source)}
    absent = {p.name for p in machine.parts.values() if p.symbol == "strap"} if name == "vented-dryer" else set()
    meets = {model.part_of(t) for t in machine.supply.meets if machine.parts[model.part_of(t)].symbol == "terminals"}
    assert {e.part for e in sheet.elements} == (own | meets) - absent - {"service"}
    assert all(element.kind in table.kinds() and element.kind != "impedance" for element in sheet.elements)


@pytest.mark.parametrize("name", library.names())
def test_every_wire_of_the_machine_is_drawn_in_its_colour(name: str) -> None:
    """All wires of the machine's own and the cord are on the sheet, in the colours of the file."""
    machine = machines.load(name)
    on_sheet = {wire.name: wire.colours for wire in pictures.sheet(name).wires}
    own = [w for w in machine.wires if not all(machine.parts[model.part_of(end)].house for end in w.ends)]
    assert {w.name: w.colours for w in own}.items() <= on_sheet.items()


def test_contacts_stand_as_the_machine_settles() -> None:
    """A dryer that runs on high: heat contact and hold contact closed, start contact open, the lamp's contact open."""
    sheet = pictures.sheet("vented-dryer", "high heat")
    stand = {(e.part, e.name): e.closed for e in sheet.elements}
    closed = [("motor", "heat contact"), ("motor", "hold contact"), ("door switch", "shut"), ("timer", "line-heat")]
    opened = [
        ("motor", "start contact"),
        ("start switch", "contact"),
        ("door switch", "open"),
        ("timer", "clock-sense"),
    ]
    assert all(stand[key] is True for key in closed)
    assert all(stand[key] is False for key in opened)


def test_where_the_voltage_stops() -> None:
    """With the cut-off open no current flows in the heater, and what lies beyond it is fed from the other leg."""
    whole = pictures.sheet("vented-dryer", "high heat")
    cut = pictures.sheet("vented-dryer", "high heat", fault="cut-off: open")
    assert _element(whole, "heater", "front coil").current
    assert not _element(cut, "heater", "front coil").current
    assert _element(cut, "cut-off", "link").closed is False
    assert "fault: open" in _element(cut, "cut-off", "link").lines
    assert _state(cut, "heater.common") is State.LIVE
    lost = pictures.sheet("vented-dryer", "high heat", fault="thermal fuse: open")
    assert _state(lost, "thermal fuse.1") is State.LIVE
    assert _state(lost, "thermal fuse.2") is State.NOT_PROVEN
    assert not _element(lost, "motor", "run winding").current


def test_an_open_joint_parts_a_net() -> None:
    """A joint that is off at the block leaves the cord's side live and the machine's own side without its leg."""
    sheet = pictures.sheet("vented-dryer", "high heat", fault="joint terminal block.L1: off")
    joint = _element(sheet, "terminal block", "joint terminal block.L1")
    assert joint.kind == "break"
    net_of = sheet.net_of()
    assert net_of[joint.start] != net_of[joint.end]
    assert _state(sheet, "terminal block.L1") is State.LIVE
    assert not any(e.current for e in sheet.elements if e.part == "motor")


def test_isolated_is_dead_inside_and_live_before_the_plug() -> None:
    """Unplugged, nothing of the machine is live; the receptacle's two legs still are, and its neutral is not proven."""
    sheet = pictures.sheet("vented-dryer", isolated=True)
    assert _state(sheet, "heater.common") is State.DEAD
    assert _state(sheet, "terminal block.L1") is State.DEAD
    assert _state(sheet, "receptacle.L1") is State.LIVE
    assert _state(sheet, "receptacle.L2") is State.LIVE
    assert _state(sheet, "receptacle.N") is State.NOT_PROVEN
    assert not any(element.current for element in sheet.elements)
    plug = _element(sheet, "receptacle", "contact L1")
    assert (plug.kind, plug.lines) == ("break", ("plug out",))


def test_off_is_not_dead() -> None:
    """A water heater with all its thermostats open stays live on both sides of the elements, without current."""
    sheet = pictures.sheet("water-heater", "all hot")
    assert {net.state for net in sheet.nets if net.rail is not Rail.PE} == {State.LIVE}
    assert not any(element.current for element in sheet.elements)


def test_nothing_unmarked_while_under_power() -> None:
    """No net is called dead, or left unsaid, before the machine is isolated."""
    for name, setting in pictures.cases():
        assert {n.state for n in pictures.sheet(name, setting).nets} <= {State.LIVE, State.NOT_PROVEN}


def test_changed_over_contacts_move_together() -> None:
    """The change-over contacts of a thermostat and a timer, and a motor's contacts at its windings, are linked."""
    for name, part, count in (("water-heater", "upper thermostat", 2), ("refrigerator", "defrost timer", 2)):
        linked = [e.linked for e in pictures.sheet(name).elements if e.part == part and e.closed is not None]
        assert (len(linked), len(set(linked)), bool(linked[0])) == (count, 1, True)
    motor = [e for e in pictures.sheet("vented-dryer").elements if e.part == "motor" and e.actuator == "speed"]
    assert sorted(e.name for e in motor if e.linked) == ["hold contact", "run at rest", "start contact"]
    assert len(motor) == 4


def test_a_leak_to_the_frame_is_drawn() -> None:
    """A coil to frame parts the coil at its middle and joins it to the earth by the fault's ohms."""
    sheet = pictures.sheet("vented-dryer", "low heat", fault="heater: front coil to frame")
    leak = _element(sheet, "fault", "0")
    net_of = sheet.net_of()
    assert {net_of[leak.start], net_of[leak.end]} >= {"PE"}
    assert leak.current
    assert len([e for e in sheet.elements if e.part == "heater"]) == 3


def test_leads_are_told_in_words() -> None:
    """A lead's flag names part and terminal."""
    sheet = sheets.sheet(pictures.stands("vented-dryer"), leads={"red": "block fuse.1"})
    assert sheet.leads == (drawn.Lead("red", "block fuse.1", "terminal-block fuse, 1"),)


def test_charts_say_when_contacts_close() -> None:
    """Each contact of a timer has its row; a part without contacts that a hand sets has no chart."""
    chart = beside.chart(machines.load("vented-dryer"), "timer")["svg"]
    assert all(f'data-contact="{row}"' in chart for row in ("line–motor", "clock–sense", "line–buzzer"))
    with pytest.raises(WrongUse, match="Part 'motor' has no contacts that a hand sets"):
        beside.chart(machines.load("vented-dryer"), "motor")


@pytest.mark.parametrize("name", library.names())
def test_bays_are_all_there(name: str) -> None:
    """Every bay of the machine has its card."""
    picture = beside.bays(machines.load(name))["svg"]
    assert all(f'data-bay="{bay}"' in picture for bay in machines.load(name).bays)
