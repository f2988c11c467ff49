"""Contacts, drawn as they stand, and what moves them.

A closed contact keeps a small blade angle, else it would read as plain wire; a break contact has a stop at its fixed
end. May know: shapes.
"""

from __future__ import annotations

from halfsplit.drawing.symbols.shapes import Symbol, circle

_LEADS = "M-21 0H-10M10 0H21"
_STOP = "M10 0V-7"

ACTUATORS: dict[str, tuple[tuple[str, ...], str]] = {
    "timer": ((circle(5.5, 0, -22), "M0 -25.5V-22H2.8"), "cam timer or clockwork"),
    "push": (("M0 -16V-21M-6 -21H6M-6 -21V-18M6 -21V-18",), "push button"),
    "turn": (("M0 -16V-21M-6 -18V-21H6V-24",), "turned by hand, selector"),
    "door": (("M-6 -18L0 -27L6 -18Z",), "door, lid or limit: moved by a cam or plunger"),
    "temperature": (("M-5.5 -27.5H5.5V-16.5H-5.5Z", "M-3 -19H0V-25H3"), "thermostat"),
    "heat": (("M-5 -18H0V-25H5",), "bimetal, thermal overload"),
    "pressure": (("M-5.5 -17A5.5 5.5 0 0 1 5.5 -17Z", "M0 -22.5V-27"), "pressure"),
    "level": ((circle(3.2, 0, -23), "M-7 -17q2.3 -3 4.6 0t4.6 0t4.6 0"), "float, liquid level"),
    "speed": ((circle(5.5, 0, -22), "M-2.6 -19.5V-22.5A2.6 2.6 0 0 1 2.6 -22.5V-19.5"), "centrifugal, speed"),
    "relay": (("M-5 -27H5V-17H-5Z",), "relay coil"),
    "belt": ((circle(3, -4, -22), circle(3, 4, -22), "M-4 -25H4M-4 -19H4"), "belt or idler"),
    "latch": (("M0 -16V-20M-5 -20H5V-26H2",), "latch or lock"),
    "flame": (("M0 -16C-7 -18 -3 -23 0 -28C3 -23 7 -18 0 -16Z",), "flame, radiant heat"),
    "flow": (("M-7 -21H6M2 -24.5L6 -21L2 -17.5",), "air or water flow"),
    "tilt": (("M-6 -17H6L0 -26ZM0 -17V-21",), "stance, tilt"),
    "electronic": (("M-5 -27H5V-17H-5Z", "M-5 -17L5 -27"), "electronic switch"),
}
"""What moves a contact: strokes above it, and what it means."""


def _blade(breaks: bool, closed: bool) -> str:
    if closed:
        return "M-10 0L12 -5.5" if breaks else "M-10 0L10.6 -2.2"
    return "M-10 0L7 -12" if breaks else "M-10 0L9 -9"


def contact(breaks: bool, closed: bool, actuator: str = "") -> Symbol:
    """A make or break contact as it stands; without an actuator only the contact itself."""
    strokes = [_LEADS, _blade(breaks, closed)] + ([_STOP] if breaks else [])
    knobs = (circle(1.6, -10, 0), *(() if breaks else (circle(1.6, 10, 0),)))
    if not actuator:
        return Symbol(tuple(strokes), (), knobs, up=13, down=4)
    glyph, _ = ACTUATORS[actuator]
    middle = -3 if closed else -6
    return Symbol((*strokes, *glyph), (), knobs, up=28, down=4, dashes=(f"M0 {middle}V-16",))
