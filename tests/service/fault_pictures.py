"""Every picture of a machine of the library under a fault, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.drawing import check, circuit, wiring
from halfsplit.drawing.sheet import Sheet
from halfsplit.service import checking, machines
from tests.drawing import netlists
from tests.service import pictures

Shown = tuple[str, Sheet, wiring.Picture]
"""What was asked for, the sheet that was drawn, the picture."""


def faults(name: str) -> list[str]:
    """Every single fault of a machine of the library."""
    return [str(one["fault"]) for one in checking.faults(name)["faults"]]


def usual(name: str) -> str:
    """The setting in which a machine does its work."""
    return next(iter(machines.load(name).settings))


class Shower:
    """Draws sheets, each only once: many a fault changes nothing that a wiring picture shows."""

    def __init__(self) -> None:
        self.seen: set[tuple[str, Sheet]] = set()

    def shown(self, name: str, setting: str, fault: str) -> Iterator[Shown]:
        """Across, down and the circuit of every part, as far as they are new."""
        for way, draw, house in (("across", wiring.across, None), ("down", wiring.down, True)):
            sheet = pictures.sheet(name, setting, house, fault=fault)
            if self._new(way, sheet):
                yield way, sheet, draw(sheet)
        whole = pictures.sheet(name, setting, True, fault=fault)
        for part in sorted({element.part for element in whole.elements}):
            sheet = circuit.reduced(whole, part)
            if self._new("circuit", sheet):
                yield f"circuit of {part}", sheet, circuit.drawn(whole, part)

    def _new(self, way: str, sheet: Sheet) -> bool:
        fresh = (way, sheet) not in self.seen
        self.seen.add((way, sheet))
        return fresh


def wrong(asked: str, sheet: Sheet, picture: wiring.Picture) -> list[str]:
    """What the checker finds, crossings that could be fewer, a circuit too wide for a phone."""
    found = check.findings(picture.svg, sheet)
    crossings = len(check.crossings(check.read(picture.svg)))
    if crossings > netlists.least_crossings(sheet, crossings):
        found.append(f"{crossings} crossings")
    if asked.startswith("circuit") and picture.width > circuit.PHONE:
        found.append(f"{picture.width:g} px wide")
    return found
