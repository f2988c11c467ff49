"""The table of units, judged by the constants of scipy, and by itself: no spelling may mean two units."""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

import pytest
from scipy import constants

from halfsplit.quantity import units
from halfsplit.quantity.dimension import Dimension

D = Dimension


@pytest.mark.parametrize(
    ("dimension", "name", "factor", "closeness"),
    [
        (D.PRESSURE, "psi", constants.psi, 1e-6),
        (D.PRESSURE, "bar", constants.bar, 1e-12),
        (D.PRESSURE, "mm wc", constants.g, 1e-12),
        (D.PRESSURE, "in wc", 25.4 * constants.g, 1e-6),
        (D.POWER, "hp", constants.hp, 1e-6),
        (D.POWER, "BTU/h", constants.Btu_IT / constants.hour, 1e-6),
        (D.ENERGY, "BTU", constants.Btu_IT, 1e-6),
        (D.ENERGY, "kWh", 1000 * constants.hour, 1e-12),
        (D.VOLUME, "L", constants.liter, 1e-12),
        (D.VOLUME, "gal", constants.gallon_US, 1e-9),
        (D.FLOW, "cfm", constants.foot**3 / constants.minute, 1e-6),
        (D.FLOW, "gpm", constants.gallon_US / constants.minute, 1e-6),
        (D.FLOW, "L/min", constants.liter / constants.minute, 1e-12),
        (D.MASS, "lb", constants.lb, 1e-12),
        (D.MASS, "oz", constants.oz, 1e-12),
        (D.LENGTH, "in", constants.inch, 1e-12),
        (D.LENGTH, "ft", constants.foot, 1e-12),
        (D.AREA, "in²", constants.inch**2, 1e-12),
        (D.AREA, "ft²", constants.foot**2, 1e-12),
        (D.TIME, "min", constants.minute, 1e-12),
        (D.TIME, "h", constants.hour, 1e-12),
        (D.TIME, "d", constants.day, 1e-12),
        (D.TEMPERATURE_DIFFERENCE, "°F", constants.degree_Fahrenheit, 1e-12),
    ],
)
def test_a_factor_is_that_of_the_constants(
    dimension: Dimension, name: str, factor: float, closeness: float
) -> None:
    """Exact factors agree to rounding, the others to the seven digits that the tables give."""
    scale = units.find(dimension, name)
    assert scale is not None
    assert float(scale.factor) == pytest.approx(factor, rel=closeness)


@pytest.mark.parametrize("name", ["Fahrenheit", "Kelvin", "Celsius"])
@pytest.mark.parametrize("number", [-40, 0, 155])
def test_temperatures_are_converted_as_the_constants_do(
    name: Literal["Fahrenheit", "Kelvin", "Celsius"], number: int
) -> None:
    """Degrees with their offset agree with scipy's own conversion."""
    scale = units.find(D.TEMPERATURE, name)
    assert scale is not None
    judged = constants.convert_temperature(number, name, "Celsius")
    assert float(scale.to_si(Decimal(number))) == pytest.approx(float(judged), abs=1e-10)


@pytest.mark.parametrize("dimension", Dimension)
def test_no_spelling_means_two_units(dimension: Dimension) -> None:
    """Every spelling with every prefix is found as the unit it was listed for."""
    if dimension is D.MONEY:
        assert len(units.UNITS[dimension]) == len({one.symbol for one in units.UNITS[dimension]})
    for text, scale in units.spelled(dimension):
        assert units.find(dimension, text) == scale, text


@pytest.mark.parametrize("dimension", Dimension)
def test_the_first_unit_is_that_of_the_si(dimension: Dimension) -> None:
    """The first unit of a dimension converts nothing; all that is shown is known."""
    assert units.UNITS[dimension][0].factor == "1"
    assert all(units.find(dimension, name) for name in units.names(dimension))
