"""Every picture of a machine of the library under a fault, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import networkx  # type: ignore[import-untyped]

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
    if crossings > least_crossings(sheet, crossings):
        found.append(f"{crossings} crossings")
    if asked.startswith("circuit") and picture.width > circuit.PHONE:
        found.append(f"{picture.width:g} px wide")
    return found


def least_crossings(sheet: Sheet, most: int) -> int:
    """The least number of crossings of a sheet's nets and elements, at most ``most``, by trying all pairs of edges."""
    return next((count for count in range(most) if _drawable(netlists.graph(sheet, with_house=False), count)), most)


def _drawable(graph: networkx.Graph, crossings: int) -> bool:
    """Whether a graph is planar once so many pairs of its edges are joined where they cross."""
    if networkx.check_planarity(graph)[0]:
        return True
    if not crossings:
        return False
    for (a, b), (c, d) in combinations(list(graph.edges), 2):
        if len({a, b, c, d}) == 4:
            crossed = graph.copy()
            crossed.remove_edges_from([(a, b), (c, d)])
            middle = f"crossing {graph.number_of_nodes()}"
            crossed.add_edges_from((middle, end) for end in (a, b, c, d))
            if _drawable(crossed, crossings - 1):
                return True
    return False
