"""Readings taken together against sums over every joint outcome instead."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np
import pytest

from halfsplit.circuit.network import Array
from halfsplit.plan import joint
from halfsplit.plan.joint import Belief

CASES = 60
READINGS = 7


class Case(NamedTuple):
    """A small set-up: what is believed, and codes (K, S)."""

    belief: Belief
    codes: Array


def case(seed: int) -> Case:
    """Up to 14 candidates of up to 6 repairs, readings with two to four outcomes, some of them the same twice."""
    rng = np.random.default_rng(seed)
    size = int(rng.integers(4, 15))
    belief = Belief(rng.dirichlet(np.full(size, 0.7)), rng.integers(0, int(rng.integers(2, 7)), size))
    codes = rng.integers(0, rng.integers(2, 5, (READINGS, 1)), (READINGS, size)).astype(np.int8)
    codes[-1] = codes[0]
    return Case(belief, codes)


def by_force(belief: Belief, rows: Sequence[Sequence[int]]) -> float:
    """Bits about the repair of some readings, by adding up the chance of each outcome of all of them."""
    p = (belief.probability / belief.probability.sum()).tolist()
    both: dict[tuple[object, ...], float] = defaultdict(float)
    for s, chance in enumerate(p):
        both[(tuple(row[s] for row in rows), int(belief.repair_of[s]))] += chance
    shown: dict[object, float] = defaultdict(float)
    due: dict[object, float] = defaultdict(float)
    for (outcome, repair), chance in both.items():
        shown[outcome] += chance
        due[repair] += chance
    return _entropy(shown.values()) + _entropy(due.values()) - _entropy(both.values())


def _entropy(chances: Iterable[float]) -> float:
    return -sum(p * math.log2(p) for p in chances if p > 0)


@pytest.mark.parametrize("seed", range(CASES))
def test_joint_bits(seed: int) -> None:
    """Of one to four readings at once."""
    given = case(seed)
    for count in range(1, 5):
        some = np.random.default_rng(seed).choice(READINGS, count, replace=False)
        told = by_force(given.belief, given.codes[some].tolist())
        assert joint.information(given.belief, given.codes[some]) == pytest.approx(told, abs=1e-9)


def test_a_reading_that_tells_the_same_adds_nothing() -> None:
    """The last reading of each case is the first once more; codes below 0 are codes like others."""
    for seed in range(CASES):
        given = case(seed)
        alone = joint.information(given.belief, given.codes[:1])
        assert joint.information(given.belief, given.codes[[0, -1]]) == pytest.approx(alone, abs=1e-9)
        assert joint.information(given.belief, given.codes[:1] - 3) == pytest.approx(alone, abs=1e-9)


def test_a_difference_counts_beside_both_readings() -> None:
    """Two readings that each show all candidates alike, and whose difference parts them."""
    belief = Belief(np.full(4, 0.25), np.array([0, 1, 0, 1]))
    codes = np.array([[0, 0, 1, 1], [0, 0, 0, 0], [0, 1, 0, 1]], np.int8)
    assert joint.information(belief, codes[:2]) == pytest.approx(0.0)
    assert joint.information(belief, codes) == pytest.approx(1.0)
