"""Findings of one job weighed against all candidates of its machine: the posterior, grouped for people.

Knows the predictor and the evidence room; not where findings come from or what is asked next.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from halfsplit.circuit.meter import Meter
from halfsplit.circuit.network import Array
from halfsplit.evidence import finding as f
from halfsplit.evidence import likelihood as lk
from halfsplit.evidence import pairs, switched, told, weigh, why
from halfsplit.evidence import posterior as ps
from halfsplit.evidence.slips import Masses
from halfsplit.machine import model
from halfsplit.modes import listing
from halfsplit.modes.fault import Repair
from halfsplit.operate.condition import Condition
from halfsplit.operate.settle import Operation
from halfsplit.predict import candidates as cs
from halfsplit.predict.moments import Index, Way, given, moments
from halfsplit.predict.pool import Pool
from halfsplit.predict.predictor import Predictor


@dataclass(frozen=True)
class Candidate:
    """A possible cause as people see it: its faults, probability, repairs; the row of its best variant."""

    faults: tuple[str, ...]
    probability: float
    repairs: tuple[str, ...]
    variant: int


class Kept:
    """What was worked out for earlier findings of the same candidates: their arrays and joint masses."""

    def __init__(self, predictor: Predictor) -> None:
        self.predictor = predictor
        self.masses = Masses(len(predictor.candidates.variants))
        self._items: dict[tuple[tuple[f.Telling, ...], frozenset[str]], ps.Item] = {}

    def items(self, findings: Sequence[f.Telling]) -> list[ps.Item]:
        """One item for each finding whose setting is known; those of unstated setting together as one block. What was
        mended by the way before a finding (`evidence/switched`) shows in it no more."""
        self.predictor.read_ahead(weigh.readings(findings, self.predictor.machine))
        machine = self.predictor.machine
        unstated = tuple(x for x in findings if weigh.is_unstated(x, machine))
        each = switched.before_each(machine, self._repairs, findings)
        stated = [self._item((x,), made) for x, made in each if not weigh.is_unstated(x, machine)]
        return [*stated, self._item(unstated)] if unstated else stated

    @cached_property
    def _repairs(self) -> tuple[Repair, ...]:
        return tuple(self.predictor.candidates.repairs.values())

    def _item(self, found: tuple[f.Telling, ...], made: frozenset[str] = frozenset()) -> ps.Item:
        key = found, made
        if key not in self._items:
            item = weigh.item(found, self.predictor)
            if made and not isinstance(item, ps.Block):
                item = item.take(switched.left(self.predictor.candidates, made))
            self._items[key] = item
        return self._items[key]

    def forget(self) -> None:
        """Lets go of all of it, when a job is over."""
        self.masses = Masses(len(self.predictor.candidates.variants))
        self._items.clear()


class Bench:
    """One machine, assembled once, with its single-fault candidates; weighs any number of jobs."""

    def __init__(self, machine: model.Machine, worked_on_before: bool = False, meter: Meter | None = None) -> None:
        self.machine = machine
        self.meter = meter or Meter()
        self.operation = Operation(machine)
        self.faults = listing.faults(machine)
        self.singles = cs.singles(self.operation.assembly, self.faults, worked_on_before)
        self.pool = Pool()
        self.predict_with(Predictor(self.operation, self.singles, self.meter))

    @property
    def repairs(self) -> dict[str, Repair]:
        """The machine's repairs by name."""
        return self.singles.repairs

    def predict_with(self, predictor: Predictor) -> None:
        """Takes the predictions of the single faults from this predictor from now on."""
        self.predictor = predictor
        self.kept = Kept(predictor)

    def weigh(self, findings: Sequence[f.Finding], with_pairs: bool = True) -> Weighed:
        """The posterior of the single faults, and of pairs where they leave something unexplained or are as rare."""
        made = Weighed(self.predictor, tuple(findings), self.kept)
        if not with_pairs or (made.explained and not made.as_rare_as_pairs):
            return made
        if not made.as_rare_as_pairs:
            found = self._also(made, pairs.pairs(self.singles, made.log_masses))
            if found.unexplained < pairs.STILL_UNEXPLAINED:
                return found
        return self._also(made, pairs.with_every(self.singles, made.items, made.log_masses))

    def weigh_with_pairs(self, findings: Sequence[f.Finding]) -> Weighed:
        """The posterior with pairs among it, however well a single fault explains the findings: what is left
        unexplained may be one mistake of the owner, and then no pair was weighed."""
        found = self.weigh(findings)
        if found.predictor is not self.predictor:
            return found
        return self._also(found, pairs.pairs(self.singles, found.log_masses))

    def _also(self, made: Weighed, more: Sequence[cs.Variant]) -> Weighed:
        """The same findings weighed with further variants."""
        if not more:
            return made
        predictor = self.pool.predictor(self.predictor, more)
        return Weighed(predictor, made.findings, Kept(predictor))

    def forget(self) -> None:
        """Lets go of what was worked out for the findings of a job, when it is over."""
        self.kept.forget()
        self.pool.forget()


