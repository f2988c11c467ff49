"""Numbers of a machine file: texts to values in SI with their ranges. Units are never guessed.

Knows the reader of quantities and the kinds of value that the table of part types names; no file.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache

from halfsplit.errors import NotUnderstood
from halfsplit.machine.primitives import Value
from halfsplit.quantity import units
from halfsplit.quantity.dimension import Dimension
from halfsplit.quantity.parse import parse_quantity

__all__ = ["CURRENCIES", "KINDS", "factor", "minutes", "money", "number", "truth", "value"]

KINDS: dict[str, Dimension] = {
    "V": Dimension.VOLTAGE,
    "A": Dimension.CURRENT,
    "W": Dimension.POWER,
    "ohm": Dimension.RESISTANCE,
    "F": Dimension.CAPACITANCE,
    "°C": Dimension.TEMPERATURE,
    "K": Dimension.TEMPERATURE_DIFFERENCE,
    "s": Dimension.TIME,
    "Hz": Dimension.FREQUENCY,
}
"""The kinds of number that a part type's value may be, by the unit that its `is` names."""

CURRENCIES = units.names(Dimension.MONEY)
"""The currencies in which a price may be written."""

_NUMBER = re.compile(r"[-+]?(?:\d{1,12}(?:\.\d{0,12})?|\.\d{1,12})(?:[eE][-+]?\d{1,2})?")
_PLUS_MINUS = re.compile(r"(?P<main>.*?)\s*(?:±|\+/?-)\s*(?P<spread>[\d.]+)\s*(?P<unit>%?)")


@lru_cache(maxsize=4096)
def value(text: str, kind: str) -> Value:
    """A value with its range; `kind` is one of ``KINDS`` or "number". Raises ``WrongUse``.

    >>> value("20 ohm ± 5 %", "ohm")
    Value(nominal=20.0, low=19.0, high=21.0, shared='')
    >>> value("1.02", "number").nominal
    1.02
    """
    if kind == "number":
        return _bare(text)
    quantity = parse_quantity(text, KINDS[kind])
    return Value(quantity.value, quantity.low, quantity.high)


def _bare(text: str) -> Value:
    match = _PLUS_MINUS.fullmatch(text)
    if match is None:
        plain = number(text)
        return Value(plain, plain, plain)
    middle, spread = number(match["main"]), number(match["spread"])
    half = abs(middle) * spread / 100 if match["unit"] else spread
    return Value(middle, middle - half, middle + half)


def number(text: str) -> float:
    """A bare number, without a unit.

    >>> number("0.5")
    0.5
    """
    if not _NUMBER.fullmatch(text.strip()):
        raise NotUnderstood(text, f"'{text[:40]}' is no plain number.", "Write a number without a unit.")
    found = float(text)
    if not math.isfinite(found):
        raise NotUnderstood(text, f"'{text[:40]}' is too large.", "Look at the power of ten.")
    return found


def factor(text: str) -> float:
    """A share of one, bare or in per cent.

    >>> factor("40 %"), factor("0.4")
    (0.4, 0.4)
    """
    return number(text[:-1]) / 100 if text.endswith("%") else number(text)


def minutes(text: str) -> float:
    """A time, in minutes.

    >>> minutes("1.5 h")
    90.0
    """
    found = parse_quantity(text, Dimension.TIME).value / 60
    if not 0 <= found <= 1440:
        raise NotUnderstood(text, f"'{text[:40]}' is no time that work takes.", "Write it as in 20 min.")
    return found


def money(text: str) -> tuple[float, str]:
    """A sum of money and its currency.

    >>> money("45 USD")
    (45.0, 'USD')
    """
    found = parse_quantity(text, Dimension.MONEY)
    if found.value < 0:
        raise NotUnderstood(text, "A price cannot be negative.", "Write it as in 45 USD.")
    return found.value, found.unit


_YES = {"yes": True, "true": True, "no": False, "false": False}


def truth(text: str) -> bool:
    """Yes or no.

    >>> truth("no")
    False
    """
    if text.casefold() not in _YES:
        raise NotUnderstood(text, f"'{text[:40]}' is neither yes nor no.", "Write yes or no.")
    return _YES[text.casefold()]
