"""The proof run step by step: what can be seen and clamped in each setting, how the machine stands, what is done.

The one walk of it, for whoever tells it (`service/proof_run`) and whoever judges its safety (`rehearse/proved_steps`).
Knows `plan/proof` and the safety automaton; neither words nor what was found.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from halfsplit.evidence.weighing import Bench
from halfsplit.operate.condition import Condition
from halfsplit.plan import pricing, proof, safely, taken
from halfsplit.plan.safely import Safely
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.work import places, safety
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState, to_open


class Walked(NamedTuple):
    """A step of the proof run. `before`: how the machine stood; `shut`: the bays that are opened for the clamp and stay
    open until the end; `done`: all that is done for it."""

    step: Step
    before: JobState
    shut: tuple[str, ...]
    done: Safely


def afresh(state: JobState) -> JobState:
    """How a machine stands for its proof: single steps that were done or refused in the search are asked again. It is
    another machine now, and there is no proof without them."""
    cannot = frozenset(one for one in state.refused if not isinstance(one, Step))
    return replace(state, refused=cannot, done=frozenset())


class Walk:
    """One proof run while it is walked, from a closed machine. `healthy`: a bench of nothing else (`proof.healthy`).

    What cannot be done here is left out.
    """

    def __init__(self, healthy: Bench, state: JobState, safe: safety.State) -> None:
        self.bench, self.machine = healthy, healthy.machine
        self.state, self.safe = afresh(state), safe
        self.opened: tuple[str, ...] = ()

    def setting(self, at: Condition, names: Sequence[str]) -> Iterator[Walked]:
        """What is seen in a setting, and then what the clamp shows."""
        stands = JobState(frozenset(self.opened), at, self.state.refused, warm=places.cooling(self.machine))
        seen = [Step("symptom", at, at=name) for name in names]
        for step in (*seen, *proof.loads(self.bench, stands, at)):
            if not pricing.bars(self.machine, JobState(refused=self.state.refused), step):
                yield self._walked(step)

    def _walked(self, step: Step) -> Walked:
        """A step; what was opened only to turn a control is closed before it."""
        before, brought = self.state, replace(self.state, open_bays=frozenset(self.opened))
        bays = bays_needed(self.machine, replace(step, condition=None)) if step.kind == "reading" else ()
        shut = to_open(self.machine, brought, bays)
        after = taken.after(self.machine, brought, step)
        done = safely.prepared(self.machine, self.safe, before, after, step)
        self.state, self.safe, self.opened = after, done.state, (*self.opened, *shut)
        return Walked(step, before, shut, done)

    def end(self) -> Safely | None:
        """What was opened for the clamp is closed, and the power is back last; None where nothing was."""
        if not self.state.open_bays:
            return None
        return safely.put_together(self.machine, self.safe, self.state, safety.Step(Kind.ENERGISE))
