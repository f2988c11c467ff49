"""How every class of a picture looks, in light and in dark, as one table; the style sheet is written from it.

Rules for the look: ink carries the circuit; hatching, dashes and thickness carry meaning before colour does, so that
a black and white print loses nothing. No blue for what is live (IEC 60445 gives blue to the neutral); amber is the
warning colour of ISO 3864. May know: nothing.
"""

from __future__ import annotations

from functools import cache

from halfsplit.drawing import fonts

Rule = tuple[str, str, str]
"""Class, declarations in light, declarations that differ in dark."""

INK, PAPER, MUTED = "#16181d", "#ffffff", "#585f6b"
INK_DARK, PAPER_DARK, MUTED_DARK = "#eceef2", "#14161a", "#a9b0bb"

RULES: tuple[Rule, ...] = (
    ("page", f"fill:{PAPER}", f"fill:{PAPER_DARK}"),
    ("wire", f"fill:none;stroke:{INK};stroke-width:1.4;stroke-linecap:square", f"stroke:{INK_DARK}"),
    ("current", "stroke-width:3", ""),
    ("stroke", f"fill:none;stroke:{INK};stroke-width:1.5;stroke-linejoin:round", f"stroke:{INK_DARK}"),
    ("thick", "stroke-width:2.6", ""),
    ("solid", f"fill:{INK};stroke:none", f"fill:{INK_DARK}"),
    ("blank", f"fill:{PAPER};stroke:none", f"fill:{PAPER_DARK}"),
    ("dot", f"fill:{INK}", f"fill:{INK_DARK}"),
    ("terminal", f"fill:{PAPER};stroke:{INK};stroke-width:1.2", f"fill:{PAPER_DARK};stroke:{INK_DARK}"),
    ("inner", f"fill:{INK}", f"fill:{INK_DARK}"),
    (
        "link",
        f"fill:none;stroke:{INK};stroke-width:1.1;stroke-dasharray:3.5 2.5;pointer-events:none",
        f"stroke:{INK_DARK}",
    ),
    ("touch", "fill:none;stroke:none;pointer-events:all", ""),
    ("edge", f"fill:none;stroke:{MUTED};stroke-width:1", f"stroke:{MUTED_DARK}"),
    ("box", f"fill:{PAPER};stroke:{INK};stroke-width:1.5", f"fill:{PAPER_DARK};stroke:{INK_DARK}"),
    ("live-rim", "fill:none;stroke:#8a4b00;stroke-width:11;stroke-linecap:square", "stroke:#ffb347"),
    ("live-gap", "fill:none;stroke:#fff4e0;stroke-width:9.4;stroke-linecap:square", "stroke:#33240d"),
    ("live-band", "fill:none;stroke-width:9.4;stroke-linecap:square", ""),
    ("live-hatch", "stroke:#d07a10;stroke-width:1.7", "stroke:#ffb347"),
    ("doubt-rim", f"fill:none;stroke:{MUTED};stroke-width:10;stroke-dasharray:5 3", f"stroke:{MUTED_DARK}"),
    ("doubt-gap", f"fill:none;stroke:{PAPER};stroke-width:8;stroke-linecap:square", f"stroke:{PAPER_DARK}"),
    ("chip", f"fill:{PAPER};stroke:{INK};stroke-width:.9", "fill:#23262c;stroke:#9aa1ac"),
    ("chip-rim", f"fill:none;stroke:{INK};stroke-width:.5", "stroke:#9aa1ac"),
    ("casing", f"fill:none;stroke:{PAPER};stroke-width:5;stroke-linejoin:round", f"stroke:{PAPER_DARK}"),
    ("casing-black", "", "stroke:#dfe3ea"),
    ("lead", "fill:none;stroke-width:2.2;stroke-linejoin:round", ""),
    ("lead-red", "stroke:#c1121f", "stroke:#ff6b6b"),
    ("lead-black", "stroke:#111111", "stroke:#000000"),
    ("tip-red", "fill:#c1121f;stroke:#ffffff;stroke-width:.8", "fill:#ff6b6b;stroke:#14161a"),
    ("tip-black", "fill:#111111;stroke:#ffffff;stroke-width:.8", "fill:#000000;stroke:#dfe3ea;stroke-width:1.2"),
    ("flag-red", "fill:#c1121f", ""),
    ("flag-black", "fill:#111111", "fill:#000000;stroke:#dfe3ea;stroke-width:1.2"),
    ("on", f"fill:{INK}", f"fill:{INK_DARK}"),
    ("off", f"fill:none;stroke:{MUTED};stroke-width:.8", f"stroke:{MUTED_DARK}"),
    ("grid", f"fill:none;stroke:{MUTED};stroke-width:.5;stroke-opacity:.6", f"stroke:{MUTED_DARK}"),
    ("chosen", "fill:#fff1d6", "fill:#3a2b10"),
    ("bar", "fill:#3d6f5d", "fill:#7fc4a8"),
    ("bar-rest", f"fill:none;stroke:{MUTED};stroke-width:1;stroke-dasharray:3 2", f"stroke:{MUTED_DARK}"),
    ("curve", "fill:none;stroke:#3d6f5d;stroke-width:2.2;stroke-linejoin:round", "stroke:#7fc4a8"),
    ("curve-2", "stroke:#8a4b00;stroke-dasharray:7 3", "stroke:#ffb347"),
    ("curve-3", f"stroke:{MUTED};stroke-dasharray:2 3", f"stroke:{MUTED_DARK}"),
)

