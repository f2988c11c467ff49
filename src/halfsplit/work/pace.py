"""How fast a shop works: a factor on the minutes of each kind of work, estimated from steps whose time was noted.

Knows minutes by kind of work, and a machine's own minutes; not what was found. The only place where minutes are scaled.

The model. A step of m_k minutes of each kind k by the file, and w minutes of waiting that no hand can hasten, takes

    ln(took) = ln(w + sum over k of m_k exp(theta_k)) + e,      e ~ N(0, s^2),      theta_k ~ N(0, TAU^2).

Given s, a step of one kind is linear in theta, and the posterior is the conjugate normal one of linear regression (in
every textbook of Bayesian statistics); a step that mixes kinds is linearised at the estimate, by Gauss-Newton
(Laplace's approximation). s^2 is what the residuals and a guess that counts like RECORDS of them give together; then
it is taken as known. A factor is exp(theta_k): its median, and an interval with WITHIN between its ends.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from halfsplit.machine import model
from halfsplit.machine.handwork import Handwork

Floats = NDArray[np.float64]

KINDS: dict[str, str] = {
    "bays": "opening and closing bays",
    "reading": "taking a reading, shaking included",
    "look": "looking at a part or joint",
    "perceiving": "seeing or hearing what the machine does",
    "changing": "isolating, bringing the power back, setting controls",
    "lifting": "taking wires off and putting them back, and exchanging parts that plug in",
    "repairing": "the repair itself, its bay open",
}
"""The kinds of work that have a pace of their own, with what they are."""
TAU = 0.3
"""Prior deviation of ln(factor): two shops of three work at 0.74 to 1.35 of the file's minutes. Assumed, no source."""
SCATTER = 0.4
"""Prior guess of the deviation of ln(took) about a shop's own pace: two steps of three take 0.67 to 1.5 of what they
usually take there. Assumed, no source."""
RECORDS = 8.0
"""The guess of the scatter counts like so many residuals. Assumed, no source."""
WITHIN = 0.9
"""Probability that a factor lies in its interval."""
MOST = 200
"""So many Gauss-Newton steps at most."""


@dataclass(frozen=True)
class Record:
    """One step whose time was noted: the file's minutes by kind [each above 0], those taken [above 0], and waiting."""

    minutes: Mapping[str, float]
    took: float
    waiting: float = 0.0


@dataclass(frozen=True)
class Factor:
    """A factor on the file's minutes with its interval, and how many steps had this kind of work in them."""

    factor: float = 1.0
    low: float = 1.0
    high: float = 1.0
    records: int = 0


@dataclass(frozen=True)
class Pace:
    """The factors by kind of work (left out: 1), and the deviation of ln(took) about them.

    `hourly`: what an hour of this shop costs, in the currency of the machine files. `van`: the parts that lie on its
    van, by name or by type; None: nothing is said of a van.
    """

    factors: Mapping[str, Factor]
    scatter: float = SCATTER
    hourly: float = Handwork.hourly
    van: tuple[str, ...] | None = None

    def of(self, kind: str) -> float:
        """The factor of a kind of work."""
        return self.factors[kind].factor if kind in self.factors else 1.0


def estimated(records: Sequence[Record]) -> Pace:
    """The pace that these records show; without any, exactly the file's minutes.

    >>> slow = [Record({"reading": 0.6}, took=1.2)] * 40
    >>> round(estimated(slow).of("reading"), 2), estimated([]).of("reading")
    (1.99, 1.0)
    """
    file = np.array([[one.minutes.get(kind, 0.0) for kind in KINDS] for one in records]).reshape(-1, len(KINDS))
    waiting, took = (np.array([getattr(one, name) for one in records], float) for name in ("waiting", "took"))
    theta, covariance, scatter = _fitted(file, waiting, np.log(took))
    reach = np.sqrt(np.diag(covariance)) * stats.norm.ppf((1 + WITHIN) / 2)
    ends = (np.exp(theta), np.exp(theta - reach), np.exp(theta + reach), (file > 0).sum(axis=0))
    return Pace(
        {kind: Factor(float(m), float(a), float(b), int(n)) for kind, m, a, b, n in zip(KINDS, *ends, strict=True)},
        scatter,
    )


def _fitted(file: Floats, waiting: Floats, seen: Floats) -> tuple[Floats, Floats, float]:
    """Mean and covariance of ln(factor), and the scatter; the two are found in turn until neither moves."""
    scatter, theta = SCATTER, np.zeros(len(KINDS))
    for _ in range(MOST):
        ridge, before = (scatter / TAU) ** 2, scatter
        theta = _mode(file, waiting, seen, ridge, theta)
        slopes = _slopes(file, waiting, theta)
        inverse = np.linalg.inv(slopes.T @ slopes + ridge * np.eye(len(KINDS)))
        fitted = float(np.trace(slopes @ inverse @ slopes.T))  # so many of the residuals went into the factors
        missed = seen - np.log(_expected(file, waiting, theta))
        scatter = float(np.sqrt((RECORDS * SCATTER**2 + missed @ missed) / (RECORDS + len(seen) - fitted)))
        if abs(scatter - before) < 1e-9 * before:
            break
    return np.asarray(theta), np.asarray(before**2 * inverse), scatter


