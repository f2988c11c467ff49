"""Information of steps against plain loops over candidates, outcomes and repairs."""

from __future__ import annotations

import math
from collections import defaultdict
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from scipy.integrate import quad
from scipy.stats import norm

from halfsplit.evidence import outcome
from halfsplit.evidence.likelihood import Array, Index
from halfsplit.evidence.outcome import Codes
from halfsplit.evidence.partition import partition
from tests.evidence import examples


def entropy(masses: list[float]) -> float:
    """Bits of a distribution."""
    return -sum(p * math.log2(p) for p in masses if p > 0.0)


def by_loops(prior: Array, repair_of: Index, outcomes: Array) -> float:
    """Mutual information of repair and outcome of one step, from the joint table."""
    joint: dict[tuple[int, int], float] = defaultdict(float)
    for s, p in enumerate(prior / prior.sum()):
        for b, q in enumerate(outcomes[s]):
            joint[int(repair_of[s]), b] += float(p * q)
    repairs: dict[int, float] = defaultdict(float)
    shown: dict[int, float] = defaultdict(float)
    for (r, b), mass in joint.items():
        repairs[r] += mass
        shown[b] += mass
    return entropy(list(repairs.values())) + entropy(list(shown.values())) - entropy(list(joint.values()))


@given(examples.seeds)
@settings(max_examples=40)
def test_exact_information(seed: int) -> None:
    """Mutual information of random outcome tables agrees with the loops."""
    random = np.random.default_rng(seed)
    prior, repair_of = random.uniform(0, 1, 9), random.integers(0, 4, 9)
    outcomes = random.dirichlet(np.ones(5), (3, 9))
    for step in outcomes:
        assert outcome.information(prior, repair_of, step) == pytest.approx(by_loops(prior, repair_of, step), abs=1e-12)
    shown, prior, repair_of = random.integers(0, 9, 30), random.uniform(0, 1, 30), random.integers(0, 4, 30)
    told = outcome.information(prior, repair_of, outcomes[0], shown)
    assert told == pytest.approx(by_loops(prior, repair_of, outcomes[0][shown]), abs=1e-12)


@given(examples.seeds)
@settings(max_examples=40)
def test_partition_scores(seed: int) -> None:
    """Scores from sparse codes agree with the loops over sure outcomes, duplicates included."""
    random = np.random.default_rng(seed)
    codes = np.where(random.random((12, 15)) < 0.3, random.integers(0, 5, (12, 15)), 127).astype(np.int8)
    codes = np.concatenate([codes, codes[:4], np.full((1, 15), 3, np.int8)])
    repair_of = random.integers(0, 4, 15)
    steps = partition(codes, repair_of)
    for prior in (random.uniform(0, 1, 15), random.integers(0, 2, 15) + np.eye(15)[0]):
        expected = [by_loops(prior, repair_of, np.eye(128)[row]) for row in codes]
        np.testing.assert_allclose(steps.score(prior), expected, atol=1e-12)
        for count in (1, 5, 14):
            np.testing.assert_allclose(steps.first(count).score(prior), expected[:count], atol=1e-12)


def together(codes: Codes) -> Array:
    """(S, B) the joint outcome of some coded steps as a table of sure outcomes, by the tuple of their codes."""
    rows = list(zip(*codes.tolist(), strict=True))
    names = sorted(set(rows))
    return np.array([[float(row == name) for name in names] for row in rows])


@given(examples.seeds)
@settings(max_examples=60)
def test_joint_information(seed: int) -> None:
    """Of one to four steps at once, some the same twice and some codes below 0, as the loops over joint outcomes."""
    random = np.random.default_rng(seed)
    size = int(random.integers(4, 15))
    prior, repair_of = random.dirichlet(np.full(size, 0.7)), random.integers(0, int(random.integers(2, 7)), size)
    codes = (random.integers(0, random.integers(2, 5, (7, 1)), (7, size)) - 2).astype(np.int8)
    codes[-1] = codes[0]
    for count in range(1, 5):
        some = codes[random.choice(7, count, replace=False)]
        told = outcome.joint_information(3 * prior, repair_of, some)
        assert told == pytest.approx(by_loops(prior, repair_of, together(some)), abs=1e-9)
    alone, twice = (outcome.joint_information(prior, repair_of, codes[rows]) for rows in ([0], [0, -1]))
    assert twice == pytest.approx(alone, abs=1e-9)


