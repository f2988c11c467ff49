"""One step ahead: the most expected information about which repair is due, per minute.

Knows the table of steps, the posterior and what steps cost from where things stand. The real planner looks
further; it takes the same table and the same posterior.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import islice

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence import outcome
from halfsplit.evidence.slips import SLIP
from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.machine import model
from halfsplit.operate.condition import Condition
from halfsplit.plan import steps, table
from halfsplit.predict.candidates import Candidates
from halfsplit.work import minutes
from halfsplit.work.state import JobState, to_open, with_fronts

LOOKED_AT = 24
"""So many of the best steps by code are scored by density."""
LEAST_BITS = 0.02
"""A step that tells less is not worth a sentence."""
LIVE_MUST_BE_BETTER = 2.0
"""A live step is advised only where it tells so many times more per minute than the best dead one."""
ACTS_AGAIN = 0.05
"""Share of its chance that an intermittent fault keeps in a set-up in which something was read already."""
ODD_MUST_BE_BETTER = 2.0
"""Leads go between two places that nothing joins only where that tells so many times more a minute than the best
reading that a repairer would trust. Halfsplit's choice, no source."""
ODD_LOOKED_AT = 3
"""So many of the best odd steps by code are scored by density."""
PROVOKING_LOOKED_AT = 8
"""So many of the steps likeliest to bring out a fault that comes and goes are scored by density."""
LEAST_BROUGHT_OUT = 0.01
"""A step that brings something out less often is not looked at for that."""
ITSELF = {"reading": minutes.READING, "look": minutes.LOOK, "symptom": minutes.PERCEIVE}
"""Minutes of a kind of step by itself."""
UNLIKELY = 1e-5
"""Variants below this probability are left out of a step's density."""


@dataclass(frozen=True)
class Scored:
    """A step with what it is expected to tell (bits about the repair) and what it costs."""

    step: steps.Step
    bits: float
    cost: minutes.Cost
    extra: float
    """Minutes beyond what the repair will take in any case: a bay that it lies in has to be opened anyway."""

    @property
    def rate(self) -> float:
        """Bits a minute, of the extra ones; an odd step counts for less."""
        return self.bits / max(self.extra, 0.05) / (ODD_MUST_BE_BETTER if self.step.odd else 1.0)


