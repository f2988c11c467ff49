"""Putting together and the proof run after a repair as steps for the safety of steps, as a person is told them.

Knows what is read to the frame (`plan/proof`) and the walk of the proof run; answers nothing and judges nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from halfsplit.evidence.weighing import Bench
from halfsplit.operate import condition as conditions
from halfsplit.plan import proof, safely, taken
from halfsplit.plan.proof_walk import Walk, afresh
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.rehearse.emitted import Emitted
from halfsplit.work import refusals, safety
from halfsplit.work.hazards import Kind
from halfsplit.work.refusals import NoPower
from halfsplit.work.state import Cock, JobState


class ProofRuns:
    """The proof runs of one machine."""

    def __init__(self, bench: Bench) -> None:
        self.machine, self.healthy = bench.machine, proof.healthy(bench)
        self.runs = proof.runs(self.healthy.predictor)

    def after(self, state: JobState, safe: safety.State, hands_in: bool = True) -> Iterator[Emitted]:
        """All of it, from how repairs have left the machine; where no hand went in it is only tried."""
        state = self._to_power(afresh(state), hands_in)
        read = proof.insulation(self.healthy, state) if hands_in else []
        inside = read if any(bays_needed(self.machine, step) for step in read) else []
        for step in inside:
            state, safe, made = self._read(state, safe, step)
            yield made
        if hands_in or state.open_bays:
            state, safe, made = self._closed(state, safe, self._bond(state))
            yield made
        for step in read if not inside else ():
            state, safe, made = self._read(state, safe, step)
            yield made
        if state.isolated and NoPower() not in state.refused:
            live = replace(state, condition=conditions.condition(self.machine), cock=Cock.OPEN)
            done = safely.brought(self.machine, safe, state, live, safety.Step(Kind.ENERGISE))  # as the list ends
            yield state, None, done
            state, safe = live, done.state
        yield from self._in_use(Walk(self.healthy, state, safe))

    def _read(self, state: JobState, safe: safety.State, step: Step) -> tuple[JobState, safety.State, Emitted]:
        then = taken.after(self.machine, state, step)
        done = safely.prepared(self.machine, safe, state, then, step)
        return then, done.state, (state, step, done)

    def _closed(
        self, state: JobState, safe: safety.State, last: safety.Step | None = None
    ) -> tuple[JobState, safety.State, Emitted]:
        done = safely.put_together(self.machine, safe, state, last)
        return taken.closed(self.machine, state), done.state, (state, None, done)

    def _to_power(self, state: JobState, hands_in: bool) -> JobState:
        """With the power staying off where hands were in a machine whose frame the meter cannot measure."""
        measured = refusals.measures(state.refused) or not self.machine.frame
        return replace(state, refused=state.refused | {NoPower()}) if hands_in and not measured else state

    def _bond(self, state: JobState) -> safety.Step | None:
        """The frame's bond, measured before the power, where the supply has an earth and the meter can."""
        bonded = self.machine.frame and self.machine.supply.earth and refusals.measures(state.refused)
        return safety.Step(Kind.PROVE_BOND) if bonded else None

    def _in_use(self, walk: Walk) -> Iterator[Emitted]:
        for stage in walk.stages(self.runs):
            yield from ((one.before, one.step, one.done) for one in stage.walked)
