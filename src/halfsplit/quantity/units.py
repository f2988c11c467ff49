"""The table of units, and the finding of a unit by what was typed. Knows no numbers.

Letters of units are read in either case (118v); letters of prefixes are not, since m is milli and M is mega,
except that K is kilo as k is. Conversion factors: the international system and NIST Special Publication 811,
appendix B (from memory: inch of water, conventional, 249.0889 Pa; BTU, international table, 1055.056 J;
horsepower of 550 foot-pounds 745.6999 W; psi 6894.757 Pa; inch, foot, US gallon exact by definition).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from halfsplit.quantity.dimension import Dimension

__all__ = ["LIMITS", "SHOWN", "UNITS", "Scale", "Unit", "find", "find_bare", "names", "spelled"]

PREFIXES: dict[str, tuple[str, tuple[str, ...]]] = {
    "": ("1", ("",)),
    "p": ("1e-12", ("p", "pico")),
    "n": ("1e-9", ("n", "nano")),
    "µ": ("1e-6", ("µ", "u", "micro")),
    "m": ("1e-3", ("m", "milli")),
    "k": ("1e3", ("k", "K", "kilo", "Kilo")),
    "M": ("1e6", ("M", "meg", "Meg", "mega", "Mega")),
    "G": ("1e9", ("G", "giga", "Giga")),
}


@dataclass(frozen=True)
class Unit:
    """One unit: SI value = (number + offset) x factor. ``prefixes``: which may stand before any spelling."""

    symbol: str
    factor: str
    spellings: str  # between bars; in either case unless ``exact``
    prefixes: str = ""
    offset: str = "0"
    exact: bool = False


@dataclass(frozen=True)
class Scale:
    """A unit with its prefix, ready to convert: SI value = (number + offset) x factor."""

    symbol: str
    factor: Decimal
    offset: Decimal

    def to_si(self, number: Decimal) -> Decimal:
        """The SI value of a number in this unit."""
        return (number + self.offset) * self.factor

    def from_si(self, value: Decimal) -> Decimal:
        """The number in this unit of an SI value."""
        return value / self.factor - self.offset


_D = Dimension

# The first unit of each is its SI unit.
UNITS: dict[Dimension, tuple[Unit, ...]] = {
    _D.RESISTANCE: (Unit("Ω", "1", "Ω|ohm|ohms|r", "mkMG"), Unit("kΩ", "1e3", "kilohm|kilohms")),
    _D.VOLTAGE: (Unit("V", "1", "v|volt|volts|vac|vdc|v ac|v dc|v~|vrms|v rms", "µmkM"),),
    _D.CURRENT: (Unit("A", "1", "a|amp|amps|ampere|amperes|aac|adc|a ac|a dc", "nµmk"),),
    _D.POWER: (
        Unit("W", "1", "w|watt|watts", "mk"),
        Unit("BTU/h", "0.2930711", "btu/h|btuh|btu/hr"),
        Unit("hp", "745.6999", "hp"),
    ),
    _D.ENERGY: (
        Unit("J", "1", "j|joule|joules", "mkM"),
        Unit("Wh", "3600", "wh", "k"),
        Unit("BTU", "1055.056", "btu"),
    ),
    _D.CAPACITANCE: (Unit("F", "1", "f|farad|farads", "pnµm"), Unit("µF", "1e-6", "mfd|ufd|µfd")),
    _D.INDUCTANCE: (Unit("H", "1", "h|henry", "nµm"),),
    _D.FREQUENCY: (Unit("Hz", "1", "hz|hertz|c/s", "kM"),),
    _D.TEMPERATURE: (
        Unit("°C", "1", "°c|c|deg c|degc|degrees c|celsius"),
        Unit("°F", "5/9", "°f|f|deg f|degf|degrees f|fahrenheit", offset="-32"),
        Unit("K", "1", "K|kelvin|Kelvin", offset="-273.15", exact=True),
    ),
    _D.TEMPERATURE_DIFFERENCE: (
        Unit("K", "1", "K|kelvin|Kelvin", exact=True),
        Unit("°C", "1", "°c|c|deg c|degrees c"),
        Unit("°F", "5/9", "°f|f|deg f|degrees f"),
    ),
    _D.HEAT_CAPACITY: (Unit("J/K", "1", "J/K", "k", exact=True),),
    _D.HEAT_CONDUCTANCE: (Unit("W/K", "1", "W/K", "mk", exact=True),),
    _D.PRESSURE: (
        Unit("Pa", "1", "pa|pascal", "kM"),
        Unit("hPa", "100", "hpa"),
        Unit("bar", "1e5", "bar", "m"),
        Unit("psi", "6894.757", "psi"),
        Unit("in wc", "249.0889", "in wc|inwc|in w.c.|in. w.c.|in. wc|inh2o|in h2o|\"wc|\" wc"),
        Unit("mm wc", "9.80665", "mm wc|mmwc|mmh2o|mm h2o"),
    ),
    _D.FLOW: (
        Unit("m³/s", "1", "m³/s|m3/s"),
        Unit("m³/h", "1/3600", "m³/h|m3/h"),
        Unit("L/s", "1e-3", "l/s"),
        Unit("L/min", "1/60000", "l/min"),
        Unit("cfm", "4.719474e-4", "cfm|ft3/min|ft³/min"),
        Unit("gpm", "6.309020e-5", "gpm|gal/min"),
    ),
    _D.VOLUME: (
        Unit("m³", "1", "m³|m3"),
        Unit("L", "1e-3", "l|litre|litres|liter|liters", "m"),
        Unit("gal", "3.785411784e-3", "gal|gallon|gallons"),
    ),
    _D.MASS: (
        Unit("kg", "1", "kg"),
        Unit("g", "1e-3", "g|gram|grams", "m"),
        Unit("lb", "0.45359237", "lb|lbs"),
        Unit("oz", "0.028349523125", "oz"),
    ),
    _D.LENGTH: (
        Unit("m", "1", "m|metre|metres|meter|meters", "µm"),
        Unit("cm", "1e-2", "cm"),
        Unit("in", "0.0254", 'in|inch|inches|"'),
        Unit("ft", "0.3048", "ft|foot|feet"),
    ),
    _D.AREA: (
        Unit("m²", "1", "m²|m2"),
        Unit("cm²", "1e-4", "cm²|cm2"),
        Unit("mm²", "1e-6", "mm²|mm2"),
        Unit("in²", "6.4516e-4", "in²|in2|sq in"),
        Unit("ft²", "0.09290304", "ft²|ft2|sq ft"),
    ),
    _D.SPEED: (Unit("1/s", "1", "1/s|rev/s|r/s"), Unit("rpm", "1/60", "rpm|1/min|rev/min")),
    _D.TIME: (
        Unit("s", "1", "s|sec|second|seconds", "µm"),
        Unit("min", "60", "min|mins|minute|minutes"),
        Unit("h", "3600", "h|hr|hrs|hour|hours"),
        Unit("d", "86400", "d|day|days"),
    ),
    _D.RATIO: (Unit("1", "1", "|1"), Unit("%", "0.01", "%|percent|per cent")),
    _D.MONEY: tuple(
        Unit(code, "1", code.lower()) for code in ("USD", "AUD", "CAD", "CHF", "EUR", "GBP", "JPY", "NZD")
    ),
}

# Beyond these a number was mistyped: far outside anything in or behind an appliance (our own choice).
LIMITS: dict[Dimension, tuple[str, str]] = {
    _D.RESISTANCE: ("-1e12", "1e12"),
    _D.VOLTAGE: ("-1e5", "1e5"),
    _D.CURRENT: ("-1e5", "1e5"),
    _D.POWER: ("-1e6", "1e6"),
    _D.CAPACITANCE: ("-10", "10"),
    _D.TEMPERATURE: ("-273.15", "3000"),
}
ANY_LIMIT = ("-1e15", "1e15")

# What a value is shown in, smallest first; where one is missing here, in the SI unit.
SHOWN: dict[Dimension, tuple[str, ...]] = {
    _D.RESISTANCE: ("Ω", "kΩ", "MΩ"),
    _D.VOLTAGE: ("mV", "V", "kV"),
    _D.CURRENT: ("mA", "A"),
    _D.POWER: ("mW", "W", "kW"),
    _D.ENERGY: ("J", "kJ", "MJ"),
    _D.CAPACITANCE: ("pF", "nF", "µF", "mF"),
    _D.INDUCTANCE: ("µH", "mH", "H"),
    _D.FREQUENCY: ("Hz", "kHz", "MHz"),
    _D.PRESSURE: ("Pa", "kPa", "MPa"),
    _D.VOLUME: ("mL", "L", "m³"),
    _D.MASS: ("g", "kg"),
    _D.LENGTH: ("mm", "m"),
    _D.SPEED: ("rpm",),
    _D.TIME: ("ms", "s", "min", "h"),
    _D.RATIO: ("%",),
}


def _number(text: str) -> Decimal:
    above, _, below = text.partition("/")
    return Decimal(above) / Decimal(below or "1")


def _scale(unit: Unit, prefix: str) -> Scale:
    factor = _number(unit.factor) * Decimal(PREFIXES[prefix][0])
    return Scale(prefix + unit.symbol, factor, Decimal(unit.offset))


def spelled(dimension: Dimension) -> Iterator[tuple[str, Scale]]:
    """Every spelling of every unit of a dimension with every prefix it may have."""
    for unit in UNITS[dimension]:
        for prefix in ("", *unit.prefixes):
            for word in unit.spellings.split("|"):
                for sign in PREFIXES[prefix][1]:
                    yield sign + word, _scale(unit, prefix)


def find(dimension: Dimension, text: str) -> Scale | None:
    """The unit that was typed, None if it is none of this dimension.

    >>> find(Dimension.RESISTANCE, "K ohms").symbol, find(Dimension.POWER, "ohm")
    ('kΩ', None)
    """
    for unit in UNITS[dimension]:
        words = (unit.spellings if unit.exact else unit.spellings.casefold()).split("|")
        for prefix in ("", *unit.prefixes):
            for sign in PREFIXES[prefix][1]:
                rest = text[len(sign) :].strip()
                if text.startswith(sign) and (rest if unit.exact else rest.casefold()) in words:
                    return _scale(unit, prefix)
    return None


def find_bare(dimension: Dimension, text: str) -> Scale | None:
    """The SI unit with the prefix that was typed alone ('k' of '9.2k') or with none; None if no prefix.

    >>> find_bare(Dimension.RESISTANCE, "k").symbol, find_bare(Dimension.RESISTANCE, "").symbol
    ('kΩ', 'Ω')
    """
    unit = UNITS[dimension][0]
    for prefix in ("", *unit.prefixes):
        if text in PREFIXES[prefix][1]:
            return _scale(unit, prefix)
    return None


def names(dimension: Dimension) -> tuple[str, ...]:
    """The units that a person may be told to use, those we show first.

    >>> names(Dimension.RESISTANCE)
    ('Ω', 'kΩ', 'MΩ')
    """
    return tuple(dict.fromkeys([*SHOWN.get(dimension, ()), *(unit.symbol for unit in UNITS[dimension])]))
