"""Many rehearsals, each from its own seed: the same numbers on one worker or on many.

Knows how to draw, to play and to share the work out; judges nothing (see summary).
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfsplit.errors import WrongUse
from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.modes import listing
from halfsplit.modes.fault import Fault
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step
from halfsplit.rehearse import drawing_lots as lots
from halfsplit.rehearse import order, play
from halfsplit.rehearse.truth import Truth

Progress = Callable[[int], None]


@dataclass(frozen=True)
class Asked:
    """What is rehearsed: the machine in which faults are hidden, and how the truth departs from the model.

    `order`: the steps that are followed instead of the adviser's; empty, the adviser is followed.
    """

    machine: model.Machine
    seed: int = 0
    departure: lots.Departure = lots.AS_THE_MODEL
    fault: str = ""
    order: tuple[Step, ...] = ()


class Rehearsal:
    """One adviser, and hidden machines to try it on."""

    def __init__(self, adviser: Adviser, asked: Asked) -> None:
        self.adviser, self.asked = adviser, asked
        self.faults = self._faults()
        self.rates = np.array([fault.rate for fault in self.faults])
        self._same = _sets_by_variant(adviser)
        self._choose = order.followed(adviser, asked.order) if asked.order else play.as_advised(adviser)

    def _faults(self) -> tuple[Fault, ...]:
        faults = listing.faults(self.asked.machine)
        if not self.asked.fault:
            return faults
        chosen = tuple(fault for fault in faults if fault.name == self.asked.fault)
        if not chosen:
            raise WrongUse(f"The machine has no fault {self.asked.fault!r}.", "See `halfsplit check --faults`.")
        return chosen

    def trial(self, number: int) -> play.Played:
        """The trial of this number."""
        rng = np.random.default_rng([self.asked.seed, number])
        lot, truth, told = self._job(rng)
        played = play.play(self.adviser, truth, told, self._choose)
        self.adviser.bench.forget()
        return replace(played, right_first=played.right_first or self._as_good(lot, played))

    def hidden(self, rng: np.random.Generator) -> tuple[Truth, list[f.Finding]]:
        """The machine with the fault that a trial hides, and what its owner tells."""
        _, truth, told = self._job(rng)
        return truth, told

    def _job(self, rng: np.random.Generator) -> tuple[lots.Lot, Truth, list[f.Finding]]:
        for _ in range(lots.TRIES):
            lot = self._lot(rng)
            truth = Truth(
                self.asked.machine, lot.fault, lot.changes, rng, self.asked.departure.world, lot.acting
            )  # fmt: skip
            told = play.complaint(self.adviser, truth)
            if told:
                return lot, truth, told
        raise WrongUse("No fault that was drawn shows in a symptom.", "Name another fault.")

    def _lot(self, rng: np.random.Generator) -> lots.Lot:
        if rng.random() < self.asked.departure.missing and not self.asked.fault:
            return lots.missing(self.asked.machine, rng)
        return lots.draw(self.faults, self.rates, rng, self.asked.departure)

    def _as_good(self, lot: lots.Lot, played: play.Played) -> bool:
        """Whether the first repair cures a fault that no step tells from the hidden one; or the file lacks it.

        Of a fault that the file lacks it is right to say that the file does not say it.
        """
        if lot.fault.subject == lots.NOT_IN_FILE:
            return played.said_unknown
        row = self._row(lot)
        first = set(played.first)
        singles = self.adviser.bench.singles
        return any(set(singles.repairs_of(int(singles.group_of[s]))) == first for s in self._same.get(row, ()))

    def _row(self, lot: lots.Lot) -> int:
        """The variant of the model that is the hidden fault; -1 where the model has none."""
        singles = self.adviser.bench.singles
        names = [fault.name for fault in singles.faults]
        if lot.fault.name not in names:
            return -1
        index = names.index(lot.fault.name)
        rows = [s for s, v in enumerate(singles.variants) if v.faults == (index,)]
        return rows[min(lot.alternative, len(rows) - 1)]


def _sets_by_variant(adviser: Adviser) -> dict[int, frozenset[int]]:
    return {row: rows for rows in play.inseparable(adviser) if len(rows) > 1 for row in rows}


_shared: list[Rehearsal] = []
"""The rehearsal of a worker; filled before workers fork."""


def _one(number: int) -> play.Played:
    return _shared[-1].trial(number)


def run(
    rehearsal: Rehearsal, count: int, workers: int = 1, progress: Progress | None = None, first: int = 0
) -> Iterator[play.Played]:
    """Trials `first` to count - 1 in order; more workers where the system can fork."""
    forks = "fork" in multiprocessing.get_all_start_methods()
    numbers = range(first, count)
    made = _forked(rehearsal, numbers, workers) if workers > 1 and forks else map(rehearsal.trial, numbers)
    for number, played in zip(numbers, made, strict=True):
        if progress:
            progress(number + 1)
        yield played


def _forked(rehearsal: Rehearsal, numbers: range, workers: int) -> Iterator[play.Played]:
    _shared.append(rehearsal)
    try:
        with multiprocessing.get_context("fork").Pool(workers) as pool:
            yield from pool.imap(_one, numbers, chunksize=4)
    finally:
        _shared.pop()


def as_contract(played: Sequence[play.Played]) -> list[dict[str, object]]:
    """Trials as the outside contract names their fields; with several hidden faults, whether all were found."""
    return [
        {
            "fault": p.fault, "steps": p.steps, "minutes": round(p.minutes, 2), "repairs": list(p.repairs),
            "right_first": p.right_first, "needless_parts": p.needless_parts, "live_steps": p.live_steps,
            "unsafe_steps": p.unsafe_steps, "claimed": round(p.claimed, 6),
        } | ({} if p.all_found is None else {"all_found": p.all_found})
        for p in played
    ]  # fmt: skip
