"""The contact chart of a timer or selector: which contacts are closed in which position.

May know: the panel. A bar runs through the positions in which a contact is closed, as on a timer's own chart.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from halfsplit import errors
from halfsplit.drawing import svg, theme
from halfsplit.drawing.pictures.panel import MARGIN, Panel

ROW, LEAST = 22.0, 26.0


@dataclass(frozen=True, slots=True)
class Contact:
    """A contact: its terminals ('A - B'), what it feeds, and whether it is closed in each position."""

    terminals: str
    feeds: str
    closed: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """Positions in order, contacts, and the index of the position the control stands in, if any."""

    title: str
    positions: tuple[str, ...]
    contacts: tuple[Contact, ...]
    chosen: int | None = None


def runs(closed: tuple[bool, ...]) -> Iterator[tuple[int, int]]:
    """First and last position of every unbroken stretch in which a contact is closed.

    >>> list(runs((True, True, False, True)))
    [(0, 1), (3, 3)]
    """
    start = None
    for place, value in enumerate((*closed, False)):
        if value and start is None:
            start = place
        elif not value and start is not None:
            yield start, place - 1
            start = None


def _checked(chart: Chart) -> None:
    wrong = [c.terminals for c in chart.contacts if len(c.closed) != len(chart.positions)]
    if wrong:
        raise errors.WrongUse(
            f"Contacts {', '.join(wrong)} of '{chart.title}' do not say a state for every position.",
            f"Give {len(chart.positions)} states.",
        )


def _heads(chart: Chart, wide: float) -> list[tuple[str, ...]]:
    return [theme.wrapped("label", position, wide - 4) for position in chart.positions]


def drawn(chart: Chart) -> str:
    """The chart as SVG.

    :raises halfsplit.errors.WrongUse: where a contact does not say a state for every position.
    """
    _checked(chart)
    names = [max(theme.width("part", c.terminals), theme.width("label", c.feeds)) for c in chart.contacts]
    left = MARGIN + max(names, default=0.0) + 14
    words = [word for position in chart.positions for word in position.split()]
    wide = max([LEAST, *(theme.width("label", word) + 8 for word in words)])
    panel = Panel(
        chart.title, max(left + wide * len(chart.positions) + MARGIN, theme.width("heading", chart.title) + 2 * MARGIN)
    )
    panel.heading()
    heads = _heads(chart, wide)
    top = panel.y + 12.0 * max((len(head) for head in heads), default=1) + 4
    foot = top + (ROW + 8) * len(chart.contacts)
    _columns(panel, chart, heads, (left, wide, top, foot))
    for number, contact in enumerate(chart.contacts):
        _contact(panel, contact, left, wide, top + (ROW + 8) * number)
    panel.y = foot
    return panel.done()


def _columns(
    panel: Panel, chart: Chart, heads: list[tuple[str, ...]], place: tuple[float, float, float, float]
) -> None:
    left, wide, top, foot = place
    if chart.chosen is not None:
        x = left + wide * chart.chosen
        panel.put(svg.tag("rect", class_="chosen", x=x, y=panel.y - 3, width=wide, height=foot - panel.y + 6, rx=3))
        panel.put(
            svg.tag(
                "path",
                class_="solid",
                d=svg.line([(x + wide / 2 - 5, foot + 8), (x + wide / 2 + 5, foot + 8), (x + wide / 2, foot + 1)])
                + "Z",
            )
        )
    for number in range(len(heads) + 1):
        panel.put(
            svg.tag("path", class_="grid", d=svg.line([(left + wide * number, top), (left + wide * number, foot)]))
        )
    for number, lines in enumerate(heads):
        for place_, line in enumerate(reversed(lines)):
            look = "label middle"
            panel.words(
                left + wide * (number + 0.5), top - 5 - 12 * place_, line, look, data_position=chart.positions[number]
            )


def _contact(panel: Panel, contact: Contact, left: float, wide: float, y: float) -> None:
    panel.words(MARGIN, y + 13, contact.terminals, "part")
    panel.words(MARGIN, y + 25, contact.feeds, "label")
    middle = y + (ROW + 8) / 2
    panel.put(svg.tag("path", class_="grid", d=svg.line([(left, middle), (left + wide * len(contact.closed), middle)])))
    for first, last in runs(contact.closed):
        size = {"x": left + wide * first + 1, "y": middle - 5, "width": wide * (last - first + 1) - 2, "height": 10.0}
        panel.put(svg.tag("rect", None, class_="on", rx=2, data_contact=contact.terminals, **size))
