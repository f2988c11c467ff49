"""Puts a plan with places on the page: symbols, wires, chips, heads, frames, boxes and their words.

May know: every piece of the package that lays out. Draws; decides nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from halfsplit.drawing import cells, chips, fixtures, graph, lanes, svg, theme, wires
from halfsplit.drawing.canvas import Canvas, Point
from halfsplit.drawing.cells import LINE, TITLE, Cell, End, Style, Way
from halfsplit.drawing.channels import Places
from halfsplit.drawing.graph import Kind
from halfsplit.drawing.plan import Plan
from halfsplit.drawing.sheet import Frame, Rail, Sheet
from halfsplit.drawing.symbols.links import FRAME
from halfsplit.drawing.symbols.shapes import REACH


@dataclass(slots=True)
class Ends:
    """Points of one net: pieces of wire, terminals, and those terminals through which current flows."""

    pieces: list[wires.Piece] = field(default_factory=list)
    terminals: set[Point] = field(default_factory=set)
    carriers: set[Point] = field(default_factory=set)
    chips: int = 0


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

    # wires and terminals

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

    # cells

    def edge(self, node: str, side: int) -> float:
        """Where a node begins for what comes from the left (side -1) or the right (1)."""
        return self.places.bar[node] + side * self.places.half.get(node, 0.0)

    def link(self, index: int, across: float) -> None:
        """All that stands on one link."""
        cell = self.cells[index]
        left, right = self.edge(cell.tail.node, 1), self.edge(cell.head.node, -1)
        if cell.kind is Kind.WIRE:
            self.wire(cell.tail.node, (left, across), (right, across))
        elif cell.kind is Kind.PIN:
            self.pin(cell, self.places.middle[lanes.link_key(index)], left, right, across)
        else:
            self.element(cell, self.places.middle[lanes.link_key(index)], left, right, across)

    def pin(self, cell: Cell, middle: float, left: float, right: float, across: float) -> None:
        """The wire to a pin of a box, its chip, the pin."""
        inner = cell.tail.terminal != ""
        end = cell.tail if inner else cell.head
        self.wire(end.node, (left, across), (right, across))
        self.terminal(graph.node_net(end.node), end.terminal, (right if inner else left, across))
        if end.chip:
            self.chip(end.chip, middle, across)
        self.pin_name(end, right if inner else left, across, 1 if inner else -1)

    def pin_name(self, end: End, along: float, across: float, inward: int) -> None:
        """The name of a pin inside its box."""
        x, y = self.canvas.at(along, across)
        name = cells.terminal_name(end.terminal)
        if self.style.way is Way.ACROSS:
            self.canvas.words(x + 6 * inward, y + 3.2, name, "name", "" if inward > 0 else "end")
        else:
            self.canvas.words(x, y + (13 if inward > 0 else -7), name, "name", "middle")

    def element(self, cell: Cell, middle: float, left: float, right: float, across: float) -> None:
        """A symbol with its terminals, wires, chips and words."""
        flows = self.sheet.elements[cell.item].current
        for end, sign, bar in ((cell.tail, -1, left), (cell.head, 1, right)):
            spot = (middle + sign * REACH, across)
            self.wire(end.node, (bar, across), spot)
            self.terminal(graph.node_net(end.node), end.terminal, spot, flows)
        self.symbol(cell, middle, across, flows)
        self.ends(cell, middle, across)
        if self.style.way is Way.ACROSS:
            self.words_across(cell, middle, across)
        else:
            self.words_down(cell, middle, across)

    def symbol(self, cell: Cell, middle: float, across: float, flows: bool) -> None:
        """The strokes of a symbol and the area that can be touched."""
        found = cell.symbol
        assert found is not None
        element = self.sheet.elements[cell.item]
        look = "stroke thick" if flows else "stroke"
        shapes = [svg.tag("path", class_="blank", d=d) for d in found.bodies]
        shapes += [svg.tag("path", class_=look, d=d) for d in (*found.strokes, *found.bodies)]
        shapes += [svg.tag("path", class_="solid", d=d) for d in found.solids]
        shapes += [svg.tag("path", class_="link", d=d) for d in found.dashes]
        x, y = self.canvas.at(middle, across)
        group = [svg.tag("g", shapes, transform=self.canvas.matrix(middle, across, cell.turned))]
        if found.letter:
            group.append(svg.text(x, y + 4.3, found.letter, class_="letter middle"))
        if found.sign:
            across_page = self.style.way is Way.ACROSS
            sign = (x + 8, y + 17) if across_page else (x + 13, y + 11)
            group.append(svg.text(*sign, found.sign, class_="code middle"))
        if found.sign:
            ahead = -9 if cell.turned else 9
            spot = (x + ahead, y + 17) if self.style.way is Way.ACROSS else (x + 13, y + ahead + 3)
            group.append(svg.text(*spot, found.sign, class_="code middle"))
        corner, other = (
            self.canvas.at(middle - REACH, across - found.up),
            self.canvas.at(middle + REACH, across + found.down),
        )
        group.append(svg.rectangle(corner, other, class_="touch"))
        closed = "" if element.closed is None else ("closed" if element.closed else "open")
        self.canvas.area(*corner, *other, f"symbol {element.key}")
        self.canvas.put(
            "symbols",
            svg.tag(
                "g",
                group,
                class_="symbol",
                data_part=element.part,
                data_element=element.key,
                data_kind=element.kind,
                data_start=element.start,
                data_end=element.end,
                data_state=closed,
                data_current="yes" if flows else "",
            ),
        )

    def ends(self, cell: Cell, middle: float, across: float) -> None:
        """Chips and terminal names on both sides of a symbol."""
        slack = cells.slack(cell) if self.style.way is Way.DOWN else 0.0
        for end, sign in ((cell.tail, -1), (cell.head, 1)):
            name = cells.terminal_name(end.terminal)
            if self.style.way is Way.ACROSS:
                x, y = self.canvas.at(middle + sign * (REACH - 3), across)
                self.name(x, y - 9.5, name, "end" if sign < 0 else "")
                offset = REACH + 3 + (end.chip.width / 2 if end.chip else 0)
            else:
                x, y = self.canvas.at(middle + sign * (REACH + slack + 1), across)
                self.name(x + 8, y + 3.2, name, "")
                offset = REACH + slack + 10 + chips.HEIGHT / 2
            if end.chip:
                self.chip(end.chip, middle + sign * offset, across)
                self.nets[graph.node_net(end.node)].chips += 1
            if end.onward:
                self.onward(end, middle + sign * offset, across)

    def name(self, x: float, y: float, name: str, anchor: str) -> None:
        """The name of a terminal, if it has one."""
        if name:
            self.canvas.words(x, y, name, "name", anchor)

    def onward(self, end: End, along: float, across: float) -> None:
        """A small arrow to the left, to what is joined here but not drawn, with the letter of its note."""
        x, y = self.canvas.at(along, across)
        start = x - (end.chip.width / 2 if end.chip else 0.0)
        tip = start - 10
        arrow = svg.line([(start, y), (tip, y)]) + svg.line([(tip + 3.5, y - 3), (tip, y), (tip + 3.5, y + 3)])
        self.canvas.put("symbols", svg.tag("path", class_="stroke", d=arrow, data_onward=end.terminal))
        self.canvas.words(tip - 3, y + 3.2, end.onward, "name", "end")

    def words_across(self, cell: Cell, middle: float, across: float) -> None:
        """Title over the symbol, lines under it; to the right of a mechanical link."""
        x, y = self.canvas.at(middle, across)
        part = self.sheet.elements[cell.item].part
        x, anchor = (x + 6, "") if cell.aside else (x, "middle")
        aside = 9 if cell.aside else 0
        for number, line in enumerate(reversed(cell.titles)):
            level = y - cells.title_level(cell) - TITLE * number
            self.canvas.words(x + aside, level, line, "part", anchor, data_part=part)
        top = y + max(cell.symbol.down if cell.symbol else 0, 8)
        for number, line in enumerate(cell.lines):
            self.canvas.words(x, top + LINE * (number + 1) - 1.5, line, "label", anchor, data_part=part)

    def words_down(self, cell: Cell, middle: float, across: float) -> None:
        """Title and lines to the right of the symbol, below a mechanical link."""
        x, y = self.canvas.at(middle, across)
        part = self.sheet.elements[cell.item].part
        left = x + (cell.symbol.down if cell.symbol else 0) + 7
        top = y + 2 if cell.aside else y - cells.text_height(cell) / 2
        for number, line in enumerate(cell.titles):
            self.canvas.words(left, top + 9.5 + TITLE * number, line, "part", data_part=part)
        top += TITLE * (len(cell.titles) - 1)
        for number, line in enumerate(cell.lines):
            self.canvas.words(left, top + TITLE + LINE * (number + 1) - 2.5, line, "label", data_part=part)

    # bars, heads, frames, boxes

    def bar(self, node: str, rows: Iterable[float]) -> None:
        """The bar of a net between its rows."""
        along = self.places.bar[node]
        levels = sorted(set(rows))
        if len(levels) > 1:
            self.wire(node, *((along, level) for level in levels))

    def box(self, index: int, node: str, rows: Iterable[float]) -> None:
        """A box over its rows with its title inside."""
        box, size = self.sheet.boxes[index], fixtures.box_size(self.sheet, index, self.style.way)
        levels = sorted(rows)
        start, end = levels[0] - size.over + 4, levels[-1] + size.under - 2
        corner = self.canvas.at(self.places.bar[node] - size.half, start)
        other = self.canvas.at(self.places.bar[node] + size.half, end)
        self.canvas.put("boxes", svg.rectangle(corner, other, class_="box", rx=2, data_part=box.part))
        self.canvas.area(*corner, *other, f"box {box.part}")
        middle = (corner[0] + other[0]) / 2
        top = corner[1] + 4
        if self.style.way is Way.DOWN:
            top = (corner[1] + other[1] - TITLE - LINE * len(box.lines)) / 2
        self.canvas.words(middle, top + 10, box.title, "part", "middle", data_part=box.part)
        for number, line in enumerate(box.lines):
            self.canvas.words(
                middle, top + TITLE + LINE * (number + 1) - 2, line, "label", "middle", data_part=box.part
            )

    def head_spots(self, node: str) -> list[Point]:
        """Where the terminals of a head stand, from the rail outwards; one place where there are none."""
        found, along = self.heads[node], self.places.bar[node]
        steps = [found.pitch * k for k in range(max(1, len(found.terminals)))]
        for rung, across in zip(self.plan.rungs, self.places.row, strict=True):
            if node in self.plan.inline and node in rung.nodes:
                out = -1 if node == rung.nodes[0] else 1
                return [(along + out * step, across) for step in steps]
            if rung.nodes == (node,) and not rung.bus:
                return [(along, across - step) for step in steps]
        return []

    def head(self, node: str) -> None:
        """The name of a rail and the terminals between it and the house."""
        found, spots = self.heads[node], self.head_spots(node)
        self.wire(node, *spots)
        for number, (terminal, spot) in enumerate(zip(found.terminals, spots, strict=False)):
            self.terminal(node, terminal, spot)
            self.feed_name(found, fixtures.feed_name(terminal), spot)
            if number:
                self.chip_between(found.between[number - 1], spots[number - 1], spot)
        self.rail_name(node, found, spots[-1])

    def rail_name(self, node: str, found: fixtures.Head, spot: Point) -> None:
        """The name of a rail beyond its outermost terminal."""
        x, y = self.canvas.at(*spot)
        if not found.upright:
            after = node in self.plan.inline and self.plan.rank[node] > 0
            self.canvas.words(
                x + 10 if after else x - 10, y + 5, found.rail.value, "rail", "" if after else "end", data_net=node
            )
        elif node in self.plan.inline and self.plan.rank[node] > 0:
            self.canvas.words(x, y + 19, found.rail.value, "rail", "middle", data_net=node)
        else:
            self.canvas.words(x, y - 9, found.rail.value, "rail", "middle", data_net=node)

    def chip_between(self, chip: chips.Chip | None, one: Point, two: Point) -> None:
        """A chip halfway between two terminals of a feed."""
        if chip:
            self.chip(chip, (one[0] + two[0]) / 2, (one[1] + two[1]) / 2)

    def feed_name(self, found: fixtures.Head, name: str, spot: Point) -> None:
        """The name of a terminal of a feed, away from where other rails stand."""
        x, y = self.canvas.at(*spot)
        if not found.upright:
            self.canvas.words(x, y - 10, name, "name", "middle")
        elif found.rail is Rail.N and self.style.way is Way.ACROSS:
            self.canvas.words(x - 8, y + 3.2, name, "name", "end")
        else:
            self.canvas.words(x + 8, y + 3.2, name, "name")

    def bus(self, node: str, number: int, frames: Sequence[Frame], across: float) -> None:
        """Frames that hang on a row of their own."""
        keys = (lanes.frame_key(number, place) for place in range(1, len(frames)))
        spots = [self.places.bar[node], *(self.places.middle[key] for key in keys)]
        for before, along, frame in zip([spots[0], *spots], spots, frames, strict=False):
            self.wire(node, (before, across), (along, across))
            self.frame(node, frame, along, across)

    def frame(self, node: str, frame: Frame, along: float, across: float) -> None:
        """One frame with its drop, chip, terminal and words."""
        chip = fixtures.frame_chip(self.sheet, frame)
        room = chip.width if chip and self.style.way is Way.DOWN else chips.HEIGHT
        end = across + 16 + room
        self.wire(node, (along, across), (along, end))
        self.terminal(node, frame.terminal, (along, end))
        if chip:
            self.chip(chip, along, across + 8 + room / 2)
        stroke = [svg.tag("path", class_="stroke", d=d) for d in ("M0 -9V0", FRAME)]
        drawn = svg.tag("g", stroke, transform=self.canvas.matrix(along, end + 9, False))
        self.canvas.put("symbols", svg.tag("g", [drawn], class_="frame", data_part=frame.part))
        x, y = self.canvas.at(along, end + 9)
        x, y = (x + 15, y) if self.style.way is Way.ACROSS else (x + 11, y - 2)
        self.canvas.words(x, y, frame.part, "part", data_part=frame.part)
        if frame.title:
            self.canvas.words(x, y + LINE, frame.title, "label", data_part=frame.part)

    # the whole

    def draw(self) -> list[wires.Track]:
        """Draws everything; returns the wires."""
        frames = fixtures.bus_frames(self.plan, self.sheet)
        rows: dict[str, list[float]] = {}
        for number, (rung, across) in enumerate(zip(self.plan.rungs, self.places.row, strict=True)):
            for node in rung.nodes:
                rows.setdefault(node, []).append(across)
            for index in rung.links:
                self.link(index, across)
            if rung.bus:
                self.bus(rung.nodes[0], number, frames[number], across)
        for node in self.heads:
            if node in self.places.bar:
                self.head(node)
        boxes = {graph.box_node(box.part): index for index, box in enumerate(self.sheet.boxes)}
        for node, levels in rows.items():
            if node in boxes:
                self.box(boxes[node], node, levels)
            else:
                self.bar(node, levels)
        return self.tracks()

    def tracks(self) -> list[wires.Track]:
        """The wires of every net, put on the page with their dots."""
        made = []
        for net in self.sheet.nets:
            ends = self.nets[net.name]
            if len(ends.terminals) == 1 and net.name not in self.heads and not ends.chips:
                ends.pieces.clear()  # a stub that leads nowhere
            fed = {self.canvas.at(*spot) for spot in self.fed_at(net.name)} if ends.carriers else set()
            track = wires.track(net.name, ends.pieces, frozenset(ends.terminals), frozenset(ends.carriers | fed))
            made.append(track)
            self.put_track(track)
        return made

    def fed_at(self, net: str) -> list[Point]:
        """Where the house feeds a net: at the outer end of its head."""
        return self.head_spots(net)[-1:] if net in self.heads else []

    def put_track(self, track: wires.Track) -> None:
        """Wires and dots of a net."""
        for piece, flows in zip(track.pieces, track.current, strict=True):
            look = "wire current" if flows else "wire"
            self.canvas.put("wires", svg.tag("path", class_=look, d=svg.line(piece), data_net=track.net))
        for x, y in track.dots:
            self.canvas.put("dots", svg.tag("circle", class_="dot", cx=x, cy=y, r=3, data_net=track.net))


def extent(page: Page, tracks: Iterable[wires.Track]) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of all that is drawn."""
    xs = [x for track in tracks for piece in track.pieces for x, _ in piece]
    ys = [y for track in tracks for piece in track.pieces for _, y in piece]
    areas = page.canvas.areas
    lefts, tops = [a.left for a in areas] + xs, [a.top for a in areas] + ys
    rights, bottoms = [a.right for a in areas] + xs, [a.bottom for a in areas] + ys
    return (min(lefts, default=0), min(tops, default=0), max(rights, default=0), max(bottoms, default=0))


HEADING = theme.size("heading") + 12
"""Height of the heading of a page, px."""
