"""Hand-made sheets that resemble machines of the trade, all of our own invention, and random netlists."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from halfsplit.drawing import nets
from halfsplit.drawing.sheet import Box, Element, Frame, Lead, Net, Rail, Sheet, State, Wire, checked


def section(key: str, kind: str, ends: str, words: str = "", **more: object) -> Element:
    """An element from 'part/name', its two terminal names, and its label lines parted by '|'."""
    part, _, name = key.partition("/")
    start, end = (f"{part}.{terminal}" for terminal in ends.split())
    title, *lines = words.split("|")
    return Element(part, name, kind, start, end, title or part, tuple(lines), **more)  # type: ignore[arg-type]


def wires(text: str) -> tuple[Wire, ...]:
    """Wires from lines 'BK part.terminal part.terminal', names with spaces parted by two spaces."""
    made = []
    for line in filter(None, (row.strip() for row in text.splitlines())):
        colours, start, end = (word.strip() for word in line.split("  ") if word.strip())
        made.append(Wire(start, end, tuple(colours.split("/"))))
    return tuple(made)


def sheet(
    title: str,
    elements: list[Element],
    wired: str,
    rails: Mapping[str, tuple[str, ...]],
    frames: tuple[Frame, ...] = (),
    boxes: tuple[Box, ...] = (),
    **more: object,
) -> Sheet:
    """A sheet whose nets follow from its wires; ``rails`` gives the feed of each rail from the house inwards."""
    runs = wires(wired)
    used = [t for feed in rails.values() for t in feed]
    used += [t for e in elements for t in (e.start, e.end)] + [f.terminal for f in frames]
    used += [pin for box in boxes for pin in box.pins] + [t for w in runs for t in (w.start, w.end)]
    made = []
    for number, group in enumerate(nets.joined(used, runs)):
        rail = next((name for name, feed in rails.items() if feed[-1] in group), None)
        made.append(
            Net(rail or f"n{number}", group, rail=Rail(rail) if rail else None, feed=rails[rail] if rail else ())
        )
    return checked(Sheet(title, tuple(made), tuple(elements), runs, boxes, frames, **more))  # type: ignore[arg-type]


def dryer() -> Sheet:
    """A vented dryer for 120/240 V with a mechanical timer and two coils."""
    on = {"closed": True}
    off = {"closed": False}
    hot = {"closed": True, "current": True}
    elements = [
        section("timer/heat", "make contact", "A B", "Timer|heat", actuator="timer", **hot),
        section(
            "cycling/cold",
            "break contact",
            "1 3",
            "Cycling thermostat|opens 155 °F",
            actuator="temperature",
            linked="cyc",
            **hot,
        ),
        section("limit/limit", "break contact", "1 2", "High limit|opens 240 °F", actuator="temperature", **hot),
        section("cut-off/link", "thermal cut-off", "1 2", "Cut-off|one shot, 330 °F", current=True),
        section("heater/coil 1", "heater", "C 1", "Heater|coil 1, 21 Ω", current=True, load=True),
        section("heater/coil 2", "heater", "C 2", "Heater|coil 2, 21 Ω", load=True),
        section("heat selector/high", "make contact", "P 2", "Heat selector|high", actuator="turn", **off),
        section("motor/heat contact", "make contact", "1 2", "Motor|heat contact", actuator="speed", **hot),
        section(
            "cycling/hot", "make contact", "1 2", "Cycling thermostat|hot", actuator="temperature", linked="cyc", **off
        ),
        section("timer/motor", "timer motor", "M N", "Timer|motor, 2.4 kΩ", load=True),
        section("bias/heater", "heater", "1 2", "Bias heater|9 kΩ", load=True),
        section("heat selector/low", "make contact", "L B", "Heat selector|low", actuator="turn", **off),
        section("timer/run", "make contact", "A C", "Timer|motor", actuator="timer", **hot),
        section("thermal fuse/link", "thermal cut-off", "1 2", "Thermal fuse|196 °F", current=True),
        section("belt switch/contact", "make contact", "1 2", "Belt switch", actuator="belt", **hot),
        section("motor/overload", "overload", "4 J", "Motor|overload", **hot),
        section("motor/run", "winding", "J R", "Motor|run winding, 2.4 Ω", current=True, load=True),
        section("motor/start", "winding", "J S", "Motor|start winding, 3.6 Ω", load=True),
        section(
            "motor/start contact", "break contact", "S 5", "Motor|start contact", actuator="speed", linked="cs", **off
        ),
        section(
            "motor/rest contact", "break contact", "R 5", "Motor|rest contact", actuator="speed", linked="cs", **off
        ),
        section("motor/hold contact", "make contact", "R 6", "Motor|run contact", actuator="speed", **hot),
        section("start/contact", "make contact", "1 2", "Start button", actuator="push", **off),
        section("door/shut", "make contact", "NO C", "Door switch|door shut", actuator="door", linked="door", **hot),
        section("door/open", "break contact", "NC C", "Door switch|door open", actuator="door", linked="door", **off),
        section("drum lamp/lamp", "lamp", "1 2", "Drum lamp|10 W", load=True),
        section("timer/buzzer", "make contact", "A D", "Timer|last minute", actuator="timer", **off),
        section("buzzer/buzzer", "buzzer", "1 2", "Buzzer", load=True),
        section("strap/strap", "strap", "1 2", "Bond strap|off with a 4-wire cord", **on),
    ]
    wired = """
        BK  cord.L1  block.L1
        RD  cord.L2  block.L2
        WH  cord.N  block.N
        GNYE  cord.PE  cabinet.PE
        BK  block.L1  timer.A
        BK/WH  block.L1  drum lamp.1
        RD  timer.B  cycling.1
        VT  cycling.3  limit.1
        VT  cycling.3  bias.1
        VT/WH  limit.2  cut-off.1
        BN  cut-off.2  heater.C
        RD/WH  heater.1  heat selector.P
        OG  heater.2  heat selector.2
        RD/WH  heat selector.P  motor.1
        RD  motor.2  block.L2
        TQ  cycling.2  timer.M
        PK  timer.N  door.NO
        GY/RD  bias.2  heat selector.L
        RD/BK  heat selector.B  block.L2
        BU  timer.C  thermal fuse.1
        BU  thermal fuse.2  belt switch.1
        BU/WH  belt switch.2  motor.4
        OG  motor.5  start.1
        YE  start.2  door.NO
        YE  motor.6  door.NO
        WH  door.C  block.N
        GY  drum lamp.2  door.NC
        OG/BK  timer.D  buzzer.1
        WH  buzzer.2  block.N
        WH  block.N  strap.1
        GNYE  strap.2  cabinet.PE
        GNYE  cabinet.PE  motor frame.PE
    """
    rails = {
        "L1": ("cord.L1", "block.L1"),
        "L2": ("cord.L2", "block.L2"),
        "N": ("cord.N", "block.N"),
        "PE": ("cord.PE",),
    }
    frames = (Frame("cabinet", "cabinet.PE", "Cabinet"), Frame("motor frame", "motor frame.PE", "Motor frame"))
    return sheet("Vented dryer, 120/240 V, two coils", elements, wired, rails, frames)


def live_dryer() -> Sheet:
    """The dryer running on low heat, with the meter's leads across the heater."""
    found = dryer()
    dead = {"n14"}
    marked = tuple(
        replace(
            n,
            state=State.NOT_PROVEN
            if n.rail in (Rail.N,)
            else State.DEAD
            if n.rail is Rail.PE or n.name in dead
            else State.LIVE,
        )
        for n in found.nets
    )
    leads = (Lead("red", "heater.C", "heater, common"), Lead("black", "motor.1", "motor, terminal 1"))
    return replace(found, title="Vented dryer, running", nets=marked, leads=leads)


