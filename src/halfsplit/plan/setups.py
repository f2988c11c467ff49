"""One step ahead with set-ups: quick readings and looks that want the same setting up, and two like things compared.

A set-up is one condition, one function of the meter, and nothing more to open than its first reading opens. Dear
set-ups in which much can be read for little are undervalued reading by reading. `Setups` says what else would be read,
and advises comparisons; `InSetups` lets a reading lead where all that is worth reading with it tells most a minute: no
better by rehearsal. Knows the adviser, the bays and how the machine stands; weighs nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.operate.condition import Condition
from halfsplit.plan import fitting, joint, pricing, score, shown, table, taken
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
"""Candidates below this share of all that the file says do not decide what is read together."""
MADE_NEXT = 0.5
"""A further reading is named where it would be made next more probably than this."""
FOLLOWED = 3
"""So many outcomes of a step, the likeliest, are followed to what would be advised then."""


class Further(NamedTuple):
    """A reading of the same set-up that would most probably be made next, and how probably.

    `beside`: the step before it with which it should be alike, and how far apart, relatively, two healthy ones lie.
    """

    step: Step
    probability: float
    beside: Step | None = None
    within: float = 0.0


class _Offer(NamedTuple):
    """A set-up: the place of its first reading, that one's minutes with setting up, and the places of all readings."""

    first: int
    minutes: float
    members: Array


