"""Shows an SI value as a person reads it: '9.20 kΩ'. What it writes, ``parse`` reads back."""

from __future__ import annotations

import math
from decimal import Decimal

from halfsplit.quantity import units
from halfsplit.quantity.dimension import Dimension

__all__ = ["display", "duration"]

# No more decimals than a hand meter or thermometer has (common practice, no source).
_MOST_DECIMALS = {Dimension.RESISTANCE: 2, Dimension.TEMPERATURE: 1, Dimension.MONEY: 2}
_PLENTY = 6


def display(value: float, dimension: Dimension, *, digits: int = 3, unit: str = "") -> str:
    """The value (SI) with ``digits`` significant digits, in ``unit`` or one that suits; infinity is OL.

    Raises ``ValueError`` for not-a-number and for a unit of another dimension.

    >>> display(9200.0, Dimension.RESISTANCE), display(68.0, Dimension.TEMPERATURE, unit="°F")
    ('9.20 kΩ', '154 °F')
    """
    if math.isnan(value):
        raise ValueError(f"a {dimension.value} that is not a number cannot be shown")
    if math.isinf(value):
        return "OL" if value > 0 else "-OL"
    scale = _suited(value, dimension, digits, unit)
    number = scale.from_si(Decimal(repr(value)))
    decimals = _decimals(number, dimension, digits)
    return f"{_rounded(number, decimals)} {scale.symbol}".removesuffix(" 1")


def duration(minutes: float, *, signed: bool = False) -> str:
    """So many minutes of work as a person is told them: below a minute in seconds, to the 5 s from 10 s on.

    Tenths of minutes below five, whole minutes above; `signed`: with a plus where it is more than nothing. That work is
    timed no finer is common practice, no source.

    >>> [duration(minutes) for minutes in (0.05, 0.3, 1.0, 1.25, 34.4)], duration(0.3, signed=True), duration(-0.7)
    (['3 s', '20 s', '1 min', '1.2 min', '34 min'], '+20 s', '-40 s')
    """
    size = abs(minutes)
    seconds = round(60 * size) if 60 * size < 10 else 5 * round(12 * size)
    told = f"{seconds} s" if seconds < 60 else f"{size:.1f} min" if size < 4.95 else f"{size:.0f} min"
    sign = "" if not seconds else "-" if minutes < 0 else "+" if signed else ""
    return sign + told.replace(".0 ", " ")


def _suited(value: float, dimension: Dimension, digits: int, unit: str) -> units.Scale:
    candidates = [unit] if unit else list(units.SHOWN.get(dimension, (units.UNITS[dimension][0].symbol,)))
    scales = [_known(dimension, name) for name in candidates]
    for scale in reversed(scales):
        number = scale.from_si(Decimal(repr(value)))
        if abs(_rounded(number, _decimals(number, dimension, digits))) >= 1:
            return scale
    return scales[0]


def _known(dimension: Dimension, name: str) -> units.Scale:
    scale = units.find(dimension, name)
    if scale is None:
        raise ValueError(f"'{name}' is no unit of a {dimension.value}")
    return scale


def _decimals(number: Decimal, dimension: Dimension, digits: int) -> int:
    most = _MOST_DECIMALS.get(dimension, _PLENTY)
    if _rounded(number, most) == 0:
        return min(most, digits - 1)
    wanted = digits - 1 - number.adjusted()
    if abs(_rounded(number, max(wanted, 0))).adjusted() > number.adjusted():
        wanted -= 1  # 9.996 becomes 10.0, not 10.00
    return max(0, min(most, wanted))


def _rounded(number: Decimal, decimals: int) -> Decimal:
    rounded = round(number, decimals)
    return abs(rounded) if rounded == 0 else rounded
