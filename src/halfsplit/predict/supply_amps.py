"""How many amps a healthy machine draws in a setting, and in which live setting the most: what loads its supply.

Knows the readings of the solved network; nothing of steps or of what was found.
"""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.operate.effect import HEALTHY
from halfsplit.predict.readings import Probe, Readings

LEAST_AMPS = 0.5
"""What draws less loads no joint; common practice, no source."""
MOST_OF_IT = 0.5
"""A setting that draws less than this share of the most does not have the heaviest load on. Halfsplit's choice."""
_HEALTHY = (HEALTHY,)


def amps(readings: Readings, at: Condition) -> float:
    """The most amps through one conductor of the supply of a healthy machine; 0 where it is cut off."""
    machine = readings.operation.machine
    if conditions.cut_off(machine, at):
        return 0.0
    probes = [Probe("amps", terminal) for terminal in machine.supply.feeds]
    return round(max(float(one.value[0]) for one in readings.read_many(probes, at.own.still, _HEALTHY)), 6)


def heaviest(readings: Readings) -> tuple[Condition, float]:
    """The live setting that draws the most and its amps; of settings that draw alike the first."""
    settings = [Condition(setting) for setting in conditions.live_settings(readings.operation.machine)]
    drawn: Sequence[float] = [amps(readings, at) for at in settings]
    most = max(range(len(settings)), key=drawn.__getitem__)
    return settings[most], drawn[most]


def loads(readings: Readings, at: Condition) -> bool:
    """Whether a condition has most of the heaviest load on."""
    return amps(readings, at) >= max(LEAST_AMPS, MOST_OF_IT * heaviest(readings)[1])
