"""Loads and sources: what turns current into heat, motion, light, sound or a signal. May know: shapes."""

from __future__ import annotations

from halfsplit.drawing.symbols.shapes import Symbol, boxed, bumps, circle, leads, rectangle, round_

_SLANT = "M-12 11L12 -11"
_SLANT_FOOT = "M-17 11H-12L12 -11"

LOADS: dict[str, tuple[Symbol, str]] = {
    "heater": (boxed(15, 6.5, "M-7.5 -6.5V6.5M0 -6.5V6.5M7.5 -6.5V6.5"), "heating element"),
    "resistor": (boxed(15, 5.5), "resistor"),
    "igniter": (
        boxed(
            15, 6.5, "M-11 0L-7.5 -4L-2.5 4L2.5 -4L7.5 4L11 0", "M-8 -10L-9.5 -13.5M0 -10V-14M8 -10L9.5 -13.5", up=15
        ),
        "glow igniter",
    ),
    "spark igniter": (
        Symbol(("M-21 0H-5M5 0H21", "M-3 -7L1 -1H-2L3 7"), (), ("M-9 -4L-3 0L-9 4Z", "M9 -4L3 0L9 4Z")),
        "spark gap",
    ),
    "motor": (round_(13, letter="M"), "motor"),
    "timer motor": (round_(13, circle(4.5, 0, -20), "M0 -23V-20H2.4", letter="M", up=26), "timer motor"),
    "fan motor": (
        round_(13, "M0 -20C-8 -28 -13 -20 0 -20C8 -12 13 -20 0 -20", letter="M", up=26),
        "fan motor",
    ),
    "pump motor": (round_(13, letter="M", solids=("M-5 -14L0 -21L5 -14Z",), up=23), "pump motor"),
    "universal motor": (
        Symbol(("M-21 0H-16M16 0H21",), (circle(12),), ("M-16 -4H-11V4H-16Z", "M11 -4H16V4H11Z"), "M", 13, 13),
        "armature with brushes",
    ),
    "winding": (Symbol((f"M-21 0H-16{bumps(4, 4, -16)[len('M-16 0') :]}H21",), up=6, down=3), "winding"),
    "core winding": (
        Symbol((f"M-21 0H-16{bumps(4, 4, -16)[len('M-16 0') :]}H21", "M-12 -7.5H12M-12 -10H12"), up=12, down=3),
        "winding on an iron core, transformer",
    ),
    "coil": (boxed(9, 11), "relay or contactor coil"),
    "valve coil": (boxed(13, 9, "M-9 -5L9 5V-5L-9 5Z"), "water valve coil"),
    "gas valve coil": (
        boxed(13, 9, "M-9 -5L9 5V-5L-9 5Z", "M0 -12C-5 -14 -2 -18 0 -22C2 -18 5 -14 0 -12Z", up=23),
        "gas valve coil",
    ),
    "lock coil": (boxed(13, 9, "M-5 6H5V-1H-5ZM-3 -1V-3A3 3 0 0 1 3 -3V-1"), "door lock coil or wax motor"),
    "lamp": (round_(11, "M-7.8 -7.8L7.8 7.8M-7.8 7.8L7.8 -7.8"), "lamp"),
    "neon": (round_(11, "M-11 0H-3M-3 -5V5M3 -5V5M3 0H11", solids=(circle(1.4, 0, 6.5),)), "neon pilot"),
    "buzzer": (Symbol(("M-21 0H21",), ("M-12 0A12 12 0 0 1 12 0Z",), up=13, down=3), "buzzer"),
    "magnetron": (
        round_(13, "M-13 0H-5V-5M-5 0V5M5 0H13", "M5 -7A8 8 0 0 1 5 7", "M-3 -17H3M0 -17V-21", up=22),
        "magnetron",
    ),
    "tachometer": (round_(12, letter="G"), "tachometer generator"),
    "hall sensor": (boxed(12, 9, "M-5 -4V4M5 -4V4M-5 0H5"), "hall sensor"),
    "ntc": (boxed(15, 5.5, _SLANT_FOOT, up=12, sign="−t°"), "temperature sensor, falling resistance"),
    "ptc": (boxed(15, 5.5, _SLANT_FOOT, up=12, sign="+t°"), "starter or sensor, rising resistance"),
    "rtd": (boxed(15, 5.5, _SLANT, up=12, sign="t°"), "resistance thermometer"),
    "varistor": (boxed(15, 5.5, _SLANT_FOOT, up=12, sign="U"), "varistor"),
    "capacitor": (Symbol(("M-21 0H-3M3 0H21M-3 -10V10M3 -10V10",), up=11, down=11), "capacitor"),
    "diode": (Symbol((leads(7), "M7 -7V7"), ("M-7 -7L7 0L-7 7Z",), up=8, down=8), "diode"),
    "triac": (
        Symbol((leads(7), "M-7 -9V9M7 -9V9", "M0 -10V-14"), ("M-7 -8L7 -4L-7 0Z", "M7 0L-7 4L7 8Z"), up=15, down=10),
        "triac or solid state output",
    ),
    "sensor bars": (
        Symbol(("M-21 0H-5M5 0H21", "M-5 -9V9M5 -9V9", "M-2 6q2 -3 4 0M-2 -2q2 -3 4 0"), up=10, down=10),
        "moisture bars",
    ),
    "supply": (boxed(13, 10, "M-13 10L13 -10", "M-10 -5q2 -3.5 4 0t4 0M3 5H10M3 8H10"), "power supply"),
    "source": (round_(12, "M-6 0q3 -7 6 0t6 0"), "source of alternating voltage"),
    "impedance": (Symbol((leads(15),), (rectangle(15, 7),), up=8, down=8), "any load"),
}
"""Symbol and meaning of every kind of load."""
