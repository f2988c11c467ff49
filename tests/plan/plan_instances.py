"""Random small repair problems, the same from the same seed: what the chooser is judged on.

Up to 12 faults and 14 tests, bays behind bays, unequal minutes, prices and priors, some faults cured by the
same repair, tests with two or three outcomes; in every third problem three tests err.
"""

from __future__ import annotations

import numpy as np

from halfsplit.plan import problem as arrays
from halfsplit.plan.problem import Bays, Floats, Problem, Repairs, Tests

FAULTS, TESTS, BAYS = 12, 14, 5
NOISY = 3


def drawn(seed: int) -> Problem:
    """The problem of a seed; those divisible by three have tests that err."""
    random = np.random.default_rng(seed)
    faults, tests = int(random.integers(6, FAULTS + 1)), int(random.integers(6, TESTS + 1))
    bays = _bays(random)
    shows = np.stack([_shows(random, faults, seed % 3 == 0 and row < NOISY) for row in range(tests)])
    prior = random.dirichlet(np.full(faults, random.choice([0.7, 1.5, 4.0])))
    measured = Tests(shows, random.uniform(1.0, 12.0, tests), [_places(random) for _ in range(tests)])
    repairs = _repairs(random, faults)
    return arrays.build(prior, measured, repairs, bays)


def _bays(random: np.random.Generator) -> Bays:
    behind = [int(random.integers(-1, bay)) if bay else -1 for bay in range(BAYS)]
    return Bays(behind, random.uniform(1.0, 15.0, BAYS).tolist(), random.uniform(1.0, 15.0, BAYS).tolist())


def _places(random: np.random.Generator) -> list[int]:
    return [int(random.integers(BAYS))] if random.random() < 0.75 else []


def _shows(random: np.random.Generator, faults: int, errs: bool) -> Floats:
    """(3, F): a random partition of the faults in two or three, blurred if the test errs."""
    outcomes = 3 if random.random() < 0.25 else 2
    truth = random.integers(0, outcomes, faults)
    error = random.uniform(0.05, 0.2) if errs else 0.0
    shows = np.zeros((3, faults))
    shows[:outcomes] = error / (outcomes - 1)
    shows[truth, np.arange(faults)] = 1.0 - error
    return shows


def _repairs(random: np.random.Generator, faults: int) -> Repairs:
    of = np.unique(random.integers(0, 2 * faults, faults), return_inverse=True)[1]
    count = int(of.max()) + 1
    price = random.uniform(5.0, 60.0, count) + random.choice([0.0, 30.0], count)
    return Repairs(arrays.cures_from(of.tolist()), price, [_places(random) for _ in range(count)])


def middling(seed: int) -> Problem:
    """A problem of 20 faults and 20 tests that do not err: the largest that exact search still solves in seconds."""
    return large(seed, faults=20, tests=20, repairs=14, errors=(0.0,))


def large(
    seed: int,
    faults: int = 250,
    tests: int = 64,
    repairs: int = 60,
    bays: int = 8,
    errors: tuple[float, ...] = (0.0, 0.02, 0.1),
) -> Problem:
    """A problem of the size of a real machine: most tests show the usual outcome under most faults."""
    random = np.random.default_rng(seed)
    behind = [-1] + [int(random.integers(-1, bay)) for bay in range(1, bays)]
    minutes = random.uniform(1.0, 12.0, (2, bays)).tolist()
    shows = np.stack([_rare(random, faults, errors) for _ in range(tests)])
    of = np.concatenate([np.arange(repairs), random.integers(0, repairs, faults - repairs)])
    price = random.uniform(8.0, 90.0, repairs)
    return arrays.build(
        random.dirichlet(np.full(faults, 0.5)),
        Tests(shows, random.uniform(1.0, 8.0, tests), _in_bays(random, tests, bays)),
        Repairs(arrays.cures_from(of.tolist()), price, _in_bays(random, repairs, bays)),
        Bays(behind, *minutes),
    )


def _rare(random: np.random.Generator, faults: int, errors: tuple[float, ...]) -> Floats:
    error, outcomes = random.choice(errors), int(random.integers(2, 4))
    unusual = random.random(faults) < random.uniform(0.03, 0.5)
    truth = np.where(unusual, random.integers(1, outcomes, faults), 0)
    shows = np.zeros((3, faults))
    shows[:outcomes] = error / (outcomes - 1)
    shows[truth, np.arange(faults)] = 1.0 - error
    return shows


def _in_bays(random: np.random.Generator, rows: int, bays: int) -> list[list[int]]:
    return [[int(random.integers(bays))] if random.random() < 0.7 else [] for _ in range(rows)]
