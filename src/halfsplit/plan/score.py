"""One step ahead: the most expected information about which repair is due, per minute.

Knows the table of steps, the posterior and what steps cost from where things stand. The real planner looks
further; it takes the same table and the same posterior.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import islice
from typing import NamedTuple

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence import outcome
from halfsplit.evidence.slips import SLIP
from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.plan import barring, powering, pricing, steps, table, worth
from halfsplit.plan.latest import latest
from halfsplit.plan.likely import Likely
from halfsplit.predict.candidates import PROVOKED, Candidates
from halfsplit.work import minutes
from halfsplit.work.prices import price_together
from halfsplit.work.state import JobState

LOOKED_AT = 24
"""So many of the best steps by code, questions not among them, are scored by density."""
DEAD_LOOKED_AT = 4
"""So many of the best dead steps are always among them: on a live machine that stands open every reading of volts costs
less, and there would be none that could come before danger."""
QUESTIONS_LOOKED_AT = 6
"""So many questions to the owner, beside them."""
LEAST_BITS = 0.02
"""A step that tells less is not worth a sentence."""
ODD_MUST_BE_BETTER = 2.0
"""Leads go between two places that nothing joins only where that tells so many times more a minute than the best
reading that a repairer would trust. Halfsplit's choice, no source."""
ODD_LOOKED_AT = 3
"""So many of the best odd steps by code are scored by density."""
PROVOKING_LOOKED_AT = 8
"""So many of the steps likeliest to bring out a fault that comes and goes are scored by density."""
LEAST_BROUGHT_OUT = 0.01
"""A step that brings something out less often is not looked at for that."""
DECIMALS = 9
"""Rates that agree so far are alike, and the order of the table decides: the last bits of a sum are not the same on all
machines, nor from what was kept."""
NEARLY = 0.9
"""A step that tells so much a minute, of what the best one does, is nearly as good. Halfsplit's choice, no source."""
GLANCE = 0.2
"""What a glance at the display takes in: deviation of ln(reading), so that 0 against OL and whole volts are told apart,
9.6 against 10.4 ohms are not. Halfsplit's choice, no source."""
UNLIKELY = 1e-5
"""Variants below this probability are left out of a step's density."""


class Setup(NamedTuple):
    """Readings of two like things, in order, that are compared: joint bits, and minutes as `Scored.extra`."""

    steps: tuple[steps.Step, ...]
    bits: float
    minutes: float


@dataclass(frozen=True)
class Scored:
    """A step with what it is expected to tell (bits about the repair) and what it costs."""

    step: steps.Step
    bits: float
    cost: minutes.Cost
    extra: float
    """Minutes beyond what the repair will take in any case: a bay that it lies in has to be opened anyway."""
    setup: Setup | None = None
    """What it is compared with, where that tells more a minute than the step alone."""
    order: worth.Order | None = None
    """Of the step that leads, where it is live or a live one waits that would tell more a minute: what was compared."""

    @property
    def rate(self) -> float:
        """Bits a minute, of the extra ones, as a comparison where it is one; an odd step counts for less."""
        if self.setup:
            return self.setup.bits / max(self.setup.minutes, worth.LEAST_MINUTES)
        return self.bits / max(self.extra, worth.LEAST_MINUTES) / (ODD_MUST_BE_BETTER if self.step.odd else 1.0)

    def settling(self, lacking: float) -> float:
        """Minutes until so many bits would be known by steps like this: bays are opened, the power is changed, once."""
        cost = self.cost
        once = cost.opening + cost.closing + cost.power + cost.gas + cost.discharging + cost.cooling
        minutes_each = cost.minutes - once
        told = self.rate * max(self.extra, worth.LEAST_MINUTES)
        return max(self.extra - minutes_each, 0.0) + minutes_each * max(lacking / told, 1.0)


