"""What is shown to a person: rounded, in a unit that suits, and readable back."""

from __future__ import annotations

import math
import re
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import halfsplit
from halfsplit.errors import NotUnderstood
from halfsplit.quantity import units
from halfsplit.quantity.dimension import Dimension
from halfsplit.quantity.display import display, duration
from halfsplit.quantity.parse import parse_quantity

D = Dimension


@pytest.mark.parametrize(
    ("value", "dimension", "shown"),
    [
        (9200, D.RESISTANCE, "9.20 kΩ"),
        (9.996, D.RESISTANCE, "10.0 Ω"),
        (999.96, D.RESISTANCE, "1.00 kΩ"),
        (0.05, D.RESISTANCE, "0.05 Ω"),
        (0.0, D.RESISTANCE, "0.00 Ω"),
        (-0.001, D.RESISTANCE, "0.00 Ω"),
        (2.2e6, D.RESISTANCE, "2.20 MΩ"),
        (118.4, D.VOLTAGE, "118 V"),
        (-0.118, D.VOLTAGE, "-118 mV"),
        (35e-6, D.CAPACITANCE, "35.0 µF"),
        (20.04, D.TEMPERATURE, "20.0 °C"),
        (-18.0, D.TEMPERATURE, "-18.0 °C"),
        (300, D.TIME, "5.00 min"),
        (0.05, D.RATIO, "5.00 %"),
        (12345.0, D.TEMPERATURE_DIFFERENCE, "12345 K"),
        (math.inf, D.RESISTANCE, "OL"),
        (-math.inf, D.VOLTAGE, "-OL"),
    ],
)
def test_a_value_is_shown_as_a_meter_would(value: float, dimension: Dimension, shown: str) -> None:
    """Three significant digits, a prefix that leaves one to three before the point, no negative zero."""
    assert display(value, dimension) == shown


def test_a_value_is_shown_in_the_unit_asked_for() -> None:
    """The unit and the digits can be chosen."""
    assert display(68.0, D.TEMPERATURE, unit="°F", digits=4) == "154.4 °F"
    assert display(6.5, D.MONEY, unit="EUR") == "6.50 EUR"
    assert display(149.45, D.PRESSURE, unit="in wc") == "0.600 in wc"


def test_what_cannot_be_shown_is_an_error() -> None:
    """Not-a-number and a unit of another dimension are the program's mistakes."""
    with pytest.raises(ValueError, match="not a number"):
        display(math.nan, D.VOLTAGE)
    with pytest.raises(ValueError, match="'V' is no unit of a resistance"):
        display(1.0, D.RESISTANCE, unit="V")


def last_digit(shown: str, dimension: Dimension) -> float:
    """The worth, in SI, of the last digit of a number that is shown with its unit."""
    number, _, unit = shown.partition(" ")
    scale = units.find(dimension, unit)
    assert scale is not None
    return float(Decimal(1).scaleb(-len(number.partition(".")[2])) * scale.factor)


_PAIRS = [(one, name) for one in Dimension for name in ("", *units.names(one))]


@given(
    st.sampled_from(_PAIRS),
    st.floats(-12, 9).map(lambda power: 10.0**power),
    st.sampled_from([1, -1]),
    st.integers(1, 8),
)
def test_what_is_shown_is_read_back(pair: tuple[Dimension, str], size: float, sign: int, digits: int) -> None:
    """Parsing what was shown gives the value within half of the last digit shown, in every unit."""
    dimension, unit = pair
    value = size * sign
    shown = display(value, dimension, digits=digits, unit=unit)
    try:
        back = parse_quantity(shown, dimension)
    except NotUnderstood as refusal:
        assume("out of all reason" not in refusal.message)
        raise
    worth = last_digit(shown, dimension)
    assert abs(back.value - value) <= worth / 2 + 1e-9 * abs(value) + 1e-11
    assert back.resolution == pytest.approx(worth)


@given(st.sampled_from(_PAIRS), st.floats(-1e6, 1e6, allow_subnormal=False), st.integers(1, 8))
def test_showing_twice_changes_nothing(pair: tuple[Dimension, str], value: float, digits: int) -> None:
    """What was read back from a display is shown the same again."""
    dimension, unit = pair
    shown = display(value, dimension, digits=digits, unit=unit)
    try:
        back = parse_quantity(shown, dimension).value
    except NotUnderstood as refusal:
        assume("out of all reason" not in refusal.message)
        raise
    assert display(back, dimension, digits=digits, unit=unit) == shown


@pytest.mark.parametrize(
    ("minutes", "told"),
    [
        (0.0, "0 s"), (0.1, "6 s"), (0.155, "9 s"), (0.16, "10 s"), (0.3, "20 s"), (0.5, "30 s"), (0.95, "55 s"),
        (0.97, "1 min"), (1.04, "1 min"), (1.5, "1.5 min"), (4.94, "4.9 min"), (4.96, "5 min"), (8.1, "8 min"),
        (250.3, "250 min"), (-0.4, "-25 s"), (-3.0, "-3 min"), (-0.001, "0 s"),
    ],
)  # fmt: skip
def test_a_time_of_work(minutes: float, told: str) -> None:
    """Below a minute in seconds, never told as nothing; above in minutes."""
    assert duration(minutes) == told


@given(st.floats(1e-3, 5000.0))
def test_a_time_of_work_read_back(minutes: float) -> None:
    """What is told is, read back, the same within half a second, 2.5 s, 3 s or half a minute; a plus where signed."""
    seconds = parse_quantity(duration(minutes), D.TIME).value
    step = 0.5 if minutes < 1 / 6 else 2.5 if minutes < 1 else 3 if minutes < 4.9 else 30
    assert abs(seconds - 60 * minutes) <= step + 1e-6
    assert duration(-minutes, signed=True).removeprefix("-") == duration(minutes, signed=True).removeprefix("+")


def test_times_of_work_are_told_in_one_way() -> None:
    """No sentence makes minutes of a number by itself; a findings file is read back and keeps all digits."""
    own = re.compile(r"(?::[^}\"]*[fg]|[a-z_])\} ?min")
    made = Path(halfsplit.__file__).parent.rglob("*.py")
    known = {"display.py", "findings_file.py"}
    assert {path.name for path in made if own.search(path.read_text("utf-8"))} == known
