"""Fills the templates of a part type with the values of one part: `$ohms`, `0.5 x $ohms`, `cold lamp of $volts $watts`.

Knows the values of one part, already read. A template that does not fit its type's values is a fault of the
table, not of a machine file, and raises ``LookupError`` or ``TypeError``; the table's tests would find it.
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Mapping

from halfsplit.errors import WrongUse
from halfsplit.machine import amounts
from halfsplit.machine.expand.values import Values
from halfsplit.machine.primitives import Value

__all__ = ["amount", "flag", "live", "name", "names", "number", "pair"]

_TIMES = re.compile(r"(?P<factor>[\d.]+) x \$(?P<name>.+)")
_LAMP = "cold lamp of "


def amount(template: str, kind: str, values: Values) -> Value:
    """A value from its template.

    >>> amount("0.5 x $ohms", "ohm", {"ohms": Value(20, 19, 21, "heater.$ohms")})
    Value(nominal=10.0, low=9.5, high=10.5, shared='heater.$ohms')
    """
    if template.startswith(_LAMP):
        return _cold_lamp(template[len(_LAMP) :], values)
    match = _TIMES.fullmatch(template)
    if match:
        factor, value = float(match["factor"]), _value(match["name"], values)
        return Value(factor * value.nominal, factor * value.low, factor * value.high, value.shared)
    return _value(template[1:], values) if template.startswith("$") else amounts.value(template, kind)


def _value(name: str, values: Values) -> Value:
    found = values[name]
    if not isinstance(found, Value):
        raise TypeError(f"'{name}' is no number")
    return found


def _cold_lamp(names: str, values: Values) -> Value:
    """A tenth of V²/W: a filament's resistance rises about tenfold from cold to hot (common practice, no source)."""
    volts, watts = (_value(name.strip(), values).nominal for name in names.replace("$", " $").split("$")[1:])
    if watts <= 0:
        raise WrongUse("The watts of a lamp must be above nought.", "Give them as in 10 W.")
    cold = volts**2 / watts / 10
    return Value(cold, 0.8 * cold, 1.2 * cold)


def number(template: str, kind: str, values: Values) -> float:
    """The nominal of a template."""
    return amount(template, kind, values).nominal


def live(template: str | Mapping[str, str], ohms: float, values: Values) -> complex:
    """Impedance under power, relative to ohms: a number, or from volts, watts and power factor.

    |Z| = V² pf / W at the angle acos(pf): from W = V² pf / |Z|.

    >>> abs(live({"volts": "120 V", "watts": "4 W", "power factor": "0.5"}, 1800.0, {}))
    1.0
    """
    if isinstance(template, str):
        return complex(number(template, "number", values))
    volts, watts = number(template["volts"], "V", values), number(template["watts"], "W", values)
    factor = number(template["power factor"], "number", values)
    if watts <= 0 or ohms <= 0 or not 0 < factor <= 1:
        raise WrongUse("Watts and ohms must be above nought, the power factor at most 1.", "Look at the values.")
    return cmath.rect(volts**2 * factor / watts / ohms, math.acos(factor))


def name(template: str, values: Values) -> str:
    """A name: `$place`, or as it stands."""
    found = values[template[1:]] if template.startswith("$") else template
    if not isinstance(found, str):
        raise TypeError(f"'{template}' is no name")
    return found


def names(template: tuple[str, ...], values: Values) -> tuple[str, ...]:
    """Names; one that is `$positions` stands for a list."""
    out: list[str] = []
    for item in template:
        found = values[item[1:]] if item.startswith("$") else item
        out.extend([found] if isinstance(found, str) else [str(one) for one in found])  # type: ignore[union-attr]
    return tuple(out)


def pair(template: tuple[str, str] | str, values: Values) -> tuple[str, str]:
    """Two ends."""
    first, second = names((template,) if isinstance(template, str) else template, values)
    return first, second


def flag(template: str, values: Values) -> bool:
    """Yes or no."""
    found = values[template[1:]] if template.startswith("$") else amounts.truth(template)
    return bool(found)
