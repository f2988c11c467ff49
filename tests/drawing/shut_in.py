"""Leads of which a search of its own shows that no way from the terminal is free of words and chips.

It tries a piece at every three degrees and of many lengths, none shorter than a tip, and from its end a fine grid.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from halfsplit.drawing import check

_STEP, _EDGE = 2.0, 2.0
_CASING = 2.5
"""Half the width of a line with its pale casing, which must not eat what it passes [px]."""
_ANGLES = range(0, 360, 3)
_LENGTHS = (15.5, 18.0, 21.0, 24.0, 28.0, 32.0, 36.0)


def unavoidable(picture: str) -> Iterator[str]:
    """What the checker finds of leads that no way is free for."""
    reading = check.read(picture)
    found = list(check.leads(reading))
    for lead in reading.leads:
        own = [finding for finding in found if finding.startswith(f"the {lead.colour} lead lies on ")]
        if own and shut_in(reading, lead):
            yield from own


def shut_in(reading: check.Reading, lead: check.Lead) -> bool:
    """Whether every way from a lead's terminal to the row before its flag lies on words or a chip."""
    tip, edge = lead.points[-1], lead.points[0][1]
    rows = [y for one in reading.leads for _, y in one.points]
    rows += [y for symbol in reading.symbols for y in (symbol.frame.top, symbol.frame.bottom)]
    low, high = min(rows), max(rows)
    taken = _taken(reading, lead)
    start = {node for node in _firsts(reading, lead, tip) if node not in taken}
    seen, waiting = set(start), list(start)
    while waiting:
        x, y = waiting.pop()
        if abs(y * _STEP - edge) <= 10:
            return False
        for after in ((x + 1, y), (x - 1, y), (x, y + 1), (x, y - 1)):
            u, v = after[0] * _STEP, after[1] * _STEP
            inside = _EDGE <= u <= reading.size[0] - _EDGE and low <= v <= high
            if inside and after not in seen and after not in taken:
                seen.add(after)
                waiting.append(after)
    return True


def _bodies(reading: check.Reading, lead: check.Lead) -> list[check.Frame]:
    return [body for body in (*reading.texts, *reading.chips) if body != lead.flag]


def _taken(reading: check.Reading, lead: check.Lead) -> set[tuple[int, int]]:
    """Nodes where a line or its casing would lie on words or a chip."""
    taken: set[tuple[int, int]] = set()
    for body in _bodies(reading, lead):
        for i in range(math.ceil((body.left - _CASING) / _STEP), math.floor((body.right + _CASING) / _STEP) + 1):
            for j in range(math.ceil((body.top - _CASING) / _STEP), math.floor((body.bottom + _CASING) / _STEP) + 1):
                taken.add((i, j))
    return taken


def _firsts(reading: check.Reading, lead: check.Lead, tip: check.Point) -> Iterator[tuple[int, int]]:
    """Nodes where a free piece at the terminal ends; judged by the checker itself."""
    near = [body for body in _bodies(reading, lead) if _far(body, tip) < 60]
    texts = tuple(body for body in near if body.what.startswith("text"))
    chips = tuple(body for body in near if not body.what.startswith("text"))
    for angle in _ANGLES:
        for length in _LENGTHS:
            x = tip[0] + length * math.cos(math.radians(angle))
            y = tip[1] + length * math.sin(math.radians(angle))
            node = round(x / _STEP), round(y / _STEP)
            end = node[0] * _STEP, node[1] * _STEP
            piece = replace(lead, points=(end, tip))
            if math.dist(end, tip) >= 15 and not list(
                check.leads(replace(reading, texts=texts, chips=chips, leads=(piece,)))
            ):
                yield node


def _far(body: check.Frame, point: check.Point) -> float:
    x, y = point
    return math.hypot(max(body.left - x, 0, x - body.right), max(body.top - y, 0, y - body.bottom))
