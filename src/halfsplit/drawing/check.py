"""Reads a wiring picture back from its geometry alone and says what is wrong with it.

Only lines, rings, dots, rectangles and texts of the SVG are used, never the plan: what a reader sees is what is judged.
May know: the sheet to compare with, the theme for widths of text. May not know: plan, places, canvas.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from xml.etree import ElementTree

from halfsplit.drawing import chips, theme
from halfsplit.drawing.sheet import Sheet

Point = tuple[float, float]
_NEAR = 0.05
_LEAD, _TIP, _SLICES, _CLEAR = 1.1, (15.0, 3.6), 5, 0.9
"""Half the width of a lead, length and half width of its tip [px], as the picture has them; in so many slices the tip
is looked at; nearer to words than so many pixels it touches them, or its pale casing eats them."""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight piece of wire as it is drawn."""

    start: Point
    end: Point
    net: str

    @property
    def level(self) -> bool:
        """Whether it runs across the page."""
        return abs(self.start[1] - self.end[1]) < _NEAR

    def span(self) -> tuple[float, float, float]:
        """Lower end, upper end, and the coordinate it keeps."""
        along, across = (0, 1) if self.level else (1, 0)
        low, high = sorted((self.start[along], self.end[along]))
        return low, high, self.start[across]


@dataclass(frozen=True, slots=True)
class Frame:
    """A rectangle as it is drawn, and what it is."""

    left: float
    top: float
    right: float
    bottom: float
    what: str
    of: str = ""

    def overlaps(self, other: Frame, margin: float = 0.0) -> bool:
        """Whether the insides meet."""
        return (
            self.left < other.right - margin
            and other.left < self.right - margin
            and self.top < other.bottom - margin
            and other.top < self.bottom - margin
        )


@dataclass(frozen=True, slots=True)
class Symbol:
    """A drawn element: its key, its terminals by name, its rectangle."""

    key: str
    ends: frozenset[str]
    frame: Frame


@dataclass(frozen=True, slots=True)
class Lead:
    """A lead of the meter as it is drawn: the corners of its line, what its flag says, the frame of that."""

    colour: str
    points: tuple[Point, ...]
    flag: Frame


@dataclass(frozen=True, slots=True)
class Reading:
    """All that was read from a picture."""

    lines: tuple[Line, ...]
    dots: tuple[Point, ...]
    terminals: tuple[tuple[str, Point], ...]
    symbols: tuple[Symbol, ...]
    boxes: tuple[Frame, ...]
    chips: tuple[Frame, ...]
    texts: tuple[Frame, ...]
    leads: tuple[Lead, ...]
    size: Point


def _has(node: ElementTree.Element, name: str) -> bool:
    return name in node.get("class", "").split()


def _points(path: str) -> list[Point]:
    x = y = 0.0
    found: list[Point] = []
    for letter, numbers in re.findall(r"([MLHV])([^MLHVZ]*)", path):
        values = [float(number) for number in numbers.split()]
        x = values[0] if letter != "V" else x
        y = values[-1] if letter != "H" else y
        found.append((x, y))
    return found


def _rect(node: ElementTree.Element, what: str, of: str = "") -> Frame:
    x, y, wide, tall = (float(node.get(name, "0")) for name in ("x", "y", "width", "height"))
    return Frame(x, y, x + wide, y + tall, what, of)


def _text(node: ElementTree.Element) -> Frame:
    kinds = node.get("class", "").split()
    kind = next(name for name in kinds if name in {text[0] for text in theme.TEXTS})
    words = "".join(node.itertext())
    wide, tall = theme.width(kind, words), theme.size(kind)
    left = float(node.get("x", "0")) - (wide / 2 if "middle" in kinds else wide if "end" in kinds else 0.0)
    base = float(node.get("y", "0"))
    return Frame(left, base - 0.72 * tall, left + wide, base + 0.2 * tall, f"text '{words}'")


def _lead(node: ElementTree.Element) -> Lead:
    line = next(child for child in node.iter() if _has(child, "lead"))
    flag = next(child for child in node.iter() if child.tag == "text")
    return Lead(node.get("data-lead", ""), tuple(_points(line.get("d", ""))), _text(flag))


def _centre(node: ElementTree.Element) -> Point:
    return float(node.get("cx", "0")), float(node.get("cy", "0"))


