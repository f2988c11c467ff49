"""Weights of evidence against the plain loops with one finding left out at a time."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings

from halfsplit.evidence import why
from halfsplit.evidence.posterior import Block, Candidates, Context, Item, posterior
from tests.evidence import examples, obvious


@given(examples.seeds)
@settings(max_examples=10)
def test_weight_is_what_the_odds_lose(seed: int) -> None:
    """A finding's bits are the change of the log odds against all the rest when it is left out."""
    findings = examples.anything(np.random.default_rng(seed), count=3, setups=3)

    def log_odds(kept: list[int]) -> float:
        probability, _ = obvious.posterior([findings[i] for i in kept], [1.0] * 4, healthy=0)
        return math.log2(probability[2] / (1.0 - probability[2]))

    expected = [log_odds([0, 1, 2]) - log_odds([j for j in range(3) if j != i]) for i in range(3)]
    np.testing.assert_allclose(why.weights(findings, Candidates(np.ones(4), 0), 2), expected, atol=1e-7)


@given(examples.seeds)
@settings(max_examples=10)
def test_fit_is_the_odds_of_being_explained(seed: int) -> None:
    """A finding's fit is the change of the log odds of all candidates against nothing in the file."""
    findings = examples.anything(np.random.default_rng(seed), count=3, setups=3)

    def log_odds(kept: list[int]) -> float:
        _, rest = obvious.posterior([findings[i] for i in kept], [1.0] * 4, healthy=0)
        return math.log2((1.0 - rest) / rest)

    expected = [log_odds([0, 1, 2]) - log_odds([j for j in range(3) if j != i]) for i in range(3)]
    np.testing.assert_allclose(why.fits(findings, Candidates(np.ones(4), 0)), expected, atol=1e-7)


def test_single_finding_has_the_weight_of_its_odds() -> None:
    """The one finding there is carries all the change from the prior."""
    random = np.random.default_rng(0)
    hum, candidates = examples.perceived(random), Candidates(np.ones(4), 0)
    before, after = (posterior(x, candidates).probability[3] for x in ([], [hum]))
    expected = math.log2(after / (1 - after)) - math.log2(before / (1 - before))
    assert why.weights([hum], candidates, 3) == pytest.approx([expected])


def test_a_block_has_one_weight() -> None:
    """A block of findings whose setting was not stated is weighed as one, and fits are given for it too."""
    random = np.random.default_rng(3)
    block = Block((Context(0.5, (examples.perceived(random),)), Context(0.5, (examples.perceived(random),))))
    candidates = Candidates(np.ones(4), 0, np.array([1, 0.5, 1, 1]), np.array([[s, 0] for s in range(4)]))
    items: list[Item] = [block, examples.numeric(random, setup=1)]
    assert len(why.weights(items, candidates, 1)) == len(why.fits(items, candidates)) == 2


def test_nothing_found_nothing_fits_badly() -> None:
    """Without findings there is no worst one."""
    assert why.worst_fit([], Candidates(np.ones(3), 0)) is None
