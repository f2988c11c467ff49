"""The posterior against plain loops: intermittent faults, unstated settings, something not in the file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings

from halfsplit.evidence import posterior as posteriors
from halfsplit.evidence.likelihood import Finding, Index, Numeric, Perceived
from halfsplit.evidence.posterior import Block, Candidates, Context, posterior
from halfsplit.evidence.slips import Masses
from tests.evidence import examples, obvious


@given(examples.seeds)
@settings(max_examples=25)
def test_posterior_and_unexplained(seed: int) -> None:
    """Every probability, and that of something the file does not say, agree with the plain loops."""
    random = np.random.default_rng(seed)
    findings = examples.anything(random, count=4, setups=3)
    prior = random.dirichlet(np.ones(4))
    found = posterior(findings, Candidates(prior, healthy=1))
    expected, rest = obvious.posterior(findings, list(prior), healthy=1)
    np.testing.assert_allclose(found.probability, expected, rtol=1e-9)
    assert found.unexplained == pytest.approx(rest, rel=1e-9)


@given(examples.seeds)
@settings(max_examples=25)
def test_lookalikes_of_single_faults_and_of_pairs(seed: int) -> None:
    """What only shows as a listed fault, or as two: its odds against all that was weighed; one cannot be the cause."""
    random = np.random.default_rng(seed)
    three = np.ones(3)
    looks = [
        Perceived(("look", n), 1, random.dirichlet(three, 5), unlisted=random.dirichlet(three, 5)) for n in range(2)
    ]
    findings = [*examples.anything(random, count=4, setups=3, candidates=5), *looks]
    prior = random.dirichlet(np.ones(5))
    prior[int(random.integers(1, 4))] = 0.0
    found = posterior(findings, Candidates(prior, 0, np.ones(5), single_faults(4, (1, 2))))
    expected = obvious.lookalike(findings, list(prior), healthy=0, pairs=[4])
    assert found.lookalike_odds == pytest.approx(expected, rel=1e-9)


def single_faults(count: int, *pairs: tuple[int, int]) -> Index:
    """Parts of so many candidates of one fault each, the first of them healthy, and then of these pairs."""
    return np.array([*([s, 0] for s in range(count)), *pairs])


def acting_by_enumeration(
    findings: Sequence[Finding], shows: Mapping[tuple[int, ...], int], chances: Mapping[int, float],
    provoked: Mapping[object, Mapping[int, float]] = {},
) -> float:  # fmt: skip
    """Mass of a candidate, over all choices of which of its faults acts in each set-up.

    `shows`: the candidate whose predictions hold where just these faults act; `chances` by fault, `provoked` by set-up.
    """
    setups = list(dict.fromkeys(f.setup for f in findings))
    total = 0.0
    for choice in product(shows, repeat=len(setups)):
        mass = 1.0
        for setup, acts in zip(setups, choice, strict=True):
            for fault, usual in chances.items():
                chance = provoked.get(setup, {}).get(fault, usual)
                mass *= chance if fault in acts else 1.0 - chance
            mass *= obvious.joint([f for f in findings if f.setup == setup], shows[acts])
        total += mass
    return total


@given(examples.seeds)
@settings(max_examples=25)
def test_intermittent_fault_sums_over_when_it_acts(seed: int) -> None:
    """Where set-ups share nothing, the mass equals the sum over every choice of when the fault acts."""
    random = np.random.default_rng(seed)
    findings = [examples.perceived(random, setup=i % 3, kinds=1) for i in range(4)]
    candidates = Candidates(np.ones(4), 0, np.array([1.0, 1.0, 0.3, 1.0]), single_faults(4))
    log_mass = posterior(findings, candidates).log_likelihood
    expected = acting_by_enumeration(findings, {(): 0, (2,): 2}, {2: 0.3})
    assert np.exp(log_mass[2]) == pytest.approx(expected, rel=1e-9)
    assert np.exp(log_mass[1]) == pytest.approx(obvious.joint(findings, 1), rel=1e-9)


def test_a_set_up_in_which_something_is_provoked_has_chances_of_its_own() -> None:
    """Readings that say how surely faults act in their set-up, against the sum over every choice."""
    random = np.random.default_rng(4)
    plain = [examples.perceived(random, setup=i, kinds=1) for i in range(2)]
    provoked = replace(examples.numeric(random, setup=9), acting=np.array([1.0, 1.0, 0.85, 1.0]))
    candidates = Candidates(np.ones(4), 0, np.array([1.0, 1.0, 0.3, 1.0]), single_faults(4))
    findings: list[Finding] = [*plain, provoked]
    log_mass = posterior(findings, candidates).log_likelihood
    expected = acting_by_enumeration(findings, {(): 0, (2,): 2}, {2: 0.3}, provoked={9: {2: 0.85}})
    assert np.exp(log_mass[2]) == pytest.approx(expected, rel=1e-9)


@given(examples.seeds)
@settings(max_examples=25)
def test_of_two_faults_each_acts_by_itself(seed: int) -> None:
    """One that stays with one that comes and goes, and two that come and go, over every choice of what acts when."""
    random = np.random.default_rng(seed)
    findings = [Perceived(i % 3, i % 2, random.dirichlet(np.ones(3), 6)) for i in range(4)]
    acting = np.array([1.0, 1.0, 0.3, 0.6, 0.5, 0.5])
    candidates = Candidates(np.ones(6), 0, acting, single_faults(4, (1, 2), (3, 2)))
    log_mass = posterior(findings, candidates).log_likelihood
    stays = acting_by_enumeration(findings, {(): 1, (2,): 4}, {2: 0.3})
    both_go = acting_by_enumeration(findings, {(): 0, (2,): 2, (3,): 3, (2, 3): 5}, {2: 0.3, 3: 0.6})
    assert np.exp(log_mass[4]) == pytest.approx(stays, rel=1e-9)
    assert np.exp(log_mass[5]) == pytest.approx(both_go, rel=1e-9)


def test_one_good_reading_barely_clears_an_intermittent_fault() -> None:
    """A normal look rules out the fault that is always there, and hardly the one that acts now and then."""
    normal = Perceived(0, 0, np.array([[0.99, 0.01], [0.02, 0.98], [0.02, 0.98]]))
    candidates = Candidates(np.array([0.0, 1.0, 1.0]), 0, np.array([1.0, 1.0, 0.2]), single_faults(3))
    always, sometimes = posterior([normal], candidates).probability[1:]
    assert always < 0.05
    assert sometimes > 0.6


def contexts(random: np.random.Generator, setups: Sequence[int], count: int) -> Block:
    """The same findings under several settings: other predictions, same display."""
    findings = [examples.numeric(random, setup=g) for g in setups]
    ways = [
        tuple(replace(f, mean=random.uniform(1.0, 3.0, 4), over=random.uniform(0.01, 0.5, 4)) for f in findings)
        for _ in range(count)
    ]
    shares = random.dirichlet(np.ones(count))
    return Block(tuple(Context(float(p), way) for p, way in zip(shares, ways, strict=True)))


@pytest.mark.parametrize("counts", [(4,), (3, 4), (1, 2)])
def test_unstated_settings_are_summed_over(counts: tuple[int, ...]) -> None:
    """Blocks of findings have the prior-weighted sum over all combinations of their contexts."""
    random = np.random.default_rng(sum(counts))
    stated = [examples.numeric(random, setup="stated")]
    blocks = [contexts(random, (i, i, 10 + i)[: 2 + i], count) for i, count in enumerate(counts)]
    found = posterior([*stated, *blocks], Candidates(np.ones(4), healthy=0))
    for s in range(4):
        expected = sum(
            float(np.prod([c.prior for c in way])) * obvious.joint([*stated, *(f for c in way for f in c.findings)], s)
            for way in product(*(b.contexts for b in blocks))
        )
        assert np.exp(found.log_likelihood[s]) == pytest.approx(expected, rel=1e-9)


def test_many_blocks_summed_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Above the limit each block is summed by itself: exact where blocks share no unknown."""
    random = np.random.default_rng(2)

    def look(setup: int) -> Block:
        two = [examples.perceived(random, setup=setup, kinds=1) for _ in range(2)]
        same = [replace(f, value=0) for f in two]
        return Block((Context(0.3, (same[0],)), Context(0.7, (same[1],))))

    blocks = [look(g) for g in range(3)]
    candidates = Candidates(np.ones(4), 0)
    exact = posteriors.log_likelihoods(blocks, candidates, Masses(4))
    monkeypatch.setattr(posteriors, "MOST_JOINT_CONTEXTS", 1)
    np.testing.assert_allclose(posteriors.log_likelihoods(blocks, candidates, Masses(4)), exact, rtol=1e-9)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"prior": np.zeros(2), "healthy": 0}, "not all zero"),
        ({"prior": np.array([1.0, -1.0]), "healthy": 0}, "none below zero"),
        ({"prior": np.ones(2), "healthy": 0, "acting": np.ones(2)}, "both or neither"),
        (
            {"prior": np.ones(2), "healthy": 0, "acting": np.array([1.0, 0.5]), "parts": np.array([[0, 0], [1, 1]])},
            "must be single faults",
        ),
    ],
)
def test_bad_candidates_are_refused(arguments: dict[str, object], words: str) -> None:
    """Candidates that make no sense are refused with a sentence."""
    with pytest.raises(ValueError, match=words):
        Candidates(**arguments)  # type: ignore[arg-type]  # wrong on purpose


def test_bad_findings_are_refused_with_all_that_is_wrong() -> None:
    """A reading with several faults names them all; so does a look out of its table."""
    good = examples.numeric(np.random.default_rng(0))
    with pytest.raises(ValueError, match=r"'mean'.*finite.*above zero.*agree"):
        Numeric(**{**good.__dict__, "mean": np.array([np.inf]), "scale": 0.0})
    with pytest.raises(ValueError, match="not one of the 2 values"):
        Perceived(0, 2, np.full((3, 2), 0.5))
    with pytest.raises(ValueError, match="contexts"):
        Block(())
