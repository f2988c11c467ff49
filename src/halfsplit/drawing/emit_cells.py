"""Draws what stands on links: symbols with their terminals, chips and words; wires to the pins of boxes.

May know: the page, cells, symbols.
"""

from __future__ import annotations

from halfsplit.drawing import cells, chips, graph, lanes, svg
from halfsplit.drawing.cells import LINE, TITLE, Cell, End, Way
from halfsplit.drawing.graph import Kind
from halfsplit.drawing.page import Page
from halfsplit.drawing.symbols.shapes import REACH, Symbol


def link(page: Page, index: int, across: float) -> None:
    """All that stands on one link."""
    cell = page.cells[index]
    left, right = page.edge(cell.tail.node, 1), page.edge(cell.head.node, -1)
    if cell.kind is Kind.WIRE:
        page.wire(cell.tail.node, (left, across), (right, across))
    elif cell.kind is Kind.PIN:
        _pin(page, cell, page.places.middle[lanes.link_key(index)], left, right, across)
    else:
        _element(page, cell, page.places.middle[lanes.link_key(index)], left, right, across)


def _pin(page: Page, cell: Cell, middle: float, left: float, right: float, across: float) -> None:
    """The wire to a pin of a box, its chip, the pin."""
    inner = cell.tail.terminal != ""
    end = cell.tail if inner else cell.head
    page.wire(end.node, (left, across), (right, across))
    page.terminal(graph.node_net(end.node), end.terminal, (right if inner else left, across))
    if end.chip:
        page.chip(end.chip, middle, across)
    _pin_name(page, end, right if inner else left, across, 1 if inner else -1)


def _pin_name(page: Page, end: End, along: float, across: float, inward: int) -> None:
    """The name of a pin inside its box."""
    x, y = page.canvas.at(along, across)
    name = cells.terminal_name(end.terminal)
    if page.style.way is Way.ACROSS:
        page.canvas.words(x + 6 * inward, y + 3.2, name, "name", "" if inward > 0 else "end")
    else:
        page.canvas.words(x, y + (13 if inward > 0 else -7), name, "name", "middle")


def _element(page: Page, cell: Cell, middle: float, left: float, right: float, across: float) -> None:
    """A symbol with its terminals, wires, chips and words."""
    flows = page.sheet.elements[cell.item].current
    for end, sign, bar in ((cell.tail, -1, left), (cell.head, 1, right)):
        spot = (middle + sign * REACH, across)
        page.wire(end.node, (bar, across), spot)
        page.terminal(graph.node_net(end.node), end.terminal, spot, flows)
    if cell.symbol:
        _symbol(page, cell, cell.symbol, middle, across)
    _ends(page, cell, middle, across)
    if page.style.way is Way.ACROSS:
        _words_across(page, cell, middle, across)
    else:
        _words_down(page, cell, middle, across)


def _shapes(page: Page, cell: Cell, found: Symbol, middle: float, across: float) -> list[str]:
    """The strokes of a symbol as it lies, and its upright letter and sign."""
    look = "stroke thick" if page.sheet.elements[cell.item].current else "stroke"
    shapes = [svg.tag("path", class_="blank", d=d) for d in found.bodies]
    shapes += [svg.tag("path", class_=look, d=d) for d in (*found.strokes, *found.bodies)]
    shapes += [svg.tag("path", class_="solid", d=d) for d in found.solids]
    shapes += [svg.tag("path", class_="link", d=d) for d in found.dashes]
    pieces = [svg.tag("g", shapes, transform=page.canvas.matrix(middle, across, cell.turned))]
    x, y = page.canvas.at(middle, across)
    if found.letter:
        pieces.append(svg.text(x, y + 4.3, found.letter, class_="letter middle"))
    if found.sign:
        ahead = -9 if cell.turned else 9
        spot = (x + ahead, y + 17) if page.style.way is Way.ACROSS else (x + 13, y + ahead + 3)
        pieces.append(svg.text(*spot, found.sign, class_="code middle"))
    return pieces


