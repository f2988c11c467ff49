"""Readings of which only the range is known: against plain loops with the library's integral, against draws, laws."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from halfsplit.evidence import slips
from halfsplit.evidence.likelihood import Array, Finding, Numeric, Shown
from halfsplit.evidence.posterior import Candidates, posterior
from halfsplit.evidence.ranges import ranges
from tests.depth import tried
from tests.evidence import examples, obvious

CANDIDATES = 4


def some(random: np.random.Generator, known: int, within: int, setups: int = 3) -> list[Finding]:
    """So many numbers and ranges, each with slips, spread over set-ups."""
    made = [
        examples.numeric(random, CANDIDATES, setup=int(random.integers(setups)), kinds=int(random.integers(4)))
        for _ in range(known + within)
    ]
    return [*made[:known], *(examples.ranged(random, f) for f in made[known:])]


@given(examples.seeds, st.integers(0, 3))
@settings(max_examples=tried(15, 30))
def test_one_range_is_exact(seed: int, known: int) -> None:
    """A range beside numbers, slips summed over, has the mass of the plain loops to nine digits."""
    findings = some(np.random.default_rng(seed), known, 1)
    slow = [obvious.joint(findings, s) for s in range(CANDIDATES)]
    np.testing.assert_allclose(np.exp(slips.log_joint(findings, CANDIDATES)), slow, rtol=1e-7)


@given(examples.seeds, st.integers(0, 2), st.integers(2, 4))
@example(28787467, 2, 3)
@example(874, 1, 2)
@example(25379, 0, 4)
@settings(max_examples=tried(8, 15), deadline=None)
def test_ranges_that_share_unknowns(seed: int, known: int, within: int) -> None:
    """Several ranges, with numbers or without, whether they fit or not: no mass is far from the plain loops'.

    The points lie thinly on the tails. Of 941 draws (one after the other, none chosen) the best candidate was at most
    0.10 off where its mass is above 0.01, 0.26 above 0.001 and 0.37 above 1e-4; one that is less likely was at most a
    twentieth of the best and 0.42 of its own mass off. Below 1e-4 (hypothesis found ten times too little at 1e-7) no
    more is asked than that nothing fits."""
    fast, slow = both(some(np.random.default_rng(seed), known, within))
    if slow.max() < 1e-4:
        assert fast.max() < 1e-3
    else:
        np.testing.assert_allclose(fast, slow, rtol=0.75, atol=0.05 * slow.max())


def both(findings: list[Finding]) -> tuple[Array, Array]:
    """(S,) mass of each candidate by the sum over points and by the plain loops."""
    slow = np.array([obvious.joint(findings, s) for s in range(CANDIDATES)])
    return np.exp(slips.log_joint(findings, CANDIDATES)), slow


def test_ranges_that_share_unknowns_are_mostly_close() -> None:
    """Of 100 draws, always the same, the candidates that count (a fifth of the best, that above 0.002) lie within a
    fifth of the plain loops, and half of them within a fiftieth."""
    off: list[float] = []
    for seed in range(100):
        random = np.random.default_rng(seed)
        findings = some(random, int(random.integers(3)), int(random.integers(2, 5)))
        if slips.log_joint(findings, CANDIDATES).max() < np.log(1e-3):
            continue  # nothing fits, and the plain loops are slow
        fast, slow = both(findings)
        counts = slow >= max(0.2 * slow.max(), 2e-3)
        off += (np.abs(fast - slow)[counts] / slow[counts]).tolist()
    assert len(off) > 15
    assert max(off) < 0.2
    assert np.median(off) < 0.02


def test_ranges_that_fit_are_close() -> None:
    """Where two to four ranges fit, given numbers or not, the sum over points is within 5 % of the integral."""
    compared = 0
    for seed in range(40):
        random = np.random.default_rng(seed)
        findings = some(random, int(random.integers(3)), int(random.integers(2, 5)))
        numeric = [f for f in findings if isinstance(f, Numeric)]
        within, numbers = [f for f in numeric if f.spans], [f for f in numeric if not f.spans]
        found = ranges(findings)
        assert found is not None
        fast = np.exp(found.log_kept([frozenset()])[0])
        slow = np.array([obvious.held(within, numbers, s) for s in range(CANDIDATES)])
        fits = slow > 0.02
        compared += int(fits.sum())
        np.testing.assert_allclose(fast[fits], slow[fits], rtol=0.05)
    assert compared > 20


def test_draws_that_fall_into_the_ranges() -> None:
    """Candidates and readings drawn as the model says, kept where all lie in their ranges: as many as weighed."""
    random, draws = np.random.default_rng(7), 400_000
    first = examples.numeric(random, CANDIDATES)
    near = replace(first, mean=np.array([2.0, 2.2, 2.4, 2.6]), over=np.zeros(CANDIDATES), value=2 * np.sinh(2.1))
    within = [
        examples.ranged(random, replace(near, setup=k, jacobian=0.2 * random.normal(size=(CANDIDATES, 2))), width=1.2)
        for k in range(3)
    ]
    found = ranges(within)
    assert found is not None
    prior = np.array([0.4, 0.3, 0.2, 0.1])
    drawn = random.choice(CANDIDATES, draws, p=prior)
    unknowns, kept = random.normal(size=(draws, 2)), np.ones(draws, bool)
    for f in within:
        x = f.mean[drawn] + (f.jacobian[drawn] * unknowns).sum(axis=1) + f.noise[drawn] * random.normal(size=draws)
        kept &= np.any([(low < x) & (x < high) for low, high in f.spans_in_x], axis=0)
    counted = np.bincount(drawn[kept], minlength=CANDIDATES) / kept.sum()
    mass = prior * np.exp(found.log_kept([frozenset()])[0])
    assert kept.sum() > 20_000
    assert np.abs(counted - prior).max() > 0.05
    np.testing.assert_allclose(mass / mass.sum(), counted, atol=0.015)


@given(examples.seeds)
@settings(max_examples=tried(15, 30))
def test_as_narrow_as_a_digit_it_is_the_number(seed: int) -> None:
    """Of a range as wide as the last digit the posterior is that of the number in its middle."""
    random = np.random.default_rng(seed)
    number = replace(examples.numeric(random, CANDIDATES), step=0.006)
    ends = number.scale * np.sinh(np.array([number.x - 0.003, number.x + 0.003]))
    narrow = replace(number, spans=((float(ends[0]), float(ends[1])),))
    beside = some(random, 2, 0)
    candidates = Candidates(prior=np.ones(CANDIDATES), healthy=0)
    one, other = (posterior([*beside, f], candidates) for f in (number, narrow))
    np.testing.assert_allclose(other.probability, one.probability, atol=2e-3)
    assert other.unexplained == pytest.approx(one.unexplained, abs=2e-3)


@given(examples.seeds)
@settings(max_examples=tried(10, 20))
def test_what_holds_everything_tells_only_of_a_number(seed: int) -> None:
    """A range of all that a display can show weighs as there being a number at all: each candidate by 1 - P(over)."""
    random = np.random.default_rng(seed)
    known = replace(examples.numeric(random, CANDIDATES, kinds=0), flat=0.0, spans=((0.0, 1e9),))
    np.testing.assert_allclose(np.exp(slips.log_joint([known], CANDIDATES)), 1 - known.over, rtol=1e-9)


@given(examples.seeds)
@settings(max_examples=tried(10, 20))
def test_order_does_not_matter(seed: int) -> None:
    """Numbers and ranges in any order have the same mass."""
    random = np.random.default_rng(seed)
    findings = some(random, 2, 3)
    other = [findings[i] for i in random.permutation(len(findings))]
    np.testing.assert_allclose(
        slips.log_joint(other, CANDIDATES), slips.log_joint(findings, CANDIDATES), rtol=1e-9, atol=1e-9
    )


@pytest.mark.parametrize("setup", [0, 1])
def test_a_range_read_again_tells_little_more(setup: int) -> None:
    """One place read twice, in one set-up or in two, weighs nearly as once; two places that share nothing as twice."""
    off = np.array([0.0, 0.1, 0.2, 0.3])
    noise, nothing = np.full(CANDIDATES, 0.1), np.zeros((CANDIDATES, 2))
    ends = 2 * float(np.sinh(1.8)), 2 * float(np.sinh(2.1))
    once = Numeric(0, 2.0, 2.0 + off, nothing, noise, np.full(4, 0.1), flat=0.0, same_place="heater", spans=(ends,))
    alone = slips.log_joint([once], CANDIDATES)
    again = slips.log_joint([once, replace(once, setup=setup)], CANDIDATES)
    apart = slips.log_joint([once, replace(once, setup=setup, same_place="other")], CANDIDATES)
    np.testing.assert_allclose(again, alone, atol=0.15)
    np.testing.assert_allclose(apart, 2 * alone, atol=0.05)


def test_a_range_beside_its_number_tells_nothing_more() -> None:
    """Where a place was read, that its reading lies in a range around that adds nothing."""
    random = np.random.default_rng(12)
    number = examples.numeric(random, CANDIDATES, same_place="heater")
    low, high = (float(number.scale * np.sinh(number.x + off)) for off in (-0.5, 0.5))
    both = [number, replace(number, spans=((low, high),))]
    np.testing.assert_allclose(
        slips.log_joint(both, CANDIDATES), slips.log_joint([number], CANDIDATES), rtol=0.05, atol=0.1
    )


def test_ranges_are_refused_that_go_downwards_or_are_no_number() -> None:
    """The lower end comes first, and only a number has a range."""
    reading = examples.numeric(np.random.default_rng(1))
    with pytest.raises(ValueError, match="lower end first"):
        replace(reading, spans=((3.0, 2.0),))
    with pytest.raises(ValueError, match="must be of a number"):
        Numeric(**{**reading.__dict__, "shown": Shown.OVER, "spans": ((1.0, 2.0),)})
