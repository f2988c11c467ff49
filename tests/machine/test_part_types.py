"""The tables: every part type and every supply system makes a machine, and primitives that no machine uses yet work."""

from __future__ import annotations

import cmath
import math
from typing import Any

import pytest

from halfsplit.errors import BadInput
from halfsplit.machine import amounts, complaints, loading, part_types, supplies, tree
from halfsplit.machine import format as grammar
from halfsplit.machine.expand.machine import Sheet, expand
from halfsplit.machine.primitives import Capacitor, Impedance, Motor, Relay, SelfHeating, Sensor, Winding
from halfsplit.machine.rules import catalogue

TYPES = part_types.table()
OWN = [name for name, spec in TYPES.items() if not spec.house and name not in ("joint", "wire")]
EXAMPLES = {
    "V": "120 V", "A": "5 A", "W": "10 W", "ohm": "20 ohm ± 5 %", "F": "5 uF", "°C": "85 °C ± 3", "K": "5 K",
    "s": "2 s", "Hz": "60 Hz", "number": "1", "text": "so", "place": "box", "control": "knob",
    "positions": "[on]", "chart": "{a-b: [on]}", "ends": "[a, c]", "terminals": "[block.N, case.metal]",
    "element": "fuse.link", "curve": "{0 °C: 30 kohm, 90 °C: 1 kohm}", "yes or no": "yes",
}  # fmt: skip
HEAD = """format: halfsplit machine 1
machine: A box
kind: box
frame: case
temperatures: {box: {cold: 20 °C, hot: 60 °C}}
controls: {knob: [off, on], start: momentary, door: [shut, open], bond strap: [absent, fitted]}
"""


LANDS = {"L": "block.L1", "L1": "block.L1", "L2": "block.L2", "N": "block.N", "PE": "case.metal"}


def file_with(extra: str, system: str = "120/240 V split phase, 4 wires") -> str:
    """A small machine file with one more part."""
    meets = ", ".join(f"{end}: {LANDS[end]}" for end in supplies.table()[system].ends)
    return f"""{HEAD}supply: {{system: "{system}", meets: {{{meets}}}}}
parts:
  block: {{type: terminal block, in: outside}}
  case: {{type: frame, in: outside}}
  fuse: {{type: link fuse, amps: 20 A, in: outside}}
{extra}wires:
  - BK  block.L1  fuse.1
"""


def example(name: str) -> str:
    """A part of a type, every value given."""
    values = ", ".join(f"{value}: {_middle(spec)}" for value, spec in TYPES[name].values.items())
    return f"  thing: {{type: {name}, in: outside{', ' if values else ''}{values}}}\n"


def _middle(spec: part_types.ValueSpec) -> str:
    return spec.plausible[0] if spec.plausible else EXAMPLES[spec.kind]


@pytest.mark.parametrize("name", OWN)
def test_every_part_type_makes_a_part(name: str) -> None:
    """A part of the type, with every value given, has the type's elements, devices and modes."""
    text = file_with(example(name))
    if "fitted" in TYPES[name].values:
        text = text.replace(", bond strap: [absent, fitted]", "").replace("control: knob", "control: bond strap")
    machine = loading.load_text(text, "x")
    part, spec = machine.parts["thing"], TYPES[name]
    assert part.terminals or spec.terminals in ((), "from chart") or spec.elements == {}
    assert len([d for d in machine.devices.values() if d.part == "thing"]) == len(spec.devices)
    assert len([e for e in machine.elements.values() if e.part == "thing"]) == len(spec.elements)
    assert bool(part.modes) == bool(spec.modes)
    assert part.rate >= 0


@pytest.mark.parametrize("name", OWN)
def test_value_without_default_is_asked_for(name: str) -> None:
    """A part without values is told each value that it needs."""
    needed = [value for value, spec in TYPES[name].values.items() if spec.default is None]
    _, problems = loading.examine_text(file_with(f"  thing: {{type: {name}, in: outside}}\n"), "x")
    for value in needed:
        assert any(f"lacks '{value}'" in p.message and p.remedy for p in problems)


@pytest.mark.parametrize("system", supplies.table())
def test_every_supply_system_makes_a_house(system: str) -> None:
    """Each system joins its service with the ends that the machine meets, and can be isolated."""
    machine = loading.load_text(file_with("", system), "x")
    assert len(machine.supply.meets) == len(supplies.table()[system].ends)
    for control, position in machine.supply.isolates:
        assert position in machine.controls[control].positions[1:]
    fixed = [wire for wire in machine.wires if wire.rate == 0]
    assert len(fixed) == len(supplies.table()[system].fixed_wires)


