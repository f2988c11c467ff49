"""What a typed text can mean: a quantity, over range, or the beeper. Pure data."""

from __future__ import annotations

from dataclasses import dataclass

from halfsplit.quantity.dimension import Dimension

__all__ = ["Beep", "OverRange", "Quantity", "Typed"]


@dataclass(frozen=True)
class Quantity:
    """A number with its unit; every float in SI (temperatures in °C, money in the currency of ``unit``).

    ``low`` and ``high`` are the ends of the tolerance, equal to ``value`` where none was written;
    ``resolution`` is the worth of the last digit typed; ``unit`` and ``text`` are as written; ``note`` is
    something the person should be told about how it was read, else "".
    """

    value: float
    dimension: Dimension
    unit: str
    low: float
    high: float
    resolution: float
    text: str
    note: str = ""


@dataclass(frozen=True)
class OverRange:
    """The meter showed more than it can (OL); ``negative`` where it showed a minus sign with it."""

    text: str
    negative: bool = False


@dataclass(frozen=True)
class Beep:
    """What the beeper of a continuity test did."""

    text: str
    sounds: bool


Typed = Quantity | OverRange | Beep