def water_heater() -> Sheet:
    """A two-element water heater."""
    on = {"closed": True}
    elements = [
        section(
            "reset/pole 1",
            "break contact",
            "1 2",
            "High limit|reset, 170 °F",
            actuator="temperature",
            linked="eco",
            **on,
        ),
        section(
            "upper stat/cold",
            "break contact",
            "C 4",
            "Upper thermostat|tank cold",
            actuator="temperature",
            linked="ut",
            closed=False,
        ),
        section(
            "upper stat/hot",
            "make contact",
            "C 2",
            "Upper thermostat|top hot",
            actuator="temperature",
            linked="ut",
            **on,
        ),
        section("lower stat/contact", "break contact", "1 2", "Lower thermostat|120 °F", actuator="temperature", **on),
        section("upper element/element", "heater", "1 2", "Upper element|12.8 Ω", load=True),
        section("lower element/element", "heater", "1 2", "Lower element|12.8 Ω", load=True),
        section(
            "reset/pole 2",
            "break contact",
            "4 3",
            "High limit|reset, 170 °F",
            actuator="temperature",
            linked="eco",
            **on,
        ),
    ]
    wired = """
        BK  house.L1  reset.1
        RD  house.L2  reset.3
        GN  house.PE  tank.PE
        BK  reset.2  upper stat.C
        BK  upper stat.4  upper element.1
        BU  upper stat.2  lower stat.1
        BK  lower stat.2  lower element.1
        YE  upper element.2  reset.4
        YE  lower element.2  reset.4
    """
    rails = {"L1": ("house.L1",), "L2": ("house.L2",), "PE": ("house.PE",)}
    return sheet("Water heater, two elements", elements, wired, rails, (Frame("tank", "tank.PE", "Tank"),))


