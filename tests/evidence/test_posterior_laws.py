"""Laws that every posterior keeps, whatever was found."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from unittest import mock

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.evidence import slips, why
from halfsplit.evidence.likelihood import Array, Finding, Perceived, Shown
from halfsplit.evidence.posterior import Candidates, posterior
from halfsplit.evidence.slips import Masses
from tests.evidence import examples

EVEN = Candidates(np.ones(4), healthy=0)


@given(examples.seeds)
def test_sums_to_one(seed: int) -> None:
    """Candidates and something the file does not say sum to one."""
    random = np.random.default_rng(seed)
    findings = examples.anything(random, count=int(random.integers(0, 8)), setups=5)
    found = posterior(findings, Candidates(random.uniform(0.0, 9.0, 4), healthy=2))
    assert found.probability.sum() + found.unexplained == pytest.approx(1.0, abs=1e-12)
    assert np.all(found.probability >= 0.0)


@given(examples.seeds, st.randoms(use_true_random=False))
def test_order_is_irrelevant(seed: int, shuffler: object) -> None:
    """Findings entered in any order give the same posterior."""
    findings = examples.anything(np.random.default_rng(seed), count=6, setups=4)
    mixed = list(findings)
    shuffler.shuffle(mixed)  # type: ignore[attr-defined]  # hypothesis gives its own type of random
    one, other = posterior(findings, EVEN), posterior(mixed, EVEN)
    np.testing.assert_allclose(one.probability, other.probability, rtol=1e-9, atol=1e-15)
    assert one.unexplained == pytest.approx(other.unexplained, rel=1e-9)


@given(examples.seeds)
def test_taking_back_is_leaving_out(seed: int) -> None:
    """With one memory of masses, a finding added and taken back leaves what was there before."""
    findings = examples.anything(np.random.default_rng(seed), count=4, setups=4)
    masses = Masses(4)
    before = posterior(findings[:3], EVEN, masses)
    posterior(findings, EVEN, masses)
    after = posterior(findings[:3], EVEN, masses)
    np.testing.assert_array_equal(before.probability, after.probability)
    np.testing.assert_allclose(posterior(findings[:3], EVEN).probability, after.probability, rtol=1e-12)


@settings(max_examples=50)
@given(examples.seeds)
def test_what_does_not_hang_together_is_worked_out_once(seed: int) -> None:
    """With one memory of masses a finding more leaves every other group as it was; the sum is that of no memory."""
    random = np.random.default_rng(seed)
    findings = examples.anything(random, count=6, setups=6)
    masses = Masses(4)
    masses.of(findings)
    apart = examples.perceived(random, setup="apart")
    with mock.patch.object(slips, "_log_group", wraps=slips._log_group) as worked_out:
        found = masses.of([*findings, apart])
    worked_out.assert_called_once_with([apart])
    np.testing.assert_allclose(found, slips.log_joint([*findings, apart], 4), rtol=1e-12)


@given(examples.seeds, st.floats(1e-6, 1e6))
def test_scale_of_priors_is_irrelevant(seed: int, factor: float) -> None:
    """Rates per hour or per year, it is the same."""
    random = np.random.default_rng(seed)
    findings, prior = examples.anything(random, count=3, setups=3), random.uniform(0.1, 1.0, 4)
    one = posterior(findings, Candidates(prior, 0))
    other = posterior(findings, Candidates(factor * prior, 0))
    np.testing.assert_allclose(one.probability, other.probability, rtol=1e-9)


@given(examples.seeds, st.floats(1.01, 100.0))
def test_a_higher_prior_never_lowers_a_candidate(seed: int, factor: float) -> None:
    """Among the candidates a more frequent fault is believed more; the odds of two others stay."""
    random = np.random.default_rng(seed)
    findings, prior = examples.anything(random, count=3, setups=3), random.uniform(0.1, 1.0, 4)
    one = explained(findings, prior)
    two = explained(findings, prior * np.array([1, 1, factor, 1]))
    assert two[2] >= one[2] * (1 - 1e-12)
    assert two[1] * one[3] == pytest.approx(one[1] * two[3], rel=1e-9)


def explained(findings: list[Finding], prior: Array) -> Array:
    """Probabilities of the candidates, something the file does not say left aside."""
    found = posterior(findings, Candidates(prior, 0))
    return np.asarray(found.probability / found.probability.sum())


@pytest.mark.parametrize("shown", [Shown.NUMBER, Shown.OVER])
@pytest.mark.parametrize("setup", [0, 1])
def test_a_repeat_does_not_count_twice(shown: Shown, setup: int) -> None:
    """The same display again at the same place moves the odds by far less than the first did."""
    random = np.random.default_rng(4)
    first = examples.numeric(random, shown=shown, same_place="heater", kinds=0)
    fits = replace(first, value=2.0 * float(np.sinh(first.mean[1])), over=np.array([0.02, 0.6, 0.3, 0.1]))
    once = posterior([fits], EVEN).log_weight
    twice = posterior([fits, replace(fits, setup=setup)], EVEN).log_weight
    apart = posterior([fits, replace(fits, setup=1, same_place=None)], EVEN).log_weight
    moved, moved_apart = (np.abs((x - x[1]) - (once - once[1])) for x in (twice, apart))
    assert np.all(moved[[0, 2, 3]] < 0.25 * moved_apart[[0, 2, 3]] + 0.05)


def look(value: int, *rows: tuple[float, float], setup: int = 0) -> Perceived:
    """A look with two values."""
    return Perceived(setup, value, np.array(rows))


@given(st.floats(0.05, 0.95), st.floats(0.0, 1.0), st.integers(1, 6))
def test_what_only_one_candidate_explains_raises_it(clear: float, share: float, times: int) -> None:
    """Each further look that only one candidate explains raises that candidate, and only that."""
    other = clear * share * 0.9
    rows = ((1 - other, other), (1 - clear, clear), (1 - other, other))
    found = [
        posterior([look(1, *rows, setup=g) for g in range(n)], Candidates(np.array([0.0, 1, 1]), 0))
        for n in range(times + 1)
    ]
    odds = [p.log_weight[1] - p.log_weight[2] for p in found]
    assert all(later > earlier for earlier, later in pairwise(odds))


def impossible(count: int) -> list[Finding]:
    """Numbers, each far from what every candidate would have shown."""
    random = np.random.default_rng(6)
    return [
        replace(examples.numeric(random, setup=g, kinds=0), value=2.0 * float(np.sinh(9.0 + 0.3 * g)))
        for g in range(count)
    ]


def test_nothing_fits_and_the_file_is_in_doubt() -> None:
    """Findings that no candidate could have shown end in something the file does not say."""
    unexplained = [posterior(impossible(n), EVEN).unexplained for n in range(6)]
    assert unexplained[0] == pytest.approx(0.03)
    assert unexplained[5] > 0.99
    assert all(later > earlier for earlier, later in pairwise(unexplained))


def test_findings_that_contradict_each_other_end_unexplained() -> None:
    """Each candidate explains half of the looks: together nothing in the file does."""
    sure = ((0.999, 0.001), (0.001, 0.999), (0.999, 0.001))
    mixed = [look(g % 2, *sure, setup=g) for g in range(8)]
    found = posterior(mixed, Candidates(np.array([0.0, 1.0, 1.0]), 0))
    assert found.unexplained > 0.9


def test_all_that_fits_is_explained() -> None:
    """A candidate that says beforehand what is found beats something the file does not say."""
    random = np.random.default_rng(1)
    readings = [examples.numeric(random, setup=g, kinds=0) for g in range(6)]
    true = [replace(f, value=2.0 * float(np.sinh(f.mean[2])), over=np.full(4, 0.02)) for f in readings]
    found = posterior(true, EVEN)
    assert found.probability[2] > 0.99
    assert found.unexplained < 1e-3


@given(examples.seeds, st.integers(0, 5))
@settings(max_examples=30)
def test_the_finding_that_was_spoiled_fits_worst(seed: int, spoiled: int) -> None:
    """One wild number among five that fit is the one to take again."""
    random = np.random.default_rng(seed)
    readings = [examples.numeric(random, setup=g, kinds=0) for g in range(6)]
    true = [replace(f, value=2.0 * float(np.sinh(f.mean[2])), over=np.full(4, 0.02)) for f in readings]
    true[spoiled] = replace(true[spoiled], value=2.0 * float(np.sinh(12.0)))
    assert why.worst_fit(true, EVEN) == spoiled
