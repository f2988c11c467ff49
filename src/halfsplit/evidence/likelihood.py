"""What a finding is as arrays over candidates, and the joint mass of numbers that share unknowns.

Knows arrays only: no machine, no meter, no file. Axis S runs over candidates, T over the shared unknowns
theta ~ N(0, I): log leg voltages, part tolerances, lead ohms, gain of the meter, each scaled to unit
variance by the caller. Does not know slips (see ``slips``), priors or settings (see ``posterior``).

The measure is everywhere the *probability mass of what was displayed*, so that over range, a beep, a look
and a number can be weighed against each other. With x = asinh(value / scale) and r = x - mean::

    over range, silent beeper   P(over)
    beep                        1 - P(over)
    looks and symptoms          the entry of a table
    numbers, jointly            N(r; 0, K) * prod (1 - P(over)) * step,   K = J J' + D
    ranges, given the numbers   P(all in their ranges) * prod (1 - P(over)), see ``ranges``

D has the own variance of a number (its noise and the rounding of the display, step^2 / 12: Sheppard's
correction, from memory). Readings of one ``same_place`` share most of their noise: a reading made twice in
one condition tells little more than one. For the same reason over range, a beep or a look seen twice at
one place has its mass once.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]

LEAST_MASS = 1e-12
"""No predicted probability counts as smaller than this, nor as nearer to one: masses stay finite."""

LEAST_STEP = 0.005
"""Least width of a display's last digit, in units of x: half a per cent (Halfsplit's choice)."""

REPEAT_SCATTER = 0.005
"""Standard deviation, in units of x, of one place read again by the same hand with the same meter.

