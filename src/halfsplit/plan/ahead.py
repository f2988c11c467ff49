"""Many steps ahead: the planner of arrays (`advise`) joined to a real machine, its posterior and its bays.

Knows the table of steps, the posterior and what things cost; searches nothing itself. What is found is weighed by the
posterior with slips and spread; within the search a reading shows what it would show without a slip.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence import outcome, well
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import advise, fitting, options, outlook, owner, score, states, worth
from halfsplit.plan.latest import latest
from halfsplit.plan.score import Scored
from halfsplit.plan.steps import Step, in_groups
from halfsplit.plan.table import Outcomes, joined, outcomes_of
from halfsplit.plan.view import Seen, View, Way, of_job
from halfsplit.predict import moments
from halfsplit.work.state import JobState, to_open

STEPS = 30
"""Steps followed into the future: the best by what they tell per minute, the best behind each unopened bay, and some
questions to the owner."""
LEAST_BITS = 1e-3
"""A step that tells less by its code is not followed."""
LEAST_ALIKE, MOST_CLOSER = 2e-3, 40
"""Variants alike in all steps followed are parted by further ones from this probability on; so many such steps."""
SHOWN, SHOWS_LATER = 0.9, 0.05
"""Chance of what comes and goes from which it has shown in a set-up; share of its chance left where it has not."""
HEALTHY = 0
"""The variant that is the healthy machine."""
USUAL = 4
"""So many of the steps that one step ahead advises are priced."""
ODD_AMONG = 32
"""The odd steps among so many that one step ahead advises are followed too."""


@dataclass(frozen=True)
class Planned:
    """The way advised, the others cheapest first, and how it was found (see `options`). `usual`: the steps of one step
    ahead that were priced too; one that is no way costs surely so much more (`advise.NEAR`) that it was given up.
    `order`: what was compared where the way is live, or a live one waits; `bars_live`: the way holds no live step, and
    none was priced beside it (`advise`)."""

    way: Way
    others: tuple[Way, ...]
    how: str
    nodes: int
    usual: tuple[Step, ...] = ()
    order: worth.Order | None = None
    bars_live: bool = False


class Ahead(score.Adviser):
    """The adviser that looks many steps ahead; it takes the same table and the same posterior."""

    def __init__(self, adviser: score.Adviser, limits: options.Limits = advise.LIMITS) -> None:
        super().__init__(adviser.bench, adviser.table)
        self.limits = limits
        self._usual = self.table.partition.first(len(self.table.steps))
        self._fit_alike = in_groups(map(fitting.fits_alike, self.table.steps))

    def next_steps(self, weighed: Weighed, state: JobState, count: int = 1) -> list[Scored]:
        """The best steps, best first, then those of one step ahead; none where a repair is expected to cost less."""
        planned = self.plan(weighed, state)
        if planned.way.step is None:
            return []
        steps = [way.step for way in (planned.way, *planned.others) if way.step]
        known = {one.step: one for one in self._one_step_ahead(weighed, state)}
        ordered = list(dict.fromkeys([*steps, *known]))[:count]
        made = (replace(known.get(step) or self._scored(weighed, state, step), order=None) for step in ordered)
        return [replace(one, order=None if n else planned.order) for n, one in enumerate(made)]

    def knows_enough(self, weighed: Weighed) -> bool:
        """Only where the search would leave out all else: before that a repair is made where it is cheapest."""
        return weighed.likeliest[1] >= worth.CERTAIN

    def in_order(self, weighed: Weighed, _state: JobState, left: Sequence[Scored]) -> list[Scored]:
        """As they were planned: danger is an order there already."""
        return list(left)

    def pays(self, weighed: Weighed, advised: Scored, to_see: float = 0.0) -> bool:
        """Always: where no step pays there is none."""
        return True

    def plan(self, weighed: Weighed, state: JobState) -> Planned:
        """What to do now, and what that is expected to cost in all (see `advise`)."""
        steps = [one.step for one in self._one_step_ahead(weighed, state)]
        view = self.view(weighed, state, [step for step in steps if step.odd])
        usual = view.actions(steps[:USUAL])
        found = advise.advise(view.problem, states.start(view.problem), usual, self.limits)
        first = options.Option(found.action, found.expected_cost, 0.0, options.danger(view.problem, found.action))
        ways = [view.way(option) for option in (first, *found.alternatives)]
        priced = [view.steps[action.which] for action in usual]
        known = tuple(step for step in priced if not (found.bars_live and step.live))
        return Planned(ways[0], tuple(ways[1:]), found.how, found.nodes, known, found.order, found.bars_live)

    def let_lead(self, weighed: Weighed, state: JobState, ordered: Sequence[Scored]) -> list[Scored]:
        """Steps of which a live one would lead by estimates, best first, as the plan of this very state lets them.

        Where a plan without any live step stands and begins with a dead one, dead ones alone are left, that first. Else
        the live one leads, with what was compared: a repair that is made unsure settles nothing before it.
        """
        planned = self.plan(weighed, state)
        if planned.bars_live and planned.way.step is None:
            return list(ordered)
        order = planned.order or ordered[0].order
        if planned.bars_live:
            dead = (one for one in ordered if not one.step.live)
            ordered = sorted(dead, key=lambda one: one.step != planned.way.step)
        return [replace(one, order=None if n else order) for n, one in enumerate(ordered)]

    @latest
    def _one_step_ahead(self, weighed: Weighed, state: JobState) -> list[Scored]:
        """What one step ahead would do on the machine as it was found, best first."""
        found = super().next_steps(weighed, state, ODD_AMONG + fitting.SPARE)
        return super().in_order(weighed, state, fitting.that_fit(self, weighed, found))[:ODD_AMONG]

    def view(self, weighed: Weighed, state: JobState, odd: Sequence[Step] = ()) -> View:
        """The job as a problem of arrays. odd: steps beyond the table that are followed too."""
        rows = outlook.likely_rows(weighed.posterior.probability)
        places = self._offered(weighed, state)
        offered = [*(self.table.steps[k] for k in places), *odd]
        outcomes = joined([self.table.outcomes.take(places), *(outcomes_of(self.bench.predictor, one) for one in odd)])
        shows, unlike = self._shows(weighed, offered, outcomes, rows)
        few = outlook.condensed(weighed.posterior.probability[rows], weighed.candidates.repair_of[rows], shows)
        names = {int(weighed.candidates.repair_of[r]): _names(weighed, int(r)) for r in rows}
        seen = Seen(unlike, fitting.to_see(self, weighed, state))
        return of_job(self, state, few, offered, names, seen)

    # ---- which steps --------------------------------------------------------------------------------------

    def _offered(self, weighed: Weighed, state: JobState) -> list[int]:
        """Indices of the steps followed."""
        allowed, prices = self.allowed(state) & self.fit(weighed), self.prices(weighed, state)
        extra = prices.extra(slice(len(self.table.steps)))
        bits = np.where(allowed, self._usual.score(self.on_singles(weighed)), 0.0)
        rate = bits / np.maximum(extra, worth.LEAST_MINUTES)
        rate = np.where(bits > LEAST_BITS, rate, 0.0)
        behind: dict[tuple[tuple[str, ...], bool], int] = {}
        for k in self.steps.best(rate, len(rate), 0):
            behind.setdefault((to_open(self.bench.machine, state, self.steps.bays[k]), self.table.steps[k].live), k)
        best = self.steps.best(rate, STEPS, score.QUESTIONS_LOOKED_AT)
        chosen = list(dict.fromkeys([*best, *behind.values(), *self.provoking(weighed, prices, allowed)]))
        return self._closer(weighed, chosen, np.where(allowed, np.maximum(extra, worth.LEAST_MINUTES), np.inf))

    def fit(self, weighed: Weighed) -> Array:
        """(K,) the trusted steps that fit the machine as it was found, asked once of those that fit alike: a plan that
        counts on others looks cheaper than it is."""
        firsts, group_of = self._fit_alike
        steps = (self.table.steps[k] for k in firsts)
        return np.array([fitting.fits(self, weighed.findings, one) for one in steps], bool)[group_of]

    def _closer(self, weighed: Weighed, chosen: list[int], extra: Array) -> list[int]:
        """With the steps that part what those chosen leave alike, repair by repair: else what can be found out later
        would look as if it never could."""
        belief = self.on_singles(weighed)
        rows = np.flatnonzero(belief > LEAST_ALIKE / 10)
        repair_of = self.bench.singles.repair_of[rows]
        given_up: set[bytes] = set()
        for _ in range(MOST_CLOSER):
            alike = _most_alike(self.table.outcomes.codes[chosen][:, rows], belief[rows], repair_of, given_up)
            if alike is None:
                break
            only = np.zeros_like(belief)
            only[rows[alike]] = belief[rows[alike]]
            rate = self._usual.score(only) / extra
            best = int(np.argmax(rate))
            if rate[best] < LEAST_BITS or best in chosen:
                given_up.add(alike.tobytes())
            else:
                chosen.append(best)
        return chosen

    # ---- what they show -----------------------------------------------------------------------------------

    def _shows(self, weighed: Weighed, offered: Sequence[Step], found: Outcomes, rows: Array) -> tuple[Array, Array]:
        """(K, O, S) outcomes of the steps offered under these variants, and (K, O) whether each is unlike the healthy
        machine. found: theirs under single faults."""
        firsts = {owner.setup(step): step for step in offered}
        ways = {setup: _ways(weighed, step, rows) for setup, step in firsts.items()}
        every = np.union1d([HEALTHY, *rows], moments.rows_of([one for each in ways.values() for one in each]))
        mean, spread, over = (
            self._with_pairs(weighed.candidates, array, found.codes)[:, every].astype(float)
            for array in (found.mean, found.spread, found.over)
        )
        weight = np.append(weighed.posterior.probability[rows], 0.0)
        codes = outcome.outcome_codes(mean, spread, over) if len(offered) else found.codes
        made = np.zeros((len(offered), outlook.OUTCOMES, len(weight)))
        for place, step in enumerate(offered):
            if step.kind == "look":
                table = np.asarray(weighed.predictor.look(step.at, step.closely)[1])[every]
            else:
                table = _as_table(codes[place], mean[place] if step.perceived else None)
            shown = np.vstack([moments.mixed(ways[owner.setup(step)], table, every), table[every == HEALTHY]])
            made[place] = outlook.few_outcomes(weight, shown).T
        by_owner = np.array([step.asks for step in offered], bool)
        unlike = made[:, :, :-1].max(axis=2) > math.exp(well.UNLIKE) * made[:, :, -1]
        return made[:, :, :-1], unlike & ~by_owner[:, None]

    def _scored(self, weighed: Weighed, state: JobState, step: Step) -> Scored:
        k = self.steps.place_of[step]
        return Scored(step, self.bits(weighed, k), *self.prices(weighed, state).of(k))


def _ways(weighed: Weighed, step: Step, rows: Array) -> list[moments.Way]:
    """The ways in which variants (rows) may show in a step. In arrays every reading is a chance of its own: where one
    was made in its condition and what comes and goes has not shown there, hardly any is left."""
    found = owner.ways(weighed, step, rows)
    read = {getattr(one, "condition", None) for one in weighed.findings if getattr(one, "by", "") != "owner"}
    if step.condition is None or step.condition not in read:
        return found
    chance, row = found[0]
    alone = weighed.candidates.parts[rows][:, 1] == 0
    gone = np.where(alone & (chance < SHOWN), (1 - SHOWS_LATER) * chance, 0.0)
    return [(chance - gone, row), *found[1:], (gone, np.zeros_like(row))]


def _most_alike(codes: Array, belief: Array, repair_of: Array, given_up: Collection[bytes]) -> Array | None:
    """The variants that some steps' codes (K, S) show alike though repairs differ, where most is at stake; or None."""
    _, place = np.unique(codes, axis=1, return_inverse=True)
    worst, found = LEAST_ALIKE, None
    for number in range(int(place.max(initial=-1)) + 1):
        members = np.flatnonzero(place == number)
        stake = belief[members].sum() - np.bincount(repair_of[members], belief[members]).max()
        if stake > worst and members.tobytes() not in given_up:
            worst, found = stake, members
    return found


def _as_table(codes: Array, yes: Array | None) -> Array:
    """(S, O) outcomes: one for each code of a reading, no and yes of a symptom."""
    if yes is not None:
        return np.column_stack([1 - yes, yes])
    names, place = np.unique(codes, return_inverse=True)
    return np.eye(len(names))[place]


def _names(weighed: Weighed, row: int) -> tuple[str, ...]:
    return weighed.candidates.repairs_of(int(weighed.candidates.group_of[row]))
