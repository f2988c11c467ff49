"""The page while it is drawn: layers of SVG text, and boxes of what must not be covered.

May know: the SVG writer. May not know: wiring.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from halfsplit.drawing import svg, theme
from halfsplit.drawing.cells import Way

LAYERS = ("marks", "wires", "boxes", "symbols", "dots", "chips", "words", "leads")

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle on the page and what is in it."""

    left: float
    top: float
    right: float
    bottom: float
    what: str


@dataclass(slots=True)
class Canvas:
    """Collects a picture; ``shift`` moves the plan's corner, ``way`` says how along and across lie on the page."""

    way: Way
    shift: Point
    layers: dict[str, list[str]] = field(default_factory=lambda: {name: [] for name in LAYERS})
    areas: list[Area] = field(default_factory=list)

    def at(self, along: float, across: float) -> Point:
        """The point of the page for a place along and across the flow."""
        x, y = (along, across) if self.way is Way.ACROSS else (across, along)
        return round(x + self.shift[0], 2), round(y + self.shift[1], 2)

    def matrix(self, along: float, across: float, turned: bool) -> str:
        """Transform that lays a symbol at a place: down the page x and y change places."""
        x, y = (svg.number(value) for value in self.at(along, across))
        sign = -1 if turned else 1
        return f"matrix({sign} 0 0 1 {x} {y})" if self.way is Way.ACROSS else f"matrix(0 {sign} 1 0 {x} {y})"

    def put(self, layer: str, *pieces: str) -> None:
        """Adds SVG to a layer."""
        self.layers[layer] += pieces

    def words(self, x: float, y: float, text: str, kind: str, anchor: str = "", **data: str) -> None:
        """A line of text, and its area."""
        wide = theme.width(kind, text)
        left = x - {"": 0.0, "middle": wide / 2, "end": wide}[anchor]
        tall = theme.size(kind)
        self.areas.append(Area(left, y - 0.76 * tall, left + wide, y + 0.22 * tall, f"words {text}"))
        self.put("words", svg.text(x, y, text, class_=f"{kind} {anchor}".strip(), **data))

    def area(self, left: float, top: float, right: float, bottom: float, what: str) -> None:
        """Marks a rectangle as taken."""
        self.areas.append(Area(left, top, right, bottom, what))

    def body(self) -> Iterable[str]:
        """Layers from back to front, each a group."""
        return (
            svg.tag("g", ["\n".join(self.layers[name])], class_=f"layer-{name}") for name in LAYERS if self.layers[name]
        )
