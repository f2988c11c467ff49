"""`expect`: what a meter would show between two terminals, and under which single faults it would differ."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from halfsplit.circuit.meter import Meter
from halfsplit.machine import model
from halfsplit.modes import listing
from halfsplit.operate.condition import Condition
from halfsplit.operate.settle import Operation
from halfsplit.predict import candidates as cs
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import Probe, Reading, Readings
from halfsplit.service import asking


def expect(machine: model.Machine, probe: Probe, at: Condition, fault_names: Sequence[str] = ()) -> dict[str, Any]:
    """The reading with its range (two standard deviations each way), and the same per fault that reads otherwise.

    Faults named in `fault_names` are there in every line. Values in SI; None where the meter is over range.
    """
    operation, meter = Operation(machine), Meter()
    given = asking.together(operation.assembly, asking.faults(machine, fault_names))
    listed = [fault for fault in listing.faults(machine) if not fault.owner_only]
    variants = cs.singles(operation.assembly, listed).variants
    effects = tuple(given.with_(variant.effect) for variant in variants)
    shown = _Shown(Readings(operation, meter).read(probe, at, effects), probe, meter)
    return {"reading": shown.row(0), "faults": _otherwise(shown, variants, listed)}


def in_words(meter: str, row: dict[str, Any]) -> str:
    """The range of one of the lines as a person reads it; "" where it is over range from end to end.

    >>> in_words("ohms", {"low": 11.84, "high": 12.92}), in_words("ohms", {"low": 3e7, "high": None})
    ('11.8 to 12.9 Ω', '30 MΩ to OL')
    """
    low, high = row["low"], row["high"]
    return "" if low is None else Meter().span(meter, low, math.inf if high is None else high)


def when_good(predictor: Predictor, probe: Probe, at: Condition) -> str:
    """What a good machine shows between two leads, in words.

    >>> from halfsplit.evidence.weighing import Bench
    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate.condition import condition
    >>> tank = Bench(loading.load("water-heater"))
    >>> ends = Probe("ohms", "lower element.1", "lower element.2")
    >>> when_good(tank.predictor, ends, condition(tank.machine, isolated=True, lift=["lower element.1"]))
    '12.3 to 13.8 Ω on a good machine'
    """
    meter = predictor.readings.meter
    row = _Shown(predictor.healthy_reading(probe, at), probe, meter).row(0)
    return f"{in_words(probe.meter, row) or 'OL'} on a good machine"


def _otherwise(shown: _Shown, variants: Sequence[cs.Variant], listed: Sequence[Any]) -> list[dict[str, Any]]:
    """Per fault the alternatives that read otherwise: the weightiest one's value, the range of all."""
    rows: dict[int, list[int]] = {}
    for row, variant in enumerate(variants):
        if variant.faults and shown.differs(row):
            rows.setdefault(variant.faults[0], []).append(row)
    made = []
    for fault, alike in rows.items():
        chosen = max(alike, key=lambda row: variants[row].weight)
        made.append({"fault": listed[fault].name} | shown.row(chosen) | shown.range_of(alike))
    return made


class _Shown:
    """A reading's arrays as a person reads them, variant by variant."""

    def __init__(self, reading: Reading, probe: Probe, meter: Meter) -> None:
        self.reading, self.probe, self.meter = reading, probe, meter
        spread = 2 * reading.deviation
        self.low_x, self.high_x = reading.mean - spread, reading.mean + spread
        self.over = np.isinf(reading.value)

    def row(self, row: int) -> dict[str, Any]:
        """Value, unit, what the display says, and the range of one variant."""
        value = float(self.reading.value[row])
        unit = self.meter.functions[self.probe.meter].unit
        number = None if math.isinf(value) else value
        return {"value": number, "unit": unit, "shown": self._words(value)} | self.range_of([row])

    def _words(self, value: float) -> str:
        if self.probe.meter == "continuity":
            return "beeps" if self.meter.beeps(value - self.meter.lead_ohms) else "no beep"
        return self.meter.shown(self.probe.meter, value)[0]

    def range_of(self, rows: Sequence[int]) -> dict[str, Any]:
        """Lowest and highest that some of these variants show; None where that is over range."""
        inside = [row for row in rows if not self.over[row]]
        low = min((self._si(float(self.low_x[row])) for row in inside), default=None)
        high = max((self._si(float(self.high_x[row])) for row in inside), default=None)
        return {"low": low, "high": high if len(inside) == len(rows) else None}

    def _si(self, x: float) -> float:
        value = self.reading.scale * math.sinh(x)
        return value if self.probe.meter in ("temperature", "dc volts") else max(value, 0.0)

    def differs(self, row: int) -> bool:
        """Whether a variant's range and that of the first one have nothing in common."""
        if self.over[row] or self.over[0]:
            return bool(self.over[row] != self.over[0])
        return bool(self.low_x[row] > self.high_x[0] or self.high_x[row] < self.low_x[0])