def refrigerator() -> Sheet:
    """A frost-free refrigerator with a board that runs its fan and reads a sensor."""
    on, off = {"closed": True}, {"closed": False}
    elements = [
        section("cold control/contact", "make contact", "1 2", "Cold control|3 °C", actuator="temperature", **on),
        section(
            "defrost timer/cool", "break contact", "3 4", "Defrost timer|cooling", actuator="timer", linked="dt", **on
        ),
        section(
            "defrost timer/defrost",
            "make contact",
            "3 2",
            "Defrost timer|defrost",
            actuator="timer",
            linked="dt",
            **off,
        ),
        section("defrost timer/motor", "timer motor", "3 1", "Defrost timer|motor, 2 kΩ", load=True),
        section("overload/bimetal", "overload", "1 2", "Overload", **on),
        section("compressor/run", "winding", "C R", "Compressor|run, 4 Ω", load=True),
        section("compressor/start", "winding", "C S", "Compressor|start, 9 Ω", load=True),
        section("starter/ptc", "ptc", "1 2", "Starter|PTC, 10 Ω"),
        section("run capacitor/cap", "capacitor", "1 2", "Run capacitor|12 µF"),
        section("condenser fan/motor", "fan motor", "1 2", "Condenser fan", load=True),
        section("evaporator fan/motor", "fan motor", "1 2", "Evaporator fan", load=True),
        section(
            "freezer door/fan", "make contact", "NO C", "Freezer door|shut: fan", actuator="door", linked="fd", **on
        ),
        section(
            "freezer door/lamp", "break contact", "NC C", "Freezer door|open: lamp", actuator="door", linked="fd", **off
        ),
        section("freezer lamp/lamp", "lamp", "1 2", "Freezer lamp|15 W", load=True),
        section(
            "defrost stat/bimetal", "break contact", "1 2", "Defrost bimetal|opens 8 °C", actuator="temperature", **on
        ),
        section("defrost fuse/link", "thermal cut-off", "1 2", "Thermal fuse|72 °C"),
        section("defrost heater/heater", "heater", "1 2", "Defrost heater|27 Ω", load=True),
        section("drain heater/heater", "heater", "1 2", "Drain heater|900 Ω", load=True),
        section("food door/contact", "break contact", "1 2", "Food door|open: lamps", actuator="door", **off),
        section("food lamp/lamp", "lamp", "1 2", "Food lamp|25 W", load=True),
        section("food lamp 2/lamp", "lamp", "1 2", "Food lamp 2|25 W", load=True),
        section("saver/contact", "make contact", "1 2", "Energy saver", actuator="push", **off),
        section("mullion/heater", "heater", "1 2", "Mullion heater|1.9 kΩ", load=True),
        section("sensor/ntc", "ntc", "1 2", "Air sensor|10 kΩ at 25 °C"),
        section("damper/motor", "motor", "1 2", "Damper motor", load=True),
    ]
    wired = """
        BK  plug.L  entry.L
        WH  plug.N  entry.N
        GNYE  plug.PE  cabinet.PE
        BK  entry.L  cold control.1
        BN  cold control.2  defrost timer.3
        OG  defrost timer.4  overload.1
        OG  overload.1  condenser fan.1
        OG  condenser fan.1  evaporator fan.1
        BU  overload.2  compressor.C
        RD  compressor.S  starter.1
        RD  starter.1  run capacitor.1
        WH  compressor.R  entry.N
        WH  starter.2  compressor.R
        WH  run capacitor.2  compressor.R
        WH  condenser fan.2  entry.N
        YE  evaporator fan.2  freezer door.NO
        WH  freezer door.C  entry.N
        GY  freezer lamp.2  freezer door.NC
        BK  entry.L  freezer lamp.1
        WH  defrost timer.1  entry.N
        PK  defrost timer.2  defrost fuse.1
        PK  defrost fuse.2  defrost stat.1
        BN/WH  defrost stat.2  defrost heater.1
        BN/WH  defrost heater.1  drain heater.1
        WH  defrost heater.2  entry.N
        WH  drain heater.2  entry.N
        BK  entry.L  food door.1
        VT  food door.2  food lamp.1
        VT  food lamp.1  food lamp 2.1
        WH  food lamp.2  entry.N
        WH  food lamp 2.2  entry.N
        BK  entry.L  saver.1
        BU/WH  saver.2  mullion.1
        WH  mullion.2  entry.N
        BK  entry.L  board.L
        WH  entry.N  board.N
        TQ  board.J1-1  damper.1
        WH  damper.2  entry.N
        GY  board.J2-1  sensor.1
        GY  board.J2-2  sensor.2
        GNYE  cabinet.PE  compressor frame.PE
    """
    rails = {"L1": ("plug.L", "entry.L"), "N": ("plug.N", "entry.N"), "PE": ("plug.PE",)}
    frames = (Frame("cabinet", "cabinet.PE", "Cabinet"), Frame("compressor frame", "compressor frame.PE", "Compressor"))
    board = Box("board", "Damper board", ("board.L", "board.N", "board.J1-1", "board.J2-1", "board.J2-2"))
    return sheet("Frost-free refrigerator, 120 V", elements, wired, rails, frames, (board,))


