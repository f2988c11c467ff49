"""A state as the search sees it: only the faults still possible, the tests that still tell something and the
repairs that can still help, so that arrays shrink as evidence comes in.

Knows the arrays of `problem` and computes what every policy needs of one state, once. Decides nothing.
A *move* is a small integer: tests first, by their place in `node.tests`, then repairs.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from halfsplit.plan import problem as arrays
from halfsplit.plan import states
from halfsplit.plan.problem import ANY_MODE, GONE, Action, Bools, Floats, Ints, Problem
from halfsplit.plan.states import State

SAME = 1e-9
"""Outcome probabilities closer than this tell two faults not apart."""

Key = tuple[int, int, bool, bytes, bytes, bytes]


class Told(NamedTuple):
    """What is known: faults possible (F,) with their probabilities (F,), how often each test of the problem
    may still be done, open bays as bits, mode, whether something was found that is unlike a healthy machine."""

    faults: Ints
    p: Floats
    left: Ints
    opened: int
    mode: int
    seen: bool


class Node:
    """One state in the search. Shapes: F faults possible, T tests telling, R repairs helping, G groups."""

    def __init__(self, problem: Problem, told: Told, before: tuple[Ints, Floats], kept: Ints) -> None:
        """`before`: tests (N,) that told something in the state before, and their outcome probabilities
        (N, O, M); `kept` (F,): which of those M faults are still possible."""
        self.problem, self._before, self._places = problem, before, kept
        self.faults, self.p, self.left, self.opened, self.mode, self.seen = told
        self.values: dict[str, tuple[float, float]] = {}
        self.moves: dict[str, int] = {}
        self.branches: dict[int, list[tuple[float, Node]]] = {}

    @cached_property
    def firsts(self) -> Ints:
        """(G,) where each group of faults, cured by the same repairs, begins; faults in order of group."""
        groups = self.problem.groups[self.faults]
        begins: Bools = np.ones(len(groups), np.bool_)
        np.not_equal(groups[1:], groups[:-1], out=begins[1:])
        return begins.nonzero()[0]

    @cached_property
    def settled(self) -> bool:
        """Whether one repair is certain to be the right one: nothing is gained by another test."""
        return len(self.firsts) == 1

    @cached_property
    def telling(self) -> tuple[Ints, Floats]:
        """Tests that tell some faults apart (T,) and their outcome probabilities (T, O, F)."""
        tests, wider = self._before
        shows = wider[:0] if self.settled else wider
        tests, shows = tests[: len(shows)], shows.take(self._places, axis=2)
        may = (self.left[tests] > 0) & (self.problem.times[tests] > 0)
        widths = np.maximum.reduce(shows, axis=2) - np.minimum.reduce(shows, axis=2)
        apart = np.logical_or.reduce(widths > SAME, axis=1) & may
        return tests[apart], shows[apart]

    @property
    def tests(self) -> Ints:
        """(T,) the tests that still tell something."""
        return self.telling[0]

    @cached_property
    def helping(self) -> tuple[Ints, Bools]:
        """Repairs that cure a fault still possible (R,) and what they cure (R, F)."""
        cures = self.problem.cures.take(self.faults, axis=1)
        some: Bools = np.logical_or.reduce(cures, axis=1)
        return some.nonzero()[0], cures[some]

    @property
    def repairs(self) -> Ints:
        """(R,) the repairs that can still help."""
        return self.helping[0]

    @cached_property
    def grouped(self) -> Floats:
        """(T, O, G) joint probability of outcome and group."""
        joint: Floats = np.add.reduceat(self.telling[1] * self.p, self.firsts, axis=2)
        return joint

    @cached_property
    def expected(self) -> Floats:
        """(T, O) probability of each outcome."""
        totals: Floats = np.add.reduce(self.grouped, axis=2)
        return totals

    @cached_property
    def cured(self) -> Floats:
        """(T, O, R) joint probability of outcome and of each repair making the machine work."""
        cures = self.helping[1][:, self.firsts]
        if (cures.sum(axis=0) == 1).all() and (cures.sum(axis=1) == 1).all():
            return self.grouped[:, :, cures.argmax(axis=1)]
        return np.asarray(np.einsum("tog,rg->tor", self.grouped, cures.astype(float)))

    @cached_property
    def cure(self) -> Floats:
        """(R,) probability that each repair makes the machine work."""
        return _weighed(self.helping[1], self.p)

    @cached_property
    def here(self) -> arrays.AtOnce:
        """Minutes of everything here."""
        return self.problem.at(self.opened, self.mode)

    @cached_property
    def test_minutes(self) -> Floats:
        """(T,) minutes of each telling test, opening and change of mode included."""
        return self.here.test[self.tests]

    @cached_property
    def repair_price(self) -> Floats:
        """(R,) price of each helping repair; opening, change of mode and seeing the complaint included."""
        return self.here.repair[self.repairs] + self.to_see

    @cached_property
    def to_see(self) -> float:
        """Minutes to see the complaint before a repair made here."""
        return states.to_see(self.problem, self.seen, float(self.cure.max()))

    @cached_property
    def spares_seeing(self) -> Floats:
        """(T,) minutes of seeing the complaint that each test is expected to spare, by showing something wrong."""
        if not self.to_see:
            return np.zeros(len(self.tests))
        wrong: Floats = np.add.reduce(self.expected * self.problem.unlike.take(self.tests, axis=0), axis=1)
        return wrong * self.to_see

    @cached_property
    def by_group(self) -> Floats:
        """(G,) probability of each group."""
        sums: Floats = np.add.reduceat(self.p, self.firsts)
        return sums

    @cached_property
    def unsure(self) -> float:
        """What is unknown of which repair is needed [nat]."""
        return -float((self.by_group * np.log(np.maximum(self.by_group, GONE))).sum())

    @cached_property
    def extra_minutes(self) -> Floats:
        """(T,) minutes of the tests beyond those of the repair: what it will open, wait for and isolate in any case is
        free as far as that is probable, and what a test makes dearer for it counts."""
        here, share = self.here, self.cure / max(float(self.cure.sum()), 1.0)
        spared = here.repair[self.repairs] - _part(here.repair_after, self.tests, self.repairs)
        return np.asarray(self.test_minutes - spared @ share)

    @cached_property
    def information(self) -> Floats:
        """(T,) what each test tells about *which repair* is needed [nat]."""
        joint, group = self.grouped, self.by_group
        told = _x_log_x(joint).sum(axis=(1, 2)) - _x_log_x(self.expected).sum(axis=1) - _x_log_x(group).sum()
        return np.asarray(np.maximum(told, 0.0))

    @cached_property
    def in_order(self) -> float:
        """Expected price of repairing in the order p/C without any test, shared openings not counted."""
        return float(repairs_in_order(self.cure, self.repair_price))

    @cached_property
    def after_tests(self) -> Floats:
        """(T,) minutes of each test plus the expected price of repairing in the order p/C afterwards."""
        totals = self.expected
        cure = self.cured / np.maximum(totals, GONE)[:, :, None]
        price = _part(self.here.repair_after, self.tests, self.repairs)
        then = repairs_in_order(cure, np.broadcast_to(price[:, None, :], cure.shape))
        return np.asarray(self.test_minutes + (totals * then).sum(axis=1))

    @cached_property
    def floors(self) -> Floats:
        """(T + R,) a lower bound of each move's expected cost: afterwards the fault is told for nothing."""
        tests = _weighed(_part(self.here.floor_after_test, self.tests, self.faults), self.p)
        left = ~self.helping[1] * _part(self.here.floor_after_repair, self.repairs, self.faults)
        return np.concatenate([self.test_minutes + tests, self.repair_price + _weighed(left, self.p)])

    @cached_property
    def bound(self) -> float:
        """A lower bound of the expected cost from here: the least of the moves' bounds."""
        return float(self.floors.min())

    @cached_property
    def key(self) -> Key:
        """Equal for states that cannot be told apart."""
        return _key(self.problem, Told(self.faults, self.p, self.left, self.opened, self.mode, self.seen))

    def minutes(self, move: int) -> float:
        """What a move costs here [min]."""
        tests = len(self.tests)
        return float(self.test_minutes[move] if move < tests else self.repair_price[move - tests])

    def action(self, move: int) -> Action:
        """The move as an action of the problem."""
        tests = len(self.tests)
        if move < tests:
            return Action("test", int(self.tests[move]))
        return Action("repair", int(self.repairs[move - tests]))

    def best_repair(self) -> int:
        """The move that is first in the order p/C."""
        return len(self.tests) + int(np.argmax(self.cure / np.maximum(self.repair_price, GONE)))


