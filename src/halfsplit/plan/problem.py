"""The repair problem as arrays.

Knows: probabilities, minutes, and which place lies behind which. Does not know what a fault, a test or
a bay *is*: everything is an index. Where a job stands in it is `states`; what is done is decided by `advise`.

A problem is a decision process. Every action first opens the bays it needs (a bay that is open is free, a
bay that is opened must be closed once, so its closing is priced when it is opened), then changes the mode
(isolated, energised, hot: whatever costs minutes to bring about), then takes its own minutes. A test shows
one of its outcomes. A repair is followed by trying the machine: it works, and the job is done, or the faults
that this repair cures are ruled out. The same model, without bays: Breese and Heckerman 1996
(arXiv 1302.3563); with bays as a tree of clusters: Ottosen and Jensen (arXiv 1203.3502).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, ClassVar, Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

ANY_MODE = -1
OUTSIDE = -1
GONE = 1e-12
"""A posterior probability below this counts as ruled out."""


class Action(NamedTuple):
    """What to do next: a test or a repair, by its index in the problem.

    >>> Action("test", 3).kind
    'test'
    """

    kind: Literal["test", "repair"]
    which: int


class Bays(NamedTuple):
    """Places to be opened, as a forest: `behind[b]` is the bay in front of b, or OUTSIDE. Minutes each."""

    behind: Sequence[int] = ()
    opening: Sequence[float] = ()
    closing: Sequence[float] = ()

    def with_fronts(self, wanted: Sequence[int]) -> set[int]:
        """The wanted bays and every bay in front of them."""
        found: set[int] = set()
        for bay in wanted:
            while bay != OUTSIDE and bay not in found:
                found.add(bay)
                bay = self.behind[bay]
        return found


@dataclass(frozen=True, eq=False)
class Tests:
    """The tests. T tests, O outcomes at most, F faults.

    `shows[t, o, f]`: probability that test t shows outcome o under fault f; unused outcomes are all zero;
    each column sums to one. `times[t]`: how often the test may be done; 1 unless repeating it is independent
    evidence (the same meter on the same two points is not). `danger[t]`: 0 dead, 1 live, higher worse.
    `unlike[t, o]`: whether that outcome is unlike a healthy machine; none is where it is left out.
    """

    __test__: ClassVar[bool] = False
    shows: ArrayLike
    minutes: ArrayLike
    bays: Sequence[Sequence[int]] = ()
    mode: Sequence[int] = ()
    times: Sequence[int] = ()
    danger: Sequence[int] = ()
    unlike: ArrayLike = ()


@dataclass(frozen=True, eq=False)
class Repairs:
    """The repairs. R repairs, F faults. `cures[r, f]`: the machine works after repair r if f was its fault.

    `price[r]`: everything but opening bays and changing mode, as minutes: work, parts and a second trip at
    the hourly rate, trying the machine afterwards (`work/prices`).
    """

    cures: ArrayLike
    price: ArrayLike
    bays: Sequence[Sequence[int]] = ()
    mode: Sequence[int] = ()


def cures_from(repair_of: Sequence[int]) -> Bools:
    """One repair a fault: `repair_of[f]` is the repair that cures f. Returns the (R, F) table.

    >>> cures_from([0, 1, 1]).astype(int).tolist()
    [[1, 0, 0], [0, 1, 1]]
    """
    wanted = np.asarray(repair_of, dtype=np.int64)
    table: Bools = np.arange(wanted.max() + 1)[:, None] == wanted[None, :]
    return table


class AtOnce(NamedTuple):
    """Minutes of every action in one access state, and what remains after it. Cached by `Problem.at`."""

    test: Floats
    """(T,) minutes of each test: access, mode, itself."""
    repair: Floats
    """(R,) price of each repair: access, mode, itself."""
    repair_after: Floats
    """(T, R) price of each repair once the test has been done."""
    floor: Floats
    """(F,) the cheapest repair of each fault, were it known."""
    floor_after_test: Floats
    """(T, F) the same after each test."""
    floor_after_repair: Floats
    """(R, F) the same after each repair."""
    closed: Floats
    """(B,) minutes to open and close each bay; 0 where it is open."""


@dataclass(frozen=True, eq=False)
class Problem:
    """A whole repair problem; build it with `build`.

    Shapes: F faults, T tests, O outcomes, R repairs, B bays, M modes. Minutes throughout.
    """

    prior: Floats
    shows: Floats
    test_minutes: Floats
    test_bays: Bools
    test_mode: Ints
    times: Ints
    danger: Ints
    cures: Bools
    repair_price: Floats
    repair_bays: Bools
    repair_mode: Ints
    bay_minutes: Floats
    switch: Floats
    unlike: Bools
    uncovering: Floats
    """(M, M) minutes more where a test opens a bay on the way from mode to mode: the power off for it, and on again."""
    seeing: float = 0.0
    """Minutes to see the complaint before a repair that is not sure, while nothing found is unlike the healthy."""
    _at: dict[tuple[int, int], AtOnce] = field(default_factory=dict, repr=False)

    @cached_property
    def least_switch(self) -> Floats:
        """(M, M) the fewest minutes from mode to mode by any way round: less than straight where a detour spares a wait
        (what is hot cools while hands are elsewhere). Floors stand on it, or they would not be floors.

        Floyd, Communications of the ACM 5:345, 1962 (from memory).
        """
        least = np.array(self.switch)
        for mode in range(len(least)):
            least = np.minimum(least, least[:, mode, None] + least[mode])
        return least

    @cached_property
    def test_masks(self) -> list[int]:
        """Each test's bays as the bits of an integer."""
        return [_bits(row) for row in self.test_bays]

    @cached_property
    def repair_masks(self) -> list[int]:
        """Each repair's bays as the bits of an integer."""
        return [_bits(row) for row in self.repair_bays]

    @cached_property
    def noisy(self) -> Bools:
        """(T,) whether some fault leaves more than one outcome possible."""
        between = (self.shows > GONE) & (self.shows < 1 - GONE)
        return np.asarray(between.any(axis=(1, 2)), dtype=np.bool_)

    @cached_property
    def groups(self) -> Ints:
        """(F,) faults that the same repairs cure carry the same number: telling them apart gains nothing."""
        return np.unique(self.cures, axis=1, return_inverse=True)[1].reshape(-1).astype(np.int64)

    @cached_property
    def alike(self) -> Ints:
        """(F,) each fault's stand-in: the first fault that every test shows alike and the same repairs cure."""
        table = np.vstack([self.shows.reshape(-1, len(self.prior)), self.cures])
        _, firsts, which = np.unique(table, axis=1, return_index=True, return_inverse=True)
        return firsts[which.reshape(-1)].astype(np.int64)

    def at(self, opened: int, mode: int) -> AtOnce:
        """Minutes of everything where these bays are open (bits of an integer) and this mode is set."""
        known = self._at.get((opened, mode))
        if known is None:
            known = self._at[opened, mode] = _at_once(self, opened, mode)
        return known

    def mode_after(self, action: Action, mode: int) -> int:
        """The mode that an action leaves; an action that fits any mode leaves it alone."""
        wanted = int((self.test_mode if action.kind == "test" else self.repair_mode)[action.which])
        return mode if wanted == ANY_MODE else wanted

    def opened_by(self, action: Action, opened: int) -> int:
        """The open bays once this action has opened those it needs."""
        masks = self.test_masks if action.kind == "test" else self.repair_masks
        return opened | masks[action.which]