def _symbol(node: ElementTree.Element) -> Symbol:
    touch = next(child for child in node.iter() if _has(child, "touch"))
    ends = frozenset((node.get("data-start", ""), node.get("data-end", "")))
    key = node.get("data-element", "")
    return Symbol(key, ends, _rect(touch, f"symbol {key}"))


def _inside(root: ElementTree.Element, name: str) -> set[ElementTree.Element]:
    return {child for node in root.iter() if _has(node, name) for child in node.iter()}


def read(text: str) -> Reading:
    """What a picture shows.

    :raises xml.etree.ElementTree.ParseError: for what is not XML.
    """
    root = ElementTree.fromstring(re.sub(r' xmlns="[^"]+"', "", text, count=1))
    nodes = list(root.iter())
    wires = [node for node in nodes if _has(node, "wire")]
    pairs = [(node.get("data-net", ""), _points(node.get("d", ""))) for node in wires]
    lines = tuple(Line(a, b, net) for net, points in pairs for a, b in pairwise(points))
    chip_groups = [node for node in nodes if _has(node, "wire-chip")]
    letters = _inside(root, "wire-chip") | _inside(root, "symbol")
    return Reading(
        lines,
        tuple(_centre(node) for node in nodes if _has(node, "dot")),
        tuple((node.get("data-terminal", ""), _centre(node)) for node in nodes if _has(node, "terminal")),
        tuple(_symbol(node) for node in nodes if _has(node, "symbol")),
        tuple(_rect(node, f"box {node.get('data-part')}") for node in nodes if _has(node, "box")),
        tuple(_rect(g[0], f"chip {g.get('data-colour')}", g.get("data-terminal", "")) for g in chip_groups),
        tuple(_text(node) for node in nodes if node.tag == "text" and node not in letters),
        tuple(_lead(node) for node in nodes if _has(node, "lead-mark")),
        (float(root.get("width", "0")), float(root.get("height", "0"))),
    )


# Lines ------------------------------------------------------------------------------------------------------------


def _ends(lines: Iterable[Line]) -> dict[Point, int]:
    count: dict[Point, int] = {}
    for line in lines:
        for point in (line.start, line.end):
            count[point] = count.get(point, 0) + 1
    return count


def _within(point: Point, line: Line) -> bool:
    low, high, keep = line.span()
    along, across = (point[0], point[1]) if line.level else (point[1], point[0])
    return abs(across - keep) < 1.5 and low + _NEAR < along < high - _NEAR


def shapes(reading: Reading) -> Iterator[str]:
    """Lines that are not straight along an axis, joins without dots, dots without joins, touches, overlaps."""
    for line in reading.lines:
        if min(abs(line.start[0] - line.end[0]), abs(line.start[1] - line.end[1])) > 0 or line.start == line.end:
            yield f"the wire from {line.start} to {line.end} is not a straight line along the page"
    ends = _ends(reading.lines)
    dots = set(reading.dots)
    yield from (
        f"three wires end at {point} without a dot" for point, n in ends.items() if n >= 3 and point not in dots
    )
    yield from (f"a dot at {point} where no three wires end" for point in dots if ends.get(point, 0) < 3)
    for point in ends:
        yield from (f"a wire ends on another at {point}" for line in reading.lines if _within(point, line))
    for one, two in combinations(reading.lines, 2):
        beside = one.level == two.level and abs(one.span()[2] - two.span()[2]) < 1.5
        if beside and min(one.span()[1], two.span()[1]) - max(one.span()[0], two.span()[0]) > _NEAR:
            yield f"two wires lie on each other about {one.start}"


def crossings(reading: Reading) -> list[tuple[Line, Line]]:
    """Pairs of wires that cross."""
    level = [line for line in reading.lines if line.level]
    upright = [line for line in reading.lines if not line.level]
    found = []
    for one in level:
        low, high, y = one.span()
        for two in upright:
            top, bottom, x = two.span()
            if low + _NEAR < x < high - _NEAR and top + _NEAR < y < bottom - _NEAR:
                found.append((one, two))
    return found


def bends(reading: Reading) -> int:
    """Corners where just two wires meet."""
    at: dict[Point, list[Line]] = {}
    for line in reading.lines:
        at.setdefault(line.start, []).append(line)
        at.setdefault(line.end, []).append(line)
    return sum(len(lines) == 2 and lines[0].level != lines[1].level for lines in at.values())


