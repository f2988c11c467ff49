"""Bays and what is behind what: a tree of cards, each indented under the bay it lies behind.

May know: the panel. May not know: what a step costs; the words on a card are given.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from halfsplit import errors
from halfsplit.drawing import svg, theme
from halfsplit.drawing.pictures.panel import MARGIN, PHONE, Panel

INDENT, PAD = 20.0, 8.0
TOP, LEADING = 28.0, 17.0
"""Height of a card's first line, and of each further one, in px: read at arm's length."""


@dataclass(frozen=True, slots=True)
class Bay:
    """A bay: the bay it lies ``behind`` ('' for outside), what opening takes, what is in it, whether it is open."""

    name: str
    behind: str = ""
    opening: str = ""
    holds: tuple[str, ...] = ()
    open: bool = False
    cautions: tuple[str, ...] = ()
    """Each with its signal word, on a line of its own."""


def ordered(bays: Sequence[Bay], behind: str = "", depth: int = 0) -> Iterator[tuple[int, Bay]]:
    """Bays with their depth, each right after the bay it lies behind."""
    for bay in bays:
        if bay.behind == behind:
            yield depth, bay
            yield from ordered(bays, bay.name, depth + 1)


def drawn(title: str, bays: Sequence[Bay], width: float = PHONE) -> str:
    """The bays as SVG.

    :raises halfsplit.errors.WrongUse: where a bay cannot be reached from outside.
    """
    tree = list(ordered(bays))
    lost = [bay.name for bay in bays if bay not in [found for _, found in tree]]
    if lost:
        raise errors.WrongUse(
            f"Bays {', '.join(lost)} cannot be reached from outside.", "Say which reachable bay each lies behind."
        )
    panel = Panel(title, width)
    panel.heading()
    joints: list[tuple[float, float]] = []
    for depth, bay in tree:
        middle = panel.y + 14
        del joints[depth:]
        if depth:
            x, start = joints[depth - 1]
            panel.put(svg.tag("path", class_="stroke", d=svg.line([(x, start), (x, middle), (x + INDENT - 8, middle)])))
        _card(panel, bay, MARGIN + INDENT * depth)
        joints.append((MARGIN + INDENT * depth + 8, panel.y - 8))
    return panel.done()


def _lines(bay: Bay, room: float) -> list[tuple[str, str]]:
    """Lines of a card with their class of text."""
    parts = [("read", bay.opening), *(("read", caution) for caution in bay.cautions)]
    parts.append(("aside", "in it: " + ", ".join(bay.holds) if bay.holds else ""))
    return [(kind, line) for kind, words in parts for line in theme.wrapped(kind, words, room)]


def _card(panel: Panel, bay: Bay, x: float) -> None:
    wide = panel.width - MARGIN - x
    lines = _lines(bay, wide - 2 * PAD)
    tall = TOP + LEADING * len(lines) + (4 if lines else 0)
    look = "edge" if bay.open else "box"
    frame = svg.tag(
        "rect", class_=look, x=x, y=panel.y, width=wide, height=tall, rx=4, stroke_dasharray="6 3" if bay.open else ""
    )
    panel.put(svg.tag("g", [frame], data_bay=bay.name))
    panel.words(x + PAD, panel.y + 19, bay.name, "card", data_bay=bay.name)
    panel.words(x + wide - PAD, panel.y + 19, "open" if bay.open else "shut", "aside end")
    for number, (kind, line) in enumerate(lines):
        panel.words(x + PAD, panel.y + TOP + 11 + LEADING * number, line, kind)
    panel.y += tall + 8