def build(
    prior: ArrayLike, tests: Tests, repairs: Repairs, bays: Bays | None = None, switch: ArrayLike = ((0.0,),),
    seeing: float = 0.0, uncovering: ArrayLike = (),
) -> Problem:  # fmt: skip
    """A checked problem. `switch[a, b]` [min]: changing from mode a to mode b; `seeing` [min]: the complaint;
    `uncovering[a, b]` [min]: more where a test in mode b opens a bay (nothing where it is left out).

    Raises ValueError naming every mistake.

    >>> two = build([1, 1], Tests([[[1, 0], [0, 1]]], [2.0]), Repairs(cures_from([0, 1]), [9.0, 9.0]))
    >>> two.prior.tolist(), two.at(0, 0).test.tolist()
    ([0.5, 0.5], [2.0])
    """
    weights = np.asarray(prior, float).reshape(-1)
    shows = np.asarray(tests.shows, float)
    shows = shows if shows.size else np.zeros((0, 1, len(weights)))
    cures = np.asarray(repairs.cures, bool)
    bays = bays or Bays()
    problem = Problem(
        weights / weights.sum() if weights.sum() > 0 else weights,
        shows, np.asarray(tests.minutes, float).reshape(-1), _bay_table(bays, tests.bays, len(shows)),
        _whole(tests.mode, len(shows), ANY_MODE), _whole(tests.times, len(shows), 1),
        _whole(tests.danger, len(shows), 0),
        cures, np.asarray(repairs.price, float).reshape(-1), _bay_table(bays, repairs.bays, len(cures)),
        _whole(repairs.mode, len(cures), ANY_MODE),
        np.asarray(bays.opening, float) + np.asarray(bays.closing, float), np.asarray(switch, float),
        _flags(tests.unlike, shows.shape[:2]), _minutes(uncovering, np.shape(switch)), seeing,
    )  # fmt: skip
    mistakes = check(problem)
    if mistakes:
        raise ValueError("The repair problem cannot be used: " + " ".join(mistakes))
    return problem


