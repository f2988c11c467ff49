"""What means two things is asked for, what means nothing is refused, each with words that help."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from halfsplit.errors import Ambiguous, NotUnderstood
from halfsplit.quantity.dimension import METER, Dimension
from halfsplit.quantity.model import Beep, OverRange, Quantity
from halfsplit.quantity.parse import parse, parse_quantity

D = Dimension


@pytest.mark.parametrize(
    ("text", "dimension", "choices"),
    [
        ("1,200", D.RESISTANCE, ("1200", "1.200")),
        ("1,200 V", D.VOLTAGE, ("1200 V", "1.200 V")),
        ("-1,200 V", D.VOLTAGE, ("-1200 V", "-1.200 V")),
        ("1,200 ohm ± 5 %", D.RESISTANCE, ("1200 ohm ± 5 %", "1.200 ohm ± 5 %")),
        ("1 .", D.RESISTANCE, ("1", "OL")),
        ("1.", D.RESISTANCE, ("1", "OL")),
        ("1. kohm", D.RESISTANCE, ("1 kohm", "OL")),
        ("155", D.TEMPERATURE, ("155 °C", "155 °F")),
        ("35 MF", D.CAPACITANCE, ("35 µF", "35 mF")),
        ("35 mf", D.CAPACITANCE, ("35 µF", "35 mF")),
    ],
)
def test_two_meanings_are_offered(text: str, dimension: Dimension, choices: tuple[str, ...]) -> None:
    """Where a text can be read in two ways both are offered, and each offer can be typed as it stands."""
    with pytest.raises(Ambiguous) as caught:
        parse(text, dimension)
    assert caught.value.choices == choices
    assert caught.value.text == text
    meanings = [parse(choice, dimension) for choice in choices]
    assert meanings[0] != meanings[1]


@pytest.mark.parametrize(
    ("text", "dimension", "says"),
    [
        ("", D.RESISTANCE, "Nothing was written"),
        ("   ", D.VOLTAGE, "Nothing was written"),
        ("nan", D.RESISTANCE, "does not begin with a number"),
        ("inf", D.RESISTANCE, "does not begin with a number"),
        ("-inf V", D.VOLTAGE, "does not begin with a number"),
        ("hot", D.TEMPERATURE, "does not begin with a number"),
        ("5 2", D.RESISTANCE, "'5 2' is not one number"),
        ("1.2.3", D.RESISTANCE, "is not one number"),
        ("9,,2q", D.RESISTANCE, "is not one number"),
        ("--5", D.VOLTAGE, "does not begin with a number"),
        ("1e999", D.VOLTAGE, "out of all reason"),
        ("118 MV", D.VOLTAGE, "m is milli, M is mega"),
        ("-300 C", D.TEMPERATURE, "out of all reason"),
        ("9e99 min", D.TIME, "out of all reason"),
        ("1e37 ohm", D.RESISTANCE, "out of all reason"),
        ("٩ V", D.VOLTAGE, "does not begin with a number"),
        ("10² ohm", D.RESISTANCE, "no unit of a resistance"),
        ("118 \u200b V", D.VOLTAGE, "is no quantity"),
        ("9" * 61, D.VOLTAGE, "is no quantity"),
        ("118 MA", D.CURRENT, "Did you mean 'mA'"),
        ("12 A", D.VOLTAGE, "'A' is no unit of a voltage"),
        ("155F", D.CAPACITANCE, "out of all reason"),
        ("35", D.CAPACITANCE, "'35' has no unit. Write it as in 35 µF."),
        ("1e-999", D.RESISTANCE, "'1e-999' is finer than anything that is measured. Look at the power of ten."),
        ("0e-999 V", D.VOLTAGE, "is finer than anything that is measured"),
        ("1 ohm ± 1e900", D.RESISTANCE, "The tolerance '1e900' is out of all reason for a resistance."),
        ("1 ohm ± 1e900 %", D.RESISTANCE, "The tolerance '1e900 %' is out of all reason for a resistance."),
        ("1 ohm +1e900/-1 ohm", D.RESISTANCE, "out of all reason"),
        ("155F", D.RESISTANCE, "'F' is no unit of a resistance"),
        ("0.L", D.TIME, "'L' is no unit of a time"),
        ("4R7 kohm", D.RESISTANCE, "is no unit of a resistance"),
        ("9k2 kohm", D.RESISTANCE, "is no unit of a resistance"),
        ("300 k", D.TEMPERATURE, "is no unit of a temperature"),
        ("5", D.TIME, "'5' has no unit. Write a time in ms, s, min, h"),
        ("6", D.MONEY, "Write a sum of money in USD"),
        ("6 $", D.MONEY, "Write a sum of money in USD"),
        ("85 °C ± 5 %", D.TEMPERATURE, "no tolerance in per cent"),
        ("85 °C ± 5 V", D.TEMPERATURE, "has no unit of a temperature"),
        ("85 °C ± 1,200", D.TEMPERATURE, "is no plain number"),
        ("85 °C ± -5", D.TEMPERATURE, "is no plain number"),
        ("± 5 ohm", D.RESISTANCE, "does not begin with a number"),
        ("beeps", D.VOLTAGE, "does not begin with a number"),
        ("open", D.VOLTAGE, "does not begin with a number"),
    ],
)
def test_nonsense_is_refused_in_words(text: str, dimension: Dimension, says: str) -> None:
    """What cannot be read is refused with a sentence that says why or what to write."""
    with pytest.raises(NotUnderstood) as caught:
        parse(text, dimension)
    assert says in str(caught.value)
    assert caught.value.text == text
    assert caught.value.remedy.endswith((".", "?"))


@pytest.mark.parametrize(
    ("text", "dimension"),
    [("45.2", D.RESISTANCE), ("9.2k", D.RESISTANCE), ("9k2", D.RESISTANCE), ("5", D.VOLTAGE)],
)
def test_a_machine_file_must_name_its_units(text: str, dimension: Dimension) -> None:
    """What passes as a meter reading is refused in a machine file, naming the units to choose from."""
    assert isinstance(parse(text, dimension), Quantity)
    with pytest.raises(NotUnderstood, match=r"has no unit\. Write a .* in .*(Ω|V)"):
        parse(text, dimension, strict=True)
    with pytest.raises(NotUnderstood, match="has no unit"):
        parse_quantity(text, dimension)
    assert parse_quantity(text, dimension, strict=False) == parse(text, dimension)


def test_a_lone_one_is_over_range_only_on_a_meter() -> None:
    """A time of "1. min" is one minute: no meter shows it."""
    assert parse_quantity("1. min", D.TIME).value == 60


@pytest.mark.parametrize("text", ["OL", "beeps"])
def test_only_a_number_will_do(text: str) -> None:
    """Where a number is needed a word of the meter is refused."""
    with pytest.raises(NotUnderstood, match="is no number"):
        parse_quantity(text, D.RESISTANCE)


_PIECES = st.sampled_from(
    [*"1095., kKMmµRVFC°±+-/%eE²∞(\u202f", "OL", "ohm", "in wc"]
)


_TEXTS = st.one_of(st.text(max_size=70), st.lists(_PIECES, max_size=9).map("".join))


@given(_TEXTS, st.sampled_from(Dimension))
@example("1e-999", D.RESISTANCE)
@example("0e-999", D.MONEY)
@example("1 ohm ± 1e900", D.RESISTANCE)
@example("1 ohm ± 1e900 %", D.RESISTANCE)
@example("20 °C +1e99/-5", D.TEMPERATURE)
def test_any_text_is_read_or_refused(text: str, dimension: Dimension) -> None:
    """No text brings anything but a meaning or a refusal; a quantity is finite and in order."""
    try:
        typed = parse(text, dimension)
    except NotUnderstood:
        return
    if isinstance(typed, Quantity):
        assert -1e30 < typed.low <= typed.value <= typed.high < 1e30
        assert typed.resolution > 0
    else:
        assert isinstance(typed, OverRange | Beep)
        assert dimension in METER