class Adviser:
    """The steps of one machine, ready to be scored job after job."""

    def __init__(self, bench: Bench, compiled: table.Table | None = None) -> None:
        self.bench = bench
        self.table = compiled or table.of_machine(bench)
        self.steps = pricing.Grouped(bench.machine, self.table.steps, self.table.odd)

    @cached_property
    def _row_of(self) -> dict[tuple[int, ...], int]:
        """The first variant of each single fault."""
        return {v.faults: s for s, v in reversed(list(enumerate(self.bench.singles.variants)))}

    def next_steps(self, weighed: Weighed, state: JobState, count: int = 1) -> list[Scored]:
        """The best steps, best first; none where nothing tells anything more."""
        prices, allowed = self.prices(weighed, state), self.allowed(state)
        bits = self.coarse(weighed)
        usual = len(self.table.steps)
        usually = np.where(allowed, bits[:usual], 0.0)
        rate = np.round(usually / (prices.extra(slice(usual)) + worth.LEAST_MINUTES), DECIMALS)
        best = self.steps.best(rate, LOOKED_AT, QUESTIONS_LOOKED_AT)
        dead = self.steps.best(np.where(self.steps.live, 0.0, rate), DEAD_LOOKED_AT, 0)
        order = list(dict.fromkeys([*best, *dead, *self.provoking(weighed, prices, allowed)]))
        scored = [Scored(self.table.steps[k], self.bits(weighed, k), *prices.of(k)) for k in order]
        scored += self._odd(weighed, prices, bits[usual:], float(rate.max(initial=0.0)))
        telling = [s for s in scored if s.bits > LEAST_BITS]
        return self.ranked(weighed, telling)[:count]

    def ranked(self, weighed: Weighed, scored: Iterable[Scored]) -> list[Scored]:
        """Best first: by what each tells a minute; of those nearly as good as the best, what is read safely first; and
        dead before live where that takes little longer."""
        ordered = sorted(scored, key=lambda s: -round(s.rate, DECIMALS))
        near = [s for s in ordered if s.rate >= NEARLY * ordered[0].rate]
        if len(near) > 1:
            near.sort(key=lambda s: -self._at_a_glance(weighed, s))
        return safest_first(weighed, [*near, *ordered[len(near) :]])

    def _at_a_glance(self, weighed: Weighed, one: Scored) -> float:
        """Bits a minute of what a person reads safely: fine differences of one reading count for nothing."""
        k = self.steps.place_of.get(one.step)
        if one.step.kind != "reading" or one.setup or k is None:
            return one.rate
        found = self.table.outcomes.take([k])
        blurred = replace(found, spread=np.hypot(found.spread, GLANCE))
        return one.rate * self._bits(weighed, one.step, blurred) / one.bits

    def knows_enough(self, weighed: Weighed) -> bool:
        """Whether one set of repairs is so likely that no further step is even weighed."""
        return weighed.likeliest[1] >= worth.SURE

    def in_order(self, weighed: Weighed, _state: JobState, left: Sequence[Scored]) -> list[Scored]:
        """What is left of the best steps, once those are gone that do not fit here: one that had to stand back for what
        is gone leads again."""
        return self.ranked(weighed, left)

    def pays(self, weighed: Weighed, advised: Scored, to_see: float = 0.0) -> bool:
        """Whether a step still pays, by itself or as a comparison (see `worth`). to_see: as for `stakes`."""
        extra, spared = self.stakes(weighed, advised, to_see)
        return extra <= spared

    def stakes(self, weighed: Weighed, advised: Scored, to_see: float = 0.0) -> tuple[float, float]:
        """The minutes of a step beyond those of the repair, and those that it is expected to spare; by itself or as a
        comparison, whichever pays better. to_see [min]: what seeing the complaint before the repair would take, which
        is spared where the step shows something wrong."""
        ways = [(advised.extra, advised.bits)]
        ways += [(advised.setup.minutes, advised.setup.bits)] if advised.setup else []
        repairs, probability = weighed.likeliest
        wasted, lacking = self.wasted(repairs), unsure(weighed)
        seeing = to_see * self._shows_wrong(weighed, advised.step) if to_see else 0.0
        both = ((extra, worth.spares(bits, lacking, 1 - probability, wasted) + seeing) for extra, bits in ways)
        return max(both, key=lambda one: one[1] - one[0])

    def _shows_wrong(self, weighed: Weighed, step: steps.Step) -> float:
        """Probability, by code, that the repairer finds in this step what no healthy machine shows; the owner's word is
        none."""
        if step.asks:
            return 0.0
        k = self.steps.place_of.get(step)
        found = table.outcomes_of(self.bench.predictor, step) if k is None else self.table.outcomes.take([k])
        return float(self.on_singles(weighed)[found.codes[0] != found.codes[0, 0]].sum())

    def wasted(self, repairs: Sequence[str]) -> float:
        """Minutes that these repairs are taken to cost, were they wrong, where it is asked whether a step pays."""
        known, machine = self.bench.repairs, self.bench.machine
        price = price_together([known[name] for name in repairs], machine.handwork.hourly, machine.van)
        return worth.wrong_repair(price.minutes)

    @latest
    def prices(self, weighed: Weighed, state: JobState) -> pricing.Prices:
        """What the steps cost from here, the trusted ones first; what the repair will have open anyway is not extra."""
        anyway = pricing.needed_anyway(self.bench.machine, state, weighed.by_repair, self.bench.repairs)
        return self.steps.priced(state, anyway)

    def allowed(self, state: JobState) -> Array:
        """(K,) the trusted steps that can be done, and were neither done nor refused."""
        return self.steps.allowed(state)

    # ---- what comes and goes ------------------------------------------------------------------------------

    def provoking(self, weighed: Weighed, prices: pricing.Prices, allowed: Array) -> list[int]:
        """The steps that are likeliest a minute to bring out a fault that comes and goes, which codes do not see."""
        rows, shows = self._brought_out
        chance = shows @ self.on_singles(weighed).astype(np.float32)
        usable = allowed[rows] & (chance > LEAST_BROUGHT_OUT)
        rate = np.where(usable, chance / np.maximum(prices.extra(rows), worth.LEAST_MINUTES), 0.0)
        return [int(rows[n]) for n in np.argsort(-rate, kind="stable")[:PROVOKING_LOOKED_AT] if rate[n] > 0]

    def brings_out(self, believed: Array, state: JobState) -> tuple[steps.Step, Array] | None:
        """The dead step likeliest a minute to bring out what is believed (S,) to come and go, and what that leaves.

        It is asked for before the covers close, so that no load of the supply is among them.
        """
        rows, shows = self._brought_out
        dead = np.array([not self.table.steps[k].live for k in rows.tolist()], bool)
        rows, shows = rows[dead], shows[dead]
        chance = np.where(self.allowed(state)[rows], shows @ believed.astype(np.float32), 0.0)
        if not chance.max(initial=0.0) > LEAST_BROUGHT_OUT * believed.sum():
            return None
        best = int(np.argmax(chance / np.maximum(self.steps.priced(state).extra(rows), worth.LEAST_MINUTES)))
        return self.table.steps[int(rows[best])], believed * (1 - PROVOKED * shows[best])

    @cached_property
    def _brought_out(self) -> tuple[Array, Array]:
        """The steps in which something is provoked, and (rows, S) the variants that each would show by that."""
        ways = [step.condition.provoke if step.condition else "" for step in self.table.steps]
        rows = np.array([k for k, way in enumerate(ways) if way], np.intp)
        codes = self.table.outcomes.codes[rows]
        acting = {way: self.bench.singles.acting_when(way) > self.bench.singles.acting for way in set(ways)}
        brought_out = np.array([acting[ways[k]] for k in rows.tolist()], bool).reshape(codes.shape)
        return rows, ((codes != codes[:, :1]) & brought_out).astype(np.float32)

    # ---- odd steps ----------------------------------------------------------------------------------------

    def _odd(self, weighed: Weighed, prices: pricing.Prices, bits: Array, usual_rate: float) -> list[Scored]:
        """The odd steps that by code tell so much more a minute than the trusted ones that they are worth it."""
        least = usual_rate * ODD_MUST_BE_BETTER
        at_least = self.bench.machine.handwork.reading + worth.LEAST_MINUTES
        numbers = np.flatnonzero((bits > LEAST_BITS) & (bits / at_least > least))
        if not len(numbers):
            return []
        places = numbers + len(self.table.steps)
        rate = bits[numbers] / (prices.extra(places) + worth.LEAST_MINUTES)
        best = [n for n in np.argsort(-rate, kind="stable").tolist() if rate[n] > least]
        no = prices.state.refused | prices.state.done
        chosen = ((self.table.odd.step(int(numbers[n])), prices.of(int(places[n]))) for n in best)
        fitting = (pair for pair in chosen if pair[0] not in no and self._fits(prices.state, pair[0]))
        return [
            Scored(step, self._bits(weighed, step, table.outcomes_of(self.bench.predictor, step)), *price)
            for step, price in islice(fitting, ODD_LOOKED_AT)
        ]

    def _fits(self, state: JobState, step: steps.Step) -> bool:
        machine = self.bench.machine
        return powering.possible(machine, step) and not barring.bars(machine, state, step)

    # ---- coarse -------------------------------------------------------------------------------------------

    def coarse(self, weighed: Weighed) -> Array:
        """Bits by code, every step, the odd ones last."""
        return self.table.partition.score(self.on_singles(weighed))

    @latest
    def on_singles(self, weighed: Weighed) -> Array:
        """The posterior of the single faults, as they show now; a pair's probability counts half for each of its
        faults."""
        singles = len(self.bench.singles.variants)
        every = weighed.posterior.probability
        if weighed.left is not None:
            every = np.asarray(np.bincount(weighed.left, every, minlength=len(every)), np.float64)
        posterior = every[:singles].copy()
        for variant, probability in zip(weighed.candidates.variants[singles:], every[singles:], strict=True):
            for fault in variant.faults:
                posterior[self._row_of[(fault,)]] += probability / len(variant.faults)
        posterior.flags.writeable = False
        return np.asarray(posterior)

    def _with_pairs(self, candidates: Candidates, of_singles: Array, codes: Array) -> Array:
        """Outcomes (K, S) with those of pairs added: the first fault's where its code is not the healthy one's.

        Else the second's. An approximation for choosing steps; what was found is weighed against the pair itself.
        """
        first, second = self._of_pairs(candidates)
        if not first.size:
            return of_singles
        of_pairs = np.where(codes[:, first] != codes[:, :1], of_singles[:, first], of_singles[:, second])
        return np.concatenate([of_singles, of_pairs], axis=1)

    @latest
    def _of_pairs(self, candidates: Candidates) -> tuple[Array, Array]:
        """(P,), (P,) rows of the first and of the second fault of each pair."""
        pairs = candidates.variants[len(self.bench.singles.variants) :]
        first, second = (np.array([self._row_of[(v.faults[which],)] for v in pairs], np.intp) for which in (0, 1))
        return first, second

    # ---- by density ---------------------------------------------------------------------------------------

    def bits(self, weighed: Weighed, k: int) -> float:
        """Mutual information of the k-th step's outcome and the repair, spread and slips included."""
        return self._bits(weighed, self.table.steps[k], self.table.outcomes.take([k]))

    def _bits(self, weighed: Weighed, step: steps.Step, found: table.Outcomes) -> float:
        few = self._likely(weighed)
        if not few.rows.size:  # something that the file does not say, for sure
            return 0.0
        ways = few.ways(step)
        outcomes, row_of = self._outcome_of(weighed, step, found, ways.rows)
        return outcome.information(ways.chance, ways.repair_of, outcomes, row_of[ways.place])

    @latest
    def _likely(self, weighed: Weighed) -> Likely:
        return Likely(weighed, weighed.posterior.probability, weighed.candidates.repair_of, UNLIKELY)

    def _outcome_of(
        self, weighed: Weighed, step: steps.Step, found: table.Outcomes, rows: Array
    ) -> tuple[Array, Array]:
        """(D, outcomes) probabilities of a step with these outcomes of single faults (1, S), and (rows,) which of them
        each row shows."""
        every = np.arange(len(rows))
        if step.kind == "look":
            return np.asarray(weighed.predictor.look(step.at, step.closely)[1][rows]), every
        mean, spread, over = (
            self._with_pairs(weighed.candidates, array, found.codes)[0, rows].astype(float)
            for array in (found.mean, found.spread, found.over)
        )
        if step.perceived:
            return np.column_stack([1 - mean, mean]), every
        weight = np.maximum(weighed.posterior.probability[rows], UNLIKELY)
        one, place = outcome.same(mean, spread, over)
        return outcome.outcome_bins(outcome.sums(place, weight, 0), mean[one], spread[one], over[one], SLIP), place


