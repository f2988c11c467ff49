"""What is left where the sheet leaves the job, for who cannot weigh anew there: a line for each way off it.

Knows the ways as data; decides nothing, and knows not whether they are printed as text or as a page.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from halfsplit.cli.lines import Block, Line
from halfsplit.cli.output import percent
from halfsplit.quantity.display import duration
from halfsplit.work.hazards import gravest_first

Data = Mapping[str, Any]
TOGETHER = 8
"""So many lines no page cuts in two."""
_HOW = (
    "By box and what you found there: the repairs that are left, cheapest for their chance first. Where one does not "
    "cure, the next; none is made twice. All else is rarer repairs, what the file does not say, and that nothing is "
    "wrong. What has no line is rare; a repair box without one is in vain in fewer than 1 of 1000 jobs: look once more "
    "at what was fitted, its wires and joints, then hand over.",
    "Before each: controls off, plug out or breaker off, proved dead; gas shut, what is hot cooled, a capacitor "
    "discharged and water let out where they come to it; photograph before a wire comes off. After each: put together "
    "as in the nearest repair box, then the proof run. Where a box says so the power stays off.",
)
NONE = "no repair is likely; see for yourself that the complaint is there, then hand over."


def blocks(ways: Sequence[Data]) -> Iterator[Block]:
    """All ways off the sheet, behind what is to be minded at any of the repairs."""
    if not ways:
        return
    minded = gravest_first(caution for way in ways for one in way["repairs"] for caution in one["cautions"])
    yield Block(
        (*map(Line, minded), *map(Line, _HOW)), "WHAT IS LEFT, where the sheet leaves you and you cannot weigh anew"
    )
    for first in range(0, len(ways), TOGETHER):
        yield Block(tuple(map(_line, ways[first : first + TOGETHER])))


def _line(way: Data) -> Line:
    found = f"{way['in_vain']}, in vain" if way["in_vain"] else way["shows"] or "here"
    return Line(f"{found}: {way['stop'] or _repairs(way)}", f"{way['box']:>3} ")


def _repairs(way: Data) -> str:
    if not way["repairs"]:
        return NONE
    return f"{'; then '.join(map(_repair, way['repairs']))}. All else {percent(way['all_else'])}."


def _repair(one: Data) -> str:
    """A set of repairs: how probably it cures, then its minutes and parts, and who makes it where we do not."""
    told = [duration(one["minutes"])] if one["minutes"] is not None else []
    told += [f"{one['price']:.0f} {one['currency']}"] if one["price"] else []
    told += [f"the work of: {who}" for who in one["by"] if who != "repairer"]
    told += [one["why_barred"]] if one["barred"] else []
    return f"{one['name']} {percent(one['probability'])} ({', '.join(told)})"
