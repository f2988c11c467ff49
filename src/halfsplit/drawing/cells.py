"""Cells: how much room everything on a rung needs, along the flow and across it.

May know: the plan, symbols, text widths. May not know: where a cell will stand.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

from halfsplit.drawing import chips, graph, theme
from halfsplit.drawing.chips import Chip
from halfsplit.drawing.graph import Kind
from halfsplit.drawing.plan import Plan
from halfsplit.drawing.sheet import Sheet
from halfsplit.drawing.symbols import table
from halfsplit.drawing.symbols.shapes import REACH, Symbol

LINE, TITLE, CLEAR, TIGHT, ONWARD = 11.5, 12.0, 6.0, 3.0, 22.0
"""Height of a label line and of a title, free wire before a bar and where paper is scarce, length of an arrow, px."""


class Way(Enum):
    """Which way the current flows on the page."""

    ACROSS = "across"
    DOWN = "down"


@dataclass(frozen=True, slots=True)
class Room:
    """Room on the four sides of a point: before and after it along the flow, over and under it across."""

    before: float = 0.0
    after: float = 0.0
    over: float = 0.0
    under: float = 0.0


@dataclass(frozen=True, slots=True)
class End:
    """One end of a cell: its terminal ('' for none), the node it leads to, its chip."""

    node: str
    terminal: str = ""
    chip: Chip | None = None
    onward: str = ""

    @property
    def half(self) -> float:
        """How far a chip and an arrow to what is not drawn reach to the side of the wire."""
        chip = self.chip.width / 2 if self.chip else 0.0
        return chip + ONWARD if self.onward else chip


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands on one link: its two ends along the flow, the symbol and whether it is turned, its words."""

    kind: Kind
    item: int
    tail: End
    head: End
    symbol: Symbol | None = None
    turned: bool = False
    titles: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    aside: bool = False
    """Words beside a mechanical link instead of across it."""


@dataclass(frozen=True, slots=True)
class Style:
    """The way of the flow, the widest label line and the margin in px, whether symbols may stand out of line.

    ``closer`` is by how many px columns flowing down are pushed together beyond what looks best.
    """

    way: Way
    label: float = 104.0
    margin: float = 16.0
    ragged: bool = False
    closer: float = 0.0


def terminal_name(terminal: str) -> str:
    """The name of a terminal on its part; none for one that lies inside.

    >>> terminal_name("timer.A"), terminal_name("motor.~J")
    ('A', '')
    """
    return "" if inner(terminal) else terminal.rpartition(".")[2] or terminal


def inner(terminal: str) -> bool:
    """Whether a terminal lies inside its part, where no lead reaches it."""
    return terminal.rpartition(".")[2].startswith("~")


def _ends(plan: Plan, sheet: Sheet, index: int) -> tuple[str, str, bool]:
    """Terminals at tail and head of a link, and whether its element is turned round."""
    link = plan.flow.links[index]
    tail = plan.flow.arcs[index][0]
    if link.kind is Kind.ELEMENT:
        element = sheet.elements[link.item]
        turned = tail != link.a
        return (element.end, element.start, True) if turned else (element.start, element.end, False)
    if link.kind is Kind.PIN:
        pin = graph.pins(sheet)[link.item][1]
        return (pin, "", False) if tail == link.a else ("", pin, True)
    return "", "", False


def _spared(plan: Plan, sheet: Sheet) -> set[str]:
    net_of = sheet.net_of()
    drawn: dict[str, list[str]] = {}
    first: dict[str, bool] = {}
    for rung in plan.rungs:
        for index in rung.links:
            tail, head, _ = _ends(plan, sheet, index)
            for terminal in filter(None, (tail, head)):
                drawn.setdefault(net_of[terminal], []).append(terminal)
            if head:
                first[head] = True
    for net in sheet.nets:
        if net.feed:
            drawn.pop(net.name, None)
    for frame in sheet.frames:
        drawn.setdefault(net_of[frame.terminal], []).append(frame.terminal)
    return chips.spared(drawn, first, dict(sheet.onward))


