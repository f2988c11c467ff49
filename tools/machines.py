"""The machines of the library in the order in which pages list them.

Knows names; not what is measured of them.
"""

from __future__ import annotations

from halfsplit.machine import library

_FIRST = ("vented-dryer", "vented-dryer-3-wire", "water-heater", "refrigerator", "coil-cooktop")
"""The order of the rows that pages have already; what the library has besides follows."""


def in_order() -> tuple[str, ...]:
    """Every machine of the library, once.

    >>> sorted(in_order()) == list(library.names())
    True
    """
    known = library.names()
    return (*(name for name in _FIRST if name in known), *(name for name in known if name not in _FIRST))
