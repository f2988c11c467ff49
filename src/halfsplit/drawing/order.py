"""The order of rungs from top to bottom, improved from the planar one by moving rungs where that costs less.

Cost: 2000 for every rung that passes the bar of a net it is not on, 24 a row, 12 a bend, 5 a row of bar (rails 1), and
a little for L2 below the top or PE above the foot. Bars between the rails are thus short and a crossing is the last
resort.
May know: rungs and ranks. May not know: sizes.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from dataclasses import dataclass

from halfsplit.drawing.rungs import Rung

_CROSSING, _ROW, _BEND, _BAR, _RAIL_BAR = 2000.0, 24.0, 12.0, 5.0, 1.0
_BOX_TOLL = 6
EFFORT = 60_000
"""Budget of one improvement in rung-steps: keeps 60 elements well under a second, and the result repeatable."""


_BEFORE, _AFTER, _BOTH = 1, 2, 3
"""Sides of a net's bar on which the last row at its rank is taken."""


def _above(level: int, taken: tuple[int, str], wanted: tuple[int, str]) -> int:
    """The lowest row that a rung has to stand under at one of its ends: not the last if that side is free there."""
    return level - (taken[1] == wanted[1] and not taken[0] & wanted[0])


def _joined(level: int, row: int, taken: tuple[int, str], wanted: tuple[int, str]) -> tuple[int, str]:
    """Sides taken at an end after a rung was put on a row."""
    return (taken[0] | wanted[0], wanted[1]) if row == level else wanted


@dataclass(frozen=True, slots=True)
class Span:
    """A rung in ranks: its first and last rank, and its nodes by rank."""

    start: int
    end: int
    nodes: tuple[str, ...]
    wish: float


@dataclass(frozen=True, slots=True)
class Bar:
    """A net or box on several rungs: its rank, those rungs, the cost of a row of it, what passing it counts for.

    ``sides`` are those from which each rung meets it; ``corners`` are the ends of it that can be bends: both, the lower
    one of a rail (its head stands on the upper one), none of a box.
    """

    rank: int
    users: tuple[int, ...]
    weight: float
    toll: int
    sides: tuple[int, ...]
    corners: int

    def bends(self, rows: Sequence[int], first: int, last: int) -> int:
        """Ends of the bar where no two rungs meet in line, for the rows of its rungs."""
        top = foot = 0
        for row, side in zip(rows, self.sides, strict=True):
            top |= side if row == first else 0
            foot |= side if row == last else 0
        return (self.corners > 0 and foot != _BOTH) + (self.corners > 1 and top != _BOTH)


class Ladder:
    """Costs of orders of one set of rungs."""

    def __init__(
        self,
        rungs: Sequence[Rung],
        rank: Mapping[str, int],
        rails: Container[str],
        boxes: Container[str],
        wish: Sequence[float],
    ) -> None:
        self.spans = tuple(
            Span(rank[rung.nodes[0]], rank[rung.nodes[-1]] + rung.bus, rung.nodes, w)
            for rung, w in zip(rungs, wish, strict=True)
        )
        self.width = max((span.end for span in self.spans), default=0) + 1
        users: dict[str, list[int]] = {}
        for number, span in enumerate(self.spans):
            for node in dict.fromkeys(span.nodes):
                users.setdefault(node, []).append(number)
        shared = {node: tuple(on) for node, on in users.items() if len(on) > 1}
        self.bars = tuple(
            Bar(
                rank[node],
                on,
                _RAIL_BAR if node in rails else _BAR,
                _BOX_TOLL if node in boxes else 1,
                tuple(self._side(number, node) for number in on),
                0 if node in boxes else 1 if node in rails else 2,
            )
            for node, on in shared.items()
        )

    def _side(self, number: int, node: str) -> int:
        """The sides from which a rung meets a node that is on it."""
        nodes = self.spans[number].nodes
        if len(nodes) == 1:
            return _BOTH
        return (_AFTER if node == nodes[0] else 0) | (_BEFORE if node == nodes[-1] else 0) or _BOTH

    def crossings(self, order: Sequence[int]) -> int:
        """How many rungs pass bars or boxes that are not theirs."""
        return sum(bar_crossings for bar_crossings, _ in self._passed(order))

    def _toll(self, order: Sequence[int], limit: float) -> int:
        """Crossings with a box counted more; counting stops above ``limit``."""
        count = 0
        for passed, bar in self._passed(order):
            count += passed * bar.toll
            if count > limit:
                break
        return count

    def _passed(self, order: Sequence[int]) -> Iterator[tuple[int, Bar]]:
        """For every bar that is passed at all, how many rungs pass it."""
        cover = [0] * self.width
        place = [0] * len(order)
        for position, number in enumerate(order):
            place[number] = position
            span = self.spans[number]
            for rank in range(span.start, span.end + 1):
                cover[rank] |= 1 << position
        for bar in self.bars:
            places = [place[number] for number in bar.users]
            low, high = min(places), max(places)
            if high - low >= len(places):
                between = (cover[bar.rank] >> low) & ((1 << (high - low)) - 1)
                yield between.bit_count() - len(places) + 1, bar

    def rows(self, order: Sequence[int]) -> list[int]:
        """Row of every rung: below all earlier ones it meets; rungs that only meet end to start share a row."""
        level = [-1] * self.width
        ends: list[tuple[int, str]] = [(_BOTH, "")] * self.width
        row = [0] * len(order)
        for number in order:
            span = self.spans[number]
            low, high = span.start, span.end
            if high == low:
                row[number] = level[low] + 1
                level[low], ends[low] = row[number], (_BOTH, "")
                continue
            first, last = (_AFTER, span.nodes[0]), (_BEFORE, span.nodes[-1])
            above = (_above(level[low], ends[low], first), _above(level[high], ends[high], last))
            here = row[number] = max(*above, *level[low + 1 : high]) + 1
            first, last = _joined(level[low], here, ends[low], first), _joined(level[high], here, ends[high], last)
            level[low : high + 1] = [here] * (high - low + 1)
            ends[low + 1 : high] = [(_BOTH, "")] * (high - low - 1)
            ends[low], ends[high] = first, last
        return row

    def cost(self, order: Sequence[int], limit: float = float("inf")) -> float:
        """Cost of an order, or anything at or above ``limit`` where it is not below it."""
        crossing = _CROSSING * self._toll(order, limit / _CROSSING)
        if crossing >= limit:
            return crossing
        row = self.rows(order)
        bars = 0.0
        for bar in self.bars:
            own = [row[number] for number in bar.users]
            first, last = min(own), max(own)
            bars += bar.weight * (last - first) + _BEND * bar.bends(own, first, last)
        drift = sum(self.spans[number].wish * position for position, number in enumerate(order))
        return crossing + _ROW * (max(row, default=0) + 1) + bars - 0.02 * drift


