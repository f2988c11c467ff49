"""The normal distribution against scipy.special, and its own laws."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import special

from halfsplit.quantity import normal


def test_share_below_equals_scipy_to_thirteen_digits() -> None:
    """All along from the far tail to the other, and about the places where one formula gives way to the next."""
    seams = np.sqrt(2) * np.array([0.46875, 4.0, 26.0])
    near_seams = np.concatenate([s + np.linspace(-1e-6, 1e-6, 101) for s in (*seams, *-seams)])
    x = np.concatenate([np.linspace(-37, 37, 200_001), near_seams])
    assert normal.share_below(x) == pytest.approx(special.ndtr(x), rel=1e-13, abs=0)


def test_the_ends_are_nothing_all_and_no_number() -> None:
    """Infinite and missing values, and shapes."""
    assert normal.share_below(np.array([-np.inf, -60.0, 60.0, np.inf])).tolist() == [0.0, 0.0, 1.0, 1.0]
    assert np.isnan(normal.share_below(np.array([np.nan])))[0]
    assert normal.share_below(np.zeros((2, 3))).shape == (2, 3)
    assert normal.share_below(0.0) == 0.5


def test_both_sides_make_one_and_it_never_falls() -> None:
    """Laws of a distribution."""
    x = np.sort(np.random.default_rng(1).normal(size=20_000) * 4)
    share = normal.share_below(x)
    assert (np.diff(share) >= 0).all()
    assert share + normal.share_below(-x) == pytest.approx(np.ones(len(x)), abs=2e-16)


def test_deviate_equals_scipy_and_undoes_the_share() -> None:
    """To 1e-9 of a standard deviation."""
    share = np.random.default_rng(2).uniform(1e-6, 1 - 1e-6, (50, 40))
    assert normal.deviate(share) == pytest.approx(special.ndtri(share), abs=1e-9)
    assert normal.share_below(normal.deviate(share)) == pytest.approx(share, rel=1e-9)
