"""What people type and what machine files say, read as the quantity that is expected."""

from __future__ import annotations

import pytest

from halfsplit.quantity.dimension import METER, Dimension
from halfsplit.quantity.model import Beep, OverRange, Quantity
from halfsplit.quantity.parse import parse, parse_quantity

D = Dimension

# text, dimension, SI value, worth of the last digit typed
READINGS = [
    ("9.2k", D.RESISTANCE, 9200, 100),
    ("9k2", D.RESISTANCE, 9200, 100),
    ("9k2 ohm", D.RESISTANCE, 9200, 100),
    ("9.2 kohm", D.RESISTANCE, 9200, 100),
    ("9.2 kΩ", D.RESISTANCE, 9200, 100),
    ("9.2 k\u2126", D.RESISTANCE, 9200, 100),
    ("9.2 k ohms", D.RESISTANCE, 9200, 100),
    ("9.2K", D.RESISTANCE, 9200, 100),
    ("9.20 kilohms", D.RESISTANCE, 9200, 10),
    ("1M", D.RESISTANCE, 1e6, 1e6),
    ("1 megohm", D.RESISTANCE, 1e6, 1e6),
    ("2M2", D.RESISTANCE, 2.2e6, 1e5),
    ("1m", D.RESISTANCE, 1e-3, 1e-3),
    ("4R7", D.RESISTANCE, 4.7, 0.1),
    ("R47", D.RESISTANCE, 0.47, 0.01),
    ("4r7 ohm", D.RESISTANCE, 4.7, 0.1),
    ("120 R", D.RESISTANCE, 120, 1),
    ("52.9", D.RESISTANCE, 52.9, 0.1),
    ("-3.1 ohm", D.RESISTANCE, -3.1, 0.1),
    ("\u22123.1", D.RESISTANCE, -3.1, 0.1),
    ("0", D.RESISTANCE, 0, 1),
    ("0.00", D.RESISTANCE, 0, 0.01),
    (".5", D.RESISTANCE, 0.5, 0.1),
    (",5", D.RESISTANCE, 0.5, 0.1),
    ("5.", D.RESISTANCE, 5, 1),
    ("9.2e3", D.RESISTANCE, 9200, 100),
    ("23,4", D.RESISTANCE, 23.4, 0.1),
    ("0,120", D.RESISTANCE, 0.12, 0.001),
    ("1 200", D.RESISTANCE, 1200, 1),
    ("1\u202f200", D.RESISTANCE, 1200, 1),
    ("1 200,5 ohm", D.RESISTANCE, 1200.5, 0.1),
    ("1,200.5", D.RESISTANCE, 1200.5, 0.1),
    ("1.200,5", D.RESISTANCE, 1200.5, 0.1),
    ("1,200,000", D.RESISTANCE, 1.2e6, 1),
    ("118 V", D.VOLTAGE, 118, 1),
    ("  118 \t  V ", D.VOLTAGE, 118, 1),
    ("-1e5 V", D.VOLTAGE, -1e5, 1e5),
    ("1e5 V", D.VOLTAGE, 1e5, 1e5),
    ("118v", D.VOLTAGE, 118, 1),
    ("118 Vac", D.VOLTAGE, 118, 1),
    ("24 V DC", D.VOLTAGE, 24, 1),
    ("118 mV", D.VOLTAGE, 0.118, 1e-3),
    ("2.1 kV", D.VOLTAGE, 2100, 100),
    ("12 A", D.CURRENT, 12, 1),
    ("350 uA", D.CURRENT, 350e-6, 1e-6),
    ("1.2 kW", D.POWER, 1200, 100),
    ("3412 BTU/h", D.POWER, 3412 * 0.2930711, 0.2930711),
    ("35 uF", D.CAPACITANCE, 35e-6, 1e-6),
    ("35 µF", D.CAPACITANCE, 35e-6, 1e-6),
    ("35 \u03bcF", D.CAPACITANCE, 35e-6, 1e-6),
    ("35 mF", D.CAPACITANCE, 35e-3, 1e-3),
    ("35 MFD", D.CAPACITANCE, 35e-6, 1e-6),
    ("4u7", D.CAPACITANCE, 4.7e-6, 1e-7),
    ("155F", D.TEMPERATURE, 123 / 1.8, 1 / 1.8),
    ("155 °F", D.TEMPERATURE, 123 / 1.8, 1 / 1.8),
    ("155° F", D.TEMPERATURE, 123 / 1.8, 1 / 1.8),
    ("155 deg F", D.TEMPERATURE, 123 / 1.8, 1 / 1.8),
    ("68C", D.TEMPERATURE, 68, 1),
    ("20 °C", D.TEMPERATURE, 20, 1),
    ("20 ℃", D.TEMPERATURE, 20, 1),
    ("-18 C", D.TEMPERATURE, -18, 1),
    ("300 K", D.TEMPERATURE, 26.85, 1),
    ("9 °F", D.TEMPERATURE_DIFFERENCE, 5, 1 / 1.8),
    ("5 K", D.TEMPERATURE_DIFFERENCE, 5, 1),
    ("5 min", D.TIME, 300, 60),
    ("1.5 h", D.TIME, 5400, 360),
    ("0.6 in wc", D.PRESSURE, 0.6 * 249.0889, 24.90889),
    ("250 cfm", D.FLOW, 0.11798685, 4.719474e-4),
    ("1725 rpm", D.SPEED, 28.75, 1 / 60),
    ("25 1/s", D.SPEED, 25, 1),
    ("9m2", D.AREA, 9, 1),
    ("6 USD", D.MONEY, 6, 1),
    ("5 %", D.RATIO, 0.05, 0.01),
    ("0.8", D.RATIO, 0.8, 0.1),
]


