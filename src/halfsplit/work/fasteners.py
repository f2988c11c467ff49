"""The fasteners of covers: read from what a bay's file says has to be undone, and added up.

Knows text and numbers; no bay, no part.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

_COUNTED = re.compile(r"(?P<count>\d{1,3}) ?[x×] ?(?P<kind>\S.*)")
_WHERE = re.compile(r" (?=(?:under|of|at|behind|on|near|along|below|above|beside|in the|through) )")
_APART = re.compile(r",\s*|\s+and\s+")


@dataclass(frozen=True)
class Fastener:
    """So many fasteners of one kind: 4 x T20; `where` they sit, for a person ("under the lint screen")."""

    count: int
    kind: str
    where: str = ""

    def __str__(self) -> str:
        return f"{self.count} x {self.kind} {self.where}".rstrip()


def fasteners(text: str) -> tuple[tuple[Fastener, ...], tuple[str, ...]]:
    """The fasteners that a bay's text counts, and what else it says has to be undone.

    >>> held, also = fasteners("belt off the idler and 6 x 1/4 in hex of the bulkhead")
    >>> [str(one) for one in held], held[0].kind, also
    (['6 x 1/4 in hex of the bulkhead'], '1/4 in hex', ('belt off the idler',))
    """
    held, also = [], []
    for piece in filter(None, _APART.split(text.strip())):
        found = _COUNTED.fullmatch(piece)
        if found is None:
            also.append(piece)
            continue
        kind, *where = _WHERE.split(found["kind"], maxsplit=1)
        held.append(Fastener(int(found["count"]), kind, " ".join(where)))
    return tuple(held), tuple(also)


def counted(given: Iterable[Fastener]) -> tuple[Fastener, ...]:
    """Fasteners added up by kind.

    >>> [str(f) for f in counted([Fastener(4, "T20"), Fastener(6, "PH2"), Fastener(2, "T20")])]
    ['6 x PH2', '6 x T20']
    """
    total: Counter[str] = Counter()
    for fastener in given:
        total[fastener.kind] += fastener.count
    return tuple(Fastener(total[kind], kind) for kind in sorted(total))