def test_many_codes_together() -> None:
    """Codes of five steps that part 1024 candidates one by one: no two joint outcomes are taken for one."""
    codes = np.array([(np.arange(1024) // 4**k) % 4 * 85 - 128 for k in range(5)]).astype(np.int8)
    assert outcome.joint_information(np.ones(1024), np.arange(1024), codes) == pytest.approx(10.0)


def test_a_difference_counts_beside_both_readings() -> None:
    """Two readings that each show all candidates alike, and whose difference parts them."""
    prior, repair_of = np.full(4, 0.25), np.array([0, 1, 0, 1])
    codes = np.array([[0, 0, 1, 1], [0, 0, 0, 0], [0, 1, 0, 1]], np.int8)
    assert outcome.joint_information(prior, repair_of, codes[:2]) == pytest.approx(0.0)
    assert outcome.joint_information(prior, repair_of, codes) == pytest.approx(1.0)


def test_steps_that_part_alike_are_kept_once() -> None:
    """Codes named otherwise but parting the candidates alike are one step; nothing told, nothing scored."""
    codes = np.array([[0, 1, 1], [4, 127, 127], [7, 7, 7], [1, 0, 2]], dtype=np.int8)
    steps = partition(codes, np.arange(3))
    assert len(steps.kept) == 3
    assert steps.place[0] == steps.place[1]
    assert partition(codes[2:3], np.arange(3)).score(np.ones(3)).tolist() == [0.0]


def test_no_credit_for_parting_faults_of_one_repair() -> None:
    """A step that parts two faults with the same repair tells nothing worth knowing."""
    codes = np.array([[0, 1, 2, 2]], dtype=np.int8)
    assert partition(codes, np.array([0, 0, 1, 1])).score(np.array([1, 1, 0, 0])) == pytest.approx(0)


@given(examples.seeds)
@settings(max_examples=20)
def test_codes_part_what_lies_apart(seed: int) -> None:
    """Neighbours in order of mean share a code just when their gap is small; over range stands alone."""
    random = np.random.default_rng(seed)
    mean, sd, over = random.uniform(0, 3, (4, 12)), random.uniform(0.01, 0.1, (4, 12)), random.random((4, 12))
    codes = outcome.outcome_codes(mean, sd, over)
    for k in range(4):
        assert ((codes[k] == outcome.OVER_CODE) == (over[k] > 0.5)).all()
        order = [i for i in np.argsort(mean[k]) if over[k, i] <= 0.5]
        for i, j in pairwise(order):
            apart = mean[k, j] - mean[k, i] > outcome.APART * math.hypot(sd[k, i], sd[k, j])
            assert (codes[k, i] != codes[k, j]) == apart


@given(examples.seeds)
@settings(max_examples=20)
def test_bins_are_a_distribution(seed: int) -> None:
    """Outcome probabilities are non-negative and sum to one, over range keeping its own."""
    random = np.random.default_rng(seed)
    mean, sd, over = random.uniform(0, 3, 70), random.uniform(0.01, 0.2, 70), random.random(70)
    bins = outcome.outcome_bins(np.ones(70), mean, sd, over)
    assert bins.shape == (70, outcome.BINS)
    assert np.all(bins >= 0.0)
    np.testing.assert_allclose(bins.sum(axis=1), 1.0, atol=1e-12)
    np.testing.assert_allclose(bins[:, -1], over, atol=1e-12)


@given(examples.seeds)
@settings(max_examples=20)
def test_candidates_alike(seed: int) -> None:
    """Those told alike are the same to the last bit, and no two that stand for others are."""
    random = np.random.default_rng(seed)
    first, second = random.integers(0, 3, (2, 40)) / 3
    one, place = outcome.same(first, second)
    np.testing.assert_array_equal(first[one][place], first)
    np.testing.assert_array_equal(second[one][place], second)
    assert len({(first[k], second[k]) for k in one}) == len(one)


def test_bins_lose_little_against_integration() -> None:
    """Forty-eight outcomes tell nearly all that the undivided display would, and never more."""
    mean, sd = np.array([0.0, 0.3, 1.0, 1.1]), np.array([0.1, 0.2, 0.1, 0.3])
    prior = np.array([0.1, 0.4, 0.3, 0.2])
    bins = outcome.outcome_bins(prior, mean, sd, np.zeros(4))
    binned = outcome.information(prior, np.arange(4), bins)

    def integrand(x: float) -> float:
        parts = prior * norm.pdf(x, mean, sd)
        return float(sum(p * math.log2(p / q / parts.sum()) for p, q in zip(parts, prior, strict=True) if p > 0))

    exact, _ = quad(integrand, -3, 4, limit=400, points=[0.0, 0.3, 1.0, 1.1])
    assert 0.95 * exact < binned <= exact + 1e-9


def test_a_slip_shows_what_anyone_would_show() -> None:
    """Slipped, a step shows what the candidates show by their prior, whichever is true."""
    random, prior = np.random.default_rng(0), np.array([0.2, 0.3, 0.5])
    step = random.uniform(0, 3, 3), random.uniform(0.1, 0.2, 3), random.random(3)
    sure, slipped = (outcome.outcome_bins(4 * prior, *step, slip) for slip in (0.0, 0.1))
    expected = [0.9 * sure[s] + 0.1 * sum(prior[t] * sure[t] for t in range(3)) for s in range(3)]
    np.testing.assert_allclose(slipped, expected, atol=1e-14)


def test_slips_lower_the_information() -> None:
    """A step that may be slipped in tells less; one that is always slipped in tells nothing."""
    mean, sd, over = np.array([0.0, 1.0, 2.0]), np.full(3, 0.1), np.zeros(3)
    bits = [
        outcome.information(np.ones(3), np.arange(3), outcome.outcome_bins(np.ones(3), mean, sd, over, slip))
        for slip in (0.0, 0.02, 0.5, 1.0)
    ]
    assert bits[0] > bits[1] > bits[2] > bits[3]
    assert bits[3] == pytest.approx(0.0, abs=1e-12)
