"""The mechanical link between contacts that move together, and between a coil and the contacts that it moves.

It is a dashed line where they stand in line (IEC 60617: it may cross wires), else words at both that name the terminals
of the other, as IEC 61082 lets a coil and its contacts stand apart (from memory). May know: plan and canvas.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from halfsplit.drawing import cells, svg
from halfsplit.drawing.canvas import Area, Canvas, Point
from halfsplit.drawing.cells import Way
from halfsplit.drawing.graph import Kind
from halfsplit.drawing.plan import Plan
from halfsplit.drawing.sheet import Element, Sheet

COIL = "coil"
"""The kind of element that moves the contacts of its group."""

Pair = tuple[int, int]
"""Two links whose elements move together, the upper one first."""


def groups(elements: Iterable[Element]) -> dict[str, list[int]]:
    """Indices of the elements of every linked group of two or more."""
    found: dict[str, list[int]] = {}
    for index, element in enumerate(elements):
        if element.linked:
            found.setdefault(element.linked, []).append(index)
    return {name: members for name, members in found.items() if len(members) > 1}


def _rows(plan: Plan) -> dict[int, int]:
    """Row of every link."""
    return {i: r for rung, r in zip(plan.rungs, plan.rows, strict=True) for i in rung.links}


def _links(plan: Plan, rows: Iterable[int]) -> dict[int, int]:
    """The link of every element."""
    return {plan.flow.links[i].item: i for i in rows if plan.flow.links[i].kind is Kind.ELEMENT}


def _in_sight(one: int, two: int, gap: Mapping[int, int], row: Mapping[int, int]) -> bool:
    """Whether two links of one gap have no other symbol between their rows."""
    low, high = sorted((row[one], row[two]))
    return gap[one] == gap[two] and not any(gap[i] == gap[one] and low < r < high for i, r in row.items())


def aligned(plan: Plan, sheet: Sheet, gap: Mapping[int, int]) -> dict[int, int]:
    """The gaps, with every coil moved into that of a contact of its own where a line can then join them."""
    row = _rows(plan)
    link_of = _links(plan, row)
    moved = dict(gap)
    for members in groups(sheet.elements).values():
        coils = [item for item in members if sheet.elements[item].kind == COIL]
        for coil in (link_of[item] for item in coils):
            tail, head = plan.flow.arcs[coil]
            for contact in (link_of[item] for item in members if item not in coils):
                trial = moved | {coil: moved[contact]}
                fits = plan.rank[tail] <= moved[contact] < plan.rank[head]
                if fits and row[coil] != row[contact] and _in_sight(coil, contact, trial, row):
                    moved = trial
                    break
    return moved


def pairs(plan: Plan, sheet: Sheet, gap: Mapping[int, int]) -> list[Pair]:
    """Links that can be joined by a straight line: same gap, and no other symbol between their rows."""
    row = _rows(plan)
    link_of = _links(plan, row)
    found = []
    for members in groups(sheet.elements).values():
        links = sorted((link_of[item] for item in members), key=lambda i: (gap[i], row[i]))
        found += [(upper, lower) for upper, lower in pairwise(links) if _in_sight(upper, lower, gap, row)]
    return found


def worded(plan: Plan, sheet: Sheet, found: Iterable[Pair]) -> Sheet:
    """The sheet with a line on every linked element that no line joins to its coil, its contacts or any other."""
    joined = _joined(plan, found)
    elements = list(sheet.elements)
    for members in groups(sheet.elements).values():
        for index in members:
            apart = [i for i in members if i != index and i not in joined.get(index, {index})]
            words = _words(sheet, index, apart, alone=index not in joined)
            if words:
                elements[index] = replace(elements[index], lines=(*elements[index].lines, words))
    return replace(sheet, elements=tuple(elements))


def said(sheet: Sheet, kept: Iterable[Element]) -> list[Element]:
    """Some elements of a sheet, with a line on each coil or contact whose contacts or coil are not among them."""
    keys = {element.key for element in kept}
    found = []
    for index, element in enumerate(sheet.elements):
        if element.key in keys:
            group = [i for i, other in enumerate(sheet.elements) if other.linked == element.linked != ""]
            away = [i for i in group if sheet.elements[i].key not in keys]
            words = _words(sheet, index, away, alone=False)
            found.append(replace(element, lines=(*element.lines, *filter(None, (words,)))))
    return found


def _joined(plan: Plan, found: Iterable[Pair]) -> dict[int, set[int]]:
    """For every element on a line, all that are on it."""
    joined: dict[int, set[int]] = {}
    for pair in found:
        one, two = (plan.flow.links[i].item for i in pair)
        together = joined.get(one, {one}) | joined.get(two, {two})
        joined |= dict.fromkeys(together, together)
    return joined


def _words(sheet: Sheet, index: int, apart: Sequence[int], alone: bool) -> str:
    """What is said of elements of the same group that stand apart; '' for what a line says or another one does."""
    coils = [i for i in apart if sheet.elements[i].kind == COIL]
    if sheet.elements[index].kind == COIL:
        contacts = [_ends(sheet.elements[i]) for i in apart if i not in coils]
        return f"moves {', '.join(contacts)}" if contacts else ""
    if coils:
        return f"moved by {_ends(sheet.elements[coils[0]])}"
    return f"moves with {_ends(sheet.elements[apart[0]])}" if apart and alone else ""


def _ends(element: Element) -> str:
    """Terminals of an element; its own name where one of them lies inside the part."""
    if cells.inner(element.start) or cells.inner(element.end):
        return element.name
    return f"{cells.terminal_name(element.start)}–{cells.terminal_name(element.end)}"


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