@pytest.mark.parametrize(("text", "dimension", "value", "resolution"), READINGS)
def test_a_typed_number_is_its_si_value(
    text: str, dimension: Dimension, value: float, resolution: float
) -> None:
    """Each spelling gives its SI value, the worth of its last digit and no tolerance."""
    typed = parse(text, dimension)
    assert isinstance(typed, Quantity)
    assert typed.value == pytest.approx(value, rel=1e-12)
    assert typed.resolution == pytest.approx(resolution, rel=1e-12)
    assert (typed.low, typed.high) == (typed.value, typed.value)


def test_what_was_written_is_kept() -> None:
    """The unit, the dimension and the text are those that were typed, with blanks and signs made plain."""
    typed = parse(" 9.2\u202fk\u2126 ", D.RESISTANCE)
    assert isinstance(typed, Quantity)
    assert (typed.unit, typed.dimension, typed.text, typed.note) == ("kΩ", D.RESISTANCE, "9.2 kΩ", "")


@pytest.mark.parametrize(
    "text",
    [
        *("OL", "ol", "O.L", "0.L", "0L", "0.L.", "O L", ".OL", "OL Ω", "0.L MΩ", "OL k", "OVER", "overload"),
        *("open", "Open circuit", "∞", "infinite", "9.9E+37", "+9.9e37"),
    ],
)
def test_over_range_is_no_number(text: str) -> None:
    """An open circuit is over range in every spelling, never zero and never a litre."""
    assert parse(text, D.RESISTANCE) == OverRange(text)


def test_over_range_keeps_its_sign() -> None:
    """A minus sign beside OL is kept, since it says which way the voltage goes."""
    assert parse("-OL", D.VOLTAGE) == OverRange("-OL", negative=True)
    assert parse("-9.9E+37", D.VOLTAGE) == OverRange("-9.9E+37", negative=True)


@pytest.mark.parametrize("dimension", [one for one in Dimension if one in METER])
def test_every_meter_quantity_can_be_over_range(dimension: Dimension) -> None:
    """What a meter measures, it can also be over range in."""
    assert isinstance(parse("OL", dimension), OverRange)


def test_zero_litres_is_a_volume_where_a_volume_is_expected() -> None:
    """The expected dimension decides: 0 L is a volume for a volume."""
    assert parse_quantity("0 L", D.VOLUME).value == 0


@pytest.mark.parametrize(
    ("text", "sounds"), [("beeps", True), ("Beep", True), ("no beep", False), ("doesn't beep", False)]
)
def test_the_beeper_is_read(text: str, sounds: bool) -> None:
    """A continuity test is told in words."""
    assert parse(text, D.RESISTANCE) == Beep(text, sounds)


def test_milli_ohms_are_told_about() -> None:
    """A small m is milli, and the person is told that mega is a capital."""
    milli, mega = parse_quantity("1 mohm", D.RESISTANCE), parse("1m", D.RESISTANCE)
    assert isinstance(mega, Quantity)
    assert (milli.value, mega.value) == (1e-3, 1e-3)
    assert "capital M" in mega.note
    assert milli.note == ""


@pytest.mark.parametrize(
    ("text", "dimension", "low", "value", "high"),
    [
        ("85 °C ± 5", D.TEMPERATURE, 80, 85, 90),
        ("155 °F ± 9 °F", D.TEMPERATURE, 123 / 1.8 - 5, 123 / 1.8, 123 / 1.8 + 5),
        ("155 °F ± 5 K", D.TEMPERATURE, 123 / 1.8 - 5, 123 / 1.8, 123 / 1.8 + 5),
        ("52.9 ohm ± 5 %", D.RESISTANCE, 50.255, 52.9, 55.545),
        ("9 kohm +-10%", D.RESISTANCE, 8100, 9000, 9900),
        ("9 kohm +/- 0.5 kohm", D.RESISTANCE, 8500, 9000, 9500),
        ("9 kohm ± 0.5 k", D.RESISTANCE, 8500, 9000, 9500),
        ("9 kohm ± 0.5", D.RESISTANCE, 8500, 9000, 9500),
        ("100 ohm +5/-10 %", D.RESISTANCE, 90, 100, 105),
        ("100 ohm +5 % / -10 %", D.RESISTANCE, 90, 100, 105),
        ("35 µF + 0 / - 6 %", D.CAPACITANCE, 32.9e-6, 35e-6, 35e-6),
        ("141 °C +5/-10", D.TEMPERATURE, 131, 141, 146),
        ("40 % ± 5", D.RATIO, 0.35, 0.4, 0.45),
        ("40 % ± 5 %", D.RATIO, 0.35, 0.4, 0.45),
        ("0.4 ± 5 %", D.RATIO, 0.38, 0.4, 0.42),
        ("0.4 ± 0.05", D.RATIO, 0.35, 0.4, 0.45),
        ("-40 V ± 10 %", D.VOLTAGE, -44, -40, -36),
    ],
)
def test_a_tolerance_gives_both_ends(
    text: str, dimension: Dimension, low: float, value: float, high: float
) -> None:
    """Tolerances in per cent, in the same or another unit, or uneven, become two absolute ends."""
    typed = parse_quantity(text, dimension)
    assert (typed.low, typed.value, typed.high) == pytest.approx((low, value, high), rel=1e-12)
