"""Draws what is hidden in a rehearsal: a fault by rate, or one that the file lacks; and how the world departs.

Knows the machine and its faults; plays nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from halfsplit.machine import model
from halfsplit.modes.fault import Fault, Repair
from halfsplit.plan import leads
from halfsplit.rehearse.truth import World

TRIES = 400
NOT_IN_FILE = "not in the file"


@dataclass(frozen=True)
class Departure:
    """How the truth departs from the model: the world, and the shares of intermittent and of missing faults."""

    world: World = field(default_factory=World)
    intermittent: float = 0.0
    missing: float = 0.0


AS_THE_MODEL = Departure()
NOT_THE_MODEL = Departure(World(spread=2.0, slips=0.02), intermittent=0.1, missing=0.05)
"""Values off by twice the tolerance, 10 % intermittent faults, 5 % that the file lacks, 2 % slips of the hand."""


@dataclass(frozen=True)
class Lot:
    """One hidden fault: the fault, the index of its alternative, its changes, and how often it acts."""

    fault: Fault
    alternative: int
    changes: tuple[model.Change, ...]
    acting: float


def draw(faults: Sequence[Fault], rates: np.ndarray, rng: np.random.Generator, departure: Departure) -> Lot:
    """A fault by rate, in one of its alternatives; some made intermittent."""
    return sized(faults[int(rng.choice(len(faults), p=rates / rates.sum()))], rng, departure)


def sized(fault: Fault, rng: np.random.Generator, departure: Departure) -> Lot:
    """A fault in one of its alternatives; some made intermittent."""
    weights = np.array([weight for weight, _ in fault.alternatives])
    which = int(rng.choice(len(weights), p=weights / weights.sum()))
    comes_and_goes = rng.random() < departure.intermittent and not fault.owner_only
    return Lot(fault, which, fault.alternatives[which][1], 0.5 if comes_and_goes else fault.acting)


def missing(machine: model.Machine, rng: np.random.Generator) -> Lot:
    """A fault that the file does not list: a bridge between two far terminals, or wires of two parts exchanged."""
    wired = list(model.wired_terminals(machine))
    own = [t for part in leads.own_parts(machine) for t in leads.reachable(machine, part) if t in wired]
    first, second = (own[int(k)] for k in rng.choice(len(own), 2, replace=False))
    bridge = model.Change("bridged", first, float(np.exp(rng.uniform(-2, 6))), second)
    change = bridge if rng.random() < 0.5 else model.Change("swapped", first, to=second)
    repair = Repair("find what the file does not say", NOT_IN_FILE, 30.0, 0.0, ())
    fault = Fault(NOT_IN_FILE, f"{change.kind} {first} and {second}", 1.0, repair, ((1.0, (change,)),))
    return Lot(fault, 0, (change,), 1.0)
