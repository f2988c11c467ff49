"""What a symbol is, and the few strokes that many share.

A symbol lies along x from -21 to 21 with its terminals at the ends, y up is negative; it draws its own leads. Drawn
flowing down, x and y change places. May know: nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

REACH = 21.0
"""Distance of a terminal from the middle of a symbol, px."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """Path data to stroke, to fill with paper first, to fill with ink; a letter that stays upright; room needed."""

    strokes: tuple[str, ...]
    bodies: tuple[str, ...] = ()
    solids: tuple[str, ...] = ()
    letter: str = ""
    up: float = 8.0
    down: float = 8.0
    dashes: tuple[str, ...] = ()
    sign: str = ""
    """A short word that stays upright below the middle, right of it in a flow down."""


def leads(body: float) -> str:
    """Leads from both terminals to a body of this half length."""
    return f"M-21 0H{-body:g}M{body:g} 0H21"


def rectangle(half: float, height: float) -> str:
    """A rectangle around the middle."""
    return f"M{-half:g} {-height:g}H{half:g}V{height:g}H{-half:g}Z"


def circle(radius: float, x: float = 0.0, y: float = 0.0) -> str:
    """A circle as path data."""
    return (
        f"M{x - radius:g} {y:g}a{radius:g} {radius:g} 0 1 1 {2 * radius:g} 0"
        f"a{radius:g} {radius:g} 0 1 1 {-2 * radius:g} 0Z"
    )


def bumps(count: int, radius: float, start: float) -> str:
    """Half circles in a row, as a winding is drawn."""
    return f"M{start:g} 0" + f"a{radius:g} {radius:g} 0 0 1 {2 * radius:g} 0" * count


def boxed(half: float, height: float, *inside: str, up: float = 0.0, down: float = 0.0, sign: str = "") -> Symbol:
    """A rectangular body with strokes inside or about it."""
    below = max(down, height + 1, 19.0 if sign else 0.0)
    return Symbol((leads(half), *inside), (rectangle(half, height),), (), "", max(up, height + 1), below, sign=sign)


def round_(radius: float, *inside: str, letter: str = "", solids: tuple[str, ...] = (), up: float = 0.0) -> Symbol:
    """A round body with strokes or a letter inside."""
    return Symbol((leads(radius), *inside), (circle(radius),), solids, letter, max(up, radius + 1), radius + 1)
