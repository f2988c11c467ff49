"""Ohms between random terminals of the library's machines, isolated, judged by the circuit simulator."""

from __future__ import annotations

import pytest

from halfsplit.machine import library, loading
from tests.library import ohms
from tests.library.sweep import Library


@pytest.mark.parametrize("machine", library.names())
def test_ohms_agree(machine: str, ngspice: str) -> None:
    """200 pairs: within 1e-6 below 10 Mohm, and over range where the simulator is."""
    found = ohms.random_pairs(Library(loading.load(machine)), seed=1)
    assert len(found) == ohms.PAIRS
    assert sum(pair.judge < ohms.NUMBER_BELOW for pair in found) > 40
    worst = max(found, key=lambda pair: pair.error)
    assert worst.error < 1e-6, worst
