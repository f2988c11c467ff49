"""The face of a connector with its pins, as the hand holds it: cavities in rows, the latch, a chip on each wire.

May know: the panel, chips, the theme.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit.drawing import chips, svg, theme
from halfsplit.drawing.pictures.panel import MARGIN, Panel
from halfsplit.drawing.sheet import Wire

CELL, TALL = 46.0, 50.0


@dataclass(frozen=True, slots=True)
class Cavity:
    """A pin by row and column from 0: its name, the colours of each wire on it, where they go, a lead on it."""

    name: str
    row: int
    column: int
    wires: tuple[tuple[str, ...], ...] = ()
    goes_to: str = ""
    lead: str = ""


@dataclass(frozen=True, slots=True)
class Face:
    """A connector: its cavities, how it is seen, whether the latch is at the top of the picture."""

    title: str
    cavities: tuple[Cavity, ...]
    seen: str = "seen from the wire side"
    latch: bool = True


def drawn(face: Face) -> str:
    """The face as SVG, with a list of pins under it."""
    columns = max((c.column for c in face.cavities), default=0) + 1
    rows = max((c.row for c in face.cavities), default=0) + 1
    cell = max([CELL, *(cell_width(c) for c in face.cavities)])
    width = max(columns * cell + 2 * MARGIN + 16, theme.width("heading", face.title) + 2 * MARGIN, 240.0)
    panel = Panel(face.title, width)
    panel.heading()
    panel.block(MARGIN, face.seen, "note", width - 2 * MARGIN, 13)
    left = (width - columns * cell) / 2
    top = panel.y + 18
    _housing(panel, face, (left - 8, top, columns * cell + 16, rows * TALL + 12))
    for cavity in face.cavities:
        _cavity(panel, cavity, left + (cavity.column + 0.5) * cell, top + 18 + cavity.row * TALL)
    panel.y = top + rows * TALL + 20
    _list(panel, face.cavities)
    return panel.done()


def cell_width(cavity: Cavity) -> float:
    """Room along its row that a cavity needs, px."""
    return max(2 * _half(cavity), _chip(cavity).width if cavity.wires else 0.0) + 10


def _half(cavity: Cavity) -> float:
    """Half the width of a cavity: square unless its name is long."""
    return max(11.0, theme.width("part", cavity.name) / 2 + 4)


def _chip(cavity: Cavity) -> chips.Chip:
    made = chips.chip(cavity.name, [Wire(cavity.name, "", colours) for colours in cavity.wires])
    assert made is not None
    return made


def _housing(panel: Panel, face: Face, place: tuple[float, float, float, float]) -> None:
    x, y, wide, tall = place
    if face.latch:
        latch = [(x + wide / 2 - 18, y), (x + wide / 2 - 13, y - 9), (x + wide / 2 + 13, y - 9), (x + wide / 2 + 18, y)]
        panel.put(svg.tag("path", class_="stroke", d=svg.line(latch)))
        panel.words(x + wide / 2 + 22, y - 3, "latch", "note")
    panel.put(svg.tag("rect", class_="box", x=x, y=y, width=wide, height=tall, rx=5))


def _cavity(panel: Panel, cavity: Cavity, x: float, y: float) -> None:
    look = f"stroke thick lead-{cavity.lead}" if cavity.lead else "stroke"
    half = _half(cavity)
    square = svg.tag("rect", class_=look, x=x - half, y=y - 11, width=2 * half, height=22, rx=3)
    pieces = [square, svg.text(x, y + 4, cavity.name, class_="part middle")]
    if cavity.lead:
        pieces.append(svg.tag("rect", class_=look, x=x - half - 3, y=y - 14, width=2 * half + 6, height=28, rx=5))
    panel.put(svg.tag("g", pieces, class_="cavity", data_terminal=cavity.name, data_lead=cavity.lead))
    if cavity.wires:
        panel.put(chips.drawn(_chip(cavity), x, y + 22))


def _list(panel: Panel, cavities: Sequence[Cavity]) -> None:
    for cavity in cavities:
        words = "; ".join(filter(None, (f"{cavity.lead} lead here" if cavity.lead else "", cavity.goes_to)))
        if words:
            panel.words(MARGIN, panel.y + 10, cavity.name, "part")
            name = max(26.0, theme.width("part", cavity.name) + 8)
            for line in theme.wrapped("label", words, panel.width - 2 * MARGIN - name):
                panel.y += 13
                panel.words(MARGIN + name, panel.y - 3, line, "label")
