"""One step ahead, with comparisons of two like things; and what else would be read while a set-up stands.

A set-up is one condition, one function of the meter, and nothing more to open than its first reading opens. A set-up
does not lead: ranking steps by all that could be read with them gained nothing (docs/explanation/set-ups.md). Knows the
adviser, the bays and how the machine stands; weighs nothing itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from halfsplit.evidence.outcome import joint_information
from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.plan import fitting, score, shown, steps, table, taken, worth
from halfsplit.plan.latest import latest
from halfsplit.plan.likely import Likely
from halfsplit.plan.pricing import Prices
from halfsplit.plan.score import Scored, Setup
from halfsplit.plan.steps import Step
from halfsplit.work import minutes
from halfsplit.work.state import JobState, to_open

if TYPE_CHECKING:
    from halfsplit.plan.ahead import Ahead

MOST = 4
"""So many readings of one set-up are told at once: what a person keeps in mind; common practice, no source."""
LIKELY = 1e-4
"""Candidates below this share of all that the file says do not decide whether two things are compared."""
MADE_NEXT = 0.5
"""A reading alongside is named where it would be made next more probably than this."""
FOLLOWED = 3
"""So many outcomes of a step, the likeliest, are followed to what would be advised then."""


class Alongside(NamedTuple):
    """A reading or look of the same set-up that would most probably be made next, and how probably.

    `beside`: the step before it with which it should be alike, and how far apart, relatively, two healthy ones lie.
    """

    step: Step
    probability: float
    beside: Step | None = None
    within: float = 0.0


class Setups(score.Adviser):
    """The adviser that also compares two like things, and knows what else would be read in a set-up."""

    def next_steps(self, weighed: Weighed, state: JobState, count: int = 1) -> list[Scored]:
        """The best steps, best first; a comparison leads where it tells more a minute than its first reading alone."""
        found = {one.step: one for one in super().next_steps(weighed, state, count + score.LOOKED_AT)}
        for one in self._comparisons(weighed, state):
            if one.step not in found or one.rate > found[one.step].rate:
                found[one.step] = one
        return self.ranked(weighed, found.values())[:count]

    def in_order(self, weighed: Weighed, state: JobState, left: Sequence[Scored]) -> list[Scored]:
        """As by estimates; but a live step leads only where the planner that looks many steps ahead does not bar it
        (`Ahead.let_lead`)."""
        ordered = super().in_order(weighed, state, left)
        if not ordered or not ordered[0].step.live or self.knows_enough(weighed):
            return ordered
        return self.far_sighted(self.bench).let_lead(weighed, state, ordered)

    @latest
    def far_sighted(self, _bench: Bench) -> Ahead:
        """The adviser of the same machine that looks many steps ahead: another one once a repair has made another
        bench (`plan/renewed`)."""
        return far_sighted(self)

    # ---- comparisons --------------------------------------------------------------------------------------

    def _comparisons(self, weighed: Weighed, state: JobState) -> Iterator[Scored]:
        """Two like things as one step; none where nothing that the file says explains the findings."""
        if not len(self.table.compared.pairs) or not self.on_singles(weighed).any():
            return
        allowed, prices = self.allowed(state), self.prices(weighed, state)
        for number, (a, b) in enumerate(self.table.compared.pairs.tolist()):
            if allowed[a] and allowed[b]:
                yield from self._both(weighed, state, number, prices)
            for read, other in ((a, b), (b, a)):
                if self.table.steps[read] in state.done and allowed[other]:
                    yield from self._other(weighed, number, other, prices)

    def _both(self, weighed: Weighed, state: JobState, number: int, prices: Prices) -> Iterator[Scored]:
        """Both readings of a comparison, where the second tells more a minute than the first."""
        a, b = self.table.compared.pairs[number].tolist()
        pair = self.table.steps[a], self.table.steps[b]
        if not self.in_reach(state, *pair):
            return
        ways = self._believed(weighed).ways(pair[0])
        shows = ways.rows[ways.place]
        codes = np.stack([*self.table.outcomes.codes[[a, b]], self.table.compared.codes[number]])[:, shows]
        alone, both = (joint_information(ways.chance, ways.repair_of, some) for some in (codes[:1], codes))
        added, more = both - alone, minutes.itself(self.bench.machine, "reading")
        price = prices.of(a)
        if added / more > alone / max(price.extra, worth.LEAST_MINUTES):
            told = self.bits(weighed, a)
            yield Scored(pair[0], told, *price, Setup(pair, told + added, price.extra + more))

    def _other(self, weighed: Weighed, number: int, k: int, prices: Prices) -> Iterator[Scored]:
        """The reading of a thing whose like has been read: the difference counts where it tells more."""
        compared = self.table.compared
        found = table.Outcomes(*(array[number : number + 1] for array in compared[1:5]))
        told = max(self._bits(weighed, self.table.steps[k], found), self.bits(weighed, k))
        if told > score.LEAST_BITS:
            yield Scored(self.table.steps[k], told, *prices.of(k))

    @latest
    def _believed(self, weighed: Weighed) -> Likely:
        """The single faults that decide whether two things are compared.

        One that comes and goes does so for a whole set-up: it counts once as itself, and once as the healthy machine.
        """
        believed = self.on_singles(weighed)
        return Likely(weighed, believed, self.bench.singles.repair_of, LIKELY * float(believed.sum()))

    # ---- what would be made next --------------------------------------------------------------------------

    def alongside(self, weighed: Weighed, state: JobState, scored: Scored) -> Iterator[Alongside]:
        """The readings of the same set-up that would most probably be made next, one after the other.

        Each outcome that is likely enough is weighed and advised upon, as it would be; after it the likeliest one is
        followed. The second reading of a comparison comes first. A question sets nothing up.
        """
        if scored.step.asks:
            return
        step, chance, made = scored.step, 1.0, [scored.step]
        planned = list(scored.setup.steps[1:] if scored.setup else ())
        while len(made) < MOST:
            after = taken.after(self.bench.machine, state, step)
            votes, likeliest = self._votes(weighed, state, step, 0.0 if planned else MADE_NEXT / chance)
            best = planned.pop(0) if planned else max(votes, key=lambda one: votes[one], default=None)
            probability = chance * votes.get(best, 0.0) if best else 0.0
            is_planned = bool(scored.setup) and len(made) == 1
            if best is None or not (is_planned or probability > MADE_NEXT):
                return
            yield self._as_alongside(best, probability, made)
            if likeliest is None:
                return
            chance *= likeliest.probability
            weighed = self.bench.weigh([*weighed.findings, likeliest.finding], with_pairs=False)
            state, step = after, best
            made.append(best)

    def _votes(
        self, weighed: Weighed, state: JobState, step: Step, least: float
    ) -> tuple[dict[Step, float], shown.Outcome | None]:
        """How probably each step in reach would be advised after this one, and its likeliest outcome.

        Ends early once none can get more than `least`.
        """
        after = taken.after(self.bench.machine, state, step)
        outcomes = sorted(shown.outcomes(weighed, step), key=lambda one: -one.probability)[:FOLLOWED]
        votes: dict[Step, float] = {}
        left = sum(outcome.probability for outcome in outcomes)
        for outcome in outcomes:
            if max(votes.values(), default=0.0) + left <= least:
                return {}, None
            then = self.bench.weigh([*weighed.findings, outcome.finding], with_pairs=False)
            best = [] if fitting.sure(then) else fitting.next_steps(self, then, after)
            if not fitting.settled(self, then, after, best) and self.in_reach(state, step, best[0].step):
                votes[best[0].step] = votes.get(best[0].step, 0.0) + outcome.probability
            left -= outcome.probability
        return votes, next(iter(outcomes), None)

    def in_reach(self, state: JobState, first: Step, step: Step) -> bool:
        """Whether a step wants nothing more than the one before it has set up; nothing shaken or heated, and nothing
        run but what runs already."""
        if first.condition and first.condition.in_hot_air:
            return False  # it has to cool first
        machine, after = self.bench.machine, taken.after(self.bench.machine, state, first)
        bays = steps.bays_needed(machine, step)
        if step not in self.steps.place_of or to_open(machine, after, bays):
            return False
        if step.kind == "look":
            return after.isolated or not bays
        if step.probe is None or after.condition is None:
            return False
        stands = step.condition in (after.condition, after.condition.still)
        return stands and (first.probe is None or first.probe.meter == step.probe.meter)

    def _as_alongside(self, step: Step, probability: float, before: list[Step]) -> Alongside:
        for number, other in self.table.compared.beside(self.steps.place_of[step]):
            if self.table.steps[other] in before:
                within = float(self.table.compared.within[number])
                return Alongside(step, probability, self.table.steps[other], within)
        return Alongside(step, probability)


def far_sighted(asked: score.Adviser) -> Ahead:
    """The adviser of the same machine that looks many steps ahead."""
    from halfsplit.plan.ahead import Ahead  # all that searches: 20 ms that one diagnosis has not

    return Ahead(asked)
