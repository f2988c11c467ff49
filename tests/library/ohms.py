"""Ohms between random terminals of an isolated machine, ours beside the circuit simulator's.

Shared by the tests and by the command that judges the whole library.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from halfsplit.circuit import spice
from halfsplit.operate import condition as conditions
from halfsplit.operate.effect import Effect, edits
from halfsplit.plan import steps
from halfsplit.predict.readings import Probe, Readings
from tests.judges import ngspice
from tests.library.sweep import Library

PAIRS = 200
AT_ONCE = 10
"""Pairs that are read in one condition, under one fault."""
NUMBER_BELOW = 10e6
OVER_RANGE = 40e6


@dataclass(frozen=True)
class Ohms:
    """One pair: where, ours (inf: over range), the simulator's."""

    what: str
    ours: float
    judge: float

    @property
    def error(self) -> float:
        """Relative below 10 Mohm; above, 0 where both are over range or both are not, else 1."""
        if self.judge < NUMBER_BELOW:
            return abs(self.ours - self.judge) / max(self.judge, 1e-9)
        return float((self.ours > OVER_RANGE) != (self.judge > OVER_RANGE))


def random_pairs(library: Library, seed: int, count: int = PAIRS) -> list[Ohms]:
    """`count` random pairs over random dead settings, lifted wires and faults."""
    rng = np.random.default_rng(seed)
    return [found for _ in range(count // AT_ONCE) for found in _in_one_condition(library, rng)]


def _in_one_condition(library: Library, rng: np.random.Generator) -> Iterator[Ohms]:
    settings = steps.dead_settings(library.machine)
    wired = sorted({end for wire in library.machine.wires for end in wire.ends})
    lift = tuple(sorted(rng.choice(wired, rng.integers(3), replace=False).tolist()))
    at = conditions.Condition(settings[rng.integers(len(settings))], True, lift)
    variant = int(rng.integers(len(library.variants)))
    terminals = list(library.machine.terminals)
    pairs = [tuple(rng.choice(terminals, 2, replace=False).tolist()) for _ in range(AT_ONCE)]
    judged = _judged(library, at, library.effects[variant], pairs)
    readings = Readings(library.operation)
    effects = (library.effects[variant],)
    for pair, judge in zip(pairs, judged, strict=True):
        ours = readings.read(Probe("ohms", *pair), at, effects).value[0] - readings.meter.lead_ohms
        yield Ohms(f"{at} {library.fault(variant)} {pair}", float(ours), judge)


def _judged(library: Library, at: conditions.Condition, effect: Effect, pairs: list[tuple[str, str]]) -> list[float]:
    (herd,) = library.operation.settle(at, [effect])
    network = library.built.to_a_meter(herd.state)
    numbers = np.array([[library.built.nodes[t] for t in pair] for pair in pairs])
    printed = ngspice.run(spice.ohms_deck(network, edits(effect.operations, network), numbers))
    return [printed[f"ohms_{p}"].real for p in range(len(pairs))]
