"""Examples of the pictures beside the wiring, of our own invention."""

from __future__ import annotations

import math

from halfsplit.drawing.pictures import bars, bays, chart, curve, face


def timer_chart() -> str:
    """The chart of the sample dryer's timer."""
    positions = ("off", "timed dry", "auto dry", "cool down", "air only")
    rows = (
        chart.Contact("A - B", "heat", (False, True, True, False, False)),
        chart.Contact("A - C", "motor", (False, True, True, True, True)),
        chart.Contact("A - D", "buzzer", (False, False, False, True, False)),
        chart.Contact("M - N", "timer motor", (False, True, False, True, True)),
    )
    return chart.drawn(chart.Chart("Timer: contacts", positions, rows, chosen=2))


def bay_tree() -> str:
    """Bays of the sample dryer."""
    found = (
        bays.Bay("top panel", opening="3 min, 2 x PH2", holds=("timer", "heat selector", "start button"), open=True),
        bays.Bay(
            "back panel", opening="4 min, 8 x hex 1/4", holds=("terminal block", "heater", "high limit", "cut-off")
        ),
        bays.Bay(
            "front panel", behind="top panel", opening="6 min, 2 clips and 2 x PH2", holds=("door switch", "drum lamp")
        ),
        bays.Bay(
            "drum",
            behind="front panel",
            opening="8 min",
            holds=("motor", "belt switch"),
            cautions=("CAUTION: sharp edges",),
        ),
        bays.Bay(
            "blower", behind="back panel", opening="5 min, 4 x hex 5/16", holds=("thermal fuse", "cycling thermostat")
        ),
    )
    return bays.drawn("What is behind what", found)


def plug_face() -> str:
    """A motor plug with a lead on one pin."""
    pins = (
        face.Cavity("1", 0, 0, (("BU",),), "belt switch 2", "red"),
        face.Cavity("2", 0, 1, (("OG",),), "start button 1"),
        face.Cavity("3", 0, 2, (("YE",),), "door switch NO", "black"),
        face.Cavity("4", 1, 0, (("RD", "WH"),), "heat selector P"),
        face.Cavity("5", 1, 1),
        face.Cavity("6", 1, 2, (("RD",),), "terminal block L2"),
    )
    return face.drawn(face.Face("Motor plug", pins))


def cause_bars() -> str:
    """Causes of a cold dryer."""
    found = (
        bars.Cause("Heater: coil 1 open", 0.46, "renew the heater"),
        bars.Cause("Cut-off: open, after a blocked vent", 0.27, "clear the vent, renew the cut-off and the high limit"),
        bars.Cause("Supply: leg L2 lost at the breaker", 0.15, "reset the breaker; if it trips again, find out why"),
        bars.Cause("Motor: heat contact does not close", 0.08, "renew the motor"),
        bars.Cause("Something this file does not say", 0.04, "", outside=True),
    )
    return bars.drawn("Possible causes", found)


def heat_course() -> str:
    """Outlet air of a dryer whose thermostat cycles, and with a blocked vent."""
    clear = tuple(
        (t / 4, 22 + 46 * (1 - math.exp(-t / 18)) + (3 * math.sin(t / 2.5) if t > 60 else 0)) for t in range(161)
    )
    blocked = tuple((t / 4, 22 + 72 * (1 - math.exp(-t / 12))) for t in range(161))
    levels = (curve.Level("cycling thermostat opens, 68 °C", 68), curve.Level("thermal fuse opens, 91 °C", 91))
    found = (curve.Curve("outlet air, vent clear", clear), curve.Curve("vent blocked", blocked))
    return curve.drawn(curve.Course("Temperature at the outlet", found, levels))


PANELS = {"chart": timer_chart, "bays": bay_tree, "face": plug_face, "bars": cause_bars, "curve": heat_course}
