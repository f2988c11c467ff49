"""The batched likelihood against plain loops over candidates and sets of slips (``obvious``)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings

from halfsplit.evidence import slips
from halfsplit.evidence.likelihood import Finding, Numeric, Shown
from tests.evidence import examples, obvious


def agree(findings: list[Finding], candidates: int = 4, most_slips: int | None = 2) -> None:
    """Assert that both ways give the same mass to nine digits."""
    fast = np.exp(slips.log_joint(findings, candidates))
    slow = [obvious.joint(findings, s, most_slips) for s in range(candidates)]
    np.testing.assert_allclose(fast, slow, rtol=1e-9)


@given(examples.seeds)
@settings(max_examples=40)
def test_findings_of_all_sorts(seed: int) -> None:
    """Numbers, over range, beeps and looks over four set-ups agree with the plain loops."""
    random = np.random.default_rng(seed)
    agree(examples.anything(random, count=int(random.integers(1, 7)), setups=4))


@given(examples.seeds)
@settings(max_examples=30)
def test_two_slips_at_most_are_all_summed(seed: int) -> None:
    """Two set-ups that can each be slipped in once: the sum equals the one over all sets of slips."""
    random = np.random.default_rng(seed)
    one = [examples.numeric(random, setup=0, kinds=4)]
    other = [replace(f, flat=0.0) for f in (examples.numeric(random, setup=1, kinds=1) for _ in range(3))]
    agree([*one, *other], most_slips=None)


def test_one_misread_number_among_many_costs_one_slip() -> None:
    """In a set-up of eight readings a wild one is put down to itself and leaves the others their worth."""
    random = np.random.default_rng(4)
    readings = [examples.numeric(random, setup="isolated", kinds=0) for _ in range(8)]
    fitting = [replace(f, value=2.0 * float(np.sinh(f.mean[2])), over=np.full(4, 0.02)) for f in readings]
    wild = replace(fitting[3], value=2.0 * float(np.sinh(11.0)))
    without = slips.log_joint([*fitting[:3], *fitting[4:]], 4)[2]
    spoiled = slips.log_joint([*fitting[:3], wild, *fitting[4:]], 4)[2]
    assert spoiled - without == pytest.approx(np.log(slips.SLIP * wild.flat) + wild.log_flat, abs=0.1)


@pytest.mark.parametrize("shown", [Shown.NUMBER, Shown.OVER])
@pytest.mark.parametrize("setups", [(0, 0), (0, 1), (0, 0, 1), (0, 0, 0, 1, 2)])
def test_repeats_of_one_place(shown: Shown, setups: tuple[int, ...]) -> None:
    """Readings repeated in one and in several set-ups agree with the full covariance of the plain loops."""
    random = np.random.default_rng(len(setups))
    first = examples.numeric(random, shown=shown, same_place="heater")
    repeats: list[Finding] = [
        replace(first, setup=g, value=first.value * (1 + 0.004 * i)) for i, g in enumerate(setups)
    ]
    agree([*repeats, examples.perceived(random, setup=0), examples.numeric(random, setup=7)])


def test_many_slips_keep_their_worth() -> None:
    """What the cut at two slips leaves out is small where two slips explain the findings."""
    random = np.random.default_rng(5)
    findings: list[Finding] = [examples.numeric(random, candidates=1, setup=g, kinds=1) for g in range(5)]
    for i in (0, 1):
        reading = findings[i]
        assert isinstance(reading, Numeric)
        findings[i] = replace(reading, value=2.0 * float(np.sinh(reading.mean[0] + 4.0)))
    cut, full = (obvious.joint(findings, 0, most) for most in (2, None))
    assert cut <= full
    assert cut == pytest.approx(full, rel=0.05)


def test_nothing_fits_and_masses_stay_finite() -> None:
    """Twenty numbers that no candidate could show leave a finite mass, at least that of all being flat."""
    random = np.random.default_rng(8)
    far = [
        replace(examples.numeric(random, setup=g), value=1e9, over=np.ones(4), noise=np.full(4, 1e-4))
        for g in range(20)
    ]
    log_mass = slips.log_joint(far, 4)
    floor = sum(np.log(slips.SLIP * 0.1) + f.log_flat for f in far)
    assert np.all(np.isfinite(log_mass))
    assert np.all(log_mass >= floor - 1e-9)
