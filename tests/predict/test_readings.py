"""Readings: what is kept belongs to the effects it was computed for, and many at once are as one by one."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading
from halfsplit.modes import listing
from halfsplit.operate.condition import condition
from halfsplit.operate.effect import HEALTHY, effect
from halfsplit.operate.settle import Operation
from halfsplit.plan import leads
from halfsplit.predict import holding
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


@pytest.mark.parametrize("meter", ["ohms", "volts", "low-impedance volts", "amps", "temperature"])
def test_many_readings_at_once_are_as_one_by_one(meter: str) -> None:
    """The same values, spreads and chances of over range, for places drawn at random."""
    bench = Bench(loading.load("refrigerator"))
    readings, effects = bench.predictor.readings, bench.predictor.found_effects
    at = condition(bench.machine, dict(bench.machine.settings["cooling"]), isolated=meter == "ohms")
    parts = [part for part in leads.own_parts(bench.machine) if part.terminals]
    terminals = [t for part in parts for t in leads.reachable(bench.machine, part)]
    drawn = np.random.default_rng(11).choice(terminals, (8, 2)).tolist()
    if meter == "amps":
        probes = [Probe(meter, t) for t in bench.machine.supply.meets if t != bench.machine.frame]
    elif meter == "temperature":
        probes = [Probe(meter, f"{part.name}.1") for part in parts if holding.place_felt(bench.machine, part.name)]
    else:
        probes = [Probe(meter, a, b) for a, b in drawn]
    for probe, made in zip(probes, readings.read_many(probes, at, effects), strict=True):
        alone = readings.read(probe, at, effects)
        for name, array in vars(alone).items():
            np.testing.assert_allclose(getattr(made, name), array, rtol=1e-6, atol=1e-9, err_msg=f"{probe} {name}")
