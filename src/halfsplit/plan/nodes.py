"""A state as the search sees it: only the faults still possible, the tests that still tell something and the
repairs that can still help, so that arrays shrink as evidence comes in.

Knows the arrays of `problem` and computes what every policy needs of one state, once. Decides nothing.
A *move* is a small integer: tests first, by their place in `node.tests`, then repairs.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np

from halfsplit.plan import problem as arrays
from halfsplit.plan.problem import GONE, Action, Bools, Floats, Ints, Problem, State

SAME = 1e-9
"""Outcome probabilities closer than this tell two faults not apart."""

Key = tuple[int, int, bytes, bytes, bytes]


class Node:
    """One state in the search. Local shapes: F faults possible, T tests telling, R repairs helping, G groups."""

    def __init__(self, problem: Problem, faults: Ints, p: Floats, left: Ints, opened: int, mode: int) -> None:
        self.problem, self.faults, self.p, self.left = problem, faults, p, left
        self.opened, self.mode = opened, mode
        self.values: dict[str, tuple[float, float]] = {}
        self.moves: dict[str, int] = {}
        self.branches: dict[int, list[tuple[float, Node]]] = {}

    @cached_property
    def groups(self) -> Ints:
        """(F,) which faults the same repairs cure, numbered from 0."""
        return np.unique(self.problem.groups[self.faults], return_inverse=True)[1].astype(np.int64)

    @cached_property
    def settled(self) -> bool:
        """Whether one repair is certain to be the right one: nothing is gained by another test."""
        return len(self.faults) == 1 or bool(self.groups.max() == 0)

    @cached_property
    def telling(self) -> tuple[Ints, Floats]:
        """Tests that tell some faults apart (T,) and their outcome probabilities (T, O, F)."""
        if self.settled:
            return np.zeros(0, dtype=np.int64), self.problem.shows[:0][:, :, self.faults]
        shows = self.problem.shows[:, :, self.faults]
        apart = (np.ptp(shows, axis=2) > SAME).any(axis=1) & (self.left > 0)
        return np.flatnonzero(apart), shows[apart]

    @property
    def tests(self) -> Ints:
        """(T,) the tests that still tell something."""
        return self.telling[0]

    @cached_property
    def helping(self) -> tuple[Ints, Bools]:
        """Repairs that cure a fault still possible (R,) and what they cure (R, F)."""
        cures = self.problem.cures[:, self.faults]
        some = cures.any(axis=1)
        return np.flatnonzero(some), cures[some]

    @property
    def repairs(self) -> Ints:
        """(R,) the repairs that can still help."""
        return self.helping[0]

    @cached_property
    def member(self) -> Floats:
        """(F, G) one where a fault belongs to a group."""
        one_hot: Floats = (self.groups[:, None] == np.arange(self.groups.max() + 1)).astype(float)
        return one_hot

    @cached_property
    def grouped(self) -> Floats:
        """(T, O, G) joint probability of outcome and group."""
        joint: Floats = self.telling[1] @ (self.member * self.p[:, None])
        return joint

    @cached_property
    def expected(self) -> Floats:
        """(T, O) probability of each outcome."""
        totals: Floats = self.grouped.sum(axis=2)
        return totals

    @cached_property
    def group_cures(self) -> Floats:
        """(G, R) one where a repair cures a group."""
        firsts = self.member.argmax(axis=0)
        table: Floats = self.helping[1][:, firsts].T.astype(float)
        return table

    @cached_property
    def cure(self) -> Floats:
        """(R,) probability that each repair makes the machine work."""
        return np.asarray(self.helping[1] @ self.p)

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
        """(R,) price of each helping repair, opening and change of mode included."""
        return self.here.repair[self.repairs]

    @cached_property
    def information(self) -> Floats:
        """(T,) what each test tells about *which repair* is needed [nat]."""
        joint, group = self.grouped, self.p @ self.member
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
        cure = (self.grouped @ self.group_cures) / np.maximum(totals, GONE)[:, :, None]
        price = self.here.repair_after[self.tests][:, self.repairs]
        then = repairs_in_order(cure, np.broadcast_to(price[:, None, :], cure.shape))
        return np.asarray(self.test_minutes + (totals * then).sum(axis=1))

    @cached_property
    def floors(self) -> Floats:
        """(T + R,) a lower bound of each move's expected cost: afterwards the fault is told for nothing."""
        tests = self.test_minutes + self.here.floor_after_test[self.tests][:, self.faults] @ self.p
        left = ~self.helping[1] * self.here.floor_after_repair[self.repairs][:, self.faults]
        return np.concatenate([tests, self.repair_price + left @ self.p])

    @cached_property
    def bound(self) -> float:
        """A lower bound of the expected cost from here: the least of the moves' bounds."""
        return float(self.floors.min())

    @cached_property
    def key(self) -> Key:
        """Equal for states that cannot be told apart."""
        return _key(self.problem, self.faults, self.p, self.left, self.opened, self.mode)

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
    """Every node met, each kept once."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.met: dict[Key, Node] = {}

    def root(self, state: State) -> Node:
        """The node of a state."""
        faults = np.flatnonzero(state.posterior > GONE)
        p = state.posterior[faults]
        return self._kept(faults, p / p.sum(), state.left, state.opened, state.mode)

    def branches(self, node: Node, move: int) -> list[tuple[float, Node]]:
        """What can follow a move, the machine working left out: (probability, node), most probable first."""
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
        found = [self._step(node, row, left, action) for row in joint if row.sum() > GONE]
        return sorted(found, key=lambda pair: -pair[0])

    def _after_repair(self, node: Node, move: int) -> list[tuple[float, Node]]:
        row = np.where(node.helping[1][move - len(node.tests)], 0.0, node.p)
        return [self._step(node, row, node.left, node.action(move))] if row.sum() > GONE else []

    def _step(self, node: Node, row: Floats, left: Ints, action: Action) -> tuple[float, Node]:
        keep = row > GONE
        total = float(row.sum())
        opened = self.problem.opened_by(action, node.opened)
        mode = self.problem.mode_after(action, node.mode)
        return total, self._kept(node.faults[keep], row[keep] / row[keep].sum(), left, opened, mode)

    def _kept(self, faults: Ints, p: Floats, left: Ints, opened: int, mode: int) -> Node:
        key = _key(self.problem, faults, p, left, opened, mode)
        node = self.met.get(key)
        if node is None:
            node = self.met[key] = Node(self.problem, faults, p, left, opened, mode)
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
    """Expected price of repairing without tests, always the first of p/C, beliefs and open bays kept up."""
    problem, repairs, cures = node.problem, node.repairs, node.helping[1]
    p, opened, mode, total = node.p.copy(), node.opened, node.mode, 0.0
    while p.sum() > SAME:
        price = problem.at(opened, mode).repair[repairs]
        first = int(np.argmax((cures @ p) / np.maximum(price, GONE)))
        total += float(p.sum() * price[first])
        p[cures[first]] = 0.0
        action = Action("repair", int(repairs[first]))
        opened, mode = problem.opened_by(action, opened), problem.mode_after(action, mode)
    return total


def _x_log_x(values: Floats) -> Floats:
    return values * np.log(np.maximum(values, 1e-300))


def _key(problem: Problem, faults: Ints, p: Floats, left: Ints, opened: int, mode: int) -> Key:
    told = np.rint(p * 1e9).astype(np.int64).tobytes()
    return opened, mode, faults.tobytes(), told, left[problem.noisy].tobytes()
