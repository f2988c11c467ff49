"""Figures of a run against numbers added up by hand, and intervals against scipy."""

from __future__ import annotations

from dataclasses import replace

import pytest
from scipy.stats import binomtest

from halfsplit.rehearse.play import Played
from halfsplit.rehearse.summary import reliability, summary, wilson


def job(right: bool, claimed: float, minutes: float, steps: int = 2, needless: int = 0, live: int = 0) -> Played:
    """A job with these figures."""
    return Played("a: b", steps, minutes, ("replace a",), right, needless, live, claimed, 0.0)


JOBS = [
    job(True, 0.95, 20.0, steps=3),
    job(True, 0.99, 40.0, live=2),
    job(False, 0.92, 100.0, needless=1),
    job(True, 0.60, 30.0),
    job(False, 0.40, 60.0, steps=1, needless=2),
]


def test_figures_by_hand() -> None:
    """Five jobs, three right, three claimed, one of these wrong."""
    found = summary(JOBS)
    assert (found["trials"], found["right_first"]) == (5, 0.6)
    assert (found["minutes_mean"], found["minutes_half"]) == (50.0, 40.0)
    assert found["minutes_nine_tenths"] == pytest.approx(84.0)
    assert found["steps_mean"] == pytest.approx(2.0)
    assert (found["claims"], found["wrong_though_claimed"]) == (pytest.approx(0.6), 0.2)
    assert found["claims_right"] == pytest.approx(2 / 3)
    assert (found["needless_parts"], found["live_steps"], found["unsafe_steps"]) == (0.6, 0.4, 0)


def test_shares_by_hand() -> None:
    """Two of five jobs bought a needless part; of two jobs with two faults one was wholly repaired; one stopped."""
    assert summary(JOBS)["needless_share"] == 0.4
    assert "all_found" not in summary(JOBS)
    two = [replace(JOBS[0], all_found=True), replace(JOBS[1], all_found=False, stopped="fixed wiring"), *JOBS[2:]]
    found = summary(two)
    assert (found["all_found"], found["stopped"]) == (0.5, 0.2)
    assert (found["all_found_low"], found["all_found_high"]) == wilson(1, 2)


def test_reliability_by_hand() -> None:
    """Each job in the range of its claim: 0.40 | 0.60 | 0.92 | 0.95 | 0.99, lower ends included."""
    rows = [(row["from"], row["trials"], row["claimed"], row["right"]) for row in reliability(JOBS)]
    assert rows == [
        (0.0, 1, 0.40, 0.0), (0.5, 1, 0.60, 1.0), (0.9, 1, 0.92, 0.0), (0.95, 1, 0.95, 1.0), (0.99, 1, 0.99, 1.0),
    ]  # fmt: skip


def test_a_sure_claim_is_counted() -> None:
    """A claim of exactly one lies in the last range."""
    assert [row["trials"] for row in reliability([job(True, 1.0, 1.0)])] == [1]


def test_no_jobs() -> None:
    """Nothing is divided by nought, and nothing is known of a share of nothing."""
    found = summary([])
    assert (found["trials"], found["right_first_low"], found["right_first_high"]) == (0, 0.0, 1.0)
    assert found["reliability"] == []


@pytest.mark.parametrize(("right", "count"), [(0, 1), (1, 1), (95, 100), (1900, 2000), (3, 7)])
def test_intervals_against_scipy(right: int, count: int) -> None:
    """Wilson's interval without correction for continuity."""
    judge = binomtest(right, count).proportion_ci(0.95, "wilson")
    low, high = wilson(right, count)
    assert low == pytest.approx(judge.low, abs=1e-4)
    assert high == pytest.approx(judge.high, abs=1e-4)
