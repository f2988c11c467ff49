"""Halfsplit finds the fault in a household appliance by computing what every fault would show.

Import the modules themselves (``from halfsplit.circuit import network``): this file imports none of them,
so that a command loads only what it needs and no cycle can start here.
"""

from __future__ import annotations

import os as _os

__all__ = ["__version__"]

__version__ = "0.1.0"

# The networks are small: more threads than one only get in each other's way (70 s against 9 s for one table on two
# busy cores). Takes effect where numpy has not been imported before; a user's own choice stands.
_os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
