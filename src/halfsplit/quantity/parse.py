"""Reads what a person typed, or what a machine file says, as a quantity of the dimension that is expected.

May know: number spellings, units, tolerances, the meter's words. May not guess: where a text means two
things it raises ``Ambiguous`` with both, where it means nothing ``NotUnderstood`` with what would. A units
library is no help here: one reads 0.L as zero litres, 155F as farads, 23,4 as 234, 9.2k as Boltzmann's.
"""

from __future__ import annotations

import re
import string
from decimal import Decimal

from halfsplit.errors import Ambiguous, NotUnderstood, did_you_mean
from halfsplit.quantity import numerals, tolerance, units, words
from halfsplit.quantity.dimension import CODED, METER, Dimension
from halfsplit.quantity.model import OverRange, Quantity, Typed

__all__ = ["parse", "parse_quantity"]

_LONGEST = 60
_SAME = str.maketrans(
    {"\u2126": "Ω", "\u03bc": "µ", "\u2212": "-", "\u2013": "-", "º": "°", "˚": "°", "℃": "°C", "℉": "°F"}
)
_CODE = re.compile(r"(?P<whole>-?[0-9]*)(?P<mark>[RrkKMGmµunp])(?P<part>[0-9]+)(?P<rest>\D*)")
_OVER_RANGE_SCPI = Decimal("9.9e37")  # SCPI-1999, volume 1, 7.2.1: what an instrument sends for infinity
_MILLI_OHM = "'m' was read as milli; mega is a capital M."
_AS_IN = {Dimension.CAPACITANCE: "35 µF"}
"""Where the SI unit that a meter's bare number is taken in is far from what is met, what is written instead."""
_TWO_UNITS = {
    **{(Dimension.CAPACITANCE, old): ("µF", "mF") for old in ("MF", "Mf", "mf")},  # old labels: a millionth
    (Dimension.TEMPERATURE, ""): ("°C", "°F"),
}


def parse(text: str, expected: Dimension, *, strict: bool = False) -> Typed:
    """What the text means as a quantity of the ``expected`` dimension, in SI.

    A missing unit means the SI unit where a meter shows it (except a temperature, which is asked for); with
    ``strict``, as in a machine file, it is an error that names the units. Raises ``Ambiguous`` or
    ``NotUnderstood``.

    >>> parse("9k2", Dimension.RESISTANCE).value, parse("155F", Dimension.TEMPERATURE).value
    (9200.0, 68.33333333333333)
    >>> parse("0.L", Dimension.RESISTANCE)
    OverRange(text='0.L', negative=False)
    """
    try:
        clean = _tidy(text)
        said = words.beep(clean, expected) or words.over_range(clean, expected)
        return said or _measured(clean, expected, strict)
    except NotUnderstood as refusal:
        refusal.text = text  # all that was typed, not only the piece that was not understood
        raise


def parse_quantity(text: str, expected: Dimension, *, strict: bool = True) -> Quantity:
    """The same where only a number will do, as nearly everywhere in a machine file.

    >>> q = parse_quantity("85 °C ± 5", Dimension.TEMPERATURE)
    >>> q.low, q.value, q.high
    (80.0, 85.0, 90.0)
    """
    typed = parse(text, expected, strict=strict)
    if not isinstance(typed, Quantity):
        raise NotUnderstood(text, f"'{text}' is no number.", _write(expected))
    return typed


def _tidy(text: str) -> str:
    clean = " ".join(text.translate(_SAME).split()).replace("° ", "°")
    if not clean:
        raise NotUnderstood(text, "Nothing was written.", "Write what the meter shows, or OL.")
    if len(clean) > _LONGEST or not clean.isprintable():
        raise NotUnderstood(text, f"{clean[:20]!a}... is no quantity.", "Write a number and a unit.")
    return clean


def _measured(clean: str, expected: Dimension, strict: bool) -> Quantity | OverRange:
    main, spread = tolerance.split(clean)
    plain, unit = _decode(main, expected) or _number(main, clean[len(main) :], expected)
    if abs(Decimal(plain)) == _OVER_RANGE_SCPI and expected in METER:
        return OverRange(clean, negative=plain.startswith("-"))
    scale = _scale(plain, unit, expected, strict)
    value = scale.to_si(Decimal(plain))
    _within_reason(clean, value, expected, unit)
    plus, minus = _widths(spread, value, scale, expected)
    step = float(numerals.last_digit(plain) * scale.factor)
    if step == 0:
        raise NotUnderstood(clean, f"'{clean}' is finer than anything that is measured.", "Look at the power of ten.")
    return Quantity(
        value=float(value),
        dimension=expected,
        unit=scale.symbol,
        low=float(value - minus),
        high=float(value + plus),
        resolution=step,
        text=clean,
        note=_MILLI_OHM if expected is Dimension.RESISTANCE and unit == "m" else "",
    )


