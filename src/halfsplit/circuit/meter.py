"""A hand meter as data: its functions, ranges and accuracy, and what it shows of a true value.

SI values in, what the display says out. Knows no network; what it loads a circuit with is its input ohms.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

FINE = 10
"""An end of a range is told so finely that rounding moves it by no more than half of one such part of the range."""
_PREFIXES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M"}


@dataclass(frozen=True)
class Range:
    """One range: the largest value and the step of its last digit (SI), accuracy ±(percent + digits).

    >>> narrow = Range(199.9, 0.1, 0.7, 2)  # 3 1/2 digits, ±(0.7 % + 2)
    >>> round(narrow.accuracy(120.0), 2)
    1.04
    """

    top: float
    step: float
    percent: float
    digits: int

    def accuracy(self, value: float) -> float:
        """The error allowed at this value, ± in its unit."""
        return self.percent / 100 * abs(value) + self.digits * self.step

    @property
    def power(self) -> int:
        """The power of ten of the prefix that the display shows."""
        return 3 * math.floor(math.log10(0.999 * self.top) / 3)


@dataclass(frozen=True)
class Function:
    """A function of a meter: its unit, its ranges from low to high, and what it loads the circuit with [ohm].

    signed: whether the display knows a sign (an AC function shows the magnitude).
    """

    unit: str
    ranges: tuple[Range, ...]
    input_ohms: float = math.inf
    signed: bool = False

    def at(self, value: float) -> Range | None:
        """The lowest range that shows the value; None: over range."""
        return next((r for r in self.ranges if round(abs(value) / r.step) * r.step <= r.top * (1 + 1e-9)), None)


def ranges(tops: tuple[float, ...], counts: int, percent: float, digits: int) -> tuple[Range, ...]:
    """Ranges of one accuracy, each divided into so many counts.

    >>> [r.step for r in ranges((600.0, 6000.0), 6000, 0.9, 2)]
    [0.1, 1.0]
    """
    return tuple(Range(top, top / counts, percent, digits) for top in tops)


_VOLTS = (*ranges((6.0, 60.0, 600.0), 6000, 1.0, 3), Range(1000.0, 1.0, 1.0, 3))
_OHMS = (*ranges((600.0, 6e3, 60e3, 600e3, 6e6), 6000, 0.9, 2), Range(40e6, 1e4, 1.5, 3))
HAND_FUNCTIONS: Mapping[str, Function] = {
    "volts": Function("V", _VOLTS, 10e6),
    "low-impedance volts": Function("V", _VOLTS, 3e3),
    "dc volts": Function("V", (*ranges((6.0, 60.0, 600.0), 6000, 0.5, 2), Range(1000.0, 1.0, 0.5, 2)), 10e6, True),
    "ohms": Function("Ω", _OHMS),
    "continuity": Function("Ω", _OHMS[:1]),
    "amps": Function("A", ranges((60.0, 600.0), 6000, 2.0, 5), 0.0),
    "capacitance": Function("F", ranges((60e-9, 600e-9, 6e-6, 60e-6, 600e-6, 6e-3), 6000, 1.9, 5)),
    "temperature": Function("°C", (Range(1000.0, 0.1, 1.0, 10),), signed=True),
}
"""The functions of a common 6000-count hand meter with a clamp; common practice, no source."""


@dataclass(frozen=True)
class Meter:
    """A meter: its functions by name, the ohms below which it beeps, and its leads' ohms and their spread.

    >>> hand = Meter()
    >>> hand.shown("volts", 119.96), hand.shown("ohms", 9213.0), hand.shown("ohms", 5e7)
    (('120.0 V', 120.0), ('9.21 kΩ', 9210.0), ('OL', None))
    """

    functions: Mapping[str, Function] = field(default_factory=lambda: HAND_FUNCTIONS)
    beep_ohms: float = 40.0
    lead_ohms: float = 0.2
    lead_spread: float = 0.05

    def shown(self, function: str, value: complex) -> tuple[str, float | None]:
        """The display's text and its value in counts; ('OL', None) over range. Phasors by magnitude."""
        asked = self._function(function)
        plain = value.real if asked.signed else abs(value)
        chosen = self._at(asked, plain)
        if chosen is None:
            return "OL", None
        counts = round(plain / chosen.step)
        decimals = max(0, chosen.power - round(math.log10(chosen.step)))
        return self._text(counts, chosen, decimals, asked.unit), _tidy(counts * chosen.step, chosen)

    def span(self, function: str, low: float, high: float) -> str:
        """A range (SI, low <= high) with one unit: the display's, if both ends are shown in the same, else the lower's.

        Where the higher end would have more than three digits before the point in it, the higher's. From nothing on it
        is "up to"; beyond the largest range OL. No digit is told that the display has not, and none that says little.

        >>> hand = Meter()
        >>> hand.span("ohms", 446.3, 642.0), hand.span("ohms", 642.0, 950.0), hand.span("ohms", 446.3, 12e3)
        ('446 to 642 Ω', '0.64 to 0.95 kΩ', '0.45 to 12 kΩ')
        >>> hand.span("volts", 0.0, 0.52), hand.span("volts", 118.3, 119.6), hand.span("ohms", 9e6, 5e7)
        ('up to 0.52 V', '118.3 to 119.6 V', '9.0 MΩ to OL')
        """
        asked = self._function(function)
        ends = [(value, found) for value in (low, high) if (found := self._at(asked, value))]
        if not ends:
            return "OL"
        power = _common(ends[0][1].power, ends[-1][1].power, high)
        unit = f"{_PREFIXES[power]}{asked.unit}"
        told = [_rounded(value, min(high - low, abs(value)), found.step, power) for value, found in ends]
        if len(ends) == 1:
            return f"{told[0]} {unit} to OL"
        if low == 0:
            return f"up to {told[1]} {unit}"
        return f"{told[0]} to {told[1]} {unit}" if told[0] != told[1] else f"{told[0]} {unit}"

    @staticmethod
    def _text(counts: int, chosen: Range, decimals: int, unit: str) -> str:
        number = counts * chosen.step / 10.0**chosen.power
        return f"{number:.{decimals}f} {_PREFIXES[chosen.power]}{unit}"

    def spread(self, function: str, value: complex) -> float:
        """One sigma of what is shown of a true value, the stated accuracy taken as two sigma."""
        return self._range(function, value).accuracy(abs(value)) / 2

    def spread_parts(self, function: str, value: complex) -> tuple[float, float]:
        """One sigma of the gain (shared by a function's readings) and of the last digits (each its own)."""
        at = self._range(function, value)
        return at.percent / 100 * abs(value) / 2, at.digits * at.step / 2

    def over(self, function: str) -> float:
        """The largest value that the function shows."""
        return self._function(function).ranges[-1].top

    def with_leads(self, ohms: float) -> float:
        """What the ohms function measures: the leads in series."""
        return ohms + self.lead_ohms

    def beeps(self, ohms: float) -> bool:
        """Whether continuity beeps. A beep clears nothing: a 10 ohm heater and a bad 20 ohm contact beep too.

        >>> Meter().beeps(20.0), Meter().beeps(40.0)
        (True, False)
        """
        return self.with_leads(ohms) < self.beep_ohms

    def _function(self, name: str) -> Function:
        if name not in self.functions:
            raise ValueError(f"the meter has no function {name!r}; it has {', '.join(self.functions)}")
        return self.functions[name]

    @staticmethod
    def _at(asked: Function, value: float) -> Range | None:
        return asked.at(value) if math.isfinite(value) else None

    def _range(self, name: str, value: complex) -> Range:
        asked = self._function(name)
        return asked.at(abs(value)) or asked.ranges[-1]