def check(problem: Problem) -> list[str]:
    """Every mistake in the arrays, as sentences; empty when there is none."""
    faults, tests, repairs = len(problem.prior), len(problem.shows), len(problem.cures)
    shapes = problem.shows.shape[-1] == faults and problem.cures.shape == (repairs, faults)
    lengths = len(problem.test_minutes) == tests and len(problem.repair_price) == repairs
    if not (shapes and lengths):
        return ["Tests, repairs and faults differ in length; give one column a fault and one cost a row."]
    if problem.unlike.shape != problem.shows.shape[:2]:
        return ["Whether an outcome is unlike a healthy machine is told of each outcome of each test, or of none."]
    between = [problem.switch.ravel(), problem.uncovering.ravel()]
    costs = np.concatenate(
        [problem.test_minutes, problem.repair_price, problem.bay_minutes, *between, [problem.seeing]]
    )
    prior, shows = problem.prior, problem.shows
    unusable = not np.isfinite(prior).all() or (prior < 0).any() or prior.sum() <= 0
    priceless = not np.isfinite(costs).all() or (costs < 0).any()
    rules = [
        (problem.uncovering.shape != problem.switch.shape, "Uncovering has to be as large as switch, or left out."),
        (unusable, "The prior needs finite probabilities, none negative, not all zero."),
        (priceless, "Minutes and prices must be finite, none negative."),
        ((shows < 0).any(), "Outcome probabilities must not be negative."),
        (not np.allclose(shows.sum(axis=1), 1.0), "A test's outcomes must sum to one under each fault."),
        (not problem.cures.any(axis=0).all(), "Every fault needs a repair that cures it; add handing over as one."),
    ]
    return [sentence for broken, sentence in rules if broken]


def _at_once(problem: Problem, opened: int, mode: int) -> AtOnce:
    closed = problem.bay_minutes * ~_unbits(opened, len(problem.bay_minutes))
    test_ends, repair_ends = (np.where(m == ANY_MODE, mode, m) for m in (problem.test_mode, problem.repair_mode))
    price = problem.repair_price[None, :]
    behind_test = (~problem.test_bays * closed) @ problem.repair_bays.T + price
    behind_repair = (~problem.repair_bays * closed) @ problem.repair_bays.T + price
    repair = problem.repair_bays @ closed + problem.repair_price
    opens: Bools = np.asarray((problem.test_bays & (closed > 0)).any(axis=1))
    least = problem.least_switch
    return AtOnce(
        problem.test_bays @ closed + problem.test_minutes + _between(problem, mode, test_ends, opens),
        repair + problem.switch[mode, repair_ends],
        behind_test + _then(problem, problem.switch, test_ends),
        _floor(problem, (repair + least[mode, repair_ends])[None, :])[0],
        _floor(problem, behind_test + _then(problem, least, test_ends)),
        _floor(problem, behind_repair + _then(problem, least, repair_ends)),
        closed,
    )


def _between(problem: Problem, mode: int, ends: Ints, opens: Bools) -> Floats:
    """(T,) minutes from a mode to that of each test, with those that opening a bay on the way adds."""
    return np.asarray(problem.switch[mode, ends] + problem.uncovering[mode, ends] * opens)


def _then(problem: Problem, switch: Floats, ends: Ints) -> Floats:
    """(N, R) minutes from each of these modes (N,) on to every repair's mode."""
    then = np.where(problem.repair_mode == ANY_MODE, ends[:, None], problem.repair_mode[None, :])
    return np.asarray(switch[ends[:, None], then])


def _floor(problem: Problem, prices: Floats) -> Floats:
    """(N, F) cheapest repair of every fault, from the prices (N, R)."""
    groups = problem.groups
    firsts = np.unique(groups, return_index=True)[1]
    cures = problem.cures[:, firsts].T
    found: Floats = np.minimum.reduce(np.where(cures, prices[:, None, :], np.inf), axis=2)
    cheapest: Floats = found[:, groups]
    return cheapest


def _bay_table(bays: Bays, wanted: Sequence[Sequence[int]], rows: int) -> Bools:
    """(rows, B) which bays each action needs open, those in front included."""
    table = np.zeros((rows, len(bays.behind)), dtype=bool)
    for row, places in enumerate(wanted):
        table[row, list(bays.with_fronts(places))] = True
    return table


def _flags(given: ArrayLike, shape: tuple[int, ...]) -> Bools:
    flags = np.asarray(given, bool)
    return flags if flags.size else np.zeros(shape, bool)


def _minutes(given: ArrayLike, shape: tuple[int, ...]) -> Floats:
    minutes = np.asarray(given, float)
    return minutes if minutes.size else np.zeros(shape)


def _whole(given: Sequence[int], rows: int, default: int) -> Ints:
    return np.asarray(given if len(given) else [default] * rows, dtype=np.int64)


def _bits(row: NDArray[Any]) -> int:
    return sum(1 << int(place) for place in np.flatnonzero(row))


def _unbits(mask: int, size: int) -> Bools:
    return np.array([bool(mask >> place & 1) for place in range(size)], dtype=bool)