def test_default_values_have_no_problem_of_their_own() -> None:
    """A value that the table gives is one that it holds plausible."""
    for spec in TYPES.values():
        for value in spec.values.values():
            if value.plausible and isinstance(value.default, str):
                low, high = (amounts.value(text, value.kind).nominal for text in value.plausible)
                assert low <= amounts.value(value.default, value.kind).nominal <= high


TABLE = """
terminal block: {about: a, symbol: terminals, terminals: [L1, L2, N]}
frame: {about: a, symbol: frame, terminals: [metal]}
joint: {about: a, symbol: joint, terminals: [], modes: {off: {share: 1, does: [{opened: self}]}}}
wire:
  about: a
  symbol: wire
  terminals: []
  modes: {chafed: {share: 1, does: [{bridged: self, to: frame, amount: 1 ohm}]}}
relay:
  about: A relay.
  symbol: relay
  terminals: [A1, A2, "11", "14"]
  values: {ohms: {is: ohm}, volts: {is: V}, drops: {is: number, default: 0.3}}
  devices: {armature: {is: relay, coil: coil, pulls: 0.7 x $volts, drops: 0.3 x $volts}}
  elements:
    coil: {is: impedance, ends: [A1, A2], ohms: $ohms, live: {volts: $volts, watts: 2 W, power factor: 0.5}}
    contact: {is: contact, ends: ["11", "14"], ohms: 0.01 ohm, when: [{armature: yes}]}
  modes:
    welded: {share: 1, does: [{shut: contact}]}
    to frame: {share: 1, does: [{bridged: A1, to: frame, amount: [1 ohm, 2 kohm]}]}
sensor:
  about: A sensor.
  symbol: sensor
  terminals: ["1", "2"]
  values: {curve: {is: curve}, at: {is: place}}
  elements: {bead: {is: sensor, ends: ["1", "2"], place: $at, curve: $curve}}
  modes: {drifted: {share: 1, does: [{scaled: bead, amount: [0.5, 2]}]}}
motor:
  about: A capacitor-run motor.
  symbol: motor
  terminals: [U1, U2, Z1, Z2]
  values: {main: {is: ohm}, aux: {is: ohm}, farads: {is: F}, amps: {is: A}}
  devices:
    rotor: {is: motor, main: main, auxiliary: auxiliary, rated: 120 V}
    pellet: {is: self heating, element: start, amps: 2 x $amps, seconds: 1}
  elements:
    main: {is: winding, ends: [U1, U2], ohms: $main, motor: rotor, role: main, running: $amps, starting: 6 x $amps}
    auxiliary: {is: winding, ends: [Z1, Z2], ohms: $aux, motor: rotor, role: auxiliary, turns: 1.3}
    capacitor: {is: capacitor, ends: [U1, Z1], farads: $farads}
    start: {is: impedance, ends: [U1, Z2], ohms: 5 ohm, device: pellet, other live: 3000, load: no}
  modes: {swapped: {share: 1, does: [{swapped: Z1, to: Z2}], by hand: yes}}
"""


def sheet_of(parts: str) -> Sheet:
    """A machine by the small table above; its house comes from the true one."""
    types = {**TYPES, **part_types.read_table(TABLE, "own")}
    root = tree.compose(file_with(parts).replace("  fuse: {type: link fuse, amps: 20 A, in: outside}\n", ""), "x")
    plain: Any = tree.plain(root)
    plain["wires"] = []
    found = complaints.Complaints(root)
    sheet = expand("x", grammar.MachineFile.model_validate(plain), types, found, frozenset())
    if sheet is None:
        raise BadInput(found.problems)
    return sheet


RELAY = "  k1: {type: relay, ohms: 900 ohm ± 10 %, volts: 120 V, in: outside}\n"
MOTOR = "  fan: {type: motor, main: 8 ohm, aux: 12 ohm, farads: 5 uF ± 6 %, amps: 1.5 A, in: outside}\n"


