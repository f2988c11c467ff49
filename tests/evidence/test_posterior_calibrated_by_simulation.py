"""The posterior against the frequency of the truth in jobs drawn from the model."""

from __future__ import annotations

import numpy as np

from halfsplit.evidence.likelihood import Array, Finding, Numeric, Perceived, Shown, Slip
from halfsplit.evidence.posterior import Candidates, posterior
from halfsplit.evidence.slips import SLIP
from tests.depth import tried
from tests.evidence import examples

CANDIDATES = 5
JOBS = tried(700, 1500)
RISKY = 8
"""Slips are drawn so many times as often as SLIP says where a test must see that it matters."""


def draw_reading(random: np.random.Generator, truth: int, theta: Array, setup: int, slip: float) -> Numeric:
    """A reading as the true candidate would give it, slips and rounding of the display included."""
    blank = examples.numeric(random, CANDIDATES, unknowns=len(theta), setup=setup)
    kinds = random.choice(
        len(blank.alternatives) + 2,
        p=[1 - slip * 0.7, *(slip * a.weight for a in blank.alternatives), slip * blank.flat],
    )
    if kinds == len(blank.alternatives) + 1:
        return shown(blank, random.uniform(-4.0, 12.0), random.random() < blank.flat_over)
    if kinds:
        return draw_slip(random, blank, blank.alternatives[kinds - 1], truth)
    x = blank.mean[truth] + blank.jacobian[truth] @ theta + blank.noise[truth] * random.normal()
    return shown(blank, float(x), random.random() < blank.over[truth])


def draw_slip(random: np.random.Generator, blank: Numeric, slip: Slip, truth: int) -> Numeric:
    """What a slip of one kind displays."""
    x = slip.mean[truth] + slip.sd[truth] * random.normal()
    return shown(blank, float(x), random.random() < slip.over[truth])


def shown(blank: Numeric, x: float, over: bool) -> Numeric:
    """The reading with its display filled in, rounded to the last digit."""
    rounded = np.round(x / blank.width) * blank.width
    kind = Shown.OVER if over else Shown.NUMBER
    return Numeric(**{**blank.__dict__, "value": blank.scale * float(np.sinh(rounded)), "shown": kind})


def draw_job(random: np.random.Generator, prior: Array, slip: float) -> tuple[int, list[Finding]]:
    """The true candidate and what was found."""
    truth, theta = int(random.choice(CANDIDATES, p=prior)), random.normal(size=1)
    findings: list[Finding] = [draw_reading(random, truth, theta, g, slip) for g in range(3)]
    look = examples.perceived(random, CANDIDATES, setup=9)
    value = int(random.choice(3, p=look.table[truth]))
    return truth, [*findings, Perceived(9, value, look.table, flat=0.0)]


def surplus(slip: float) -> tuple[float, float]:
    """Mean of (probability of the truth - sum of squares), zero when calibrated, and its standard error."""
    random = np.random.default_rng(77)
    prior = np.array([0.1, 0.15, 0.2, 0.25, 0.3])
    differences = np.empty(JOBS)
    for job in range(JOBS):
        truth, findings = draw_job(random, prior, slip)
        weight = posterior(findings, Candidates(prior, healthy=0)).log_weight
        p = np.exp(weight - np.logaddexp.reduce(weight))
        differences[job] = p[truth] - p @ p
    return float(differences.mean()), float(differences.std() / np.sqrt(JOBS))


def test_believed_as_often_as_true() -> None:
    """Drawn from the model, the truth has on average just the probability that is claimed for it."""
    mean, error = surplus(SLIP)
    assert abs(mean) < 3.5 * error


def test_simulation_would_notice_a_wrong_rate_of_slips() -> None:
    """Where people slip far more often than assumed, the same measure shows too much confidence."""
    mean, error = surplus(RISKY * SLIP)
    assert mean < -3.5 * error
