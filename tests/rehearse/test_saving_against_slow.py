"""What a way saves: the share and its error beside slow, obvious versions, and its interval beside drawing anew."""

from __future__ import annotations

from statistics import mean

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from halfsplit.rehearse.saving import saved

JOBS = st.lists(st.tuples(st.floats(0, 500), st.floats(1, 500)), min_size=2, max_size=30)


def slow(minutes: list[float], against: list[float]) -> tuple[float, float]:
    """The share, and its error from the variances and the covariance of the two, summed job by job."""
    n, a, b = len(minutes), mean(minutes), mean(against)
    pairs = list(zip(minutes, against, strict=True))
    of_a = sum((x - a) ** 2 for x in minutes) / (n - 1)
    of_b = sum((y - b) ** 2 for y in against) / (n - 1)
    both = sum((x - a) * (y - b) for x, y in pairs) / (n - 1)
    variance = (of_a / b**2 + a**2 * of_b / b**4 - 2 * a * both / b**3) / n
    return (b - a) / b, max(variance, 0.0) ** 0.5


@given(JOBS)
def test_the_share_and_its_error_are_those_of_the_slow_version(jobs: list[tuple[float, float]]) -> None:
    """On any jobs, but for rounding."""
    minutes, against = [a for a, _ in jobs], [b for _, b in jobs]
    found, (share, error) = saved(minutes, against), slow(minutes, against)
    assert found.jobs == len(jobs)
    assert found.minutes == pytest.approx(mean(minutes))
    assert found.against == pytest.approx(mean(against))
    assert found.share == pytest.approx(share, abs=1e-9)
    assert found.error == pytest.approx(error, rel=1e-6, abs=1e-5)


@given(JOBS, st.floats(0.1, 10))
def test_a_share_knows_no_unit_and_no_order_of_jobs(jobs: list[tuple[float, float]], scale: float) -> None:
    """In other units, and with the jobs turned round, the same; against itself nothing is saved, for sure."""
    assume(sum(a for a, _ in jobs) > 1)
    minutes, against = [a for a, _ in jobs], [b for _, b in jobs]
    found = saved(minutes, against)
    other = saved([scale * a for a in reversed(minutes)], [scale * b for b in reversed(against)])
    assert other.share == pytest.approx(found.share, abs=1e-9)
    assert other.error == pytest.approx(found.error, abs=1e-9)
    itself = saved(against, against)
    assert (itself.share, itself.error) == (0.0, 0.0)


def test_the_interval_is_that_of_jobs_drawn_anew() -> None:
    """The error beside the spread of the share over 4000 draws with replacement; pairing makes it smaller."""
    rng = np.random.default_rng(7)
    hard = rng.gamma(4.0, 12.0, 200)
    minutes, against = hard + rng.gamma(2.0, 5.0, 200), 1.7 * hard + rng.gamma(2.0, 10.0, 200)
    found = saved(minutes.tolist(), against.tolist())
    drawn = rng.integers(0, 200, (4000, 200))
    shares = 1 - minutes[drawn].mean(axis=1) / against[drawn].mean(axis=1)
    assert found.error == pytest.approx(shares.std(), rel=0.1)
    assert found.share == pytest.approx(shares.mean(), abs=0.1 * found.error)
    unpaired = saved(rng.permutation(minutes).tolist(), against.tolist())
    assert unpaired.error > 1.5 * found.error


def test_the_interval_holds_the_truth_as_often_as_it_says() -> None:
    """Of 1000 series of 60 jobs whose true share is known, 95 % within two in a hundred."""
    rng = np.random.default_rng(3)
    hard = rng.gamma(4.0, 12.0, (1000, 60))
    minutes, against = hard + rng.gamma(2.0, 5.0, hard.shape), 1.7 * hard + rng.gamma(2.0, 10.0, hard.shape)
    true = 1 - (48.0 + 10.0) / (1.7 * 48.0 + 20.0)
    found = [saved(a.tolist(), b.tolist()) for a, b in zip(minutes, against, strict=True)]
    inside = np.mean([abs(one.share - true) < 1.96 * one.error for one in found])
    assert inside == pytest.approx(0.95, abs=0.02)


@pytest.mark.parametrize(("minutes", "against"), [([], []), ([1.0], [1.0, 2.0]), ([1.0, 2.0], [0.0, 0.0])])
def test_what_cannot_be_told_is_refused(minutes: list[float], against: list[float]) -> None:
    """No jobs, other jobs, or nothing to save from; one job alone has no error."""
    with pytest.raises(ValueError, match=r"saved|same jobs"):
        saved(minutes, against)
    assert saved([30.0], [60.0]).error == 0.0