class Nodes:
    """Every node met, each kept once.

    `trim`: share of the probability (0..1) that may be left out of a node, from its least likely faults, so that
    faults that findings speak against do not stay for ever; 0 leaves out nothing.
    """

    def __init__(self, problem: Problem, trim: float = 0.0) -> None:
        self.problem = problem
        self.trim = trim
        self.met: dict[Key, Node] = {}

    def root(self, state: State) -> Node:
        """The node of a state; faults that nothing tells apart stand as one."""
        merged = np.asarray(np.bincount(self.problem.alike, weights=state.posterior), dtype=np.float64)
        faults = self._likely(merged, float(merged.sum()))
        faults = faults[np.argsort(self.problem.groups[faults], kind="stable")]
        p = merged[faults]
        told = Told(faults, p / p.sum(), state.left, state.opened, state.mode, state.seen)
        every = np.arange(len(self.problem.shows))
        return self._kept(told, (every, self.problem.shows), faults)

    def branches(self, node: Node, move: int) -> list[tuple[float, Node]]:
        """What can follow a move: (probability, node), most probable first. Left out: the machine working, and what
        leaves no fault above `GONE`."""
        known = node.branches.get(move)
        if known is None:
            tested = move < len(node.tests)
            known = self._after_test(node, move) if tested else self._after_repair(node, move)
            node.branches[move] = known
        return known

    def _after_test(self, node: Node, move: int) -> list[tuple[float, Node]]:
        action = node.action(move)
        left = node.left.copy()
        left[action.which] -= 1
        joint = node.telling[1][move] * node.p
        seen = node.seen | self.problem.unlike[action.which]
        possible = (np.maximum.reduce(joint, axis=1) > GONE).nonzero()[0]
        stands = self._stands_after(node, action)
        found = [self._step(node, joint[o], left, stands, bool(seen[o])) for o in possible]
        return sorted(found, key=lambda pair: -pair[0])

    def _after_repair(self, node: Node, move: int) -> list[tuple[float, Node]]:
        row = np.where(node.helping[1][move - len(node.tests)], 0.0, node.p)
        stands = self._stands_after(node, node.action(move))
        return [self._step(node, row, node.left, stands, True)] if row.max() > GONE else []

    def _stands_after(self, node: Node, action: Action) -> tuple[int, int]:
        """Bays open and mode after an action."""
        return self.problem.opened_by(action, node.opened), self.problem.mode_after(action, node.mode)

    def _step(self, node: Node, row: Floats, left: Ints, stands: tuple[int, int], seen: bool) -> tuple[float, Node]:
        total = float(row.sum())
        keep = self._likely(row, total)
        p = row[keep]
        told = Told(node.faults[keep], p / p.sum(), left, *stands, seen)
        return total, self._kept(told, node.telling, keep)

    def _likely(self, weights: Floats, total: float) -> Ints:
        """The places of the likeliest faults, all but a share of `trim` of their `total` probability."""
        if not self.trim:
            return (weights > GONE).nonzero()[0]
        order = weights.argsort(kind="stable")
        least = weights[order].cumsum().searchsorted(self.trim * total, side="right")
        kept = order[least:]
        kept.sort()
        return kept

    def _kept(self, told: Told, before: tuple[Ints, Floats], places: Ints) -> Node:
        key = _key(self.problem, told)
        node = self.met.get(key)
        if node is None:
            node = self.met[key] = Node(self.problem, told, before, places)
        return node