# The netlist ------------------------------------------------------------------------------------------------------


def netlist(reading: Reading) -> list[set[str]]:
    """Terminals in groups, as the lines join them."""
    root: dict[Point, Point] = {}

    def top(point: Point) -> Point:
        root.setdefault(point, point)
        while root[point] != point:
            point = root[point]
        return point

    for line in reading.lines:
        root[top(line.start)] = top(line.end)
    groups: dict[Point, set[str]] = {}
    for terminal, point in reading.terminals:
        groups.setdefault(top(point), set()).add(terminal)
    return list(groups.values())


def nets(reading: Reading, sheet: Sheet) -> Iterator[str]:
    """Differences between the netlist that is drawn and that of the sheet; anything that is missing."""
    net_of = sheet.net_of()
    groups = netlist(reading)
    for group in groups:
        here = {net_of.get(terminal, f"no net ({terminal})") for terminal in group}
        if len(here) > 1:
            yield f"nets {', '.join(sorted(here))} are joined"
    drawn: dict[str, int] = {}
    for group in groups:
        for net in {net_of.get(terminal, "") for terminal in group}:
            drawn[net] = drawn.get(net, 0) + 1
    yield from (f"net {net} is in {count} pieces" for net, count in drawn.items() if count > 1)
    keys = [symbol.key for symbol in reading.symbols]
    wanted = [element.key for element in sheet.elements]
    yield from (f"element {key} is not drawn" for key in wanted if key not in keys)
    yield from (f"element {key} is drawn twice" for key in set(keys) if keys.count(key) > 1)
    yield from _terminals(reading, sheet)


def _terminals(reading: Reading, sheet: Sheet) -> Iterator[str]:
    by_key = {element.key: frozenset((element.start, element.end)) for element in sheet.elements}
    for symbol in reading.symbols:
        here = frozenset(terminal for terminal, point in reading.terminals if _on_edge(point, symbol.frame))
        if not here or here != by_key.get(symbol.key) or symbol.ends != by_key.get(symbol.key):
            yield f"element {symbol.key} has terminals {', '.join(sorted(here))} at its ends"
    names = {terminal for terminal, _ in reading.terminals}
    needed = {pin for box in sheet.boxes for pin in box.pins} | {frame.terminal for frame in sheet.frames}
    needed |= {terminal for net in sheet.nets for terminal in net.feed}
    yield from (f"terminal {terminal} is not drawn" for terminal in sorted(needed - names))
    points = [point for _, point in reading.terminals]
    yield from (f"two terminals at {point}" for point in set(points) if points.count(point) > 1)


def _on_edge(point: Point, frame: Frame) -> bool:
    x, y = point
    beside = min(abs(x - frame.left), abs(x - frame.right)) < _NEAR and frame.top < y < frame.bottom
    return beside or (min(abs(y - frame.top), abs(y - frame.bottom)) < _NEAR and frame.left < x < frame.right)


# What covers what -------------------------------------------------------------------------------------------------


def _as_frame(line: Line, what: str = "wire") -> Frame:
    (x, y), (u, v) = line.start, line.end
    return Frame(min(x, u) - 0.7, min(y, v) - 0.7, max(x, u) + 0.7, max(y, v) + 0.7, f"{what} of {line.net}", line.net)


def _core(symbol: Symbol, points: Sequence[Point]) -> Frame:
    """A symbol without its leads: words may stand beside these."""
    frame = symbol.frame
    flat = any(
        min(abs(x - frame.left), abs(x - frame.right)) < _NEAR and frame.top < y < frame.bottom for x, y in points
    )
    dx, dy = (5.0, 0.0) if flat else (0.0, 5.0)
    return Frame(frame.left + dx, frame.top + dy, frame.right - dx, frame.bottom - dy, frame.what)