def _moves(order: Sequence[int], sizes: Sequence[int]) -> Iterator[list[int]]:
    """Every order in which one run of rungs stands elsewhere."""
    for size in sizes:
        for start in range(len(order) - size + 1):
            block = list(order[start : start + size])
            rest = [*order[:start], *order[start + size :]]
            for place in range(len(rest) + 1):
                if place != start:
                    yield rest[:place] + block + rest[place:]


def _reversals(order: Sequence[int], sizes: Sequence[int]) -> Iterator[list[int]]:
    for size in sizes:
        for start in range(len(order) - size + 1):
            yield [*order[:start], *reversed(order[start : start + size]), *order[start + size :]]


Kinds = tuple[Callable[[Sequence[int], Sequence[int]], Iterator[list[int]]], Sequence[int]]
_ROUNDS: tuple[Kinds, ...] = ((_moves, (1,)), (_reversals, (2, 3, 4, 5, 6)), (_moves, (2, 3, 4, 5, 6)))


def _better(ladder: Ladder, order: list[int], cost: float, kinds: Kinds, budget: list[int]) -> tuple[list[int], float]:
    """First improvement found in one neighbourhood, or the same."""
    make, sizes = kinds
    for candidate in make(order, sizes):
        budget[0] -= len(order)
        if budget[0] < 0:
            break
        value = ladder.cost(candidate, cost - 1e-9)
        if value < cost - 1e-9:
            return candidate, value
    return order, cost


def improved(ladder: Ladder, order: Sequence[int], effort: int = EFFORT) -> list[int]:
    """A locally best order: single moves, then reversals and moves of runs of two to six, until none helps."""
    best = list(order)
    cost = ladder.cost(best)
    budget = [effort]
    step = 0
    while step < len(_ROUNDS) and budget[0] > 0:
        found, value = _better(ladder, best, cost, _ROUNDS[step], budget)
        step = step + 1 if value >= cost else 0
        best, cost = found, value
    return best


def neighbours(ladder: Ladder, order: Sequence[int]) -> list[list[int]]:
    """Orders that differ by the move or reversal of one run of any length and cross no more, from the cheapest on."""
    most = ladder.crossings(order)
    sizes = range(1, len(order) + 1)
    found = {tuple(other) for make in (_moves, _reversals) for other in make(order, sizes)} - {tuple(order)}
    kept = [list(other) for other in sorted(found) if ladder.crossings(other) <= most]
    return sorted(kept, key=ladder.cost)


def inserted(ladder: Ladder, order: Sequence[int], number: int) -> list[int]:
    """The order with one more rung at its cheapest place (rungs not yet placed are ignored)."""
    choices = [[*order[:place], number, *order[place:]] for place in range(len(order) + 1)]
    return min(choices, key=lambda choice: (_partial(ladder, choice), choices.index(choice)))


def _partial(ladder: Ladder, order: Sequence[int]) -> int:
    """Crossings among some of the rungs only."""
    place = {number: position for position, number in enumerate(order)}
    count = 0
    for bar in ladder.bars:
        places = [place[number] for number in bar.users if number in place]
        if len(places) > 1:
            low, high = min(places), max(places)
            between = [ladder.spans[number] for number in order[low : high + 1]]
            count += bar.toll * (sum(span.start <= bar.rank <= span.end for span in between) - len(places))
    return count