def _decode(main: str, expected: Dimension) -> tuple[str, str] | None:
    match = _CODE.fullmatch(main) if expected in CODED else None
    if match is None:
        return None
    plain, unit = f"{match['whole'] or '0'}.{match['part']}", match["rest"].strip()
    if match["mark"] not in "Rr":
        return plain, match["mark"] + unit
    ohms = units.find(expected, unit or "ohm")
    return (plain, unit or "ohm") if ohms and ohms.factor == 1 else None


def _number(main: str, tail: str, expected: Dimension) -> tuple[str, str]:
    number, unit = numerals.split(main)
    plain = numerals.readings(number)
    if expected not in METER:
        plain = tuple(option for option in plain if option != "OL")
    if not plain:
        what = "is not one number" if main.startswith(tuple(string.digits)) else "does not begin with a number"
        raise NotUnderstood(main, f"'{main}' {what}.", _write(expected))
    if len(plain) > 1:
        raise Ambiguous(main + tail, tuple(_choice(option, unit, tail) for option in plain))
    return plain[0], unit


def _choice(plain: str, unit: str, tail: str) -> str:
    return "OL" if plain == "OL" else f"{plain} {unit}".strip() + tail


def _scale(plain: str, unit: str, expected: Dimension, strict: bool) -> units.Scale:
    if two := _TWO_UNITS.get((expected, unit)):
        raise Ambiguous(f"{plain} {unit}".strip(), tuple(f"{plain} {one}" for one in two))
    bare = None if strict or expected not in METER else units.find_bare(expected, unit)
    scale = bare or units.find(expected, unit)
    if scale is not None:
        return scale
    if not unit or units.find_bare(expected, unit):
        raise NotUnderstood(plain, f"'{plain}{unit}' has no unit.", _write(expected))
    meant = did_you_mean(unit, (scale.symbol for _, scale in units.spelled(expected)))
    remedy = meant if meant.startswith("Did") else _write(expected)
    raise NotUnderstood(unit, f"'{unit}' is no unit of a {expected.value}.", remedy)


def _write(expected: Dimension) -> str:
    return f"Write a {expected.value} in {', '.join(units.names(expected))}."


def _within_reason(text: str, value: Decimal, expected: Dimension, unit: str) -> None:
    low, high = _limits(expected)
    if not low <= value <= high and not unit and expected in _AS_IN:
        raise NotUnderstood(text, f"'{text}' has no unit.", f"Write it as in {_AS_IN[expected]}.")
    if not low <= value <= high:
        message = f"'{text}' is out of all reason for a {expected.value}."
        raise NotUnderstood(text, message, "Look at the prefix: m is milli, M is mega.")


def _limits(expected: Dimension) -> tuple[Decimal, Decimal]:
    low, high = units.LIMITS.get(expected, units.ANY_LIMIT)
    return Decimal(low), Decimal(high)


def _widths(
    spread: tolerance.Tolerance | None, value: Decimal, scale: units.Scale, expected: Dimension
) -> tuple[Decimal, Decimal]:
    if spread is None:
        return Decimal(0), Decimal(0)
    return _width(spread.plus, value, scale, expected), _width(spread.minus, value, scale, expected)


def _width(text: str, value: Decimal, scale: units.Scale, expected: Dimension) -> Decimal:
    width = _plain_width(text, value, scale, expected)
    if width > max(abs(limit) for limit in _limits(expected)):
        message = f"The tolerance '{text}' is out of all reason for a {expected.value}."
        raise NotUnderstood(text, message, "Write it as in ± 5 %.")
    return width


def _plain_width(text: str, value: Decimal, scale: units.Scale, expected: Dimension) -> Decimal:
    number, unit = numerals.split(text)
    plain = numerals.readings(number)
    if len(plain) != 1 or plain[0].startswith("-"):
        raise NotUnderstood(text, f"The tolerance '{text}' is no plain number.", "Write it as in ± 5 %.")
    if unit == "%" and scale.symbol != "%":  # of a per cent, per cents are points
        return _percent(text, Decimal(plain[0]), value, expected)
    own = scale if not unit else units.find(expected, unit) or units.find_bare(expected, unit)
    if own is None:
        message = f"The tolerance '{text}' has no unit of a {expected.value}."
        raise NotUnderstood(text, message, _write(expected))
    return Decimal(plain[0]) * own.factor


def _percent(text: str, part: Decimal, value: Decimal, expected: Dimension) -> Decimal:
    if expected is Dimension.TEMPERATURE:
        raise NotUnderstood(text, "A temperature has no tolerance in per cent.", "Write it in °C, °F or K.")
    return abs(value) * part / 100
