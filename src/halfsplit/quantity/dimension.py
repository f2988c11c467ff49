"""The kinds of quantity that a text may be read as. Knows no units and no numbers."""

from __future__ import annotations

from enum import Enum

__all__ = ["CODED", "METER", "Dimension"]


class Dimension(Enum):
    """What is expected; the value is its name in messages. SI inside, with °C for temperatures."""

    RESISTANCE = "resistance"
    VOLTAGE = "voltage"
    CURRENT = "current"
    POWER = "power"
    ENERGY = "energy"
    CAPACITANCE = "capacitance"
    INDUCTANCE = "inductance"
    FREQUENCY = "frequency"
    TEMPERATURE = "temperature"
    TEMPERATURE_DIFFERENCE = "temperature difference"
    HEAT_CAPACITY = "heat capacity"
    HEAT_CONDUCTANCE = "heat conductance"
    PRESSURE = "pressure"
    FLOW = "flow"
    VOLUME = "volume"
    MASS = "mass"
    LENGTH = "length"
    AREA = "area"
    SPEED = "speed of turning"
    TIME = "time"
    RATIO = "ratio"
    MONEY = "sum of money"


# What a meter shows: only these can be over range, and only these may be typed without a unit.
METER = frozenset(
    {
        Dimension.RESISTANCE,
        Dimension.VOLTAGE,
        Dimension.CURRENT,
        Dimension.POWER,
        Dimension.CAPACITANCE,
        Dimension.INDUCTANCE,
        Dimension.FREQUENCY,
        Dimension.TEMPERATURE,
    }
)

# Whose values are also written with a letter for the decimal sign, as printed on parts (IEC 60062: 9k2, 4R7).
CODED = frozenset({Dimension.RESISTANCE, Dimension.CAPACITANCE, Dimension.INDUCTANCE})
