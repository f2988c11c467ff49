"""What is read on the healthy machine alone is what the whole table has of it."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.evidence.weighing import Bench
from halfsplit.machine import library, loading
from halfsplit.operate import condition as conditions
from halfsplit.plan import proof
from halfsplit.predict.readings import Probe


@pytest.mark.parametrize("name", library.names())
def test_it_is_the_first_of_all_variants(name: str) -> None:
    """Ohms to the frame as used and at rest, volts at the supply."""
    predictor = Bench(loading.load(name)).predictor
    machine = predictor.machine
    used, rest = proof.as_used(machine), conditions.condition(machine, isolated=True)
    asked = [(Probe("ohms", end, machine.frame), at) for end in machine.supply.feeds for at in (used, rest)]
    asked += [(Probe("volts", end, machine.frame), conditions.rest(machine)) for end in machine.supply.feeds]
    for probe, at in asked:
        alone, among = predictor.healthy_reading(probe, at), predictor.reading(probe, at)
        assert alone.value.shape == (1,)
        assert alone.over[0] == among.over[0]
        assert np.isclose(alone.value[0], among.value[0])
