"""The one small SVG writer: elements as text with escaped attributes and fixed numbers, so that bytes repeat.

May know: the theme's style sheet. May not know: what is drawn.
"""

from __future__ import annotations

from collections.abc import Iterable
from xml.sax.saxutils import escape, quoteattr

from halfsplit.drawing import theme

Attribute = str | float | int


def number(value: float) -> str:
    """A number with at most two decimals and no negative zero.

    >>> number(3.0), number(-0.001), number(2.345)
    ('3', '0', '2.35')
    """
    text = f"{value + 1e-9:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _attribute(name: str, value: Attribute) -> str:
    text = value if isinstance(value, str) else number(value)
    return f" {name.rstrip('_').replace('_', '-')}={quoteattr(text)}"


def tag(name: str, children: Iterable[str] | None = None, **attributes: Attribute) -> str:
    """One element; ``class_`` and ``data_net`` become ``class`` and ``data-net``; empty texts are left out.

    >>> tag("circle", cx=1.5, cy=2, r=3, class_="dot")
    '<circle cx="1.5" cy="2" r="3" class="dot"/>'
    """
    head = f"<{name}" + "".join(_attribute(k, v) for k, v in attributes.items() if v != "")
    if children is None:
        return head + "/>"
    return f"{head}>{''.join(children)}</{name}>"


def rectangle(corner: tuple[float, float], other: tuple[float, float], **attributes: Attribute) -> str:
    """A rectangle from its upper left to its lower right corner."""
    sides = {"x": corner[0], "y": corner[1], "width": other[0] - corner[0], "height": other[1] - corner[1]}
    return tag("rect", None, **sides, **attributes)


def text(x: float, y: float, words: str, **attributes: Attribute) -> str:
    """A line of text at its baseline."""
    return tag("text", [escape(words)], x=x, y=y, **attributes)


def line(points: Iterable[tuple[float, float]]) -> str:
    """Path data through the points, with H and V where the path is straight along an axis.

    >>> line([(0, 0), (5, 0), (5, 7.5)])
    'M0 0H5V7.5'
    """
    parts: list[str] = []
    last: tuple[float, float] | None = None
    for x, y in points:
        parts.append(_step(last, x, y))
        last = (x, y)
    return "".join(parts)


def _step(last: tuple[float, float] | None, x: float, y: float) -> str:
    if last is None:
        return f"M{number(x)} {number(y)}"
    if last[1] == y:
        return f"H{number(x)}"
    if last[0] == x:
        return f"V{number(y)}"
    return f"L{number(x)} {number(y)}"


def slug(words: str) -> str:
    """Words as an identifier that is safe in an id and a URL reference.

    >>> slug("Vented dryer, 240 V")
    'vented-dryer-240-v'
    """
    plain = "".join(c if c.isascii() and c.isalnum() else "-" for c in words.lower())
    return "-".join(filter(None, plain.split("-"))) or "drawing"


def document(title: str, width: float, height: float, body: Iterable[str], defs: str = "") -> str:
    """A whole SVG file or inline picture: a group with a title for those who listen, its style and its body."""
    name = f"t-{slug(title)}"
    children = [
        tag("title", [escape(title)], id=name),
        tag("style", [theme.css()]),
        defs and tag("defs", [defs]),
        tag("rect", class_="page", x=0, y=0, width=width, height=height),
        *body,
    ]
    return (
        tag(
            "svg",
            ["\n", *(child + "\n" for child in children if child)],
            xmlns="http://www.w3.org/2000/svg",
            class_="drawing",
            viewBox=f"0 0 {number(width)} {number(height)}",
            width=width,
            height=height,
            role="group",
            aria_labelledby=name,
        )
        + "\n"
    )
