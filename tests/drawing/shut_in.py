"""Terminals that no tip of a lead reaches straight, since words or chips lie both above and below them."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.drawing import check


def unavoidable(picture: str) -> Iterator[str]:
    """What the checker finds of leads whose terminal is shut in."""
    reading = check.read(picture)
    ends = {lead.colour: lead.points[-1] for lead in reading.leads}
    yield from (found for found in check.leads(reading) if _shut_in(reading, ends[found.split()[1]]))


def _shut_in(reading: check.Reading, point: check.Point) -> bool:
    solid = [*reading.texts, *reading.chips]
    return all(any(_strip(point, way).overlaps(body) for body in solid) for way in (-1, 1))


def _strip(point: check.Point, way: int) -> check.Frame:
    """Where a tip that comes straight from above (-1) or below (1) lies, from the symbol's edge on."""
    near, far = sorted((point[1] + way * 6, point[1] + way * 20))
    return check.Frame(point[0] - 4.6, near, point[0] + 4.6, far, "strip")
