"""The proof run step by step: what can be seen and clamped in each setting, how the machine stands, what is done.

The one walk of it, for whoever tells it (`service/proof_run`) and whoever judges its safety (`rehearse/proved_steps`).
Knows `plan/proof` and the safety automaton; neither words nor what was found.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
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

AIR_PATH = "air path"
"""The type of a part through which air is led; open with the bay in which it lies."""


class Walked(NamedTuple):
    """A step of the proof run. `before`: how the machine stood; `shut`: the bays that are opened for the clamp and stay
    open while there is something to clamp; `done`: all that is done for it; `again`: whether the same was asked before,
    with the same answer of a healthy machine, or the clamp is put where it is open already."""

    step: Step
    before: JobState
    shut: tuple[str, ...]
    done: Safely
    again: bool


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
        self.asked: set[tuple[str, bool]] = set()

    def setting(self, at: Condition, names: Sequence[str], later: Iterable[Condition] = ()) -> Iterator[Walked]:
        """What is seen in a setting and what the clamp shows there, what was asked before first. Where neither here nor
        in a `later` setting anything is clamped, what was opened for that is closed first: nothing turns beside an open
        cover for nothing.
        """
        seen = [step for name in names if not self._barred(step := Step("symptom", at, at=name))]
        clamped = self._clamped(at)
        if seen and not clamped and not any(self._clamped(one) for one in later):
            self.opened = ()
        again = [step for step in seen if self.answer(step) in self.asked and not self._blinded(step)]
        new = [step for step in seen if self.answer(step) not in self.asked]
        ready = clamped if self.opened else []
        for step in (*again, *ready, *new, *(() if ready else clamped)):
            yield self._walked(step, step in again or step in ready)
            self.asked |= {self.answer(step)} if step.kind == "symptom" else set()

    def answer(self, step: Step) -> tuple[str, bool]:
        """A symptom, and whether it is there on a healthy machine."""
        assert step.condition is not None
        return step.at, self.bench.predictor.healthy_shows(step.at, step.condition)

    def _blinded(self, step: Step) -> bool:
        """Whether it is moved by air through a bay that is open for the clamp. It was seen before that."""
        return self._is_led_through(step.at, self.opened)

    def led_through(self, opened: Sequence[str]) -> list[tuple[str, bool]]:
        """What was asked of air that is led through these bays, and whether it must be there: to be seen once more when
        they are closed, since a duct was off meanwhile. Not what takes its time."""
        soon = (one for one in self.asked if not self.machine.symptoms[one[0]].takes)
        return sorted(one for one in soon if self._is_led_through(one[0], opened))

    def _is_led_through(self, what: str, opened: Sequence[str]) -> bool:
        through = self.machine.symptoms[what].through
        ducts = (part for part in map(self.machine.parts.get, through) if part and part.type == AIR_PATH)
        return any(part.bay in opened for part in ducts)

    def _clamped(self, at: Condition) -> list[Step]:
        stands = JobState(frozenset(self.opened), at, self.state.refused, warm=places.cooling(self.machine))
        return [step for step in proof.loads(self.bench, stands, at) if not self._barred(step)]

    def _barred(self, step: Step) -> bool:
        return pricing.bars(self.machine, JobState(refused=self.state.refused), step)

    def _walked(self, step: Step, again: bool) -> Walked:
        """A step; what is not open for the clamp, as for turning a control, is closed before it."""
        before, brought = self.state, replace(self.state, open_bays=frozenset(self.opened))
        bays = bays_needed(self.machine, replace(step, condition=None)) if step.kind == "reading" else ()
        shut = to_open(self.machine, brought, bays)
        after = taken.after(self.machine, brought, step)
        after = replace(after, open_bays=after.open_bays | brought.open_bays)
        done = safely.prepared(self.machine, self.safe, before, after, step)
        self.state, self.safe, self.opened = after, done.state, (*self.opened, *shut)
        return Walked(step, before, shut, done, again)

    def end(self) -> Safely | None:
        """What is still open for the clamp is closed, and the power is back last; None where nothing is."""
        if not self.state.open_bays:
            return None
        return safely.put_together(self.machine, self.safe, self.state, safety.Step(Kind.ENERGISE))