def cells(plan: Plan, sheet: Sheet, style: Style, linked: frozenset[int] = frozenset()) -> dict[int, Cell]:
    """The cell of every link that is drawn; words of ``linked`` ones keep clear of a mechanical link."""
    at = chips.wires_at(sheet)
    bare = _spared(plan, sheet)
    onward = dict(sheet.onward) if style.way is Way.DOWN else {}

    def end(node: str, terminal: str) -> End:
        shown = terminal and terminal not in bare
        return End(
            node, terminal, chips.chip(terminal, at.get(terminal, ())) if shown else None, onward.pop(terminal, "")
        )

    found: dict[int, Cell] = {}
    for rung in plan.rungs:
        for index in rung.links:
            tail, head, turned = _ends(plan, sheet, index)
            nodes = plan.flow.arcs[index]
            made = _cell(plan, sheet, style, index, end(nodes[0], tail), end(nodes[1], head), turned)
            found[index] = replace(made, aside=index in linked)
    return found


def _cell(plan: Plan, sheet: Sheet, style: Style, index: int, tail: End, head: End, turned: bool) -> Cell:
    link = plan.flow.links[index]
    if link.kind is not Kind.ELEMENT:
        return Cell(link.kind, link.item, tail, head)
    element = sheet.elements[link.item]
    lines = tuple(part for line in element.lines for part in theme.wrapped("label", line, style.label))
    titles = theme.wrapped("part", element.title or element.part, style.label * 1.25)
    drawn = table.symbol(element.kind, element.closed, element.actuator)
    return Cell(link.kind, link.item, tail, head, drawn, turned, titles, lines)


def _side(end: End, style: Style) -> float:
    """Room from the middle of a symbol past a terminal, its name and its chip."""
    if style.way is Way.DOWN:
        return REACH + (10 + chips.HEIGHT if end.chip or end.onward else 5) + CLEAR
    name = theme.width("name", terminal_name(end.terminal)) - 3
    chip = 3 + end.chip.width if end.chip else 2
    return REACH + max(name, chip) + (TIGHT if style.ragged else CLEAR)


def text_width(cell: Cell) -> float:
    """Width of the widest of a cell's words."""
    labels = [theme.width("label", line) for line in cell.lines]
    return max([*(theme.width("part", line) for line in cell.titles), *labels])


def text_height(cell: Cell) -> float:
    """Height of a cell's words in one block."""
    return TITLE * len(cell.titles) + LINE * len(cell.lines)


def title_level(cell: Cell) -> float:
    """How far above the wire the lowest baseline of a title is in a flow across."""
    return max(cell.symbol.up if cell.symbol else 0.0, 17.0) + 3.5


def room(cell: Cell, style: Style) -> Room:
    """Room that a cell needs about its middle."""
    if cell.kind is Kind.WIRE:
        return Room(8, 8, 6, 6)
    if cell.symbol is None:
        return _pin_room(cell, style.way)
    if style.way is Way.DOWN:
        return _room_down(cell, cell.symbol, style)
    left, right = words_reach(cell)
    over = title_level(cell) + TITLE * len(cell.titles)
    under = max(cell.symbol.down, 8) + LINE * len(cell.lines) + 2
    return Room(max(left, _side(cell.tail, style)), max(right, _side(cell.head, style)), over, under)


def words_reach(cell: Cell) -> tuple[float, float]:
    """How far words reach to the left and right of a symbol in a flow across."""
    wide = text_width(cell)
    return (0.0, wide + 26) if cell.aside else (wide / 2 + 4, wide / 2 + 4)


def _room_down(cell: Cell, drawn: Symbol, style: Style) -> Room:
    ends = (cell.tail, cell.head)
    names = [theme.width("name", terminal_name(end.terminal)) + 8 for end in ends]
    chip = max(end.chip.width / 2 if end.chip else 0.0 for end in ends)
    over = max(drawn.up, *(end.half for end in ends)) + 5 - style.closer
    under = max(drawn.down + 7 + text_width(cell), chip, *names) + 7 - style.closer
    pushed = slack(cell)
    return Room(_side(cell.tail, style) + pushed, _side(cell.head, style) + pushed, over, under)


def slack(cell: Cell) -> float:
    """How far names are pushed out, flowing down, by a tall block of words beside the symbol."""
    tall = text_height(cell) * (2 if cell.aside else 1)
    return max(0.0, tall / 2 - REACH + 6)


def _pin_room(cell: Cell, way: Way) -> Room:
    chip = cell.tail.chip or cell.head.chip
    wide, tall = (chip.width, chips.HEIGHT) if chip else (0.0, 0.0)
    along, across = (wide, tall) if way is Way.ACROSS else (tall, wide)
    name = terminal_name(cell.tail.terminal or cell.head.terminal)
    across = max(across, 12.0 if way is Way.ACROSS else theme.width("name", name) + 4)
    return Room(along / 2 + CLEAR + 3, along / 2 + CLEAR + 3, across / 2 + 2, across / 2 + 2)
