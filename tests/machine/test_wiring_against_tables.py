"""Wires against printed tables: ASTM B258 diameters, resistance of solid copper at 20 °C (wire tables)."""

from __future__ import annotations

import math

import pytest

from halfsplit.errors import NotUnderstood
from halfsplit.machine import wiring

INCH = 25.4


@pytest.mark.parametrize(
    ("gauge", "inches"), [(8, 0.1285), (10, 0.1019), (12, 0.08081), (14, 0.06408), (16, 0.05082), (18, 0.04030)]
)
def test_area_follows_the_diameter_of_the_standard(gauge: int, inches: float) -> None:
    """The cross-section is that of the diameter that ASTM B258 prints, to its last digit."""
    assert wiring.awg_area(gauge) == pytest.approx(math.pi / 4 * (inches * INCH) ** 2, rel=1.5e-3)


@pytest.mark.parametrize(("gauge", "ohms"), [(12, 0.15880), (14, 0.25250), (16, 0.40160), (18, 0.63850)])
def test_ohms_of_a_hundred_feet(gauge: int, ohms: float) -> None:
    """100 ft of solid copper at 20 °C have the ohms of the wire tables."""
    assert wiring.read_run(f"{gauge} AWG 100 ft").ohms == pytest.approx(ohms, rel=1e-3)


@pytest.mark.parametrize(("area", "most"), [(1.5, 12.1), (2.5, 7.41), (4, 4.61), (6, 3.08), (10, 1.83)])
def test_ohms_stay_below_the_most_of_iec_60228(area: float, most: float) -> None:
    """A kilometre of nominal cross-section lies below the standard's maximum, and not far."""
    per_km = wiring.read_run(f"{area} mm2 100 m").ohms * 10
    assert 0.93 * most < per_km < most


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("BK a.1 b.2", "has 1 fields"),
        ("BK  a.1", "has 2 fields"),
        ("BK  10 AWG  1 m  a.1  b.2", "has 5 fields"),
        ("BRN  a.1  b.2", "no colour"),
        ("black  a.1  b.2", "no colour"),
        ("BK  10 gauge 1 m  a.1  b.2", "no gauge and length"),
        ("BK  10 AWG 1  a.1  b.2", "has no unit"),
        ("BK  10 AWG 0 m  a.1  b.2", "No wire"),
    ],
)
def test_wire_that_cannot_be_read(text: str, says: str) -> None:
    """A line that is no wire is refused, and the remedy shows how one is written."""
    with pytest.raises(NotUnderstood, match=says) as caught:
        wiring.read_line(text)
    assert caught.value.remedy


def test_colour_of_another_custom_is_translated() -> None:
    """The remedy for a colour by another custom names the code."""
    with pytest.raises(NotUnderstood) as caught:
        wiring.colours("BRN")
    assert caught.value.remedy == "Write BN."