class Adviser:
    """The steps of one machine, ready to be scored job after job."""

    def __init__(self, bench: Bench, compiled: table.Table | None = None) -> None:
        self.bench = bench
        self.table = compiled or table.of_machine(bench)
        self._bays = [steps.bays_needed(bench.machine, step) for step in self.table.steps]

    @cached_property
    def _row_of(self) -> dict[tuple[int, ...], int]:
        """The first variant of each single fault."""
        return {v.faults: s for s, v in reversed(list(enumerate(self.bench.singles.variants)))}

    def next_steps(self, weighed: Weighed, state: JobState, count: int = 1) -> list[Scored]:
        """The best steps, best first; none where nothing tells anything more."""
        costs = self._costs(state, weighed)
        bits = self._coarse(weighed)
        usual = len(self.table.steps)
        rate = np.where(self._allowed(state), bits[:usual], 0.0) / np.array([extra + 0.05 for _, extra in costs])
        order = [int(k) for k in np.argsort(-rate, kind="stable")[:LOOKED_AT] if rate[k] > 0]
        order = list(dict.fromkeys([*order, *self.provoking(weighed, state)]))
        scored = [Scored(self.table.steps[k], self.bits(weighed, k), *costs[k]) for k in order]
        scored += self._odd(weighed, state, bits[usual:], float(rate.max(initial=0.0)))
        telling = [s for s in scored if s.bits > LEAST_BITS]
        return _safest_first(sorted(telling, key=lambda s: -s.rate))[:count]

    # ---- what comes and goes ------------------------------------------------------------------------------

    def provoking(self, weighed: Weighed, state: JobState) -> list[int]:
        """The steps that are likeliest a minute to bring out a fault that comes and goes, which codes do not see."""
        rows, shows = self._brought_out
        chance = shows @ self._on_singles(weighed).astype(np.float32)
        extra = np.array([extra for _, extra in self._costs(state, weighed)])[rows]
        usable = self._allowed(state)[rows] & (chance > LEAST_BROUGHT_OUT)
        rate = np.where(usable, chance / np.maximum(extra, 0.05), 0.0)
        return [int(rows[n]) for n in np.argsort(-rate, kind="stable")[:PROVOKING_LOOKED_AT] if rate[n] > 0]

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

    def _odd(self, weighed: Weighed, state: JobState, bits: Array, usual_rate: float) -> list[Scored]:
        """The odd steps that by code tell so much more a minute than the trusted ones that they are worth it."""
        least = usual_rate * ODD_MUST_BE_BETTER
        worth = (bits > LEAST_BITS) & (bits / (minutes.READING + 0.05) > least)
        numbers = np.flatnonzero(worth)
        if not len(numbers):
            return []
        groups, place = np.unique(self._odd_group[numbers], return_inverse=True)
        priced = [self._cost_of_odd(state, weighed, int(group)) for group in groups]
        rate = bits[numbers] / np.array([extra + 0.05 for _, extra in priced])[place]
        best = [n for n in np.argsort(-rate, kind="stable").tolist() if rate[n] > least]
        no = state.refused | state.done
        chosen = ((self.table.odd.step(int(numbers[n])), priced[place[n]]) for n in best)
        allowed = (pair for pair in chosen if pair[0] not in no and possible(self.bench.machine, pair[0]))
        return [
            Scored(step, self._bits(weighed, step, table.outcomes_of(self.bench.predictor, step)), *cost)
            for step, cost in islice(allowed, ODD_LOOKED_AT)
        ]

    def _cost_of_odd(self, state: JobState, weighed: Weighed, group: int) -> tuple[minutes.Cost, float]:
        """What the odd steps of a group cost, all in one condition and in the same bays."""
        step = self.table.odd.step(int(np.argmax(self._odd_group == group)))
        bays = steps.bays_needed(self.bench.machine, step)
        return self._cost(state, step, bays, self._needed_anyway(weighed))

    @cached_property
    def _odd_group(self) -> Array:
        """(N,) equal number: the same condition and the same bays."""
        found, parts = self.table.odd, self.bench.machine.parts
        bays = [parts[model.part_of(t)].bay for t in found.terminals]
        _, bay = np.unique(np.array(bays), return_inverse=True)
        low, high = np.minimum(bay[found.red], bay[found.black]), np.maximum(bay[found.red], bay[found.black])
        size = len(bays)
        return np.asarray((found.at.astype(np.int64) * size + low) * size + high)

    # ---- coarse -------------------------------------------------------------------------------------------

    def _coarse(self, weighed: Weighed) -> Array:
        """Bits by code, every step, the odd ones last."""
        return self.table.partition.score(self._on_singles(weighed))

    def _on_singles(self, weighed: Weighed) -> Array:
        """The posterior of the single faults; a pair's probability counts half for each of its faults."""
        singles = len(self.bench.singles.variants)
        posterior = weighed.posterior.probability[:singles].copy()
        for variant, probability in zip(
            weighed.candidates.variants[singles:], weighed.posterior.probability[singles:], strict=True
        ):
            for fault in variant.faults:
                posterior[self._row_of[(fault,)]] += probability / len(variant.faults)
        return np.asarray(posterior)

    def _with_pairs(self, candidates: Candidates, of_singles: Array, codes: Array) -> Array:
        """Outcomes (K, S) with those of pairs added: the first fault's where its code is not the healthy one's.

        Else the second's. An approximation for choosing steps; what was found is weighed against the pair itself.
        """
        extra = candidates.variants[len(self.bench.singles.variants) :]
        if not extra:
            return of_singles
        first, second = (np.array([self._row_of[(v.faults[which],)] for v in extra]) for which in (0, 1))
        of_pairs = np.where(codes[:, first] != codes[:, :1], of_singles[:, first], of_singles[:, second])
        return np.concatenate([of_singles, of_pairs], axis=1)

    def _costs(self, state: JobState, weighed: Weighed) -> list[tuple[minutes.Cost, float]]:
        """What each step costs, and how much of that is extra."""
        kept: dict[tuple[str, tuple[str, ...], Condition | None], tuple[minutes.Cost, float]] = {}
        anyway = self._needed_anyway(weighed)
        made = []
        for step, bays in zip(self.table.steps, self._bays, strict=True):
            key = (step.kind, bays, step.condition)
            if key not in kept:
                kept[key] = self._cost(state, step, bays, anyway)
            made.append(kept[key])
        return made

    def _cost(
        self, state: JobState, step: steps.Step, bays: tuple[str, ...], anyway: dict[str, float]
    ) -> tuple[minutes.Cost, float]:
        """A step's cost, and the extra: to run a machine that cannot run open, it is closed and opened again."""
        machine = self.bench.machine
        cost = cost_of(machine, state, step)
        shut = [machine.bays[b] for b in shut_to_run(machine, state, step)]
        again = sum(bay.open_minutes + bay.close_minutes for bay in shut)
        return cost, cost.minutes + again - self._saved(state, bays, anyway)

    def _needed_anyway(self, weighed: Weighed) -> dict[str, float]:
        """Probability that the repair will have each bay open."""
        found: dict[str, float] = {}
        for repairs, probability in weighed.by_repair.items():
            wanted = tuple(bay for name in repairs for bay in self._repair_bays[name])
            for bay in with_fronts(self.bench.machine, wanted):
                found[bay] = found.get(bay, 0.0) + probability
        return found

    @cached_property
    def _repair_bays(self) -> dict[str, tuple[str, ...]]:
        return {fault.repair.name: fault.repair.bays for fault in self.bench.faults}

    def _saved(self, state: JobState, bays: tuple[str, ...], anyway: dict[str, float]) -> float:
        """Minutes of opening and closing that the repair will have to spend in any case, as expected."""
        known = self.bench.machine.bays
        opened = to_open(self.bench.machine, state, bays)
        return sum((known[bay].open_minutes + known[bay].close_minutes) * anyway.get(bay, 0.0) for bay in opened)

    def _allowed(self, state: JobState) -> Array:
        no = state.refused | state.done
        return np.array(
            [s not in no and possible for s, possible in zip(self.table.steps, self._possible, strict=True)]
        )

    @cached_property
    def _possible(self) -> list[bool]:
        """Whether each step can be done at all."""
        return [possible(self.bench.machine, step) for step in self.table.steps]

    # ---- by density ---------------------------------------------------------------------------------------

    def bits(self, weighed: Weighed, k: int) -> float:
        """Mutual information of the k-th step's outcome and the repair, spread and slips included."""
        return self._bits(weighed, self.table.steps[k], self.table.outcomes.take([k]))

    def _bits(self, weighed: Weighed, step: steps.Step, found: table.Outcomes) -> float:
        rows = np.append(np.flatnonzero(weighed.posterior.probability > UNLIKELY), 0)
        few = rows[:-1]
        outcomes = _come_and_go(self._outcome_of(weighed, step, found, rows), _acting(weighed, step)[few], step)
        prior, repair_of = weighed.posterior.probability[few], weighed.candidates.repair_of[few]
        return float(outcome.information(prior, repair_of, outcomes[None])[0])

    def _outcome_of(self, weighed: Weighed, step: steps.Step, found: table.Outcomes, rows: Array) -> Array:
        """(rows, outcomes) probabilities of a step with these outcomes of single faults (1, S)."""
        if step.kind == "look":
            return np.asarray(weighed.predictor.look(step.at)[1][rows])
        mean, spread, over = (
            self._with_pairs(weighed.candidates, array, found.codes)[:, rows].astype(float)
            for array in (found.mean, found.spread, found.over)
        )
        if step.kind == "symptom":
            return np.column_stack([1 - mean[0], mean[0]])
        weight = np.maximum(weighed.posterior.probability[rows], UNLIKELY)
        return np.asarray(outcome.outcome_bins(weight, mean, spread, over, SLIP)[0])


