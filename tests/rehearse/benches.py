"""Benches and advisers of machines, of the library by name or of a file, made once for all tests that weigh, advise,
guide or rehearse."""

from __future__ import annotations

from functools import lru_cache

from halfsplit.evidence.weighing import Bench
from halfsplit.plan.score import Adviser
from halfsplit.plan.setups import Setups
from halfsplit.service import advising, machines, remembering
from tests.depth import DEEP

NAMES = ("refrigerator", "vented-dryer", "water-heater")
QUICK = NAMES if DEEP else ("refrigerator", "water-heater")
"""Those whose plans are made whole in seconds; deep, all of them."""


@lru_cache
def bench(name: str, worked_on_before: bool = False) -> Bench:
    """The bench of a machine, with what the run has predicted for it before."""
    return remembering.bench(machines.load(name), machines.key(name), worked_on_before)


@lru_cache
def adviser(name: str) -> Adviser:
    """Its adviser, with the table of steps that is compiled once for all workers."""
    return Adviser(bench(name), advising.adviser(bench(name), machines.key(name)).table)


@lru_cache
def guide(name: str) -> Setups:
    """The adviser that leads in the guide."""
    return Setups(bench(name), adviser(name).table)
