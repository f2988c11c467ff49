"""Fixtures: the heads of rails, frames on the earth bus and boxes, and the room they need.

May know: the plan, chips, text widths. May not know: where a fixture will stand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from halfsplit.drawing import chips, theme
from halfsplit.drawing.cells import LINE, TITLE, Room, Way, terminal_name
from halfsplit.drawing.chips import Chip
from halfsplit.drawing.plan import Plan
from halfsplit.drawing.rungs import Rung
from halfsplit.drawing.sheet import Frame, Net, Rail, Sheet


@dataclass(frozen=True, slots=True)
class Head:
    """The feed of a rail from the machine out to the house: terminals ``pitch`` px apart, chips between them."""

    net: Net
    rail: Rail
    terminals: tuple[str, ...]
    between: tuple[Chip | None, ...]
    pitch: float
    upright: bool


def head(sheet: Sheet, net: Net, upright: bool) -> Head:
    """The head of a rail, standing up the page or lying across it."""
    inward = tuple(reversed(net.feed))
    by_ends = {frozenset((wire.start, wire.end)): wire for wire in sheet.wires}
    pairs = pairwise(inward)
    wires = [by_ends.get(frozenset(pair)) for pair in pairs]
    between = tuple(chips.chip(wire.start, [wire]) if wire else None for wire in wires)
    widest = max((chip.width for chip in between if chip), default=0.0)
    names = max((theme.width("name", feed_name(t)) for t in inward), default=0.0)
    pitch = 30.0 if upright else max(widest + 16, names + 8, 24.0)
    return Head(net, net.rail or Rail.PE, inward, between, pitch, upright)


def feed_name(terminal: str) -> str:
    """A terminal in full; one inside its part without the mark of that.

    >>> feed_name("cord.L1"), feed_name("terminal block.~wires at L2")
    ('cord L1', 'terminal block wires at L2')
    """
    return terminal.replace(".~", " ").replace(".", " ")


def names_width(found: Head) -> float:
    """Width of the widest name of a head's terminals."""
    return max((theme.width("name", feed_name(t)) for t in found.terminals), default=0.0)


def head_length(found: Head) -> float:
    """From the point where a head leaves its rail to its outermost terminal."""
    return found.pitch * max(0, len(found.terminals) - 1)


def head_room(found: Head) -> Room:
    """Room about the point where a head leaves the bar of its rail, across the flow: over it the head itself."""
    if found.upright:
        return Room(14, 14, head_length(found) + theme.size("rail") + 14, 8)
    name = names_width(found) / 2
    return Room(20, 9, head_length(found) + theme.width("rail", found.rail.value) + 18, max(6.0, name + 2))


def inline_room(found: Head) -> Room:
    """Room across the flow where a head goes on in line with the only rung of its rail."""
    if not found.upright:
        return Room(over=22, under=9)
    return Room(over=14, under=names_width(found) + 14)


def frames_on(sheet: Sheet, net: str) -> list[Frame]:
    """Frames that hang on a net."""
    net_of = sheet.net_of()
    return [frame for frame in sheet.frames if net_of[frame.terminal] == net]


def bus_frames(plan: Plan, sheet: Sheet) -> dict[int, list[tuple[int, Frame]]]:
    """The frames on every bus row, by index of its rung, each with its place: 0 under the bar, 1 in the gap after."""
    waiting: dict[str, list[Frame]] = {}
    found: dict[int, list[tuple[int, Frame]]] = {}
    for number, rung in enumerate(plan.rungs):
        if rung.bus:
            node = rung.nodes[0]
            left = waiting.setdefault(node, frames_on(sheet, node))
            first = 1 if _goes_on(plan, node, plan.rows[number]) else 0
            found[number] = list(enumerate(left[: rung.bus], first))
            waiting[node] = left[rung.bus :]
    return found


def _goes_on(plan: Plan, node: str, row: int) -> bool:
    """Whether the bar of a net goes on below a row, where a frame's drop would lie on it."""
    return any(node in rung.nodes and other > row for rung, other in zip(plan.rungs, plan.rows, strict=True))


def frame_chip(sheet: Sheet, frame: Frame) -> Chip | None:
    """The chip on the drop of a frame."""
    return chips.chip(frame.terminal, chips.wires_at(sheet).get(frame.terminal, ()))


def frame_room(sheet: Sheet, frame: Frame, way: Way) -> Room:
    """Room about the point where a frame's drop leaves the bus."""
    words = max(theme.width("part", frame.part), theme.width("label", frame.title)) + 18
    chip = frame_chip(sheet, frame)
    wide = chip.width if chip else 0.0
    if way is Way.ACROSS:
        return Room(max(16, wide / 2 + 4), max(words, wide / 2) + 6, 8, 62)
    return Room(18, 18, 6, 10 + wide + 30 + words)


@dataclass(frozen=True, slots=True)
class BoxSize:
    """Half the length of a box along the flow, and what it needs beyond its outer pins across the flow."""

    half: float
    over: float
    under: float


def box_size(sheet: Sheet, index: int, way: Way) -> BoxSize:
    """Size of a box without its rows."""
    box = sheet.boxes[index]
    names = max((theme.width("name", terminal_name(pin)) for pin in box.pins), default=0.0)
    words = max([theme.width("part", box.title), *(theme.width("label", line) for line in box.lines)])
    if way is Way.ACROSS:
        return BoxSize(max(names + 14, words / 2 + 8), TITLE + LINE * len(box.lines) + 18, 14)
    return BoxSize((TITLE + LINE * len(box.lines)) / 2 + 24, max(names, words) / 2 + 10, max(names, words) / 2 + 10)


def crosses(rungs: Sequence[Rung], node: str) -> list[int]:
    """Indices of the rungs on which a node stands."""
    return [number for number, rung in enumerate(rungs) if node in rung.nodes]
