"""A course over time as curves: temperatures, with the levels at which something switches.

May know: the panel. Values are in the units that the axis names; nothing is converted here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from halfsplit import errors
from halfsplit.drawing import svg, theme
from halfsplit.drawing.pictures.panel import MARGIN, PHONE, Panel


@dataclass(frozen=True, slots=True)
class Curve:
    """A named course: (time, value) in order of time."""

    name: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Level:
    """A level at which something happens, in words: 'thermostat opens'."""

    words: str
    value: float


@dataclass(frozen=True, slots=True)
class Course:
    """Up to three curves over one time axis, with levels and the words of both axes."""

    title: str
    curves: tuple[Curve, ...]
    levels: tuple[Level, ...] = ()
    time: str = "minutes"
    value: str = "°C"


def ticks(low: float, high: float, most: int) -> list[float]:
    """Round values within a range, at most about ``most``, at steps of 1, 2 or 5 times a power of ten.

    >>> ticks(0, 95, 5)
    [0.0, 20.0, 40.0, 60.0, 80.0]
    """
    raw = (high - low) / most or 1.0
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(power * k for k in (1, 2, 5, 10) if power * k >= raw * 0.999)
    return [step * k for k in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)]


@dataclass(frozen=True, slots=True)
class _Axes:
    """Where the plot lies on the page and which values it spans."""

    left: float
    top: float
    right: float
    foot: float
    times: tuple[float, float]
    values: tuple[float, float]

    def x(self, time: float) -> float:
        low, high = self.times
        return round(self.left + (time - low) / (high - low) * (self.right - self.left), 2)

    def y(self, value: float) -> float:
        low, high = self.values
        return round(self.foot - (value - low) / (high - low) * (self.foot - self.top), 2)


def _range(values: Iterable[float], margin: float) -> tuple[float, float]:
    found = list(values)
    low, high = min(found), max(found)
    spare = (high - low) * margin or 1.0
    return low - (spare if margin else 0.0), high + (spare if margin or low == high else 0.0)


def drawn(course: Course, width: float = PHONE, height: float = 220.0) -> str:
    """The course as SVG; ``height`` is that of the plot in px.

    :raises halfsplit.errors.WrongUse: without a point to draw, or with more than three curves.
    """
    points = [point for curve in course.curves for point in curve.points]
    if not points or len(course.curves) > 3:
        raise errors.WrongUse(
            f"'{course.title}' has nothing that can be drawn.", "Give one to three curves with points."
        )
    panel = Panel(course.title, width)
    panel.heading()
    values = [value for _, value in points] + [level.value for level in course.levels]
    spans = _range((time for time, _ in points), 0.0), _range(values, 0.06)
    axes = _Axes(MARGIN + 32, panel.y + 12, width - MARGIN - 6, panel.y + 12 + height, *spans)
    _grid(panel, course, axes)
    for level in course.levels:
        _level(panel, course, level, axes)
    for number, curve in enumerate(course.curves):
        look = "curve" if number == 0 else f"curve curve-{number + 1}"
        path = svg.line([(axes.x(time), axes.y(value)) for time, value in curve.points])
        panel.put(svg.tag("path", class_=look, d=path, data_curve=curve.name))
    panel.y = axes.foot + 34
    _names(panel, course.curves)
    return panel.done()


def _number(value: float) -> str:
    return f"{value:g}"


def _grid(panel: Panel, course: Course, axes: _Axes) -> None:
    for value in ticks(*axes.values, most=5):
        y = axes.y(value)
        panel.put(svg.tag("path", class_="grid", d=svg.line([(axes.left, y), (axes.right, y)])))
        panel.words(axes.left - 5, y + 3.5, _number(value), "label end")
    for time in ticks(*axes.times, most=6):
        x = axes.x(time)
        panel.put(svg.tag("path", class_="grid", d=svg.line([(x, axes.foot), (x, axes.foot + 4)])))
        panel.words(x, axes.foot + 15, _number(time), "label middle")
    panel.words(MARGIN, axes.top - 6, course.value, "note")
    panel.words(axes.right, axes.foot + 28, course.time, "note end")
    panel.put(
        svg.tag(
            "path",
            class_="stroke",
            d=svg.line([(axes.left, axes.top), (axes.left, axes.foot), (axes.right, axes.foot)]),
        )
    )


def _level(panel: Panel, course: Course, level: Level, axes: _Axes) -> None:
    y = axes.y(level.value)
    panel.put(svg.tag("path", class_="link", d=svg.line([(axes.left, y), (axes.right, y)])))
    wide = theme.width("note", level.words)
    x, base = min(_places(axes, y, wide), key=lambda spot: _hits(course, axes, spot, wide))
    panel.put(svg.tag("rect", class_="blank", x=x - 2, y=base - 9, width=wide + 4, height=11))
    panel.words(x, base, level.words, "note")


def _places(axes: _Axes, y: float, wide: float) -> list[tuple[float, float]]:
    """Where the words of a level may begin, best first: over the line from the right, then under it."""
    spare = axes.right - 4 - wide - axes.left - 8
    lefts = [axes.left + 8 + spare * part for part in (1.0, 0.75, 0.5, 0.25, 0.0)]
    return [(x, base) for base in (y - 5, y + 12) for x in lefts]


def _hits(course: Course, axes: _Axes, spot: tuple[float, float], wide: float) -> int:
    """How many points of the curves, closely spaced, lie under words at a spot."""
    x, base = spot
    return sum(
        x - 3 < u < x + wide + 3 and base - 11 < v < base + 4 for curve in course.curves for u, v in _dense(curve, axes)
    )


def _dense(curve: Curve, axes: _Axes) -> list[tuple[float, float]]:
    points = [(axes.x(time), axes.y(value)) for time, value in curve.points]
    steps = [k / 8 for k in range(8)]
    return [(x + (u - x) * k, y + (v - y) * k) for (x, y), (u, v) in pairwise(points) for k in steps]


def _names(panel: Panel, curves: Sequence[Curve]) -> None:
    x = MARGIN
    for number, curve in enumerate(curves):
        look = "curve" if number == 0 else f"curve curve-{number + 1}"
        wide = theme.width("label", curve.name) + 46
        if x > MARGIN and x + wide > panel.width - MARGIN:
            x, panel.y = MARGIN, panel.y + 15
        panel.put(svg.tag("path", class_=look, d=svg.line([(x, panel.y + 6), (x + 24, panel.y + 6)])))
        panel.words(x + 30, panel.y + 9.5, curve.name, "label")
        x += wide
    panel.y += 14