Common practice, no source. All noise beyond it is what repeats of one place have in common.
"""

FLAT_WEIGHT = 0.1
"""Weight, among the slips, of one that could have displayed anything (Halfsplit's choice)."""

LOG_2PI = float(np.log(2.0 * np.pi))


class Shown(Enum):
    """What the display gave: a number, over range (or a silent beeper), or a beep."""

    NUMBER = "number"
    OVER = "over range"
    BEEP = "beep"


@dataclass(frozen=True, eq=False)
class Slip:
    """What the display would have shown had a slip of this kind been made.

    ``weight`` is the share of the kind among all slips, ``mean`` and ``sd`` are (S,) in units of x,
    ``over`` (S,) is the probability of over range. A slip that spoils one reading ``alone``, as misreading k
    for M does, leaves the other readings of its set-up; one that spoils the set-up, as a setting that was not
    made does, spoils all its readings that name the kind.
    """

    kind: str
    weight: float
    mean: Array
    sd: Array
    over: Array
    alone: bool = False

    def take(self, chosen: Index) -> Slip:
        """The same for the chosen candidates only."""
        return replace(self, mean=self.mean[chosen], sd=self.sd[chosen], over=self.over[chosen])


@dataclass(frozen=True, eq=False)
class Mistaken:
    """What would have been perceived had a slip of this kind been made: ``table`` is (S, values)."""

    kind: str
    weight: float
    table: Array
    alone: bool = False

    def take(self, chosen: Index) -> Mistaken:
        """The same for the chosen candidates only."""
        return replace(self, table=self.table[chosen])


@dataclass(frozen=True, eq=False)
class Numeric:
    """A reading: a number, over range, or a beep, with what each candidate would have shown.

    ``mean``, ``noise`` (own standard deviation) and ``over`` (probability of over range or silence) are
    (S,), ``jacobian`` is (S, T); mean, jacobian and noise in units of x = asinh(value / scale). ``step`` is
    the width of the last digit in units of x. ``span`` is the width, in x, of all that the display could
    plausibly show and ``flat_over`` the share of over range in a slip that could have shown anything.
    ``setup`` names the set-up, whose slips its findings share; ``same_place`` the condition and pair of
    points. ``acting`` (S,), where something is done in the set-up to bring out what comes and goes, replaces the
    candidates' own chances of acting; all readings of a set-up have the same. Where a candidate shows over range
    for sure, give any finite mean. Of a number of which only the range is known ``spans`` are the ends of the range,
    in the unit of the reading, or of several that do not overlap; what begins at 0 takes all below.

    >>> import numpy as np
    >>> ohms = Numeric(setup=0, scale=1.0, mean=np.arcsinh([9.5, 1e7]), jacobian=np.zeros((2, 0)),
    ...                noise=np.array([.05, .05]), over=np.array([0.0, 0.5]), value=9.7)
    >>> round(ohms.x, 3), ohms.width
    (2.968, 0.005)
    """

    setup: Hashable
    scale: float
    mean: Array
    jacobian: Array
    noise: Array
    over: Array
    value: float = 0.0
    shown: Shown = Shown.NUMBER
    step: float = LEAST_STEP
    alternatives: tuple[Slip, ...] = ()
    flat: float = FLAT_WEIGHT
    span: float = 16.0
    flat_over: float = 0.3
    same_place: Hashable | None = None
    acting: Array | None = None
    spans: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        _check_numeric(self)

    @property
    def x(self) -> float:
        """The number that was displayed, as asinh(value / scale)."""
        return float(np.arcsinh(self.value / self.scale))

    @property
    def spans_in_x(self) -> tuple[tuple[float, float], ...]:
        """The ends of the ranges in units of x, without end below where one begins at 0."""
        ends = np.arcsinh(np.array(self.spans).reshape(-1, 2) / self.scale).tolist()
        return tuple((low if low > 0.0 else -np.inf, high) for low, high in ends)

    @property
    def width(self) -> float:
        """The width of the last digit in units of x, at least half a per cent; of a range that of all of it."""
        width = sum(high - max(low, 0.0) for low, high in self.spans_in_x) if self.spans else self.step
        return max(min(width, self.span) if self.spans else width, LEAST_STEP)

    @property
    def outcome(self) -> Hashable:
        """What was displayed, as far as a second reading can be the same."""
        return self.shown

    @property
    def log_discrete(self) -> Array:
        """Log mass (S,) of over range, of a beep, or of there being a number at all."""
        return log_over(self.over, self.shown)

    @property
    def log_flat(self) -> float:
        """Log mass under a slip that could have displayed anything."""
        if self.shown is Shown.OVER:
            return float(np.log(self.flat_over))
        width = self.width / self.span if self.shown is Shown.NUMBER else 1.0
        return float(np.log1p(-self.flat_over) + np.log(width))

    def take(self, chosen: Index) -> Numeric:
        """The same for the chosen candidates only."""
        return replace(
            self,
            mean=self.mean[chosen],
            jacobian=self.jacobian[chosen],
            noise=self.noise[chosen],
            over=self.over[chosen],
            alternatives=tuple(a.take(chosen) for a in self.alternatives),
            acting=None if self.acting is None else self.acting[chosen],
        )


@dataclass(frozen=True, eq=False)
class Perceived:
    """A look or a symptom: the index of the value found, and ``table`` (S, values) of probabilities.

    The table already holds how often one value is taken for another. ``acting`` as of a reading. ``unlisted``
    (S, values): the same of a cause that is not in the file and elsewhere shows as each candidate does; None: here too.
    """

    setup: Hashable
    value: int
    table: Array
    alternatives: tuple[Mistaken, ...] = ()
    flat: float = FLAT_WEIGHT
    same_place: Hashable | None = None
    acting: Array | None = None
    unlisted: Array | None = None

    def __post_init__(self) -> None:
        _check_perceived(self)

    @property
    def outcome(self) -> Hashable:
        """The value that was found."""
        return self.value

    @property
    def log_discrete(self) -> Array:
        """Log mass (S,) of the value that was found."""
        return clipped_log(self.table[:, self.value])

    @property
    def log_flat(self) -> float:
        """Log mass under a slip that could have shown any value."""
        return -float(np.log(self.table.shape[1]))

    def take(self, chosen: Index) -> Perceived:
        """The same for the chosen candidates only."""
        return replace(
            self,
            table=self.table[chosen],
            alternatives=tuple(a.take(chosen) for a in self.alternatives),
            acting=None if self.acting is None else self.acting[chosen],
            unlisted=None if self.unlisted is None else self.unlisted[chosen],
        )


Finding = Numeric | Perceived


def clipped_log(probability: Array) -> Array:
    """Log of a probability, kept off zero and one by LEAST_MASS."""
    clipped: Array = np.log(np.clip(probability, LEAST_MASS, 1.0 - LEAST_MASS))
    return clipped


def log_over(over: Array, shown: Shown) -> Array:
    """Log mass of over range where that was shown, else of its opposite."""
    return clipped_log(over if shown is Shown.OVER else 1.0 - over)


def is_number(finding: Finding) -> bool:
    """Whether the finding is a reading that displayed a number."""
    return isinstance(finding, Numeric) and finding.shown is Shown.NUMBER


@dataclass(frozen=True, eq=False)
class Unit:
    """Findings whose discrete mass counts once: all that showed the same thing at one place."""

    members: frozenset[int]
    log_mass: Array


def units(findings: Sequence[Finding]) -> tuple[Unit, ...]:
    """The findings grouped by place and what was shown; the least mass of a group stands for it."""
    groups: dict[Hashable, list[int]] = {}
    for i, finding in enumerate(findings):
        place = finding.same_place
        key = ("alone", i) if place is None else ("place", type(finding), place, finding.outcome)
        groups.setdefault(key, []).append(i)
    return tuple(
        Unit(frozenset(group), np.min([findings[i].log_discrete for i in group], axis=0)) for group in groups.values()
    )


@dataclass(frozen=True, eq=False)
class Gaussian:
    """The numbers of some findings, jointly: P = K^-1 and z = P r with axes (n, n, S) and (n, S).

    ``log_mass`` (S,) is the log of N(r; 0, K) times the steps, ``position`` the row of a finding.
    """

    position: dict[int, int]
    precision: Array
    weighted: Array
    log_step: Array
    log_mass: Array

    def log_removed(self, rows: Index) -> Array:
        """Log mass (B, S) of the numbers of each row set (B, k) given all the others.

        The residual of a removed block is P_bb^-1 z_b and its covariance P_bb^-1, so that the density of
        what remains is the joint one divided by this (Rasmussen & Williams 2006, section 5.4.2, for
        leaving one out; from memory).
        """
        square, log_det = self._blocks(rows.T)
        steps: Array = self.log_step[rows].sum(axis=1)
        density: Array = 0.5 * (log_det - square - rows.shape[1] * LOG_2PI) + steps[:, None]
        return density

    def _blocks(self, at: Index) -> tuple[Array, Array]:
        """z_b' P_bb^-1 z_b and log det P_bb, each (B, S), of rows (k, B); by the L D L' of all blocks at once, since a
        call of a library's own for each small block costs more than ten times as much."""
        lower = [[self.precision[one, other] for other in at[: i + 1]] for i, one in enumerate(at)]
        left = [self.weighted[one] for one in at]
        square, log_det = np.zeros_like(left[0]), np.zeros_like(left[0])
        for i in range(len(at)):
            pivot = lower[i][i]
            square += left[i] ** 2 / pivot
            log_det += np.log(pivot)
            for j in range(i + 1, len(at)):
                share = lower[j][i] / pivot
                left[j] -= share * left[i]
                for m in range(i + 1, j + 1):
                    lower[j][m] -= share * lower[m][i]
        return square, log_det


def gaussian(findings: Sequence[Finding]) -> Gaussian | None:
    """The joint of all numbers among the findings, ranges left out; None when there are none."""
    numbers = [(i, f) for i, f in enumerate(findings) if isinstance(f, Numeric) and is_number(f) and not f.spans]
    if not numbers:
        return None
    readings = [f for _, f in numbers]
    among = covariance(readings)
    residual = np.stack([f.x - f.mean for f in readings], axis=-1)
    precision = np.linalg.inv(among)
    weighted = np.einsum("sij,sj->si", precision, residual)
    log_step = np.log([f.width for f in readings])
    log_det: Array = np.linalg.slogdet(among)[1]
    square = (weighted * residual).sum(axis=1)
    return Gaussian(
        position={i: row for row, (i, _) in enumerate(numbers)},
        precision=np.ascontiguousarray(np.moveaxis(precision, 0, -1)),
        weighted=np.ascontiguousarray(weighted.T),
        log_step=log_step,
        log_mass=log_step.sum() - 0.5 * (square + log_det + len(readings) * LOG_2PI),
    )


def covariance(readings: Sequence[Numeric]) -> Array:
    """K = J J' + D of each candidate, (S, n, n), with the noise that repeats share; a range is not rounded."""
    jacobian = np.stack([f.jacobian for f in readings], axis=1)
    among: Array = jacobian @ np.swapaxes(jacobian, 1, 2)
    for i, one in enumerate(readings):
        among[:, i, i] += one.noise**2 + (0.0 if one.spans else one.width**2 / 12.0)
        for j, other in enumerate(readings[:i]):
            if one.same_place is not None and one.same_place == other.same_place:
                shared = np.sqrt(common_variance(one.noise) * common_variance(other.noise))
                among[:, i, j] += shared
                among[:, j, i] += shared
    return among


def common_variance(noise: Array) -> Array:
    """The part of the variance of a number, (S,), that a repeat of the same place has in common with it."""
    return np.asarray(np.maximum(noise**2 - REPEAT_SCATTER**2, 0.0))


def _check_numeric(finding: Numeric) -> None:
    problems = [
        f"'{name}' of a reading must be finite numbers"
        for name in ("mean", "jacobian", "noise", "over", "scale", "value")
        if not np.all(np.isfinite(getattr(finding, name)))
    ]
    if finding.scale <= 0.0 or finding.span <= 0.0:
        problems.append("'scale' and 'span' of a reading must be above zero")
    if not 0.0 < finding.flat_over < 1.0:
        problems.append("'flat_over' of a reading must lie between 0 and 1")
    size = finding.mean.shape
    if finding.noise.shape != size or finding.over.shape != size or finding.jacobian.shape[:1] != size:
        problems.append("'mean', 'noise', 'over' and 'jacobian' of a reading must agree in their candidates")
    if any(low > high for low, high in finding.spans) or (finding.spans and finding.shown is not Shown.NUMBER):
        problems.append("'spans' of a reading must be of a number, each with its lower end first")
    _refuse(problems)


def _check_perceived(finding: Perceived) -> None:
    problems = []
    if finding.table.ndim != 2:
        problems.append("'table' of a look or symptom must be candidates by values")
    elif not 0 <= finding.value < finding.table.shape[1]:
        problems.append(f"'value' {finding.value} is not one of the {finding.table.shape[1]} values")
    if not np.all((finding.table >= 0.0) & (finding.table <= 1.0 + 1e-9)):
        problems.append("'table' of a look or symptom must hold probabilities")
    _refuse(problems)


def _refuse(problems: Sequence[str]) -> None:
    if problems:
        raise ValueError("; ".join(problems))
