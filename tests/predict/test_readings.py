"""Readings: what is kept belongs to the effects it was computed for."""

from __future__ import annotations

from halfsplit.machine import loading
from halfsplit.modes import listing
from halfsplit.operate.condition import condition
from halfsplit.operate.effect import HEALTHY, effect
from halfsplit.operate.settle import Operation
from halfsplit.predict.readings import Probe, Readings


def test_a_sequence_of_effects_that_was_let_go_is_not_mistaken_for_another() -> None:
    """Healthy and open in turns, each sequence new: never the reading of the one before."""
    machine = loading.load("water-heater")
    operation = Operation(machine)
    readings, at = Readings(operation), condition(machine, {"warmth": "cold tank"})
    _, changes = listing.by_name(machine)["upper element: open"].alternatives[0]
    amps = Probe("amps", "limit.2")
    for _ in range(50):
        assert readings.read(amps, at, (HEALTHY,)).value[0] > 18
        assert readings.read(amps, at, (effect(operation.assembly, changes),)).value[0] < 0.1