@dataclass(frozen=True, eq=False)
class Weighed:
    """What is believed after the findings."""

    predictor: Predictor
    findings: tuple[f.Finding, ...]
    kept: Kept

    @property
    def candidates(self) -> cs.Candidates:
        """The candidates that were weighed."""
        return self.predictor.candidates

    @cached_property
    def items(self) -> list[ps.Item]:
        """The findings as arrays."""
        return self.kept.items(self.telling)

    @cached_property
    def telling(self) -> tuple[f.Telling, ...]:
        """Those that tell of the machine's faults."""
        return tuple(x for x in self.findings if not isinstance(x, f.Closed | f.TakenBack | f.Resumed | f.Cannot))

    @property
    def _masses(self) -> Masses:
        return self.kept.masses

    @cached_property
    def posterior(self) -> ps.Posterior:
        """The posterior over variants."""
        return ps.posterior(self.items, weigh.weighable(self.candidates), self._masses)

    @cached_property
    def log_masses(self) -> Array:
        """(items, S) log mass of each item by itself."""
        made = weigh.weighable(self.candidates)
        rows = [ps.log_likelihoods([item], made, self._masses) for item in self.items]
        return np.array(rows).reshape(len(rows), len(self.candidates.variants))

    @cached_property
    def by_group(self) -> Array:
        """Probability of each distinct set of faults."""
        return np.bincount(self.candidates.group_of, self.posterior.probability, minlength=len(self.candidates.groups))

    @cached_property
    def by_repair(self) -> dict[tuple[str, ...], float]:
        """Probability of each distinct set of repairs, best first; () is the healthy machine's."""
        sums: dict[tuple[str, ...], float] = {}
        for group, probability in enumerate(self.by_group.tolist()):
            repairs = self.candidates.repairs_of(group)
            sums[repairs] = sums.get(repairs, 0.0) + probability
        return dict(sorted(sums.items(), key=lambda pair: -pair[1]))

    def moments(self, at: Condition | None, of: Index | None = None, seen: bool = False) -> list[Way]:
        """The ways in which variants (rows; None: all) may show in a condition, or to a look (`predict/moments`).

        What comes and goes does so between set-ups, as it is weighed: where something was found in this one, it acts
        there or not as that says. None: a look; marks stay. seen: a symptom is, which is a set-up of its own.
        """
        rows = np.arange(len(self.candidates.variants)) if of is None else of
        if at is None:
            return moments(self.candidates.parts, np.ones(len(self.candidates.variants)), rows)
        usual = moments(self.candidates.parts, self.candidates.acting_when(at.provoke), rows)
        found = self._setups.get(_setup(at, seen))
        ways = given(usual, self._masses.of(found)) if found else usual
        return ways if self.left is None else [(chance, self.left[row]) for chance, row in ways]

    @cached_property
    def left(self) -> Index | None:
        """(S,) of each variant the one that is left of it now, where some repair was made by the way; else None."""
        made = switched.mended(self.predictor.machine, self.candidates.repairs.values(), self.telling)
        return switched.left(self.candidates, made) if made else None

    def moment(self, at: Condition | None, seen: bool = False) -> Hashable:
        """Equal for conditions in which variants show in the same ways (`moments`): where nothing was found, all that
        are alike in what is shaken, heated or loaded there."""
        if at is None:
            return None
        setup = _setup(at, seen)
        return setup if setup in self._setups else at.provoke

    @cached_property
    def _setups(self) -> dict[Hashable, tuple[lk.Finding, ...]]:
        """The findings of known setting by their set-up."""
        return ps.setups([item for item in self.items if not isinstance(item, ps.Block)])

    def told(self, at: Condition, of: Index | None = None) -> list[Way]:
        """The ways in which variants may show in what their owner tells of a condition (`evidence/told`)."""
        rows = np.arange(len(self.candidates.variants)) if of is None else of
        return told.ways(self._by_owner, weigh.weighable(self.candidates), self._masses, weigh.setup("owner", at), rows)

    @cached_property
    def _by_owner(self) -> list[ps.Item]:
        """What the owner told, as arrays."""
        return self.kept.items([x for x in self.findings if isinstance(x, f.Perceived) and x.by == "owner"])

    @property
    def unexplained(self) -> float:
        """Probability of something that the file does not say and that shows in its own way: steps tell it apart."""
        return self.posterior.unexplained

    @property
    def in_file(self) -> float:
        """What people are told of the probability of anything weighed is that times this: of what is left, the cause is
        not in the file and only shows as some fault does that is."""
        return 1 / (1 + self.posterior.lookalike_odds)

    @property
    def lookalike(self) -> float:
        """Probability, as people are told it, that the cause is not in the file and only shows as some fault does."""
        return 1 - self.in_file

    @property
    def unsaid(self) -> float:
        """Probability, as people are told it, of something that the file does not say; with what is told of the
        candidates it makes one."""
        return 1 - self.in_file * (1 - self.unexplained)

    def cures(self, repairs: tuple[str, ...]) -> float:
        """Probability, as people are told it, that this set of repairs cures."""
        return self.in_file * self.by_repair.get(repairs, 0.0)

    @property
    def explained(self) -> bool:
        """Whether the best single fault explains the findings about as well as a pair could, at a pair's odds.

        Where something that the file does not say may be the cause, two faults in one circuit may be as well.
        """
        if not self.items:
            return True
        if self.unexplained >= pairs.STILL_UNEXPLAINED:
            return False
        missed = self.log_masses.max(axis=1) - self.log_masses[:, self._best]
        return bool(missed.sum() < pairs.WORTH_BITS * np.log(2))

    @cached_property
    def as_rare_as_pairs(self) -> bool:
        """Whether a fault is about to be taken as the explanation that is no likelier beforehand than a pair of common
        ones."""
        taken = self.by_group[self.candidates.group_of[self._best]] >= pairs.ABOUT_TAKEN
        return bool(self.items) and bool(taken) and pairs.no_rarer(self.candidates, self._best)

    @cached_property
    def _best(self) -> int:
        """The variant that fits best, findings taken by themselves."""
        return int(np.argmax(self.log_masses.sum(axis=0) + np.log(np.maximum(self.candidates.prior, 1e-12))))

    def ranked(self, least: float = 0.0) -> list[Candidate]:
        """The candidates, best first, as people are told of them; those of `least` probability at least."""
        order = np.argsort(-self.by_group, kind="stable")
        told = self.in_file * self.by_group
        best = {int(g): self._best_variant(int(g)) for g in order if told[g] >= least}
        return [
            Candidate(
                tuple(self.candidates.faults[i].name for i in self.candidates.groups[g]),
                float(told[g]),
                self.candidates.repairs_of(g),
                variant,
            )
            for g, variant in best.items()
        ]

    def _best_variant(self, group: int) -> int:
        rows = np.flatnonzero(self.candidates.group_of == group)
        return int(rows[np.argmax(self.posterior.probability[rows])])

    @property
    def likeliest(self) -> tuple[tuple[str, ...], float]:
        """The likeliest set of repairs (none: nothing is wrong) with its probability."""
        return next(iter(self.by_repair.items()), ((), 0.0))

    def worst_fit(self) -> f.Finding | None:
        """The finding that fits worst under the best candidates."""
        place = why.worst_fit(self.items, weigh.weighable(self.candidates), self._masses)
        return None if place is None else self._findings_of(place)[0]

    def _findings_of(self, place: int) -> tuple[f.Finding, ...]:
        """The findings of an item (`Kept.items`)."""
        stated = [x for x in self.telling if not weigh.is_unstated(x, self.predictor.machine)]
        return (stated[place],) if place < len(stated) else tuple(x for x in self.telling if x not in stated)

    def weights(self, candidate: Candidate) -> list[tuple[tuple[f.Finding, ...], float]]:
        """What each finding says for (above 0) or against a candidate, in bits; those of unstated setting, which are
        weighed as one, together."""
        bits = why.weights(self.items, weigh.weighable(self.candidates), candidate.variant, self._masses)
        return [(self._findings_of(place), weight) for place, weight in enumerate(bits)]


def _setup(at: Condition, seen: bool) -> Hashable:
    """The set-up of what a repairer reads in a condition, or has `seen` there."""
    return weigh.setup("repairer", at) if seen else at
