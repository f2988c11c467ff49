"""Roll-outs: what a move is worth if a simple policy is followed afterwards, and a roll-out of that policy.

Level 0 is the best of the base policies, chosen anew in every state. Level n does in every state the move
that is best if level n-1 is followed afterwards. The expectation is exact over outcomes; below a small share
of the probability it falls back on repairs in the order p/C, as it does when the budget of nodes is spent.
The budget counts nodes, not time, so the same input has the same answer on every machine.

Roll-out of a base policy and its guarantee (never worse than the base where it is exact): Bertsekas and
Castanon, Journal of Heuristics 5:89-108, 1999 (from memory).
"""

from __future__ import annotations

from collections.abc import Collection
from typing import NamedTuple

import numpy as np

from halfsplit.plan import nodes, policies
from halfsplit.plan.nodes import Node
from halfsplit.plan.problem import GONE, Problem

CLOSE = 1e-9
LN_2 = float(np.log(2.0))
DEEPEST = 100
"""Moves in a row after which a branch is only estimated, so that no job exhausts the stack."""
USUAL = 16_000
"""Outcome probabilities in a node that take as long as what every node takes."""
ESTIMATE = 0.25
"""What an estimate takes, in nodes."""

Ranked = list[tuple[float, int]]
"""Moves with their cost, cheapest first."""


class Budget(NamedTuple):
    """How much may be spent on one choice.

    nodes: decisions that base policies may take. level: 1 roll-out, 2 roll-out of the roll-out. cut: share of
    the probability below which a branch is only estimated. trim: share of the
    probability left out of a state, from its least likely faults. steps: tests kept. order: repairs kept, first
    of p/C. per_bit [min]: above 0, a branch that is only estimated costs at least its bound and so much for every bit
    that is still unknown of the repair; else what repairs in the order p/C cost, which is surely not too little.
    bases: the policies (`policies.FOLLOWED`) of which the best is followed.
    """

    nodes: int
    level: int
    cut: float
    trim: float
    steps: int
    order: int
    per_bit: float
    bases: tuple[str, ...]