MACHINES = {"dryer": dryer, "live dryer": live_dryer, "water heater": water_heater, "refrigerator": refrigerator}


def _of_relay(key: str, ends: str, group: str) -> Element:
    return section(key, "make contact", ends, actuator="relay", linked=group, closed=False)


def relay() -> Sheet:
    """A relay that a switch energises: one contact for the heater, one for a lamp."""
    elements = [
        _of_relay("K1/heat", "11 14", "K1"),
        _of_relay("K1/lamp", "21 24", "K1"),
        section("K1/coil", "coil", "A1 A2", linked="K1"),
        section("switch/contact", "make contact", "1 2", actuator="turn", closed=True),
        section("heater/body", "heater", "1 2", load=True),
        section("lamp/body", "lamp", "1 2", load=True),
    ]
    wired = """
        BK  house.L1  K1.11
        BK  K1.11  K1.21
        BK  K1.21  switch.1
        RD  switch.2  K1.A1
        YE  K1.14  heater.1
        BU  K1.24  lamp.1
        WH  heater.2  lamp.2
        WH  lamp.2  K1.A2
        WH  K1.A2  house.N
    """
    return sheet("Relay", elements, wired, {"L1": ("house.L1",), "N": ("house.N",)})


def starter() -> Sheet:
    """A compressor whose starting relay has its coil in series with the run winding."""
    elements = [
        section("compressor/run", "winding", "C R", load=True),
        section("compressor/start", "winding", "C S"),
        section("starter/coil", "coil", "M L", linked="starter"),
        _of_relay("starter/contact", "L S", "starter"),
    ]
    wired = """
        BK  house.L1  starter.L
        BU  starter.M  compressor.R
        RD  starter.S  compressor.S
        WH  compressor.C  house.N
    """
    return sheet("Starter", elements, wired, {"L1": ("house.L1",), "N": ("house.N",)})
