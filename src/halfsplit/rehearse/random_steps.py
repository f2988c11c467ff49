"""Random sessions for the safety of steps: any step that can be done, chosen blindly, some refused by the person.

Knows the steps and how the machine stands; weighs nothing, so that a hundred thousand sessions take half an hour.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace

import numpy as np

from halfsplit.machine import model, twins
from halfsplit.modes.fault import Repair
from halfsplit.plan import barring, powering, safely, score, taken
from halfsplit.plan.steps import Step
from halfsplit.rehearse.emitted import Emitted, emitted
from halfsplit.rehearse.proved_steps import ProofRuns
from halfsplit.work import handling, refusals
from halfsplit.work.state import JobState

REFUSED = 0.15
"""How often the person will not do a step."""
MET = 0.3
"""How often a session meets each kind of lasting refusal."""
REPAIRS = 0.1
"""How often a repair is made instead of a step."""


class Sessions:
    """The random sessions of one machine; `asked` gives the bench. `repairs`: the share of repairs among the steps;
    `lacks`: what nobody can do in any of them, whatever is drawn."""

    def __init__(self, asked: score.Adviser, repairs: float = REPAIRS, lacks: Collection[object] = ()) -> None:
        self.asked, self.repairs, self.lacks = asked, repairs, frozenset(lacks)
        machine = asked.bench.machine
        possible = [step for step in asked.table.steps if powering.possible(machine, step)]
        kinds = {_kind(step) for step in possible}
        self._by_kind = {kind: [step for step in possible if _kind(step) == kind] for kind in sorted(kinds)}
        known = dict.fromkeys(fault.repair for fault in asked.bench.faults)
        self._repairs = [repair for repair in known if handling.hands_in(machine, repair)]
        self._proof = ProofRuns(asked.bench)

    def session(self, rng: np.random.Generator, length: int = 12) -> Iterator[Emitted]:
        """Step after step, and now and then a repair; where one was made, putting together and the proof run."""
        machine, repaired = self.asked.bench.machine, False
        state = JobState(refused=frozenset(drawn_refusals(machine, rng)) | self.lacks)
        safe = safely.begin(machine)
        for _ in range(length):
            step, then = self.chosen(state, rng)
            if then is None:
                state = replace(state, refused=state.refused | {step}) if isinstance(step, Step) else state
                continue
            made = emitted(machine, safe, state, then, step)
            yield state, step, made
            state, safe, repaired = then, made.state, repaired or isinstance(step, Repair)
        if repaired:
            yield from self._proof.after(state, safe)

    def chosen(self, state: JobState, rng: np.random.Generator) -> tuple[Step | Repair, JobState | None]:
        """A step or a repair and where it leads; nowhere where it is barred, or refused now."""
        machine = self.asked.bench.machine
        if rng.random() < self.repairs:
            repair = self._repairs[int(rng.integers(len(self._repairs)))]
            barred = refusals.bars_repairs(machine, state, [repair])
            return repair, None if barred else taken.under_repair(machine, state, repair)
        step = self._step(rng)
        if step in state.refused or barring.bars(machine, state, step) or rng.random() < REFUSED:
            return step, None
        return step, taken.after(machine, state, step)

    def _step(self, rng: np.random.Generator) -> Step:
        """Each kind of step as likely as any other, so that the rare kinds are met."""
        kinds = list(self._by_kind)
        some = self._by_kind[kinds[int(rng.integers(len(kinds)))]]
        return some[int(rng.integers(len(some)))]


def _kind(step: Step) -> tuple[str, str, bool, bool, bool, str]:
    """What makes a step of its own kind; of what is provoked the verb: shake, heat, turn, warm, load."""
    at, meter = step.condition, step.probe.meter if step.probe else ""
    verb = at.provoke.split(" ", 1)[0] if at else ""
    return step.kind, meter, bool(at and at.isolated), bool(at and at.lift), bool(at and at.exchange), verb


def drawn_refusals(machine: model.Machine, rng: np.random.Generator) -> Iterator[object]:
    """What the person cannot do, drawn once a session."""
    if rng.random() < MET:
        yield refusals.CannotOpen(str(rng.choice(list(machine.bays))))
    if rng.random() < MET:
        yield refusals.NoMeter("amps")
    if rng.random() < MET:
        yield refusals.NoHelper()
    if rng.random() < MET:
        yield refusals.NoOwner()
    if rng.random() < MET:
        yield refusals.NoPower()
    plugged = [name for pair in twins.twins(machine) for name in pair]
    if plugged and rng.random() < MET:
        yield refusals.CannotLift(str(rng.choice(plugged)))