TEXTS: tuple[tuple[str, float, bool, bool], ...] = (
    ("heading", 15, True, False),
    ("rail", 15, True, False),
    ("part", 11.5, True, False),
    ("label", 10, False, False),
    ("name", 9, True, True),
    ("code", 8.5, True, False),
    ("letter", 12, True, False),
    ("note", 10, False, True),
    ("flag", 10.5, True, False),
    ("card", 15, True, False),
    ("read", 13, False, False),
    ("aside", 13, False, True),
)
"""Class, size in px, bold, muted."""

_SIZES = {name: (size, bold) for name, size, bold, _ in TEXTS}


def size(kind: str) -> float:
    """Font size in px of a class of text."""
    return _SIZES[kind][0]


def width(kind: str, words: str) -> float:
    """Width in px of words in a class of text."""
    points, bold = _SIZES[kind]
    return fonts.width(words, points, bold)


def wrapped(kind: str, words: str, limit: float) -> tuple[str, ...]:
    """Words in a class of text, broken into lines no wider than ``limit`` px where that is possible.

    >>> wrapped("heading", "Vented dryer: bays", 120), wrapped("note", "Vented dryer: bays", 120)
    (('Vented dryer:', 'bays'), ('Vented dryer: bays',))
    """
    points, bold = _SIZES[kind]
    return fonts.wrapped(words, points, limit, bold)


def _text_rules() -> list[Rule]:
    return [
        (
            name,
            f"font-size:{points}px;font-weight:{700 if bold else 400};fill:{MUTED if muted else INK};stroke:none",
            f"fill:{MUTED_DARK if muted else INK_DARK}",
        )
        for name, points, bold, muted in TEXTS
    ] + [
        ("on-flag", "fill:#ffffff", "fill:#ffffff"),
        ("middle", "text-anchor:middle", ""),
        ("end", "text-anchor:end", ""),
    ]


@cache
def css() -> str:
    """The style sheet: light by default, dark by the reader's preference or by the class ``dark`` on the page.

    A picture that is a page of its own (``:root``) darkens what is beside it too.
    """
    rules = [*RULES, *_text_rules()]
    light = "".join(f".drawing .{name}{{{style}}}" for name, style, _ in rules if style)
    dark = [(name, style) for name, _, style in rules if style]
    chosen = "".join(f".dark .drawing .{name},.drawing.dark .{name}{{{style}}}" for name, style in dark)
    preferred = "".join(f".drawing:not(.light,.light *) .{name}{{{style}}}" for name, style in dark)
    return (
        f".drawing{{font-family:{fonts.FAMILY}}}{light}{chosen}"
        f"@media (prefers-color-scheme:dark){{{preferred}}}"
        ".drawing:root{color-scheme:light dark}@media print{.drawing:root{color-scheme:light}}"
        "@media (max-device-width:600px){.drawing:root{width:100%;height:auto}}"
    )


WIRE_COLOURS: dict[str, str] = {
    "BK": "#1b1b1b",
    "BN": "#7a4a21",
    "RD": "#d3222a",
    "OG": "#ef7d00",
    "YE": "#f7d417",
    "GN": "#1f8a3b",
    "BU": "#1f62c0",
    "VT": "#7b3fa0",
    "GY": "#8d9299",
    "WH": "#ffffff",
    "PK": "#f39ab8",
    "TQ": "#20a39e",
    "GD": "#c9a227",
    "SR": "#c3c8ce",
}
"""Paint of the stripe for each code of IEC 60757; GNYE is painted as its two colours."""


def stripe(colours: tuple[str, ...]) -> tuple[str, ...]:
    """Paints of a wire's stripe, left to right.

    >>> stripe(("GNYE",)) == stripe(("GN", "YE"))
    True
    """
    codes = [half for code in colours for half in (("GN", "YE") if code == "GNYE" else (code,))]
    return tuple(WIRE_COLOURS[code] for code in codes)
