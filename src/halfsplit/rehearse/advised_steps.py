"""Advised sessions for the safety of steps: a hidden fault, the adviser's steps, some refused by the person, the repair
and the proof run after it.

Knows the adviser and a rehearsal that hides faults; what could hurt is judged elsewhere, from what is emitted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import fitting, owner, proof, safely, taken
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step
from halfsplit.rehearse import random_steps as rs
from halfsplit.rehearse import trials
from halfsplit.rehearse.proved_steps import ProofRuns
from halfsplit.rehearse.truth import answer
from halfsplit.work import refusals, safety, stopping, together
from halfsplit.work.state import JobState

MOST_ASKED = 30
"""So many steps are advised at most, the refused ones included."""


class Sessions(trials.Rehearsal):
    """Sessions of one machine in which its adviser advises; faults are hidden as in a rehearsal."""

    def __init__(self, asked: Adviser) -> None:
        super().__init__(asked, trials.Asked(asked.bench.machine))
        self.proof = ProofRuns(asked.bench)

    def session(self, rng: np.random.Generator) -> Iterator[rs.Emitted]:
        """Step after step as advised; then the repair where the person can get at it, and the proof run after it."""
        machine = self.adviser.bench.machine
        _, truth, told = self._job(rng)
        findings: list[f.Finding] = list(told)
        refused, known = frozenset(rs.drawn_refusals(machine, rng)), owner.told(self.adviser.steps.usual, told)
        state, safe = JobState(refused=refused, done=frozenset[object](known)), safely.begin(machine)
        for _ in range(MOST_ASKED):
            state = replace(state, refused=state.refused | stopping.barred(findings))
            step = self._advised(self.adviser.bench.weigh(findings), state)
            if step is None:
                break
            if rng.random() < rs.REFUSED:
                state = replace(state, refused=state.refused | {step})
                continue
            then = taken.after(self.adviser.bench.machine, state, step)
            made = rs.emitted(machine, safe, state, then, step)
            yield state, step, made
            state, safe = then, made.state
            findings.append(answer(truth, step))
        yield from self._repaired(self.adviser.bench.weigh(findings), state, safe, refused)
        self.adviser.bench.forget()

    def _advised(self, weighed: Weighed, state: JobState) -> Step | None:
        """The step that is advised, None where the search ends."""
        machine = self.adviser.bench.machine
        if stopping.reason(machine, weighed.findings):
            return None
        best = fitting.paying(self.adviser, weighed, state)
        return best.step if best else None

    def _repaired(
        self, weighed: Weighed, state: JobState, safe: safety.State, refused: frozenset[object]
    ) -> Iterator[rs.Emitted]:
        """The likeliest repairs with hands in the machine, and then putting together and the proof run; nothing where
        they are not ours, or one is barred. refused: what the person cannot do."""
        machine = self.adviser.bench.machine
        due = [self.adviser.bench.repairs[name] for name in next(iter(weighed.by_repair), ())]
        barred = any(refusals.bars(machine, state.refused, one.bays) for one in due)
        if not due or barred or stopping.reason(machine, weighed.findings) or stopping.of_repairs(due):
            return
        mine = [repair for repair in due if together.hands_in(machine, repair)]
        for repair in mine:
            then = taken.under_repair(machine, state, repair)
            made = rs.emitted(machine, safe, state, then, repair)
            yield state, repair, made
            state, safe = then, made.state
        wet = proof.still_barred(weighed, weighed.findings, [one.name for one in due])
        yield from self.proof.after(replace(state, refused=refused | wet), safe, bool(mine))
