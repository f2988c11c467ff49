"""The meter's display and spread against stated accuracies and the ghost-voltage model."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.circuit import meter
from halfsplit.quantity.dimension import Dimension
from halfsplit.quantity.parse import parse_quantity

HAND = meter.Meter()
DIMENSIONS = {
    "ohms": Dimension.RESISTANCE, "volts": Dimension.VOLTAGE, "dc volts": Dimension.VOLTAGE,
    "capacitance": Dimension.CAPACITANCE,
}  # fmt: skip


def test_the_accuracy_of_a_1999_count_meter() -> None:
    """±(0.7 % + 2) at 120.0 V is 118.96 to 121.04 V."""
    error = meter.Range(199.9, 0.1, 0.7, 2).accuracy(120.0)
    assert (round(120 - error, 2), round(120 + error, 2)) == (118.96, 121.04)


@pytest.mark.parametrize(
    ("to_live", "to_earth", "high", "low"),
    [(100e-12, 0.0, 42.3, 0.014), (1000e-12, 1000e-12, 59.5, 0.136)],
)
def test_ghost_volts_stand_on_the_high_input_and_fall_on_the_low(
    to_live: float, to_earth: float, high: float, low: float
) -> None:
    """120 V at 60 Hz through cable capacitance, into 10 Mohm and into 3 kohm (computed from the model)."""
    open_volts = 120 * to_live / (to_live + to_earth)
    source = 1 / (2j * math.pi * 60 * (to_live + to_earth))
    read = [abs(meter.loaded_volts(open_volts, source, HAND.functions[f].input_ohms))
            for f in ("volts", "low-impedance volts")]  # fmt: skip
    assert read[0] == pytest.approx(high, abs=0.05)
    assert read[1] == pytest.approx(low, abs=0.0005)


@pytest.mark.parametrize(
    ("function", "value", "text", "number"),
    [
        ("volts", 119.96, "120.0 V", 120.0),
        ("volts", 239.0 * complex(0.6, 0.8), "239.0 V", 239.0),
        ("volts", 731.0, "731 V", 731.0),
        ("volts", 1200.0, "OL", None),
        ("dc volts", -5.0004, "-5.000 V", -5.0),
        ("ohms", 0.04, "0.0 Ω", 0.0),
        ("ohms", 23.96, "24.0 Ω", 24.0),
        ("ohms", 599.97, "600.0 Ω", 600.0),
        ("ohms", 600.06, "0.600 kΩ", 600.0),
        ("ohms", 9213.0, "9.21 kΩ", 9210.0),
        ("ohms", 1.234e6, "1.234 MΩ", 1.234e6),
        ("ohms", 23.456e6, "23.46 MΩ", 23.46e6),
        ("ohms", 41e6, "OL", None),
        ("ohms", math.inf, "OL", None),
        ("ohms", math.nan, "OL", None),
        ("continuity", 700.0, "OL", None),
        ("amps", 22.512, "22.51 A", 22.51),
        ("capacitance", 35.04e-6, "35.04 µF", 35.04e-6),
        ("temperature", 68.04, "68.0 °C", 68.0),
    ],
)
def test_what_is_shown(function: str, value: complex, text: str, number: float | None) -> None:
    """The lowest range that holds the value, rounded to its counts; OL above the last range."""
    assert HAND.shown(function, value) == (text, number)


@given(st.sampled_from(["volts", "ohms", "amps"]), st.floats(0, 500))
def test_rounding_never_exceeds_half_a_count(function: str, value: float) -> None:
    """What is shown is within half of the last digit, and showing it again changes nothing."""
    _, number = HAND.shown(function, value)
    assert number is not None
    at = HAND.functions[function].at(value)
    assert at is not None
    assert abs(number - value) <= at.step * 0.5000001
    assert HAND.shown(function, number)[1] == pytest.approx(number, abs=at.step * 1e-6)


def test_the_spread_is_half_the_stated_accuracy() -> None:
    """Two sigma are the accuracy; its two parts, gain and digits, add up to it."""
    assert HAND.spread("ohms", 24.0) == pytest.approx((0.009 * 24 + 0.2) / 2)
    assert HAND.spread("ohms", 24.0) == pytest.approx(sum(HAND.spread_parts("ohms", 24.0)))
    assert HAND.spread("amps", 22.5) == pytest.approx((0.45 + 0.05) / 2)
    assert HAND.over("ohms") == 40e6


def test_a_beep_clears_nothing() -> None:
    """A 10 ohm heater, a bad 20 ohm contact and a good wire beep; with its leads 39.9 ohm does not."""
    assert [HAND.beeps(ohms) for ohms in (0.01, 10, 20, 39.9)] == [True, True, True, False]
    assert HAND.with_leads(10) == pytest.approx(10.2)


def test_an_unknown_function_is_named_with_the_known_ones() -> None:
    """The sentence lists what the meter can do."""
    with pytest.raises(ValueError, match="no function 'henry'; it has volts"):
        HAND.shown("henry", 1.0)


@given(st.sampled_from(["ohms", "volts", "dc volts", "capacitance"]), st.floats(0, 5), st.floats(1, 1e5))
def test_a_range_is_told_in_one_unit_and_is_what_the_meter_shows(function: str, decades: float, ratio: float) -> None:
    """One unit, one that the display has at one of the ends; each end within half a tenth of the range and itself,
    or half a step of the display; and no finer than the display."""
    asked = HAND.functions[function]
    top = asked.ranges[-1].top
    low = max(top / 10**decades / ratio, 100 * asked.ranges[0].step)
    high = min(low * ratio, top)
    said = HAND.span(function, low, high)
    *ends, unit = said.replace(" to ", " ").split()
    shown = [HAND.shown(function, value)[0] for value in (low, high)]
    assert unit in {one.split()[1] for one in shown}
    for value, told in zip((low, high), ends if len(ends) == 2 else 2 * ends, strict=True):
        typed = parse_quantity(f"{told} {unit}", DIMENSIONS[function])
        step = at.step if (at := asked.at(value)) else 0.0
        assert abs(typed.value - value) <= max(min(high - low, value) / 20, 0.5 * step) * (1 + 1e-6)
        assert typed.resolution >= step * (1 - 1e-6) or "." not in told


@pytest.mark.parametrize(
    ("function", "low", "high", "said"),
    [
        ("ohms", 446.3, 642.0, "446 to 642 Ω"),
        ("ohms", 599.9, 601.0, "599.9 to 601 Ω"),
        ("ohms", 446.3, 999.0, "446 to 999 Ω"),
        ("ohms", 446.3, 1002.0, "0.45 to 1.00 kΩ"),
        ("ohms", 0.0, 0.5, "up to 0.5 Ω"),
        ("ohms", 11.9, 11.9, "11.9 Ω"),
        ("ohms", 11.92, 11.94, "11.9 Ω"),
        ("ohms", 5e6, 1e9, "5.0 MΩ to OL"),
        ("ohms", 1e9, math.inf, "OL"),
        ("volts", 0.012, 42.3, "0.012 to 42 V"),
        ("dc volts", -0.3, 0.3, "-0.30 to 0.30 V"),
    ],
)
def test_ranges_as_they_are_told(function: str, low: float, high: float, said: str) -> None:
    """Across the meter's own ranges, from nothing, of no width, and beyond the meter."""
    assert HAND.span(function, low, high) == said
