"""The closed form of shared unknowns against numerical integration over them (scipy)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby

import numpy as np
import pytest
from scipy.integrate import nquad

from halfsplit.evidence import slips
from halfsplit.evidence.likelihood import Numeric
from tests.evidence import examples, obvious

Term = tuple[float, list[tuple[float, list[float], float]]]
"""Weight of one way a set-up may have gone, and of each unspoiled number: residual, sensitivities, sd."""


def unspoiled(f: Numeric, s: int) -> tuple[float, list[float], float]:
    """A number that nobody spoiled, as a function of the unknowns."""
    sd = math.sqrt(f.noise[s] ** 2 + f.width**2 / 12)
    return f.x - float(f.mean[s]), [float(j) for j in f.jacobian[s]], sd


def terms(setup: Sequence[Numeric], s: int) -> list[Term]:
    """The ways of the one slip that a set-up can hold, and none: what does not depend on the unknowns."""
    (ways,) = obvious.slips_of(setup)[:1]
    nobody = ("", 1.0 - sum(chance for _, chance, _ in ways), ())
    out: list[Term] = []
    for kind, chance, hit in [nobody, *ways]:
        clean = [f for i, f in enumerate(setup) if i not in hit]
        spoiled = [[setup[i]] for i in hit]
        mass = math.prod(obvious.slip_mass(f, kind, s) if kind else obvious.flat_mass(f) for f in spoiled)
        seen = math.prod((1.0 - f.over[s]) * f.width for f in clean)
        out.append((chance * mass * float(seen), [unspoiled(f, s) for f in clean]))
    return out


def given_unknowns(way: Term, theta: Sequence[float]) -> float:
    """Mass of one way when the unknowns are known."""
    total = way[0]
    for residual, sensitivity, sd in way[1]:
        deviate = (residual - sum(j * t for j, t in zip(sensitivity, theta, strict=True))) / sd
        total *= math.exp(-0.5 * deviate**2) / (sd * math.sqrt(2.0 * math.pi))
    return total


def integral(findings: Sequence[Numeric], s: int, unknowns: int) -> float:
    """Mass of all numbers, integrated over the unknowns."""
    setups = [terms(list(g), s) for _, g in groupby(findings, key=lambda f: f.setup)]

    def integrand(*theta: float) -> float:
        mass = math.prod(sum(given_unknowns(way, theta) for way in ways) for ways in setups)
        density = math.prod(math.exp(-0.5 * t * t) / math.sqrt(2.0 * math.pi) for t in theta)
        return mass * density

    value, _ = nquad(integrand, [(-6.5, 6.5)] * unknowns, opts={"epsabs": 0.0, "epsrel": 1e-9, "limit": 200})
    return float(value)


def reading(random: np.random.Generator, unknowns: int, setup: int, size: int, kinds: int) -> Numeric:
    """A number that can be slipped in alone, or with its set-up only: so that a set-up holds one slip."""
    made = examples.numeric(random, 2, unknowns, setup=setup, kinds=4 if size == 1 else kinds)
    return made if size == 1 else replace(made, flat=0.0)


@pytest.mark.parametrize(("unknowns", "sizes"), [(1, (1, 1)), (1, (3, 2)), (2, (1, 1)), (2, (3, 2))])
def test_slips_and_shared_unknowns(unknowns: int, sizes: tuple[int, ...]) -> None:
    """Two set-ups of numbers that share unknowns have the mass that integration gives, to 1e-6."""
    random = np.random.default_rng(31 * unknowns + sum(sizes))
    findings = [
        reading(random, unknowns, g, size, kinds=1 if k == 0 else 0)
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
