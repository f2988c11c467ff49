"""The mechanical link between contacts that move together: a dashed line where they stand in line, else words.

May know: the plan and the canvas. The dashed line is that of IEC 60617 for a mechanical link; it may cross wires.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import pairwise

from halfsplit.drawing import cells, svg
from halfsplit.drawing.canvas import Area, Canvas, Point
from halfsplit.drawing.cells import Way
from halfsplit.drawing.graph import Kind
from halfsplit.drawing.plan import Plan
from halfsplit.drawing.sheet import Element, Sheet

Pair = tuple[int, int]
"""Two links whose elements move together, the upper one first."""


def groups(elements: Iterable[Element]) -> dict[str, list[int]]:
    """Indices of the elements of every linked group of two or more."""
    found: dict[str, list[int]] = {}
    for index, element in enumerate(elements):
        if element.linked:
            found.setdefault(element.linked, []).append(index)
    return {name: members for name, members in found.items() if len(members) > 1}


def pairs(plan: Plan, sheet: Sheet, gap: Mapping[int, int]) -> list[Pair]:
    """Links that can be joined by a straight line: same gap, and no other symbol between their rows."""
    row = {i: r for rung, r in zip(plan.rungs, plan.rows, strict=True) for i in rung.links}
    link_of = {plan.flow.links[i].item: i for i in row if plan.flow.links[i].kind is Kind.ELEMENT}
    found = []
    for members in groups(sheet.elements).values():
        links = sorted((link_of[item] for item in members), key=lambda i: (gap[i], row[i]))
        for upper, lower in pairwise(links):
            between = any(gap[i] == gap[upper] and row[upper] < r < row[lower] for i, r in row.items())
            if gap[upper] == gap[lower] and not between:
                found.append((upper, lower))
    return found


def worded(plan: Plan, sheet: Sheet, found: Iterable[Pair]) -> Sheet:
    """The sheet with a line 'moves with ...' on every linked element that no line will join to another."""
    joined = {plan.flow.links[i].item for pair in found for i in pair}
    elements = list(sheet.elements)
    for members in groups(sheet.elements).values():
        for index in (i for i in members if i not in joined):
            other = next(sheet.elements[i] for i in members if i != index)
            ends = (cells.terminal_name(other.start), cells.terminal_name(other.end))
            words = f"moves with {ends[0]}–{ends[1]}"
            elements[index] = replace(elements[index], lines=(*elements[index].lines, words))
    return replace(sheet, elements=tuple(elements))


def _line(canvas: Canvas, one: Area, two: Area) -> tuple[Point, Point]:
    """From under the upper symbol to the glyph over the lower one."""
    if canvas.way is Way.ACROSS:
        x = (one.left + one.right) / 2
        return (x, one.bottom - 4), (x, two.top + 1)
    y = (one.top + one.bottom) / 2
    return (one.right - 4, y), (two.left + 1, y)


def drawn(canvas: Canvas, plan: Plan, sheet: Sheet, found: Iterable[Pair]) -> None:
    """Dashed lines of all pairs."""
    areas = {area.what: area for area in canvas.areas if area.what.startswith("symbol ")}
    for upper, lower in found:
        keys = [sheet.elements[plan.flow.links[i].item].key for i in (upper, lower)]
        ends = _line(canvas, *(areas[f"symbol {key}"] for key in keys))
        canvas.put("symbols", svg.tag("path", class_="link", d=svg.line(ends), data_link=" ".join(keys)))
