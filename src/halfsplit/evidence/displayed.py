"""What the meter's display showed, as it was written: a number, over range, a beep, or a range of which only the ends
are known.

Knows the functions of a meter and how quantities are written; not what was measured.
"""

from __future__ import annotations

import math

from halfsplit.errors import NotUnderstood
from halfsplit.evidence import finding as f
from halfsplit.quantity import dimension, parse
from halfsplit.quantity import model as quantities

DIMENSIONS = {
    "ohms": dimension.Dimension.RESISTANCE,
    "continuity": dimension.Dimension.RESISTANCE,
    "volts": dimension.Dimension.VOLTAGE,
    "low-impedance volts": dimension.Dimension.VOLTAGE,
    "dc volts": dimension.Dimension.VOLTAGE,
    "amps": dimension.Dimension.CURRENT,
    "capacitance": dimension.Dimension.CAPACITANCE,
    "temperature": dimension.Dimension.TEMPERATURE,
}
Measured = tuple[float | None, bool | None, float, str]
"""Value in SI or None, whether it beeped or None, the step of the last digit in SI, the text."""


def measured(text: str, meter: str) -> Measured:
    """What a meter's function showed, as it was written. Raises NotUnderstood, Ambiguous.

    >>> measured("9.2k", "ohms"), measured("OL", "ohms")
    ((9200.0, None, 100.0, '9.2k'), (None, None, 0.0, 'OL'))
    """
    typed = parse.parse(text, DIMENSIONS[meter])
    if isinstance(typed, quantities.Beep):
        if meter != "continuity":
            remedy = "Say meter: continuity."
            raise NotUnderstood(text, f"{text!r} is what continuity gives, not {meter}.", remedy)
        return None, typed.sounds, 0.0, text
    if isinstance(typed, quantities.OverRange):
        return (None, False, 0.0, text) if meter == "continuity" else (None, None, 0.0, text)
    return abs(typed.value) if meter != "temperature" else typed.value, None, typed.resolution, text


TO, OR = " to ", " or "
AS_IN = "as in 3.1 ohm to 5.2 ohm or 9 V to OL"


def spans(text: str, meter: str) -> f.Spans:
    """The ranges that a text names, each widened by half the last digit of its ends; none where it names none.

    Raises NotUnderstood, Ambiguous.

    >>> spans("3 ohm to 5 ohm", "ohms"), spans("2 V to 3 V or 9 V to OL", "volts"), spans("9.2k", "ohms")
    (((2.5, 5.5),), ((1.5, 3.5), (8.5, inf)), ())
    """
    found: list[tuple[float, float]] = []
    for one in text.split(OR) if TO in text else ():
        low, high, step, last = _span(one, meter)
        if low > high or (found and low < found[-1][0]):
            raise NotUnderstood(text, f"{text!r} does not go upwards.", f"Write the lower end first, {AS_IN}.")
        found.append((max(low - step / 2, found[-1][1]) if found else low - step / 2, high + last / 2))
    return tuple(found)


def _span(text: str, meter: str) -> tuple[float, float, float, float]:
    """Both ends of a range as they were written, and the steps of their last digits."""
    low, _, high = text.partition(TO)
    lower, _, step, _ = measured(low, meter)
    upper, beeps, last, _ = measured(high, meter)
    if lower is None or beeps is not None:
        raise NotUnderstood(text, f"{text!r} is no range.", f"Write its two ends, {AS_IN}.")
    return lower, math.inf if upper is None else upper, step, last
