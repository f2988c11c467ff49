"""Random sessions for the safety of steps: any step that can be done, chosen blindly, some refused by the person.

Knows the steps and how the machine stands; weighs nothing, so that thousands of sessions take seconds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from halfsplit.machine import model
from halfsplit.plan import safely, score, steps
from halfsplit.plan.steps import Step
from halfsplit.rehearse import play
from halfsplit.work import refusals
from halfsplit.work.state import JobState

REFUSED = 0.15
"""How often the person will not do a step."""
MET = 0.3
"""How often a session meets each kind of lasting refusal."""


class Sessions:
    """The random sessions of one machine; `asked` gives the bench."""

    def __init__(self, asked: score.Adviser) -> None:
        self.asked = asked
        machine = asked.bench.machine
        possible = [step for step in asked.table.steps if score.possible(machine, step)]
        kinds = {_kind(step) for step in possible}
        self._by_kind = {kind: [step for step in possible if _kind(step) == kind] for kind in sorted(kinds)}

    def session(self, rng: np.random.Generator, length: int = 12) -> Iterator[tuple[JobState, Step, safely.Safely]]:
        """Step after step: how the machine stood, the step, and all that is done for it."""
        machine = self.asked.bench.machine
        state = JobState(refused=frozenset(_refusals(machine, rng)))
        safe = safely.begin(machine)
        for _ in range(length):
            step = self._step(rng)
            if step in state.refused or _barred(machine, state, step):
                continue
            if rng.random() < REFUSED:
                state = replace(state, refused=state.refused | {step})
                continue
            then = play.after(self.asked, state, step)
            made = safely.prepared(machine, safe, state, then, step)
            yield state, step, made
            state, safe = then, made.state

    def _step(self, rng: np.random.Generator) -> Step:
        """Each kind of step as likely as any other, so that the rare kinds are met."""
        kinds = list(self._by_kind)
        some = self._by_kind[kinds[int(rng.integers(len(kinds)))]]
        return some[int(rng.integers(len(some)))]


def _kind(step: Step) -> tuple[str, str, bool, bool]:
    at = step.condition
    return step.kind, step.probe.meter if step.probe else "", bool(at and at.isolated), bool(at and at.lift)


def _barred(machine: model.Machine, state: JobState, step: Step) -> bool:
    meter = step.probe.meter if step.probe else ""
    return refusals.bars(machine, state.refused, steps.bays_needed(machine, step), meter)


def _refusals(machine: model.Machine, rng: np.random.Generator) -> Iterator[object]:
    """What the person cannot do, drawn once a session."""
    if rng.random() < MET:
        yield refusals.CannotOpen(str(rng.choice(list(machine.bays))))
    if rng.random() < MET:
        yield refusals.NoMeter("amps")
    if rng.random() < MET:
        yield refusals.NoHelper()
