"""What the meter's display showed, as it was written: a number, over range, a beep, or a range of which only the ends
are known.

Knows the functions of a meter and how quantities are written; not what was measured.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

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
SIGNED = frozenset({"temperature"})
"""Functions whose sign is kept; of the others only how much was shown counts: red and black may be changed over."""
ONE_PLACE = frozenset({"amps", "temperature"})
"""Functions without a black lead: a clamp and a feeler are held at one place."""
HELD = "Name with red where it is held."
Measured = tuple[float | None, bool | None, float, str]
"""Value in SI or None, whether it beeped or None, the step of the last digit in SI, the text."""


def measured(text: str, meter: str) -> Measured:
    """What a meter's function showed, as it was written. Raises NotUnderstood, Ambiguous.

    >>> measured("9.2k", "ohms"), measured("OL", "ohms")
    ((9200.0, None, 100.0, '9.2k'), (None, None, 0.0, 'OL'))
    """
    typed = _typed(text, meter)
    if isinstance(typed, quantities.Beep):
        return None, typed.sounds, 0.0, text
    if isinstance(typed, quantities.OverRange):
        return (None, False, 0.0, text) if meter == "continuity" else (None, None, 0.0, text)
    return typed.value if meter in SIGNED else abs(typed.value), None, typed.resolution, text


def _typed(text: str, meter: str) -> quantities.Typed:
    typed = parse.parse(text, DIMENSIONS[meter])
    if isinstance(typed, quantities.Beep) and meter != "continuity":
        raise NotUnderstood(text, f"{text!r} is what continuity gives, not {meter}.", "Say meter: continuity.")
    return typed


def no_black(meter: str) -> str:
    """That a function has no black lead."""
    return f"{meter} takes no black lead."


def remarks(text: str, meter: str) -> Iterator[str]:
    """What the person should be told of how a text that is understood was read.

    >>> list(remarks("9.2k ± 5 %", "ohms")), list(remarks("9.2k", "ohms"))
    (["'9.2k ± 5 %': its tolerance does not count, a meter shows none."], [])
    """
    for one in (end for part in text.split(OR) for end in part.split(TO)):
        typed = _typed(one, meter)
        if isinstance(typed, quantities.Quantity):
            yield from (f"{one!r}: {typed.note}",) if typed.note else ()
            spread = typed.low < typed.high
            yield from (f"{one!r}: its tolerance does not count, a meter shows none.",) if spread else ()


TO, OR = " to ", " or "
AS_IN = "as in 3.1 ohm to 5.2 ohm or 9 V to OL"


def spans(text: str, meter: str) -> f.Spans:
    """The ranges that a text names, each widened by half the last digit of its ends; none where it names none. Where no
    sign is kept, a range below 0 is that of its magnitudes, and one that holds 0 begins there.

    Raises NotUnderstood, Ambiguous.

    >>> spans("3 ohm to 5 ohm", "ohms"), spans("2 V to 3 V or 9 V to OL", "volts"), spans("9.2k", "ohms")
    (((2.5, 5.5),), ((1.5, 3.5), (8.5, inf)), ())
    >>> spans("-5 V to 4 V", "volts"), spans("-240 V to -230 V", "volts")
    (((0.0, 5.5),), ((229.5, 240.5),))
    """
    found: list[tuple[float, float]] = []
    last = -math.inf
    for one in text.split(OR) if TO in text else ():
        (low, below), (high, above) = _ends(one, meter)
        if low > high or low < last:
            raise NotUnderstood(text, f"{text!r} does not go upwards.", f"Write the lower end first, {AS_IN}.")
        last = low
        whole = low - below, high + above
        found.append(whole if meter in SIGNED or low >= 0 else _magnitude(*whole))
    return _apart(sorted(found))


def _magnitude(low: float, high: float) -> tuple[float, float]:
    """The magnitudes of a range that begins below 0."""
    return (0.0, max(-low, high)) if high > 0 else (-high, -low)


def _apart(ordered: Iterable[tuple[float, float]]) -> f.Spans:
    """Ranges in order of their lower ends, none within another, each from where those before it end."""
    kept: list[tuple[float, float]] = []
    for low, high in ordered:
        begins = max(low, kept[-1][1]) if kept else low
        if begins < high:
            kept.append((begins, high))
    return tuple(kept)


def _ends(text: str, meter: str) -> tuple[tuple[float, float], tuple[float, float]]:
    """Both ends of a range as they were written, each with half the step of its last digit."""
    lower, upper = (_typed(one, meter) for one in text.partition(TO)[::2])
    ends = [_end(one) for one in (lower, upper) if not isinstance(one, quantities.Beep)]
    if len(ends) < 2 or ends[0][0] == math.inf or (meter == "continuity" and math.inf in (ends[0][0], ends[1][0])):
        raise NotUnderstood(text, f"{text!r} is no range.", f"Write its two ends, {AS_IN}.")
    return ends[0], ends[1]


def _end(typed: quantities.Quantity | quantities.OverRange) -> tuple[float, float]:
    if isinstance(typed, quantities.OverRange):
        return (-math.inf if typed.negative else math.inf), 0.0
    return typed.value, typed.resolution / 2
