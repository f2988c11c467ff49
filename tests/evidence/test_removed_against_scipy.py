"""What numbers weigh that are taken out of the joint, against the densities of scipy with and without them."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from halfsplit.evidence.likelihood import Numeric, covariance, gaussian
from tests.evidence import examples

CANDIDATES, READINGS = 3, 7


def log_density(readings: list[Numeric], candidate: int) -> float:
    """Log of the joint density of numbers times their steps under a candidate."""
    if not readings:
        return 0.0
    residual = [one.x - float(one.mean[candidate]) for one in readings]
    density = multivariate_normal(cov=covariance(readings)[candidate]).logpdf(residual)
    return float(density) + sum(float(np.log(one.width)) for one in readings)


@pytest.mark.parametrize("size", range(1, READINGS + 1))
def test_what_is_taken_out_is_the_joint_without_it(size: int) -> None:
    """Every set of so many of seven readings: the density of all, over that of those that stay."""
    random = np.random.default_rng(size)
    readings = [examples.numeric(random, CANDIDATES, same_place="a" if i > 4 else None) for i in range(READINGS)]
    joint = gaussian(readings)
    assert joint is not None
    sets = list(combinations(range(READINGS), size))
    removed = joint.log_removed(np.array(sets))
    assert removed.shape == (len(sets), CANDIDATES)
    for row, gone in enumerate(sets):
        stay = [one for i, one in enumerate(readings) if i not in gone]
        expected = [log_density(readings, s) - log_density(stay, s) for s in range(CANDIDATES)]
        np.testing.assert_allclose(removed[row], expected, rtol=1e-9, atol=1e-9)
