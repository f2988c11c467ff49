"""How many cases a test tries whose cases could be any number: some for everybody, more where time is no matter.

The usual run has to end within half an hour on a slow machine. With HALFSPLIT_DEEP set to 1 each of these tests tries
the many; what is judged, and by whom, is the same.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TypeVar

T = TypeVar("T")
DEEP = os.environ.get("HALFSPLIT_DEEP") == "1"


def tried(few: int, many: int) -> int:
    """How many of the cases are tried.

    >>> tried(4, 12) in (4, 12)
    True
    """
    return many if DEEP else few


def some(cases: Sequence[T], few: int) -> Sequence[T]:
    """So many of the cases, spread evenly over them, the first among them; deep, all.

    >>> [*some("abcdefgh", 3)] in ([*"acf"], [*"abcdefgh"])
    True
    """
    return cases if DEEP else [cases[n * len(cases) // few] for n in range(min(few, len(cases)))]
