"""A small page for the pictures of this folder: pieces of SVG from back to front, and words in the theme's classes.

May know: the SVG writer and the theme. May not know: what is shown.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from halfsplit.drawing import svg, theme

PHONE = 390.0
MARGIN = 12.0


@dataclass(slots=True)
class Panel:
    """Collects a picture of fixed width; ``y`` is where the next piece may begin."""

    title: str
    width: float = PHONE
    y: float = MARGIN
    pieces: list[str] = field(default_factory=list)

    def put(self, *pieces: str) -> None:
        """Adds pieces of SVG."""
        self.pieces += pieces

    def heading(self) -> None:
        """The title, over as many lines as it needs."""
        for line in theme.wrapped("heading", self.title, self.width - 2 * MARGIN):
            self.words(MARGIN, self.y + 14, line, "heading")
            self.y += 19
        self.y += 7

    def words(self, x: float, y: float, text: str, look: str, **data: str) -> None:
        """A line of text at its baseline; ``look`` are classes of the theme."""
        self.put(svg.text(x, y, text, class_=look, **data))

    def block(self, x: float, text: str, kind: str, room: float, leading: float) -> None:
        """Text in lines no wider than ``room``, from ``y`` down."""
        for line in theme.wrapped(kind, text, room):
            self.y += leading
            self.words(x, self.y - 3, line, kind)

    def done(self) -> str:
        """The SVG document."""
        return svg.document(self.title, self.width, round(self.y + MARGIN), self.pieces)
