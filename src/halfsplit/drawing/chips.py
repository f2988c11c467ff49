"""Chips: the IEC 60757 code of a wire's colour on the wire, with a stripe, so that it survives black and white.

A net of two terminals has one chip, any other net one at each terminal. May know: the sheet and the theme.
"""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass

from halfsplit.drawing import svg, theme
from halfsplit.drawing.sheet import Sheet, Wire

HEIGHT = 14.0
_STRIPE = 3.6
_PAD = 3.5


@dataclass(frozen=True, slots=True)
class Chip:
    """Words and stripe of a chip; ``wires`` names the wires it stands for."""

    words: str
    colours: tuple[str, ...]
    wires: tuple[str, ...]
    terminal: str

    @property
    def width(self) -> float:
        """Width in px."""
        return theme.width("code", self.words) + 2 * _PAD


def wires_at(sheet: Sheet) -> dict[str, list[Wire]]:
    """Wires that end at every terminal."""
    found: dict[str, list[Wire]] = {}
    for wire in sheet.wires:
        found.setdefault(wire.start, []).append(wire)
        if wire.end != wire.start:
            found.setdefault(wire.end, []).append(wire)
    return found


def _words(kinds: Sequence[tuple[str, ...]]) -> str:
    counted = {kind: kinds.count(kind) for kind in kinds}
    return " ".join((f"{n}×" if n > 1 else "") + "".join(kind) for kind, n in counted.items())


def chip(terminal: str, wires: Sequence[Wire]) -> Chip | None:
    """The chip for the wires at a terminal, or None without wires.

    >>> chip("A.1", [Wire("A.1", "B.1", ("RD",)), Wire("A.1", "C.1", ("RD",))]).words
    '2×RD'
    """
    if not wires:
        return None
    kinds = [wire.colours for wire in wires]
    stripe = tuple(code for kind in dict.fromkeys(kinds) for code in kind)
    return Chip(_words(kinds), stripe, tuple(wire.name or f"{wire.start}-{wire.end}" for wire in wires), terminal)


def spared(nets: Mapping[str, Sequence[str]], first: Mapping[str, bool], kept: Container[str] = ()) -> set[str]:
    """Terminals that need no chip because the other end of their only wire has it.

    ``nets`` gives the drawn terminals of every net (one entry for each place), ``first`` whether a terminal stands
    at the beginning of its wire along the flow; ``kept`` are terminals that keep theirs before any other.
    """
    without: set[str] = set()
    for terminals in nets.values():
        if len(terminals) == 2 and len(set(terminals)) == 2:
            chosen = min(terminals, key=lambda t: (t not in kept, not first.get(t, False), t))
            without.update(set(terminals) - {chosen})
    return without


def drawn(found: Chip, x: float, y: float) -> str:
    """A chip centred at a point."""
    wide = found.width
    left, top = x - wide / 2, y - HEIGHT / 2
    paints = theme.stripe(found.colours)
    part = (wide - 4) / len(paints)
    stripes = [
        svg.tag("rect", x=left + 2 + i * part, y=top + HEIGHT - _STRIPE - 1, width=part, height=_STRIPE, fill=paint)
        for i, paint in enumerate(paints)
    ]
    rim = svg.tag("rect", class_="chip-rim", x=left + 2, y=top + HEIGHT - _STRIPE - 1, width=wide - 4, height=_STRIPE)
    return svg.tag(
        "g",
        [
            svg.tag("rect", class_="chip", x=left, y=top, width=wide, height=HEIGHT, rx=3),
            *stripes,
            rim,
            svg.text(x, top + 7.8, found.words, class_="code middle"),
        ],
        class_="wire-chip",
        data_wire=" ".join(found.wires),
        data_terminal=found.terminal,
        data_colour=found.words,
    )
