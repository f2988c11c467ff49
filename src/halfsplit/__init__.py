"""Halfsplit finds the fault in a household appliance by computing what every fault would show.

Import the modules themselves (``from halfsplit.circuit import network``): this file imports none of them,
so that a command loads only what it needs and no cycle can start here.
"""

from __future__ import annotations

__all__ = ["__version__"]

__version__ = "0.1.0"
