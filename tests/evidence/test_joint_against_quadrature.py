"""The closed form of shared unknowns against numerical integration over them (scipy)."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from math import prod

import numpy as np
import pytest
from scipy.integrate import nquad
from scipy.stats import norm

from halfsplit.evidence import slips
from halfsplit.evidence.likelihood import Numeric
from tests.evidence import examples, obvious


def given_unknowns(f: Numeric, s: int, theta: Sequence[float]) -> float:
    """Mass of one number when the unknowns are known and nobody slipped."""
    mean = f.mean[s] + f.jacobian[s] @ np.asarray(theta)
    sd = np.sqrt(f.noise[s] ** 2 + f.width**2 / 12)
    return float((1.0 - f.over[s]) * f.width * norm.pdf(f.x, mean, sd))


def setup_mass(setup: Sequence[Numeric], s: int, theta: Sequence[float]) -> float:
    """Mass of one set-up when the unknowns are known, slips summed over."""
    shares = obvious.shares(setup, setup[0].setup)
    total = (1.0 - slips.SLIP * sum(shares.values())) * prod(given_unknowns(f, s, theta) for f in setup)
    for kind, share in shares.items():
        hit = [f for f in setup if kind == "" or any(a.kind == kind for a in f.alternatives)]
        clean = [f for f in setup if not any(f is h for h in hit)]
        spoiled = prod(obvious.flat_mass([f]) if kind == "" else obvious.slip_mass([f], kind, s) for f in hit)
        total += slips.SLIP * share * spoiled * prod(given_unknowns(f, s, theta) for f in clean)
    return total


def integral(findings: Sequence[Numeric], s: int, unknowns: int) -> float:
    """Mass of all numbers, integrated over the unknowns."""
    setups = [list(g) for _, g in groupby(findings, key=lambda f: f.setup)]

    def integrand(*theta: float) -> float:
        return prod(setup_mass(g, s, theta) for g in setups) * prod(norm.pdf(t) for t in theta)

    value, _ = nquad(integrand, [(-6.5, 6.5)] * unknowns, opts={"epsabs": 0.0, "epsrel": 1e-7, "limit": 200})
    return float(value)


@pytest.mark.parametrize(("unknowns", "sizes"), [(1, (1, 1)), (1, (3, 2)), (2, (1, 1))])
def test_slips_and_shared_unknowns(unknowns: int, sizes: tuple[int, ...]) -> None:
    """Two set-ups of numbers that share unknowns have the mass that integration gives, to 1e-6."""
    random = np.random.default_rng(31 * unknowns + sum(sizes))
    findings = [
        examples.numeric(random, candidates=2, unknowns=unknowns, setup=g, kinds=k % 3)
        for g, size in enumerate(sizes)
        for k in range(size)
    ]
    expected = [integral(findings, s, unknowns) for s in range(2)]
    np.testing.assert_allclose(np.exp(slips.log_joint(findings, 2)), expected, rtol=1e-6)


def test_four_setups_to_third_order() -> None:
    """With four set-ups the cut at two slips costs no more than the third power of a slip."""
    random = np.random.default_rng(3)
    mean = random.uniform(1.0, 3.0, 1)
    findings = [examples.numeric(random, candidates=1, unknowns=1, setup=g, kinds=1) for g in range(4)]
    near = [
        Numeric(**{**f.__dict__, "mean": mean, "value": 2.0 * float(np.sinh(mean[0] + 0.05 * g))})
        for g, f in enumerate(findings)
    ]
    fast = float(np.exp(slips.log_joint(near, 1))[0])
    assert fast == pytest.approx(integral(near, 0, 1), rel=1e-4)