class Search:
    """Roll-outs over one problem. What was evaluated within the budget is kept, so asking again costs nothing."""

    def __init__(self, problem: Problem, budget: Budget, met: nodes.Nodes | None = None) -> None:
        """met: nodes of this problem, of the same trim, that another search has met."""
        self.nodes = met or nodes.Nodes(problem, budget.trim)
        self.budget = budget
        self._work = 0.0
        self._cuts = self._depth = 0

    @property
    def spent(self) -> int:
        """Nodes spent: decisions of base policies, those on large arrays counted as several, estimates as part."""
        return int(self._work)

    def forget_spending(self) -> int:
        """What was spent; from here the whole budget may be spent again, and what was evaluated is kept."""
        spent, self._work = self.spent, 0.0
        return spent

    @property
    def over(self) -> bool:
        """Whether the budget is spent."""
        return self.spent >= self.budget.nodes

    def _enough(self, share: float) -> bool:
        """Whether a branch is only estimated: too improbable, too deep, or the budget is spent."""
        return share < self.budget.cut or self._depth >= DEEPEST or self.over

    def base(self, node: Node, name: str, share: float = 1.0) -> float:
        """Expected cost of following one base policy. `share`: the probability of coming here at all."""
        if node.settled:
            return self._settled(node)
        key = f"{name}, {self.budget.cut}"
        known = node.values.get(key)
        if known is not None and known[1] >= share:
            return known[0]
        if self._enough(share):
            return self._estimate(node)
        before = self._cuts
        self._depth += 1
        cost = self._follow(node, self._base_move(node, name), name, share)
        self._depth -= 1
        self._keep(node, key, cost, np.inf if self._cuts == before else share)
        return cost

    def value(self, node: Node, level: int, share: float = 1.0) -> float:
        """Expected cost of following a level from here."""
        if node.settled:
            return self._settled(node)
        if level == 0:
            return min(self.base(node, name, share) for name in self.budget.bases)
        if self._enough(share):
            self._cuts += 1
            return self.value(node, 0, share)
        name = f"level {level}, {self.budget.cut}"
        known = node.values.get(name)
        if known is not None and known[1] >= share:
            return known[0]
        before = self._cuts
        self._depth += 1
        cost = self._improved(node, level, share)
        self._depth -= 1
        self._keep(node, name, cost, np.inf if self._cuts == before else share)
        return cost

    def _keep(self, node: Node, name: str, cost: float, share: float) -> None:
        """Keeps what was worked out; not what a spent budget has cut short, on which the next move would build."""
        if not self.over:
            node.values[name] = cost, share

    def ranked(self, node: Node, level: int, share: float = 1.0, slack: float = 0.0) -> Ranked:
        """Moves with their expected cost if `level` is followed afterwards, cheapest first.

        Moves that cost more than the best and `slack` [min] are left out.
        """
        priced, _ = self._parted(node, level, share, slack)
        return priced

    def priced(self, node: Node, move: int, limit: float = np.inf) -> float | None:
        """Expected cost of a move if one level less than the budget's is followed afterwards; None if surely above."""
        cost, complete = self._cost_of(node, move, self.budget.level - 1, 1.0, limit)
        return cost if complete else None

    def _parted(self, node: Node, level: int, share: float, slack: float) -> tuple[Ranked, Ranked]:
        """Moves priced, and moves given up with the cost seen by then: a higher level may think better."""
        best = np.inf
        priced: Ranked = []
        given_up: Ranked = []
        for move in self._by_promise(node, level, share, slack):
            if self.over and priced:
                break
            cost, complete = self._cost_of(node, move, level, share, best + slack)
            (priced if complete else given_up).append((cost, move))
            best = min(best, cost) if complete else best
        return sorted(priced), sorted(given_up)

    def _improved(self, node: Node, level: int, share: float) -> float:
        below = self.value(node, level - 1, share)
        if node.bound >= below - CLOSE:
            return below
        cost, move = self.ranked(node, level - 1, share)[0]
        branches = self.nodes.branches(node, move)
        later = sum(chance * self.value(after, level, share * chance) for chance, after in branches)
        return min(below, cost, node.minutes(move) + later)

    def _cost_of(self, node: Node, move: int, level: int, share: float, limit: float) -> tuple[float, bool]:
        """Cost of a move and `level` afterwards, and whether it is complete: it is given up at the limit."""
        cost = float(node.floors[move])
        if cost >= limit - CLOSE:
            return cost, False
        branches = self.nodes.branches(node, move)
        cost = node.minutes(move) + sum(chance * after.bound for chance, after in branches)
        for chance, after in branches:
            if cost >= limit - CLOSE:
                return cost, False
            cost += chance * (self.value(after, level, share * chance) - after.bound)
        return cost, True

    def _follow(self, node: Node, move: int, name: str, share: float) -> float:
        branches = self.nodes.branches(node, move)
        later = sum(chance * self.base(after, name, share * chance) for chance, after in branches)
        return node.minutes(move) + later

    def _base_move(self, node: Node, name: str) -> int:
        known = node.moves.get(name)
        if known is None:
            self._work += 1.0 + node.telling[1].size / USUAL
            known = node.moves[name] = policies.FOLLOWED[name](node)
        return known

    def _by_promise(self, node: Node, level: int, share: float, slack: float) -> list[int]:
        """The moves worth considering, the most promising first."""
        if level > 0 and not self.over:
            priced, given_up = self._parted(node, level - 1, share, slack)
            return [move for _, move in priced + given_up]
        return by_guess(node, shortlist(node, self.budget.steps, self.budget.order))

    def _estimate(self, node: Node) -> float:
        self._cuts += 1
        known = node.values.get("estimate")
        if known is None:
            self._work += ESTIMATE
            known = node.values["estimate"] = self._guessed(node), 0.0
        return known[0]

    def _guessed(self, node: Node) -> float:
        untested = nodes.one_after_another(node)
        if not self.budget.per_bit:
            return untested
        return min(untested, node.bound + self.budget.per_bit * node.unsure / LN_2)

    def _settled(self, node: Node) -> float:
        return float(node.repair_price[node.cure > node.cure.max() - CLOSE].min())


def shortlist(node: Node, steps: int, order: int) -> set[int]:
    """Moves worth a roll-out: the best tests, so many `steps`, the best test behind each unopened set of bays (or dear
    bays would never be considered), and so many repairs, the first in the `order` p/C."""
    tests = len(node.tests)
    rate = node.information / np.maximum(node.test_minutes, GONE)
    ranks = [np.argsort(node.after_tests, kind="stable"), np.argsort(-rate, kind="stable")]
    half = steps // 2
    found = {int(move) for move in ranks[0][:half]} | {int(move) for move in ranks[1][:half]}
    for rank in ranks:
        seen: set[int] = set()
        for move in rank:
            closed = node.problem.test_masks[int(node.tests[move])] & ~node.opened
            if closed not in seen:
                seen.add(closed)
                found.add(int(move))
    ratio = node.cure / np.maximum(node.repair_price, GONE)
    return found | {tests + int(r) for r in np.argsort(-ratio, kind="stable")[:order]}


def by_guess(node: Node, moves: Collection[int]) -> list[int]:
    """The moves, the most promising first."""
    guess = _guess(node)
    return sorted(moves, key=lambda move: (guess[move], move))


def _guess(node: Node) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """(T + R,) a quick estimate of each move: what repairs in the order p/C would cost afterwards."""
    repairs = node.repair_price + (1.0 - node.cure) * node.in_order
    return np.concatenate([node.after_tests, repairs])
