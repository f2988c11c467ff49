"""The meter's display and spread against stated accuracies and the ghost-voltage model."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.circuit import meter

HAND = meter.Meter()


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
