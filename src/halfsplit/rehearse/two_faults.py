"""Rehearsals in which two faults are hidden at once: an independent pair drawn by rate, or a cause and its consequence.

Knows how to draw and to play them; judges nothing (see summary). Only faults that the repairer repairs and that are
there on the bench are hidden: a job that is handed over ends with that.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.errors import WrongUse
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.modes.fault import Fault
from halfsplit.operate import condition as conditions
from halfsplit.plan import owner
from halfsplit.plan.score import Adviser
from halfsplit.rehearse import drawing_lots as lots
from halfsplit.rehearse import play, trials
from halfsplit.rehearse.truth import Hidden, Truth
from halfsplit.rehearse.trying import ChooseFor, Trying

Pair = tuple[Fault, Fault]


class TwoFaults(trials.Rehearsal):
    """One adviser, and machines with two hidden faults to try it on.

    `consequences`: causes with what they make happen, of which one is drawn by the rate of the cause; empty, an
    independent pair is drawn by rate, each of which the owner would notice by itself.
    """

    def __init__(
        self, adviser: Adviser, asked: trials.Asked, consequences: Sequence[Pair] = (),
        choose_for: ChooseFor = play.as_advised,
    ) -> None:  # fmt: skip
        super().__init__(adviser, asked)
        self.consequences, self.choose_for = consequences, choose_for
        self.noticed = self._noticed()
        if len({fault.repair.name for fault in self.noticed}) < 2 and not consequences:
            raise WrongUse("The machine has no two faults that an owner would notice.", "Hide one fault.")

    def trial(self, number: int) -> play.Played:
        """The trial of this number."""
        rng = np.random.default_rng([self.asked.seed, number])
        truth, told = self.hidden(rng)
        played = Trying(self.adviser, truth, told, self.choose_for).play()
        self.adviser.bench.forget()
        return played

    def hidden(self, rng: np.random.Generator) -> tuple[Truth, list[f.Finding]]:
        """The machine with the faults that a trial hides, and what its owner tells."""
        departure = self.asked.departure
        for _ in range(lots.TRIES):
            one, two = (lots.sized(fault, rng, departure) for fault in self._pair(rng))
            if not self.consequences and not (self._is_noticed(one) and self._is_noticed(two)):
                continue
            also = (Hidden(two.fault, two.changes, two.acting),)
            truth = Truth(self.asked.machine, one.fault, one.changes, rng, departure.world, one.acting, also)
            told = play.complaint(self.adviser, truth)
            if told:
                return truth, told
        raise WrongUse("No two faults that were drawn show in a symptom.", "Hide one fault.")

    def _is_noticed(self, lot: lots.Lot) -> bool:
        return lot.alternative in self.noticed[lot.fault]

    def _pair(self, rng: np.random.Generator) -> Pair:
        """Two faults that another repair cures each."""
        if self.consequences:
            rates = np.array([cause.rate for cause, _ in self.consequences])
            return self.consequences[int(rng.choice(len(rates), p=rates / rates.sum()))]
        first = self._by_rate([*self.noticed], rng)
        others = [x for x in self.noticed if x.subject != first.subject and not _one_repair(first, x)]
        return first, self._by_rate(others, rng)

    @staticmethod
    def _by_rate(faults: Sequence[Fault], rng: np.random.Generator) -> Fault:
        rates = np.array([fault.rate for fault in faults])
        return faults[int(rng.choice(len(faults), p=rates / rates.sum()))]

    def _noticed(self) -> dict[Fault, set[int]]:
        """The faults, each with its sizes, that an owner would notice on a machine with nothing else wrong.

        Without those that make the frame tingle: a job stops there.
        """
        bench, found = self.adviser.bench, dict[Fault, set[int]]()
        first = {v.faults: s for s, v in reversed(list(enumerate(bench.singles.variants)))}
        for s in np.flatnonzero(_shown(bench)).tolist():
            faults = bench.singles.variants[s].faults
            fault = bench.faults[faults[0]]
            if fault.repair.by == "repairer" and not fault.owner_only:
                found.setdefault(fault, set()).add(s - first[faults])
        return found


def _one_repair(one: Fault, two: Fault) -> bool:
    """Whether the repair of one fault cures the other too."""
    return one.repair.is_done_by([two.repair.name]) or two.repair.is_done_by([one.repair.name])


def _shown(bench: Bench) -> np.ndarray:
    """(S,) whether an owner would notice each variant; not where the frame tingles."""
    at, told = conditions.usual(bench.machine), owner.perceives(bench.machine)
    yes = np.array([bench.predictor.symptom(name, at, True) > 0.5 for name in told])
    tingles = np.array([bench.machine.symptoms[name].kind == "tingles" for name in told], bool)
    changed = yes != yes[:, :1]
    return np.asarray(changed.any(axis=0) & ~changed[tingles].any(axis=0))
