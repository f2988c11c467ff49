"""Words for what was seen that no fault of the place leaves: kept as they were written, and told of to who wrote them.

Knows findings and the marks of faults.
"""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.modes import listing, marks
from halfsplit.work import stopping


def sentences(machine: model.Machine, findings: Sequence[f.Finding]) -> list[str]:
    """Of each such word how it counts, and which would say more; not of one that ends the work."""
    looks = [one for one in findings if isinstance(one, f.Look) and not stopping.ending(machine, [one])]
    faults = listing.faults(machine) if looks else ()
    return [_sentence(one, known) for one in looks if one.sees not in (known := marks.seen(faults, one.at))]


def _sentence(one: f.Look, known: Sequence[str]) -> str:
    return f"{one.sees!r} at {one.at} is noted, and counts as {marks.ELSE}. Known there: {', '.join(known[:-1])}."