class Setups(score.Adviser):
    """The adviser that also compares two like things, and knows what else would be read in a set-up."""

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
        found = {one.step: one for one in super().next_steps(weighed, state, count + score.LOOKED_AT)}
        for one in self._more(weighed, state, max((one.rate for one in found.values()), default=0.0)):
            if one.step not in found or one.rate > found[one.step].rate:
                found[one.step] = one
        return score.safest_first(sorted(found.values(), key=lambda one: -one.rate))[:count]

    def _more(self, weighed: Weighed, state: JobState, best: float) -> Iterator[Scored]:
        """What else is advised; best: bits a minute of the best single step."""
        yield from self._beside_done(weighed, state)
        yield from self._in_setups(weighed, state, self._pairs(weighed, state))

    def _pairs(self, weighed: Weighed, state: JobState) -> Iterator[_Offer]:
        """Two like things whose readings want the same set-up, as a step of its own."""
        allowed, prices = self.allowed(state), self.prices(weighed, state)
        for pair in self.table.compared.pairs:
            first, second = pair.tolist()
            if allowed[pair].all() and second in self._members(state, first, pair):
                yield _Offer(first, prices.of(first).extra, pair)

    # ---- what is read together ----------------------------------------------------------------------------

    def _in_setups(self, weighed: Weighed, state: JobState, offers: Iterable[_Offer]) -> Iterator[Scored]:
        """The first steps of these set-ups, each with what is worth reading with it; none that is best read alone."""
        prices, steps = self.prices(weighed, state), self.table.steps
        for offer in offers if self.on_singles(weighed).any() else ():
            found, alone = self._grown(weighed, offer)
            if len(found.members) > 1:
                told = self.bits(weighed, offer.first)
                made = Setup(tuple(steps[k] for k in found.members), told + found.bits - alone, found.minutes)
                yield Scored(steps[offer.first], told, *prices.of(offer.first), made)

    def _members(self, state: JobState, first: int, offered: Array) -> Array:
        """Of the places offered, those that want nothing more than the first has set up."""
        after = taken.after(self.bench.machine, state, self.table.steps[first])
        at = self._conditions.get(after.condition, -2)
        masks, conditions, meters = self._mask_of[offered], self._condition_of[offered], self._meter_of[offered]
        here = (masks & ~self._mask(after.open_bays)) == 0
        reads = (conditions == at) & ((meters == self._meter_of[first]) | (self._meter_of[first] < 0))
        looks = (conditions < 0) & (after.isolated | (masks == 0))
        return np.asarray(offered[here & (reads | looks) & self._quick[offered]])

    def _best_members(self, state: JobState, first: int, bits: Array, telling: Array) -> Array:
        """Those of its set-up that tell most a minute, the first among them."""
        found = self._members(state, first, telling)
        best = found[np.argsort(-bits[found] / self._itself[found], kind="stable")][:WITHIN]
        return best if first in best else np.append(best[: WITHIN - 1], first)

    def _grown(self, weighed: Weighed, offer: _Offer) -> tuple[joint.Together, float]:
        """What is read together, by places in the table, and what the first tells alone by its code."""
        members = offer.members.tolist()
        belief, itself, showing = self._belief(weighed, self.table.steps[offer.first].condition)
        codes, first = self._codes(offer.members, itself, showing), members.index(offer.first)
        found = joint.grown(
            belief, codes, self._itself[members], first, offer.minutes, self._differences(members, showing)
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

    def _belief(self, weighed: Weighed, at: Condition | None) -> tuple[Belief, Array, Array]:
        """What is believed in a set-up of a condition; the variant that each candidate is, and the one that it shows.

        One that comes and goes does so for a whole set-up: it counts once as itself, and once as the healthy machine.
        """
        believed = self.on_singles(weighed)
        rows = np.flatnonzero(believed > LIKELY * believed.sum())
        acting, repair_of = weighed.acting(at)[rows], self.bench.singles.repair_of[rows]
        some = acting < 1
        probability = np.concatenate([believed[rows] * acting, (believed[rows] * (1 - acting))[some]])
        showing = np.concatenate([rows, np.zeros(int(some.sum()), np.intp)])
        belief = Belief(probability, np.concatenate([repair_of, repair_of[some]]))
        return belief, np.concatenate([rows, rows[some]]), showing

    def _codes(self, places: Array, itself: Array, showing: Array) -> Array:
        """(n, S) codes of some steps: of a reading as the candidates show, of a look as they are, for a mark stays."""
        codes = self.table.outcomes.codes[places]
        looks = np.array([self.table.steps[k].kind == "look" for k in places.tolist()], bool)
        return np.where(looks[:, None], codes[:, itself], codes[:, showing])

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

    def further(self, weighed: Weighed, state: JobState, scored: Scored) -> Iterator[Further]:
        """The readings of the same set-up that would most probably be made next, one after the other.

        Each outcome that is likely enough is weighed and advised upon, as it would be; after it the likeliest one is
        followed. Where a step was advised for what its set-up tells, as two like things are, that comes first.
        """
        step, chance = scored.step, 1.0
        planned, made = list(scored.setup.steps[1:] if scored.setup else ()), [scored.step]
        while len(made) < joint.MOST and step in self.steps.place_of:
            after = taken.after(self.bench.machine, state, step)
            votes, likeliest = self._votes(weighed, after, step)
            best = planned.pop(0) if planned else max(votes, key=lambda one: votes[one], default=None)
            probability = chance * votes.get(best, 0.0) if best else 0.0
            wanted = best is not None and scored.setup is not None and best in scored.setup.steps
            if best is None or not self._in_reach(state, step, best) or not (wanted or probability > MADE_NEXT):
                return
            yield self._as_further(best, probability, made)
            if likeliest is None:
                return
            chance *= likeliest.probability
            weighed = self.bench.weigh([*weighed.findings, likeliest.finding], with_pairs=False)
            state, step = after, best
            made.append(best)

    def _votes(self, weighed: Weighed, after: JobState, step: Step) -> tuple[dict[Step, float], shown.Outcome | None]:
        """How probably each step would be advised after this one, and its likeliest outcome."""
        outcomes = sorted(shown.outcomes(weighed, step), key=lambda one: -one.probability)[:FOLLOWED]
        votes: dict[Step, float] = {}
        for outcome in outcomes:
            then = self.bench.weigh([*weighed.findings, outcome.finding], with_pairs=False)
            best = [] if then.enough[0] else fitting.next_steps(self, then, after)
            if best:
                votes[best[0].step] = votes.get(best[0].step, 0.0) + outcome.probability
        return votes, next(iter(outcomes), None)

    def _in_reach(self, state: JobState, first: Step, step: Step) -> bool:
        """Whether a step wants nothing more than the one before it has set up."""
        places = [self.steps.place_of.get(one) for one in (first, step)]
        if None in places:
            return False
        before, then = (place for place in places if place is not None)
        return bool(len(self._members(state, before, np.array([then]))))

    def _as_further(self, step: Step, probability: float, before: list[Step]) -> Further:
        for number, other in self.table.compared.beside(self.steps.place_of[step]):
            if self.table.steps[other] in before:
                within = float(self.table.compared.within[number])
                return Further(step, probability, self.table.steps[other], within)
        return Further(step, probability)

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


class InSetups(Setups):
    """Ranks every step by all that is worth reading in its set-up."""

    def _more(self, weighed: Weighed, state: JobState, best: float) -> Iterator[Scored]:
        yield from super()._more(weighed, state, best)
        bits = np.where(self.allowed(state) & self._quick, self.coarse(weighed)[: len(self.table.steps)], 0.0)
        offers = [(self._at_best(bits, offer), offer) for offer in self._offers(weighed, state, bits)]
        worth = sorted((pair for pair in offers if pair[0] > best), key=lambda pair: -pair[0])
        yield from self._in_setups(weighed, state, (offer for _, offer in worth[:GROWN]))

    def _offers(self, weighed: Weighed, state: JobState, bits: Array) -> Iterator[_Offer]:
        """Every set-up, begun with the reading that tells most by its code."""
        telling = np.flatnonzero(bits > score.LEAST_BITS)
        opened = self._mask(state.open_bays)
        begun: dict[tuple[int, int, int], int] = {}
        for k in telling[np.argsort(-bits[telling], kind="stable")].tolist():
            begun.setdefault((self._condition_of[k], self._meter_of[k], int(self._mask_of[k]) & ~opened), k)
        prices = self.prices(weighed, state)
        for first in begun.values():
            yield _Offer(first, prices.of(first).extra, self._best_members(state, first, bits, telling))

    def _at_best(self, bits: Array, offer: _Offer) -> float:
        """Bits a minute if no reading told what another tells; comparisons may tell more, and seldom do."""
        others = sorted((float(bits[k]) for k in offer.members.tolist() if k != offer.first), reverse=True)
        sums = np.cumsum([float(bits[offer.first]), *others[: joint.MOST - 1]])
        spent = offer.minutes + minutes.LOOK * np.arange(len(sums))
        return float((sums / np.maximum(spent, joint.LEAST_MINUTES)).max())
