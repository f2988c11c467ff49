"""The wires one by one, as they run from terminal to terminal: the order of a chain is not in a wiring picture.

May know: the sheet, chips, the panel.
"""

from __future__ import annotations

from halfsplit.drawing import chips, svg, theme
from halfsplit.drawing.pictures.panel import MARGIN, PHONE, Panel
from halfsplit.drawing.sheet import Sheet, Wire

_LEADING = 13.0


def ordered(sheet: Sheet) -> list[Wire]:
    """Wires by the part and terminal they start from, as one looks for them at a part."""
    return sorted(sheet.wires, key=lambda wire: (wire.start, wire.end))


def drawn(sheet: Sheet, width: float = PHONE) -> str:
    """The list as SVG: a chip, and both ends in words."""
    panel = Panel(f"{sheet.title}: wires", width)
    panel.heading()
    made = [(wire, chip) for wire in ordered(sheet) if (chip := chips.chip(wire.start, [wire]))]
    left = MARGIN + max((chip.width for _, chip in made), default=0.0) + 10
    for wire, chip in made:
        words = f"{wire.start.replace('.', ' ')} to {wire.end.replace('.', ' ')}"
        lines = theme.wrapped("label", words, width - MARGIN - left)
        panel.put(chips.drawn(chip, MARGIN + chip.width / 2, panel.y + 8))
        for number, line in enumerate(lines):
            panel.words(left, panel.y + 11.5 + _LEADING * number, line, "label", data_wire=chip.wires[0])
        panel.y += max(chips.HEIGHT, _LEADING * len(lines)) + 6
        panel.put(svg.tag("path", class_="grid", d=svg.line([(MARGIN, panel.y - 2), (width - MARGIN, panel.y - 2)])))
    return panel.done()