def _acting(weighed: Weighed, step: steps.Step) -> Array:
    """(S,) chance that each variant shows in a step: in a set-up that was read, what comes and goes hardly comes.

    Had it shown there, that would have been found already; a fresh set-up is a fresh chance.
    """
    acting = weighed.candidates.acting_when(step.condition.provoke if step.condition else "")
    read = {getattr(found, "condition", None) for found in weighed.findings}
    again = step.condition is not None and step.condition in read
    return np.where(acting < 1, ACTS_AGAIN * acting, acting) if again else acting


def _come_and_go(outcomes: Array, acting: Array, step: steps.Step) -> Array:
    """Without the last row, the healthy machine: an intermittent fault shows that while it does not act.

    A mark to be looked at stays.
    """
    if step.kind == "look":
        return outcomes[:-1]
    return np.asarray(acting[:, None] * outcomes[:-1] + (1 - acting[:, None]) * outcomes[-1])


def cost_of(machine: model.Machine, state: JobState, step: steps.Step) -> minutes.Cost:
    """What a step costs from where things stand; where it needs the machine to run, with closing what stops it."""
    cost = minutes.cost(machine, state, ITSELF[step.kind], steps.bays_needed(machine, step), step.condition)
    shut = sum(machine.bays[b].close_minutes for b in shut_to_run(machine, state, step))
    return replace(cost, closing=cost.closing + shut)


def powered(machine: model.Machine, step: steps.Step) -> bool:
    """Whether a step has the machine itself under power (a reading at the wall with the plug out has not)."""
    off = set(machine.supply.isolates)
    at = step.condition
    return at is not None and not at.isolated and not off <= set(at.setting)


def possible(machine: model.Machine, step: steps.Step) -> bool:
    """Whether a step can be done at all: none wants a machine to run while a bay is open that stops it."""
    behind = with_fronts(machine, steps.bays_needed(machine, step))
    return not powered(machine, step) or all(machine.bays[bay].runs for bay in behind)


def shut_to_run(machine: model.Machine, state: JobState, step: steps.Step) -> tuple[str, ...]:
    """The open bays that must be closed for a step: those with which it cannot run, and all behind them."""
    if not powered(machine, step):
        return ()
    stops = {b for b in state.open_bays if not machine.bays[b].runs}
    return tuple(b for b in machine.bays if b in state.open_bays and stops & set(with_fronts(machine, (b,))))


def _safest_first(scored: list[Scored]) -> list[Scored]:
    """The best dead step leads unless a live one tells much more a minute."""
    dead = next((s for s in scored if not s.step.live), None)
    if not scored or dead is None or scored[0].rate > LIVE_MUST_BE_BETTER * dead.rate:
        return scored
    return [dead, *(s for s in scored if s is not dead)]
