"""What is to be printed, before it is known whether as text or as a page: lines in blocks.

Knows no width and no mark-up.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Line:
    """A paragraph behind its mark (a box to tick, a number); cells stand at the right edge, padded to their columns."""

    text: str
    mark: str = ""
    cells: tuple[str, ...] = ()


BLANK = Line("")
NESTED = "   "
"""The mark of what stands under a line with a mark."""


@dataclass(frozen=True, slots=True)
class Block:
    """Lines that no page cuts in two, under a head; framed where they are a numbered box."""

    lines: tuple[Line, ...]
    head: str = ""
    box: int = 0


def ticked(text: str, number: str = "") -> Line:
    """A line with a box to tick."""
    return Line(text, f"[ ] {number}" if number else "[ ]")
