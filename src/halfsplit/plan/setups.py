"""One step ahead, set-up by set-up: several quick readings and looks that want the same setting up, as one step.

A set-up is one condition, one function of the meter, and nothing more to open than its first reading opens. Dear
set-ups in which much can be read for little are undervalued reading by reading; here a reading leads where all that is
worth reading with it tells most a minute. Knows the adviser, the bays and how the machine stands; weighs nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence.weighing import ENOUGH, Bench, Weighed
from halfsplit.plan import joint, pricing, score, table, taken
from halfsplit.plan.joint import Belief
from halfsplit.plan.score import Scored, Setup
from halfsplit.plan.steps import Step
from halfsplit.work import minutes
from halfsplit.work.state import JobState, with_fronts

GROWN = 10
"""So many set-ups, by what their best readings tell one by one, are grown."""
WITHIN = 12
"""So many of the readings of a set-up, by what each tells a minute, may be taken together."""
LIKELY = 1e-4
"""Candidates below this probability do not decide what is read together."""
MADE_NEXT = 0.5
"""A further reading is named where it would be made next more probably than this."""


class Further(NamedTuple):
    """A reading of the same set-up that would most probably be made next, and how probably.

    `beside`: the step before it with which it should be alike, and how far apart, relatively, two healthy ones lie.
    """

    step: Step
    probability: float
    beside: Step | None = None
    within: float = 0.0


class _Offer(NamedTuple):
    """A set-up to be grown: its first reading, minutes with setting up, all its readings, what they tell at best."""

    first: int
    minutes: float
    members: Array
    at_best: float


class InSetups(score.Adviser):
    """The adviser that ranks a step by all that is worth reading in its set-up; the same table, the same posterior."""

    def __init__(self, bench: Bench, compiled: table.Table | None = None) -> None:
        super().__init__(bench, compiled)
        self._told: tuple[Weighed, Array] | None = None
        self._priced: tuple[Weighed, JobState, pricing.Prices] | None = None

    def coarse(self, weighed: Weighed) -> Array:
        """Bits by code, every step; kept for what was believed last, since set-ups ask again."""
        if self._told is None or self._told[0] is not weighed:
            self._told = weighed, super().coarse(weighed)
        return self._told[1]

    def prices(self, weighed: Weighed, state: JobState) -> pricing.Prices:
        """What the steps cost from here; kept like `coarse`."""
        if self._priced is None or self._priced[0] is not weighed or self._priced[1] is not state:
            self._priced = weighed, state, super().prices(weighed, state)
        return self._priced[2]

    def next_steps(self, weighed: Weighed, state: JobState, count: int = 1) -> list[Scored]:
        """The best steps, best first, each with its set-up where that tells more a minute than the step alone."""
        alone = super().next_steps(weighed, state, count + score.LOOKED_AT)
        found = {one.step: one for one in alone}
        best = max((one.rate for one in alone), default=0.0)
        for one in (*self._beside_done(weighed, state), *self._in_setups(weighed, state, best)):
            if one.step not in found or one.rate > found[one.step].rate:
                found[one.step] = one
        return score.safest_first(sorted(found.values(), key=lambda one: -one.rate))[:count]

    # ---- what is read together ----------------------------------------------------------------------------

    def _in_setups(self, weighed: Weighed, state: JobState, best: float) -> Iterator[Scored]:
        """The first steps of the set-ups in which more is told a minute than by the best single step."""
        prices, steps = self.prices(weighed, state), self.table.steps
        bits = np.where(self.allowed(state) & self._quick, self.coarse(weighed)[: len(steps)], 0.0)
        offers = sorted(self._offers(state, bits, prices), key=lambda offer: -offer.at_best)
        belief, columns = self._belief(weighed)
        for offer in (one for one in offers[:GROWN] if one.at_best > best):
            found, alone = self._grown(belief, columns, offer)
            told = self.bits(weighed, offer.first)
            if told > score.LEAST_BITS and len(found.members) > 1:
                made = Setup(tuple(steps[k] for k in found.members), told + found.bits - alone, found.minutes)
                yield Scored(steps[offer.first], told, *prices.of(offer.first), made)

    def _offers(self, state: JobState, bits: Array, prices: pricing.Prices) -> Iterator[_Offer]:
        """Every set-up, begun with the reading that tells most by its code."""
        telling = np.flatnonzero(bits > score.LEAST_BITS)
        opened = self._mask(state.open_bays)
        begun: dict[tuple[int, int, int], int] = {}
        for k in telling[np.argsort(-bits[telling], kind="stable")].tolist():
            begun.setdefault((self._condition_of[k], self._meter_of[k], int(self._mask_of[k]) & ~opened), k)
        firsts = np.array(list(begun.values()), np.intp)
        for first, extra in zip(firsts.tolist(), prices.extra(firsts).tolist() if len(firsts) else (), strict=True):
            members = self._members(state, first, bits, telling)
            yield _Offer(first, extra, members, self._at_best(bits, first, extra, members))

    def _members(self, state: JobState, first: int, bits: Array, telling: Array) -> Array:
        """Of the steps that tell something, those that want nothing more than the first has set up, and the first."""
        after = taken.after(self.bench.machine, state, self.table.steps[first])
        at = self._conditions.get(after.condition, -2)
        masks, conditions, meters = self._mask_of[telling], self._condition_of[telling], self._meter_of[telling]
        here = (masks & ~self._mask(after.open_bays)) == 0
        reads = (conditions == at) & ((meters == self._meter_of[first]) | (self._meter_of[first] < 0))
        looks = (conditions < 0) & (after.isolated | (masks == 0))
        found = telling[here & (reads | looks) & self._quick[telling]]
        best = found[np.argsort(-bits[found] / self._itself[found], kind="stable")][:WITHIN]
        return best if first in best else np.append(best[: WITHIN - 1], first)

    def _at_best(self, bits: Array, first: int, extra: float, members: Array) -> float:
        """Bits a minute if no reading told what another tells; comparisons may tell more, and seldom do."""
        others = sorted((float(bits[k]) for k in members.tolist() if k != first), reverse=True)[: joint.MOST - 1]
        sums = np.cumsum([float(bits[first]), *others])
        return float((sums / np.maximum(extra + minutes.LOOK * np.arange(len(sums)), joint.LEAST_MINUTES)).max())

    def _grown(self, belief: Belief, columns: Array, offer: _Offer) -> tuple[joint.Together, float]:
        """What is read together, by places in the table, and what the first tells alone by its code."""
        members = offer.members.tolist()
        codes, first = self.table.outcomes.codes[np.ix_(offer.members, columns)], members.index(offer.first)
        found = joint.grown(
            belief, codes, self._itself[members], first, offer.minutes, self._differences(members, columns)
        )
        named = found._replace(members=tuple(members[place] for place in found.members))
        return named, joint.information(belief, codes[first : first + 1])

    def _differences(self, members: Sequence[int], columns: Array) -> dict[tuple[int, int], Array]:
        """The codes of comparisons, by the places of their two readings among the members."""
        place = {k: n for n, k in enumerate(members)}
        found = self.table.compared
        return {
            (place[a], place[b]): found.codes[number, columns]
            for number, (a, b) in enumerate(found.pairs.tolist())
            if a in place and b in place
        }

    def _belief(self, weighed: Weighed) -> tuple[Belief, Array]:
        """What is believed, and the variant whose codes each candidate shows.

        One that comes and goes does so for a whole set-up: it counts once as itself and once as the healthy machine.
        """
        believed = self.on_singles(weighed)
        rows = np.flatnonzero(believed > LIKELY)
        acting, repair_of = self.bench.singles.acting[rows], self.bench.singles.repair_of[rows]
        some = acting < 1
        probability = np.concatenate([believed[rows] * acting, (believed[rows] * (1 - acting))[some]])
        columns = np.concatenate([rows, np.zeros(int(some.sum()), np.intp)])
        return Belief(probability, np.concatenate([repair_of, repair_of[some]])), columns

    # ---- what is compared with what was read --------------------------------------------------------------

    def _beside_done(self, weighed: Weighed, state: JobState) -> Iterator[Scored]:
        """Readings of a thing whose like has been read: what their difference tells counts where it is more."""
        prices, allowed, compared = self.prices(weighed, state), self.allowed(state), self.table.compared
        for number, (a, b) in enumerate(compared.pairs.tolist()):
            done = [self.table.steps[k] in state.done for k in (a, b)]
            k = b if done[0] else a
            if any(done) and allowed[k]:
                found = table.Outcomes(*(array[number : number + 1] for array in compared[1:5]))
                told = max(self._bits(weighed, self.table.steps[k], found), self.bits(weighed, k))
                if told > score.LEAST_BITS:
                    yield Scored(self.table.steps[k], told, *prices.of(k))

    # ---- what would be made next --------------------------------------------------------------------------

    def further(self, weighed: Weighed, state: JobState, scored: Scored) -> tuple[Further, ...]:
        """The readings of the same set-up that would most probably be made next, one after the other.

        By codes, among the steps that tell most from where the first leaves the machine.
        """
        first = self.steps.place_of.get(scored.step)
        if first is None or not self._quick[first]:
            return ()
        after = taken.after(self.bench.machine, state, scored.step)
        prices, allowed = self.prices(weighed, after), self.allowed(after)
        bits = np.where(allowed, self.coarse(weighed)[: len(self.table.steps)], 0.0)
        members = self._members(state, first, bits, np.flatnonzero(bits > score.LEAST_BITS)).tolist()
        rivals = np.argsort(-bits / (prices.extra(slice(len(bits))) + joint.LEAST_MINUTES), kind="stable")
        weighed_up = np.array(list(dict.fromkeys([*members, *rivals[: 2 * WITHIN].tolist()])), np.intp)
        cost = np.maximum(prices.extra(weighed_up), joint.LEAST_MINUTES)
        return tuple(self._named(weighed, first, weighed_up, cost, set(members)))

    def _named(self, weighed: Weighed, first: int, places: Array, cost: Array, members: set[int]) -> Iterator[Further]:
        """Those of the members that would be made next; places: of all that is weighed up, at these minutes."""
        belief, columns = self._belief(weighed)
        codes, rivals = self.table.outcomes.codes[np.ix_(places, columns)].astype(np.int64), places.tolist()
        differences, made = self._differences(rivals, columns), [rivals.index(first)]
        labels = joint.joined(codes[made])
        while len(made) < joint.MOST:
            codes = joint.compared(codes, made[-1], differences)
            chance, _ = joint.made_next(belief, labels, codes, cost, ENOUGH, score.LEAST_BITS)
            best = int(np.argmax(chance))
            if chance[best] <= MADE_NEXT or rivals[best] not in members:
                return
            yield self._as_further(rivals[best], float(chance[best]), [rivals[place] for place in made])
            labels = joint.refined(labels, codes[best])
            made.append(best)

    def _as_further(self, k: int, probability: float, before: list[int]) -> Further:
        for number, other in self.table.compared.beside(k):
            if other in before:
                within = float(self.table.compared.within[number])
                return Further(self.table.steps[k], probability, self.table.steps[other], within)
        return Further(self.table.steps[k], probability)

    # ---- facts of the steps, worked out once --------------------------------------------------------------

    def _mask(self, bays: frozenset[str] | tuple[str, ...]) -> int:
        """Bays, and those in front of them, as the bits of a number."""
        behind = set(with_fronts(self.bench.machine, tuple(bays)))
        return sum(1 << number for number, bay in enumerate(self.bench.machine.bays) if bay in behind)

    @cached_property
    def _mask_of(self) -> Array:
        return np.array([self._mask(bays) for bays in self.steps.bays], np.int64)

    @cached_property
    def _conditions(self) -> dict[object, int]:
        known = dict.fromkeys(step.condition for step in self.table.steps if step.condition)
        return {at: number for number, at in enumerate(known)}

    @cached_property
    def _condition_of(self) -> Array:
        """(K,) the condition of each step by number; -1 where it says none."""
        return np.array([self._conditions.get(step.condition, -1) for step in self.table.steps], np.intp)

    @cached_property
    def _meter_of(self) -> Array:
        """(K,) the meter's function by number; -1 without a meter."""
        meters = [step.probe.meter if step.probe else "" for step in self.table.steps]
        numbers = {meter: number for number, meter in enumerate(dict.fromkeys(meters)) if meter}
        return np.array([numbers.get(meter, -1) for meter in meters], np.intp)

    @cached_property
    def _itself(self) -> Array:
        return np.array([pricing.ITSELF[step.kind] for step in self.table.steps])

    @cached_property
    def _quick(self) -> Array:
        """(K,) readings and looks in which nothing is shaken, heated or waited for."""
        provokes = (bool(step.condition and step.condition.provoke) for step in self.table.steps)
        kinds = (step.kind != "symptom" for step in self.table.steps)
        return np.array([quick and not way for quick, way in zip(kinds, provokes, strict=True)], bool)
