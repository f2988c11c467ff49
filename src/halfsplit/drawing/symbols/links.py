"""What only connects or protects: fuses, cut-offs, connectors, joints, straps, breaks. May know: shapes."""

from __future__ import annotations

from halfsplit.drawing.symbols.shapes import Symbol, circle, rectangle

_FUSE = (rectangle(15, 5.5),)
_CONTACT, _CROSS = "M-21 0H-10M10 0H21", "M7 -3L13 3M7 3L13 -3"
_PIVOT = (circle(1.6, -10, 0),)

LINKS: dict[str, tuple[Symbol, str]] = {
    "fuse": (Symbol(("M-21 0H21",), _FUSE, up=7, down=7), "fuse"),
    "blown fuse": (Symbol(("M-21 0H-6M6 0H21", "M-9 -4L-3 4M3 -4L9 4"), _FUSE, up=7, down=7), "fuse, open"),
    "thermal cut-off": (
        Symbol(("M-21 0H21", "M-6 -9.5H0V-15H6"), _FUSE, up=16, down=7),
        "thermal fuse or one-shot cut-off",
    ),
    "open thermal cut-off": (
        Symbol(("M-21 0H-6M6 0H21", "M-9 -4L-3 4M3 -4L9 4", "M-6 -9.5H0V-15H6"), _FUSE, up=16, down=7),
        "thermal fuse or one-shot cut-off, open",
    ),
    "breaker": (
        Symbol((_CONTACT, "M-10 0L10.6 -2.2", _CROSS), (), _PIVOT, up=7, down=5),
        "circuit breaker, one pole",
    ),
    "open breaker": (
        Symbol((_CONTACT, "M-10 0L9 -9", _CROSS), (), _PIVOT, up=12, down=5),
        "circuit breaker, one pole, open",
    ),
    "connector": (Symbol(("M-21 0H-4M-9 -5L-4 0L-9 5", "M21 0H3M-2 -5L3 0L-2 5"), up=7, down=7), "plug and socket"),
    "joint": (Symbol(("M-21 0H-4M4 0H21", circle(4)), up=6, down=6), "spade, screw or splice"),
    "strap": (
        Symbol(("M-21 0H21",), (circle(3.4, -13), circle(3.4, 13)), ("M-13 -1.6H13V1.6H-13Z",), up=6, down=6),
        "bond strap",
    ),
    "break": (Symbol(("M-21 0H-7M7 0H21", "M-7 -7L-3 0L-7 7M3 -7L7 0L3 7"), up=8, down=8), "wire or joint, open"),
}
"""Symbol and meaning of every kind of link."""

FRAME = "M-11 0H11M-8 0L-12 6M0 0L-4 6M8 0L4 6"
"""Frame or chassis, hanging from the middle of its upper edge."""