def _symbol(page: Page, cell: Cell, found: Symbol, middle: float, across: float) -> None:
    """A symbol with the area that can be touched and what a page has to know of it."""
    element = page.sheet.elements[cell.item]
    corner = page.canvas.at(middle - REACH, across - found.up)
    other = page.canvas.at(middle + REACH, across + found.down)
    pieces = [*_shapes(page, cell, found, middle, across), svg.rectangle(corner, other, class_="touch")]
    known: dict[str, svg.Attribute] = {
        "data_part": element.part,
        "data_element": element.key,
        "data_kind": element.kind,
        "data_start": element.start,
        "data_end": element.end,
        "data_state": {None: "", True: "closed", False: "open"}[element.closed],
        "data_current": "yes" if element.current else "",
    }
    page.canvas.area(*corner, *other, f"symbol {element.key}")
    page.canvas.put("symbols", svg.tag("g", pieces, class_="symbol", **known))


def _ends(page: Page, cell: Cell, middle: float, across: float) -> None:
    """Chips and terminal names on both sides of a symbol."""
    slack = cells.slack(cell) if page.style.way is Way.DOWN else 0.0
    for end, sign in ((cell.tail, -1), (cell.head, 1)):
        name = cells.terminal_name(end.terminal)
        if page.style.way is Way.ACROSS:
            inward = 5 if page.style.ragged else 3  # where paper is scarce, the band of a bar beside is near
            x, y = page.canvas.at(middle + sign * (REACH - inward), across)
            _terminal_name(page, x, y - 9.5, name, "end" if sign < 0 else "")
            offset = REACH + 3 + (end.chip.width / 2 if end.chip else 0)
        else:
            x, y = page.canvas.at(middle + sign * (REACH + slack + 1), across)
            _terminal_name(page, x + 8, y + 3.2, name, "")
            offset = REACH + slack + 10 + chips.HEIGHT / 2
        if end.chip:
            page.chip(end.chip, middle + sign * offset, across)
        if end.chip or end.onward:
            page.nets[graph.node_net(end.node)].told += 1
        if end.onward:
            _onward(page, end, middle + sign * offset, across)


def _terminal_name(page: Page, x: float, y: float, name: str, anchor: str) -> None:
    """The name of a terminal, if it has one."""
    if name:
        page.canvas.words(x, y, name, "name", anchor)


def _onward(page: Page, end: End, along: float, across: float) -> None:
    """A small arrow to the left, to what is joined here but not drawn, with the letter of its note."""
    x, y = page.canvas.at(along, across)
    start = x - (end.chip.width / 2 if end.chip else 0.0)
    tip = start - 10
    arrow = svg.line([(start, y), (tip, y)]) + svg.line([(tip + 3.5, y - 3), (tip, y), (tip + 3.5, y + 3)])
    page.canvas.put("symbols", svg.tag("path", class_="stroke", d=arrow, data_onward=end.terminal))
    page.canvas.words(tip - 3, y + 3.2, end.onward, "name", "end")


def _words_across(page: Page, cell: Cell, middle: float, across: float) -> None:
    """Title over the symbol, lines under it; to the right of a mechanical link."""
    x, y = page.canvas.at(middle, across)
    part = page.sheet.elements[cell.item].part
    x, anchor = (x + 6, "") if cell.aside else (x, "middle")
    aside = 9 if cell.aside else 0
    for number, line in enumerate(reversed(cell.titles)):
        level = y - cells.title_level(cell) - TITLE * number
        page.canvas.words(x + aside, level, line, "part", anchor, data_part=part)
    top = y + max(cell.symbol.down if cell.symbol else 0, 8)
    for number, line in enumerate(cell.lines):
        page.canvas.words(x, top + LINE * (number + 1) - 1.5, line, "label", anchor, data_part=part)


def _words_down(page: Page, cell: Cell, middle: float, across: float) -> None:
    """Title and lines to the right of the symbol, below a mechanical link."""
    x, y = page.canvas.at(middle, across)
    part = page.sheet.elements[cell.item].part
    left = x + (cell.symbol.down if cell.symbol else 0) + 7
    top = y + 2 if cell.aside else y - cells.text_height(cell) / 2
    for number, line in enumerate(cell.titles):
        page.canvas.words(left, top + 9.5 + TITLE * number, line, "part", data_part=part)
    top += TITLE * (len(cell.titles) - 1)
    for number, line in enumerate(cell.lines):
        page.canvas.words(left, top + TITLE + LINE * (number + 1) - 2.5, line, "label", data_part=part)