def _expected(file: Floats, waiting: Floats, theta: Floats) -> Floats:
    return np.asarray(waiting + file @ np.exp(theta))


def _slopes(file: Floats, waiting: Floats, theta: Floats) -> Floats:
    """(n, K) how ln of the expected minutes moves with each ln(factor): the share of each kind."""
    return np.asarray(file * np.exp(theta) / _expected(file, waiting, theta)[:, None])


def _lost(file: Floats, waiting: Floats, seen: Floats, ridge: float, theta: Floats) -> float:
    """What the posterior's mode makes least: squares of what is missed, and of how far the factors are from 1."""
    missed = seen - np.log(_expected(file, waiting, theta))
    return float(missed @ missed + ridge * theta @ theta)


def _mode(file: Floats, waiting: Floats, seen: Floats, ridge: float, theta: Floats) -> Floats:
    """Gauss-Newton from a first guess, a step halved until it gains."""
    for _ in range(MOST):
        slopes = _slopes(file, waiting, theta)
        missed = seen - np.log(_expected(file, waiting, theta))
        wanted = slopes.T @ missed - ridge * theta
        step = np.linalg.solve(slopes.T @ slopes + ridge * np.eye(len(KINDS)), wanted)
        before = _lost(file, waiting, seen, ridge, theta)
        while np.abs(step).max() > 1e-12 and _lost(file, waiting, seen, ridge, theta + step) > before:
            step = step / 2
        theta = theta + step
        if np.abs(step).max() <= 1e-12:
            break
    return theta


def paced(machine: model.Machine, pace: Pace) -> model.Machine:
    """The machine with the minutes of a pace: its bays, its repairs, what hands do, and what their hour costs; waiting
    stays as it is. With what lies on the van.

    >>> from halfsplit.machine import loading
    >>> dryer = loading.load("vented-dryer")
    >>> slow = paced(dryer, Pace({"bays": Factor(2.0)}))
    >>> slow.bays["top"].open_minutes / dryer.bays["top"].open_minutes, slow.parts == dryer.parts
    (2.0, True)
    """
    bays, repairing = pace.of("bays"), pace.of("repairing")
    return replace(
        machine,
        bays={
            name: replace(bay, open_minutes=bay.open_minutes * bays, close_minutes=bay.close_minutes * bays)
            for name, bay in machine.bays.items()
        },
        parts={
            name: replace(part, minutes=part.minutes * repairing, lifts=part.lifts * pace.of("lifting"))
            for name, part in machine.parts.items()
        },
        joint=machine.joint and replace(machine.joint, minutes=machine.joint.minutes * repairing),
        wire=machine.wire and replace(machine.wire, minutes=machine.wire.minutes * repairing),
        handwork=_hands(machine.handwork, pace),
        van=machine.van if pace.van is None else on_van(machine, pace.van),
    )


def on_van(machine: model.Machine, names: Sequence[str]) -> frozenset[str]:
    """The parts of a machine that lie on a van with parts of these names. A part's own name or title means that part
    alone; what no part of the machine is called, every part of that type.

    >>> from halfsplit.machine import loading
    >>> dryer = loading.load("vented-dryer")
    >>> sorted(on_van(dryer, ["thermal fuse", "roller", "upper element"]))
    ['drum rollers', 'idler', 'thermal fuse']
    """
    called = {name for part in machine.parts.values() for name in (part.name, part.title)}
    types = {name for name in names if name not in called}
    return frozenset(
        part.name for part in machine.parts.values() if {part.name, part.title} & {*names} or part.type in types
    )


def _hands(hands: Handwork, pace: Pace) -> Handwork:
    minutes = {name: getattr(hands, name) * pace.of(kind) for name, kind in WORK_OF.items()}
    return Handwork(**minutes, hourly=pace.hourly)


WORK_OF = {
    "reading": "reading", "shake": "reading", "look": "look", "look_closely": "look",
    "perceive": "perceiving", "lift": "lifting", "spade": "lifting",
    "isolate": "changing", "prove": "changing", "discharge": "changing", "cock": "changing",
    "energise": "changing", "set": "changing",
    "show": "repairing", "rewire": "repairing", "unbridge": "repairing",
}  # fmt: skip
"""The kind of work of each field of `machine.handwork`."""
