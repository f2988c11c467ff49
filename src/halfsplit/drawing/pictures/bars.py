"""Possible causes as bars, most likely first; what the file does not say has a dashed bar of its own.

May know: the panel. Shares are given, never computed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit import errors
from halfsplit.drawing import svg, theme
from halfsplit.drawing.pictures.panel import MARGIN, PHONE, Panel


@dataclass(frozen=True, slots=True)
class Cause:
    """A possible cause in words, its probability from 0 to 1, what would cure it; ``outside``: not in the file."""

    words: str
    share: float
    repair: str = ""
    outside: bool = False


def percent(share: float) -> str:
    """A probability as people read it: no false digits, never 0 or 100 of what is not certain.

    >>> percent(0.312), percent(0.004), percent(0.9991), percent(1.0)
    ('31 %', 'under 1 %', 'over 99 %', '100 %')
    """
    if 0 < share < 0.01:
        return "under 1 %"
    if 0.99 < share < 1:
        return "over 99 %"
    return f"{round(100 * share)} %"


def drawn(title: str, causes: Sequence[Cause], width: float = PHONE) -> str:
    """The bars as SVG, in the order given.

    :raises halfsplit.errors.WrongUse: for a share outside 0 to 1.
    """
    wrong = [cause.words for cause in causes if not 0 <= cause.share <= 1]
    if wrong:
        raise errors.WrongUse(f"The shares of {', '.join(wrong)} are not between 0 and 1.", "Give probabilities.")
    panel = Panel(title, width)
    panel.heading()
    room = width - 2 * MARGIN
    for cause in causes:
        _cause(panel, cause, room)
    return panel.done()


def _cause(panel: Panel, cause: Cause, room: float) -> None:
    number = percent(cause.share)
    lines = theme.wrapped("part", cause.words, room - theme.width("part", number) - 12)
    panel.words(panel.width - MARGIN, panel.y + 11, number, "part end")
    for line in lines:
        panel.words(MARGIN, panel.y + 11, line, "part")
        panel.y += 14
    look = "bar-rest" if cause.outside else "bar"
    wide = max(1.5, room * cause.share)
    frame = svg.tag("rect", class_="off", x=MARGIN, y=panel.y + 2, width=room, height=9, rx=2)
    bar = svg.tag("rect", class_=look, x=MARGIN, y=panel.y + 2, width=wide, height=9, rx=2)
    panel.put(svg.tag("g", [frame, bar], class_="cause", data_cause=cause.words))
    panel.y += 15
    if cause.repair:
        panel.block(MARGIN, cause.repair, "note", room, 13)
    panel.y += 9
