"""A page in the making: wires and terminals by net, chips, and where on the page a place of the plan is.

May know: the canvas, cells, places. May not know: in which order things are drawn.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from halfsplit.drawing import cells, chips, fixtures, graph, svg, wires
from halfsplit.drawing.canvas import Canvas, Point
from halfsplit.drawing.cells import Cell, Style, Way
from halfsplit.drawing.channels import Places
from halfsplit.drawing.plan import Plan
from halfsplit.drawing.sheet import Sheet


@dataclass(slots=True)
class Ends:
    """Points of one net: pieces of wire, terminals, and those terminals through which current flows.

    ``told`` counts the ends that have a chip or an arrow, which need a wire to stand on.
    """

    pieces: list[wires.Piece] = field(default_factory=list)
    terminals: set[Point] = field(default_factory=set)
    carriers: set[Point] = field(default_factory=set)
    told: int = 0


class Page:
    """One drawing in the making."""

    def __init__(
        self, plan: Plan, sheet: Sheet, style: Style, places: Places, found: Mapping[int, Cell], shift: Point
    ) -> None:
        self.plan, self.sheet, self.style, self.places, self.cells = plan, sheet, style, places, found
        self.canvas = Canvas(style.way, shift)
        self.nets: dict[str, Ends] = {net.name: Ends() for net in sheet.nets}
        self.spots: dict[str, list[Point]] = {}
        self.heads = {
            net.name: fixtures.head(sheet, net, (style.way is Way.ACROSS) != (net.name in plan.inline))
            for net in sheet.nets
            if net.rail
        }

    def wire(self, node: str, *spots: Point) -> None:
        """A run of wire of a node through places along and across."""
        points = [self.canvas.at(*spot) for spot in spots]
        self.nets[graph.node_net(node)].pieces += list(pairwise(points))

    def terminal(self, net: str, terminal: str, spot: Point, carries: bool = False) -> None:
        """A terminal's ring at a place along and across."""
        point = self.canvas.at(*spot)
        ends = self.nets[net]
        ends.terminals.add(point)
        self.spots.setdefault(terminal, []).append(point)
        if carries:
            ends.carriers.add(point)
        ring = svg.tag(
            "circle",
            class_="terminal inner" if cells.inner(terminal) else "terminal",
            cx=point[0],
            cy=point[1],
            r=1 if cells.inner(terminal) else 2.6,
            data_terminal=terminal,
            data_part=terminal.rpartition(".")[0],
            data_net=net,
        )
        self.canvas.put("dots", ring)

    def chip(self, found: chips.Chip, along: float, across: float) -> None:
        """A chip centred at a place."""
        x, y = self.canvas.at(along, across)
        self.canvas.area(x - found.width / 2, y - 7, x + found.width / 2, y + 7, f"chip {found.terminal}")
        self.canvas.put("chips", chips.drawn(found, x, y))

    def edge(self, node: str, side: int) -> float:
        """Where a node begins for what comes from the left (side -1) or the right (1)."""
        return self.places.bar[node] + side * self.places.half.get(node, 0.0)
