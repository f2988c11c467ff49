#!/usr/bin/env python3
"""Draws docs/pictures: the machines of the library, every symbol, the pictures beside the wiring.

    .venv/bin/python tools/draw_library.py

Run it after a change of the drawing or of a machine; a test says when it is due. The bytes are the same each time.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from halfsplit.drawing import wiring  # noqa: E402
from halfsplit.drawing.pictures import wire_list  # noqa: E402
from halfsplit.drawing.sheet import Element, Net, Rail, Sheet  # noqa: E402
from halfsplit.drawing.symbols import table  # noqa: E402
from halfsplit.machine import library, model  # noqa: E402
from halfsplit.service import asking, beside, drawing, machines, sheets, standing  # noqa: E402
from tests.drawing import panels, samples  # noqa: E402

FOLDER = ROOT / "docs" / "pictures"
PANELS = ("face", "bars", "curve")
HEAT = {"red": "heater.common", "black": "motor.heat 1"}
MORE: tuple[tuple[str, str, str, dict[str, object]], ...] = (
    ("vented-dryer", "circuit-heater", "high heat", {"part": "heater"}),
    ("vented-dryer", "circuit-motor", "high heat", {"part": "motor"}),
    ("vented-dryer", "leads", "low heat", {"leads": HEAT}),
    ("vented-dryer", "half-tripped", "high heat", {"fault_names": ["breaker: half-tripped, L2 dead"]}),
    (
        "vented-dryer",
        "circuit-heater-cut-off-open",
        "high heat",
        {"part": "heater", "fault_names": ["cut-off: open"], "leads": {"red": "cut-off.1", "black": "cut-off.2"}},
    ),
    ("vented-dryer", "isolated", "high heat", {}),
    ("vented-dryer-3-wire", "circuit-drum-lamp", "high heat", {"part": "drum lamp"}),
    ("water-heater", "circuit-upper-element", "tank cold", {"part": "upper element"}),
    ("water-heater", "circuit-lower-element", "top is hot", {"part": "lower element"}),
    ("water-heater", "isolated", "tank cold", {}),
    ("refrigerator", "circuit-compressor", "cooling", {"part": "compressor"}),
    ("refrigerator", "circuit-freezer-fan", "cooling", {"part": "freezer fan"}),
    ("refrigerator", "defrosting", "defrosting", {}),
)
"""Machine, what stands behind its name, setting, and what is asked for; `isolated` by that name."""
CHARTS = (("vented-dryer", "timer"), ("vented-dryer", "heat selector"), ("refrigerator", "defrost timer"))
FACES = (("vented-dryer", "terminal block"), ("vented-dryer", "heat selector"), ("refrigerator", "defrost timer"))
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


def _usual(machine: model.Machine) -> str:
    return next(iter(machine.settings))


def _drawn(name: str, setting: str, isolated: bool = False, **asked: object) -> str:
    machine = machines.load(name)
    found = drawing.draw(machine, asking.condition(machine, [setting], isolated, ()), **asked)  # type: ignore[arg-type]
    return str(found["svg"])


def of_the_library() -> Iterator[tuple[str, str]]:
    """File name and SVG of every picture of a machine of the library."""
    for name in library.names():
        machine = machines.load(name)
        yield from ((f"{name}-{way}.svg", _drawn(name, _usual(machine), way=way)) for way in drawing.WAYS)
        yield f"{name}-bays.svg", beside.bays(machine)["svg"]
    for name, more, setting, asked in MORE:
        yield f"{name}-{more}.svg", _drawn(name, setting, more == "isolated", **asked)


def of_parts() -> Iterator[tuple[str, str]]:
    """File name and SVG of every picture of one part of a machine."""
    for name, part in CHARTS:
        machine = machines.load(name)
        at = asking.condition(machine, [_usual(machine)], False, ())
        yield f"{name}-chart-{part.replace(' ', '-')}.svg", beside.chart(machine, part, at)["svg"]
    for name, part in FACES:
        yield f"{name}-face-{part.replace(' ', '-')}.svg", beside.face(machines.load(name), part)["svg"]


def gallery(names: list[str]) -> str:
    """The page that shows every picture, each machine's together."""
    lines = ["# Pictures", "", "Drawn by `tools/draw_library.py`: do not edit them by hand."]
    for machine in sorted(library.names()):
        longer = [other for other in library.names() if other.startswith(f"{machine}-")]
        own = [n for n in names if n.startswith(f"{machine}-") and not any(n.startswith(other) for other in longer)]
        lines += ["", f"## {machines.load(machine).title}"]
        lines += [f"\n{n[len(machine) + 1 : -4].replace('-', ' ')}\n\n![{n[:-4]}]({n})" for n in own]
    lines += ["", "## Symbols and other pictures"]
    rest = [n for n in names if not any(n.startswith(f"{machine}-") for machine in library.names())]
    lines += [f"\n![{n[:-4]}]({n})" for n in rest]
    return "\n".join(lines) + "\n"


def pictures() -> Iterator[tuple[str, str]]:
    """File name and text of every picture, and of the page that shows them."""
    made = dict(_pictures())
    yield from made.items()
    yield "README.md", gallery(list(made))


def _pictures() -> Iterator[tuple[str, str]]:
    yield from of_the_library()
    yield from of_parts()
    yield "symbols.svg", wiring.across(symbols()).svg
    yield "relay.svg", wiring.across(samples.relay()).svg
    yield "starter.svg", wiring.down(samples.starter()).svg
    heater = machines.load("water-heater")
    at = asking.condition(heater, [], False, ())
    yield "water-heater-wires.svg", wire_list.drawn(sheets.sheet(standing.standing(heater, at)))
    yield from ((f"{name}.svg", panels.PANELS[name]()) for name in PANELS)


def main() -> None:
    """Writes all pictures."""
    FOLDER.mkdir(exist_ok=True)
    for old in FOLDER.glob("*.svg"):
        old.unlink()
    for name, text in pictures():
        (FOLDER / name).write_text(text, encoding="utf-8")
        print(FOLDER / name)


if __name__ == "__main__":
    main()