def _common(lower: int, higher: int, high: float) -> int:
    """The power of ten in which both ends of a range are told, of those in which the display shows them."""
    return lower if high < 1000 * 10.0**lower else higher


def _rounded(value: float, size: float, step: float, power: int) -> str:
    """A value in a power of ten, as finely as a range of this size asks for and a display of this step can show."""
    finest = math.floor(math.log10(step) + 1e-9)
    wanted = math.floor(math.log10(size / FINE)) if size > 0 else finest
    return f"{value / 10.0**power:.{max(0, power - max(finest, wanted))}f}"


def _tidy(value: float, chosen: Range) -> float:
    """The value without the binary dust of counts times step."""
    return round(value, 2 - math.floor(math.log10(chosen.step)))


def loaded_volts(open_volts: complex, source: complex, input_ohms: float) -> complex:
    """Volts that remain across a meter of input_ohms on a source of open_volts behind `source` ohm.

    100 pF of cable from 120 V, 60 Hz: a ghost that the low input collapses.

    >>> ghost = 1 / (2j * math.pi * 60 * 100e-12)
    >>> [round(abs(loaded_volts(120, ghost, ohms)), 3) for ohms in (10e6, 3e3)]
    [42.331, 0.014]
    """
    if math.isinf(input_ohms):
        return open_volts
    return open_volts * input_ohms / (input_ohms + source)