def repairs_in_order(cure: Floats, price: Floats) -> Floats:
    """Expected price (...,) of trying repairs in the order p/C until the machine works.

    cure (..., R) probabilities, price (..., R) minutes. Optimal for one fault, each cured by one repair,
    with prices that do not depend on the order (Heckerman, Breese and Rommelse, CACM 38:49-57, 1995; from
    memory).

    >>> cure, price = np.array([0.2, 0.25, 0.4, 0.15]), np.array([5.0, 2.0, 8.0, 1.0])
    >>> round(float(repairs_in_order(cure, price)), 9)
    8.5
    """
    order = np.argsort(-cure / np.maximum(price, GONE), axis=-1, kind="stable")
    chance = np.take_along_axis(cure, order, axis=-1)
    waiting = np.clip(1.0 - np.cumsum(chance, axis=-1) + chance, 0.0, None)
    waiting[waiting < SAME] = 0.0
    return np.asarray((np.take_along_axis(price, order, axis=-1) * waiting).sum(axis=-1))


def one_after_another(node: Node) -> float:
    """Expected price of all repairs in the order p/C as it stands here, no tests, each bay opened once."""
    problem, (repairs, cures) = node.problem, node.helping
    order = (-node.cure / np.maximum(node.repair_price, GONE)).argsort(kind="stable")
    cured = _weighed(np.maximum.accumulate(cures[order], axis=0), node.p)
    before = np.concatenate([[0.0], cured[:-1]])
    useful = cured > before + SAME
    done, waiting = repairs[order[useful]], 1.0 - before[useful]
    needed = problem.repair_bays[done]
    opened = np.maximum.accumulate(needed, axis=0)
    opened[1:] &= ~opened[:-1].copy()
    spent = problem.repair_price[done] + opened @ node.here.closed + _mode_changes(node, done)
    return float(waiting @ spent) + node.to_see


def _mode_changes(node: Node, done: Ints) -> Floats:
    """(N,) minutes of changing mode before each of these repairs, done in this order."""
    modes, found = [node.mode], []
    for wanted in node.problem.repair_mode[done]:
        modes.append(modes[-1] if wanted == ANY_MODE else int(wanted))
        found.append(node.problem.switch[modes[-2], modes[-1]])
    return np.asarray(found)


def _weighed(table: NDArray[Any], p: Floats) -> Floats:
    """(N,) sums of the rows of a table (N, F) weighed with p (F,), always added in the same order."""
    sums: Floats = np.add.reduce(table * p, axis=1)
    return sums


def _part(table: Floats, rows: Ints, columns: Ints) -> Floats:
    """(N, M) these rows (N,) and columns (M,) of a table."""
    return table.take(rows, axis=0).take(columns, axis=1)


def _x_log_x(values: Floats) -> Floats:
    return values * np.log(np.maximum(values, 1e-300))


def _key(problem: Problem, told: Told) -> Key:
    chances = np.rint(told.p * 1e9).astype(np.int64).tobytes()
    return told.opened, told.mode, told.seen, told.faults.tobytes(), chances, told.left[problem.noisy].tobytes()
