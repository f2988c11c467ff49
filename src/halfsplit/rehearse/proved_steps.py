"""The proof run after a repair as steps for the safety of steps: to the frame, all closed, setting after setting.

Knows what a proof run consists of (`plan/proof`) and how the machine stands; answers nothing and judges nothing.
"""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator
from dataclasses import replace

from halfsplit.evidence.weighing import Bench
from halfsplit.plan import pricing, proof, taken
from halfsplit.plan.steps import Step
from halfsplit.rehearse.random_steps import Emitted, emitted
from halfsplit.work import safety
from halfsplit.work.state import JobState

Stands = tuple[JobState, safety.State]
"""How the machine stands, to the plan and to the automaton."""


class ProofRuns:
    """The proof runs of one machine."""

    def __init__(self, bench: Bench) -> None:
        self.machine, self.healthy = bench.machine, proof.healthy(bench)
        self.runs = proof.runs(self.healthy.predictor)

    def after(self, state: JobState, safe: safety.State) -> Iterator[Emitted]:
        """All of it, from how a repair has left the machine; what the person cannot or would not do is left out."""
        state, safe = yield from self._each(state, safe, state, proof.insulation(self.healthy, state))
        closed = replace(state, open_bays=frozenset[str]())
        yield from self._each(state, safe, closed, self._in_use())

    def _in_use(self) -> Iterator[Step]:
        """What is seen in each setting, and what the clamp shows."""
        for at, names in self.runs.items():
            yield from (Step("symptom", at, at=name) for name in names)
            yield from proof.loads(self.healthy, JobState(condition=at), at)

    def _each(
        self, state: JobState, safe: safety.State, brought: JobState, steps: Iterable[Step]
    ) -> Generator[Emitted, None, Stands]:
        """These steps one after another, and how the machine stands then; brought: how it is brought to stand first."""
        for step in steps:
            if step in state.refused or pricing.bars(self.machine, brought, step):
                continue
            then = taken.after(self.machine, brought, step)
            made = emitted(self.machine, safe, state, then, step)
            yield state, step, made
            state, safe, brought = then, made.state, then
        return state, safe
