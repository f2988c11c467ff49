#!/usr/bin/env python3
"""Draws docs/pictures: example sheets both ways, circuits of one load, every symbol, the pictures beside the wiring.

    .venv/bin/python tools/draw_library.py

Run it after a change of the drawing; a test says when it is due. The bytes are the same each time.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from halfsplit.drawing import circuit, wiring  # noqa: E402
from halfsplit.drawing.pictures import wire_list  # noqa: E402
from halfsplit.drawing.sheet import Element, Net, Rail, Sheet  # noqa: E402
from halfsplit.drawing.symbols import table  # noqa: E402
from tests.drawing import panels, samples  # noqa: E402

FOLDER = ROOT / "docs" / "pictures"
CIRCUITS = (
    ("live dryer", "heater"),
    ("live dryer", "motor"),
    ("water heater", "lower element"),
    ("refrigerator", "damper"),
)
PER_ROW = 6


def symbols() -> Sheet:
    """Every symbol on a ladder, contacts with each actuator."""
    kinds: list[tuple[str, str, bool | None]] = [(kind, "", None) for kind in table.kinds()]
    kinds += [("make contact", actuator, False) for actuator in table.actuators()]
    elements: list[Element] = []
    nets: dict[str, list[str]] = {"L1": ["house.L1"], "N": ["house.N"]}
    for number, (kind, actuator, closed) in enumerate(kinds):
        part = f"S{number}"
        title, lines = (actuator, (kind,)) if actuator else (kind, ())
        elements.append(Element(part, "", kind, f"{part}.1", f"{part}.2", title, lines, actuator, closed))
        row, place = divmod(number, PER_ROW)
        last = place == PER_ROW - 1 or number == len(kinds) - 1
        nets.setdefault("L1" if place == 0 else f"{row}-{place}", []).append(f"{part}.1")
        nets.setdefault("N" if last else f"{row}-{place + 1}", []).append(f"{part}.2")
    made = (Net(n, tuple(t), rail=Rail(n) if n in ("L1", "N") else None) for n, t in nets.items())
    return Sheet("Symbols", tuple(made), tuple(elements))


def pictures() -> Iterator[tuple[str, str]]:
    """File name and SVG of every picture."""
    for name, make in samples.MACHINES.items():
        stem, sheet = name.replace(" ", "-"), make()
        yield f"{stem}-across.svg", wiring.across(sheet).svg
        yield f"{stem}-down.svg", wiring.down(sheet).svg
    for name, part in CIRCUITS:
        picture = circuit.drawn(samples.MACHINES[name](), part)
        yield f"{name}-circuit-{part}.svg".replace(" ", "-"), picture.svg
    yield "symbols.svg", wiring.across(symbols()).svg
    yield "wire-list.svg", wire_list.drawn(samples.water_heater())
    yield from ((f"{name}.svg", draw()) for name, draw in panels.PANELS.items())


def main() -> None:
    """Writes all pictures."""
    FOLDER.mkdir(exist_ok=True)
    for name, text in pictures():
        (FOLDER / name).write_text(text, encoding="utf-8")
        print(FOLDER / name)


if __name__ == "__main__":
    main()