def safest_first(weighed: Weighed, scored: list[Scored]) -> list[Scored]:
    """The best dead step leads unless dead ones would take much longer to settle which repair is due than live ones.

    How long is told by the best step of each kind; not by a question where there is another dead step: there are not
    many like it, and by themselves they settle little. The other one stands next, should the question not fit here.
    """
    scored = [replace(s, order=None) if s.order else s for s in scored]  # others led before
    dead, lacking = [s for s in scored if not s.step.live], unsure(weighed)
    measure = next((s for s in dead if not s.step.asks), next(iter(dead), None))
    if not scored:
        return []
    dead_only = measure.settling(lacking) if measure else None
    order = worth.order(dead_only, scored[0].settling(lacking))
    if measure is None or not order.waits:
        return [_in_order(scored[0], scored[0], order), *scored[1:]]
    first = [dead[0], measure] if measure is not dead[0] else [measure]
    others = [s for s in scored if not any(s is one for one in first)]
    return [_in_order(first[0], scored[0], order), *first[1:], *others]


def _in_order(first: Scored, quickest: Scored, order: worth.Order) -> Scored:
    """The step that leads, with what was compared where danger has a say in that."""
    says = first.step.live or (quickest.step.live and quickest.rate > first.rate)
    return replace(first, order=order) if says else first


def unsure(weighed: Weighed) -> float:
    """What is lacking of which repair is due, in bits."""
    chances = np.array([*weighed.by_repair.values(), weighed.unexplained])
    return float(-(chances * np.log2(np.maximum(chances, 1e-12))).sum())