def covers(reading: Reading) -> Iterator[str]:
    """Words, chips, symbols and wires that lie on each other, and what is off the page."""
    points = [point for _, point in reading.terminals]
    cores = [_core(symbol, points) for symbol in reading.symbols]
    solid = [*reading.texts, *reading.chips, *cores]
    yield from (f"{one.what} lies on {two.what}" for one, two in combinations(solid, 2) if one.overlaps(two, 0.2))
    wires = [_as_frame(line) for line in reading.lines]
    for wire in wires:
        yield from (
            f"the {wire.what} runs through {body.what}" for body in [*cores, *reading.texts] if wire.overlaps(body, 0.2)
        )
        yield from (f"the {wire.what} runs into {box.what}" for box in reading.boxes if wire.overlaps(box, 1.0))
    for one, two in combinations(reading.boxes, 2):
        if one.overlaps(two):
            yield f"{one.what} lies on {two.what}"
    for box in reading.boxes:
        yield from (f"{one.what} lies on {box.what}" for one in [*reading.chips, *cores] if one.overlaps(box, 0.2))
    page = Frame(0, 0, *reading.size, "page")
    for one in [*solid, *wires, *reading.boxes]:
        if one.left < page.left or one.top < page.top or one.right > page.right or one.bottom > page.bottom:
            yield f"{one.what} is off the page"


def leads(reading: Reading) -> Iterator[str]:
    """Words that a lead of the meter touches with its line or its tip, chips on which it lies, leads off the page."""
    solid = [*((text, _CLEAR) for text in reading.texts), *((chip, -0.2) for chip in reading.chips)]
    for lead in reading.leads:
        pieces = [(*piece, _LEAD) for piece in pairwise(lead.points)]
        pieces += _tip(lead.points[-1], lead.points[-2])
        for body, clear in solid:
            if body != lead.flag and any(_over(body, a, b, half + clear) for a, b, half in pieces):
                yield f"the {lead.colour} lead lies on {body.what}"
        if any(not (0 <= x <= reading.size[0] and 0 <= y <= reading.size[1]) for x, y in lead.points):
            yield f"the {lead.colour} lead is off the page"


def _tip(end: Point, before: Point) -> Iterator[tuple[Point, Point, float]]:
    """The slender point of a lead, in slices with their half widths."""
    long = math.dist(end, before)
    ux, uy = (before[0] - end[0]) / long, (before[1] - end[1]) / long
    at = [(end[0] + _TIP[0] * k / _SLICES * ux, end[1] + _TIP[0] * k / _SLICES * uy) for k in range(_SLICES + 1)]
    yield from ((*piece, _TIP[1] * (k + 0.5) / _SLICES) for k, piece in enumerate(pairwise(at)))


def _over(body: Frame, start: Point, end: Point, half: float) -> bool:
    """Whether a straight line of this half width lies over a rectangle: nowhere is it wholly to one side of it."""
    first, last = 0.0, 1.0
    for a, b, low, high in (
        (start[0], end[0], body.left - half, body.right + half),
        (start[1], end[1], body.top - half, body.bottom + half),
    ):
        if a == b:
            if not low < a < high:
                return False
        else:
            enters, leaves = sorted(((low - a) / (b - a), (high - a) / (b - a)))
            first, last = max(first, enters), min(last, leaves)
    return first < last


def colours(reading: Reading, sheet: Sheet) -> Iterator[str]:
    """Chips that are not on a wire of their net, or do not say its colours; wires of the sheet without a chip."""
    net_of = sheet.net_of()
    at = chips.wires_at(sheet)
    for chip in reading.chips:
        middle = ((chip.left + chip.right) / 2, (chip.top + chip.bottom) / 2)
        if not any(_within(middle, line) and line.net == net_of.get(chip.of) for line in reading.lines):
            yield f"{chip.what} at {chip.of} is not on a wire of its net"
        wires = at.get(chip.of, [])
        words = {
            made.words for made in [chips.chip(chip.of, wires), *(chips.chip(chip.of, [w]) for w in wires)] if made
        }
        if chip.what.removeprefix("chip ") not in words:
            yield f"{chip.what} at {chip.of} does not say its wire's colour"
    shown = {net_of.get(chip.of) for chip in reading.chips}
    drawn = {terminal for terminal, _ in reading.terminals}
    for wire in sheet.wires:
        if {wire.start, wire.end} & drawn and wire.start != wire.end and net_of[wire.start] not in shown:
            yield f"the wire {wire.start} - {wire.end} has no chip on its net"


def findings(text: str, sheet: Sheet) -> list[str]:
    """Everything that is wrong with a picture of a sheet; crossings are counted by :func:`crossings`."""
    reading = read(text)
    found = [*shapes(reading), *nets(reading, sheet), *covers(reading), *leads(reading), *colours(reading, sheet)]
    found += [f"net {one.net} crosses itself" for one, two in crossings(reading) if one.net == two.net]
    return found