def test_relay_pulls_and_drops_by_its_volts() -> None:
    """Volts of a relay are shares of its rated volts, and its impedance under power is V² pf / W."""
    machine = sheet_of(RELAY).machine
    relay, coil = machine.devices["k1.armature"], machine.elements["k1.coil"]
    assert isinstance(relay, Relay)
    assert isinstance(coil, Impedance)
    assert (relay.pulls, relay.drops) == pytest.approx((84.0, 36.0))
    impedance = coil.live * coil.ohms.nominal
    assert (120**2 / impedance.conjugate()).real == pytest.approx(2.0)
    assert cmath.phase(impedance) == pytest.approx(math.acos(0.5))


def test_motor_with_capacitor_and_starter() -> None:
    """Amps that stand with a winding are those of its motor; capacitor and starter keep their values."""
    machine = sheet_of(MOTOR).machine
    rotor, pellet = machine.devices["fan.rotor"], machine.devices["fan.pellet"]
    main, capacitor = machine.elements["fan.main"], machine.elements["fan.capacitor"]
    assert isinstance(rotor, Motor)
    assert isinstance(pellet, SelfHeating)
    assert isinstance(main, Winding)
    assert isinstance(capacitor, Capacitor)
    assert (rotor.running, rotor.starting, pellet.amps) == (1.5, 9.0, 3.0)
    assert capacitor.farads.nominal == pytest.approx(5e-6)
    start = machine.elements["fan.start"]
    assert isinstance(start, Impedance)
    assert (start.device, start.other_live, start.load) == ("fan.pellet", 3000, False)


def test_sensor_has_its_curve_in_order() -> None:
    """Points of a curve are sorted by temperature, whatever their units."""
    text = "  ntc: {type: sensor, curve: {122 °F: 3.6 kohm, 0 °C: 32.7 kohm}, at: box, in: outside}\n"
    bead = sheet_of(text).machine.elements["ntc.bead"]
    assert isinstance(bead, Sensor)
    assert [celsius for celsius, _ in bead.curve] == pytest.approx([0, 50])
    assert [flaw.path for flaw in catalogue.RULES["sensor off curve"](sheet_of(text))] == [("parts", "ntc", "curve")]


def test_swapped_ends_are_an_earlier_hand() -> None:
    """A mode that only a hand makes is marked so, and names both terminals."""
    mode = sheet_of(MOTOR).machine.parts["fan"].modes[0]
    assert mode.earlier_hand
    assert [(c.what, c.to) for c in mode.alternatives[0][1]] == [("fan.Z1", "fan.Z2")]


def test_list_of_amounts_gives_alternatives() -> None:
    """Two sizes of a fault are two alternatives of equal weight."""
    mode = sheet_of(RELAY).machine.parts["k1"].modes[1]
    assert [(weight, changes[0].amount) for weight, changes in mode.alternatives] == [(0.5, 1.0), (0.5, 2000.0)]


def test_without_a_frame_nothing_goes_to_frame() -> None:
    """Where a machine names no frame, faults to frame do not exist."""
    root = tree.compose(file_with(RELAY).replace("frame: case\n", ""), "x")
    types = {**TYPES, **part_types.read_table(TABLE, "own")}
    found = complaints.Complaints(root)
    plain: Any = tree.plain(root)
    sheet = expand("x", grammar.MachineFile.model_validate(plain), types, found, frozenset())
    assert sheet is not None
    assert [m.name for m in sheet.machine.parts["k1"].modes] == ["welded"]
    assert sheet.machine.wire is not None
    assert sheet.machine.wire.modes == ()


def test_relay_that_drops_above_its_pull_is_found() -> None:
    """The rule about relays finds two swapped volts."""
    swapped = TABLE.replace("pulls: 0.7 x $volts, drops: 0.3 x $volts", "pulls: 0.3 x $volts, drops: 0.7 x $volts")
    types = {**TYPES, **part_types.read_table(swapped, "own")}
    root = tree.compose(file_with(RELAY), "x")
    plain: Any = tree.plain(root)
    sheet = expand("x", grammar.MachineFile.model_validate(plain), types, complaints.Complaints(root), frozenset())
    assert sheet is not None
    assert [flaw.path for flaw in catalogue.RULES["relay drops above pull"](sheet)] == [("parts", "k1")]


def test_mistake_in_the_table_is_placed() -> None:
    """The table is checked as files are: an unknown key has its line."""
    with pytest.raises(BadInput, match=r"own:2:"):
        part_types.read_table("a:\n  {about: a, symbol: s, terminals: [], colour: red}\n", "own")
