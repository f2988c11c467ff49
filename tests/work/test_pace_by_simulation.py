"""A pace learnt from simulated records: known factors come back, intervals cover, few records stay near the file."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize

from halfsplit.machine import library, loading
from halfsplit.machine.handwork import Handwork
from halfsplit.modes import listing
from halfsplit.work import pace
from halfsplit.work.pace import KINDS, Factor, Pace, Record

SOME = ("bays", "reading", "changing", "lifting")


def simulated(rng: np.random.Generator, truth: dict[str, float], count: int, scatter: float) -> list[Record]:
    """Steps as a job has them: a reading, some with bays, power or wires; each takes the truth's minutes, scattered."""
    made = []
    for _ in range(count):
        file = {"reading": 0.6}
        file |= {"bays": float(rng.uniform(2, 12))} if rng.random() < 0.4 else {}
        file |= {"changing": 1.5} if rng.random() < 0.4 else {}
        file |= {"lifting": float(rng.integers(1, 3))} if rng.random() < 0.3 else {}
        waiting = 6.0 if rng.random() < 0.1 else 0.0
        took = waiting + sum(value * truth[kind] for kind, value in file.items())
        made.append(Record(file, float(took * np.exp(scatter * rng.normal())), waiting))
    return made


def test_known_factors_come_back() -> None:
    """From 3000 steps each factor within 5 %, the scatter too, and what was never done stays at 1."""
    truth = {"bays": 1.8, "reading": 0.7, "changing": 1.2, "lifting": 2.5}
    found = pace.estimated(simulated(np.random.default_rng(1), truth, 3000, 0.35))
    assert {kind: found.of(kind) for kind in SOME} == pytest.approx(truth, rel=0.05)
    assert found.scatter == pytest.approx(0.35, rel=0.05)
    never = found.factors["repairing"]
    assert (never.factor, never.records) == (1.0, 0)
    assert (never.low, never.high) == pytest.approx((0.6105, 1.638), abs=1e-3)


@pytest.mark.parametrize(("count", "scatter"), [(6, 0.4), (25, 0.4), (120, 0.4), (60, 0.25), (60, 0.7)])
def test_intervals_cover_as_they_say(count: int, scatter: float) -> None:
    """Shops drawn from the prior: nine factors in ten lie in their intervals (400 shops, 4 kinds, within 4 %)."""
    rng, inside = np.random.default_rng([2, count]), []
    for _ in range(400):
        truth = dict(zip(SOME, np.exp(pace.TAU * rng.normal(size=len(SOME))).tolist(), strict=True))
        found = pace.estimated(simulated(rng, truth, count, scatter))
        inside += [found.factors[kind].low <= truth[kind] <= found.factors[kind].high for kind in SOME]
    assert np.mean(inside) == pytest.approx(pace.WITHIN, abs=0.04)


def test_the_estimate_is_where_the_posterior_is_highest() -> None:
    """Judge: a general minimiser on the posterior's own formula, from another start."""
    truth = {"bays": 2.2, "reading": 0.8, "changing": 1.1, "lifting": 1.5}
    records = simulated(np.random.default_rng(3), truth, 40, 0.4)
    found = pace.estimated(records)

    def lost(theta: np.ndarray) -> float:
        factors = dict(zip(KINDS, np.exp(theta), strict=True))
        total = theta @ theta / pace.TAU**2
        for one in records:
            expected = one.waiting + sum(value * factors[kind] for kind, value in one.minutes.items())
            total += (np.log(one.took) - np.log(expected)) ** 2 / found.scatter**2
        return float(total)

    best = optimize.minimize(lost, np.full(len(KINDS), 0.3), method="BFGS", options={"gtol": 1e-8})
    assert [found.of(kind) for kind in KINDS] == pytest.approx(np.exp(best.x).tolist(), rel=1e-4)


def test_one_kind_alone_is_the_conjugate_normal_by_hand() -> None:
    """n equal records of one kind: ln(factor) = n x / (n + s^2 / TAU^2), with s the scatter that was found."""
    n, x = 12, np.log(1.7)
    found = pace.estimated([Record({"look": 0.3}, 0.3 * 1.7)] * n)
    ridge = (found.scatter / pace.TAU) ** 2
    assert np.log(found.of("look")) == pytest.approx(n * x / (n + ridge), rel=1e-6)
    wide = np.log(found.factors["look"].high / found.of("look")) / 1.6448536
    assert wide == pytest.approx(found.scatter / np.sqrt(n + ridge), rel=1e-6)


@given(st.floats(0.05, 20), st.integers(1, 30))
def test_more_records_move_further_and_never_beyond(ratio: float, count: int) -> None:
    """A factor lies between 1 and what the records show, and nearer to them with more of them."""
    few, more = (pace.estimated([Record({"bays": 5.0}, 5.0 * ratio)] * n).of("bays") for n in (count, count + 5))
    low, high = sorted((1.0, ratio))
    assert low - 1e-9 <= few <= high + 1e-9
    assert abs(np.log(few)) <= abs(np.log(more)) + 1e-9


def test_the_order_of_records_does_not_matter() -> None:
    """The same records in another order: the same pace."""
    records = simulated(np.random.default_rng(4), dict.fromkeys(SOME, 1.3), 30, 0.4)
    one, other = pace.estimated(records), pace.estimated(records[::-1])
    assert [one.of(k) for k in KINDS] == pytest.approx([other.of(k) for k in KINDS], rel=1e-9)


@pytest.mark.parametrize("name", library.names())
def test_no_records_are_exactly_the_files_minutes(name: str) -> None:
    """Not nearly: the paced machine is the machine."""
    machine = loading.load(name)
    assert pace.paced(machine, pace.estimated([])) == machine
    assert pace.paced(machine, Pace({})) == machine


def test_every_minute_of_hands_has_its_kind_of_work() -> None:
    """No field of the handwork is forgotten; each scales by the factor of its kind alone, bays and repairs too."""
    assert {*pace.WORK_OF, "hourly"} == {field.name for field in fields(Handwork)}
    assert set(pace.WORK_OF.values()) | {"bays"} == set(KINDS)
    dryer = loading.load("vented-dryer")
    for kind in KINDS:
        made = pace.paced(dryer, Pace({kind: Factor(3.0)}))
        scaled = {n for n in pace.WORK_OF if getattr(made.handwork, n) == 3 * getattr(dryer.handwork, n)}
        assert scaled == {name for name, one in pace.WORK_OF.items() if one == kind}
        times = 3.0 if kind == "bays" else 1.0
        assert made.bays["top"].open_minutes == times * dryer.bays["top"].open_minutes
        assert made.bays["top"].close_minutes == times * dryer.bays["top"].close_minutes
        times = 3.0 if kind == "repairing" else 1.0
        before, after = listing.repairs(dryer), listing.repairs(made)
        assert all(after[one].minutes == pytest.approx(times * before[one].minutes) for one in before)
