"""Sessions of the guide for the safety of steps: what it leads a person through who has a machine with hidden faults,
refuses now and then, repairs, shakes, puts together and proves, and goes on where the proof run shows something wrong.

Knows the guide as the person at it does; what could hurt is judged elsewhere, from what is emitted.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfsplit.evidence import finding as f
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.plan import safely, taken
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step
from halfsplit.rehearse import random_steps as rs
from halfsplit.rehearse import trials
from halfsplit.rehearse.emitted import Emitted, emitted
from halfsplit.rehearse.proved_steps import ProofRuns
from halfsplit.rehearse.truth import Truth, answer
from halfsplit.rehearse.two_faults import TwoFaults
from halfsplit.service import advising, after_repair, guiding, proof_cards, proof_shown, proving, repairing
from halfsplit.service.guiding import Guided
from halfsplit.service.proof_cards import Check
from halfsplit.work import handling, safety
from halfsplit.work.hazards import Kind
from halfsplit.work.refusals import NoPower
from halfsplit.work.state import JobState

TWO = 0.5
"""How often two faults are hidden."""
MOST_ASKED = 30
"""So many steps are advised at most between two repairs, the refused ones included."""
TAKES_BACK = 0.1
"""How often a person who takes things back does so with what a step of the search has shown."""
STOPS = 0.5
"""How often a person stops where the first cover is off in a proof run that shows something wrong."""
NAMES = 0.8
"""How often a person names what was wrong in use, and does not only say of the complaint whether it is still there.
What is wrong before the power is named, or else it would be put on."""
MOST_REPAIRS = 3
"""So often something is repaired at most."""


@dataclass(frozen=True)
class Person:
    """How a person goes along: how often two faults are hidden from them, whether they refuse things, how often they
    take a finding back, how often they name what was wrong in a proof run, and whether all of it or the first alone;
    how often they stop in it; what they cannot do in any session."""

    two: float = TWO
    refuses: bool = True
    takes_back: float = TAKES_BACK
    names: float = NAMES
    first_only: bool = False
    stops: float = STOPS
    lacks: frozenset[object] = frozenset()


class Sessions:
    """Sessions of one machine in which the guide leads. `truth`: what the last one has hidden still."""

    def __init__(self, asked: Adviser, person: Person = Person()) -> None:
        self.asked, self.machine, self.person = asked, asked.bench.machine, person
        self.truth: Truth | None = None
        self.hide_one = trials.Rehearsal(asked, trials.Asked(self.machine)).hidden
        self.hide_two = TwoFaults(asked, trials.Asked(self.machine)).hidden
        self.runs = ProofRuns(asked.bench)

    def session(self, rng: np.random.Generator) -> Iterator[Emitted]:
        """Step after step as the guide leads, to the proof run in which all is as it must be, or to another end."""
        truth, told = self.hide_one(rng) if rng.random() >= self.person.two else self.hide_two(rng)
        refused = frozenset(rs.drawn_refusals(self.machine, rng)) if self.person.refuses else frozenset[object]()
        self.truth, guided = truth, Guided(self.asked, tuple(told), refused | self.person.lacks)
        for _ in range(MOST_REPAIRS):
            guided = yield from self._searched(guided, truth, rng)
            due = guided.due
            if not due or repairing.barred(guided, due):
                break
            shown, ran = yield from self._proved(guided, due, truth, rng)
            if not shown:
                break
            named = not ran or rng.random() < self.person.names
            shown = shown if named else []
            asked = after_repair.asked_for(guided, shown, ran)
            seen = [one for one in (_now(truth, one) for one in asked) if isinstance(one, f.Perceived)]
            guided = after_repair.after(guided, due, (*shown, *seen), ran)
        self.asked.bench.forget()

    # ---- the search -------------------------------------------------------------------------------------------

    def _searched(self, guided: Guided, truth: Truth, rng: np.random.Generator) -> Generator[Emitted, None, Guided]:
        """What is led to until a repair is due, or nothing more is."""
        for _ in range(MOST_ASKED):
            if guided.wet:
                yield self._breaker_off(guided)
                guided = guided.breaker_off()
                continue
            advice = guided.advice
            if guided.due or advice is None or advice.step.kind == advising.STOP:
                break
            if self.person.refuses and rng.random() < rs.REFUSED:
                guided = guided.without(advice.step)
                continue
            state, safe = self._stands(guided)
            then = taken.after(self.machine, state, advice.step)
            done = emitted(self.machine, safe, state, then, advice.step)
            yield state, advice.step, done
            guided = guided.told(answer(truth, advice.step))
            if rng.random() < self.person.takes_back and Kind.TURN not in done.kinds:  # no watcher sees a knob go back
                yield self._put_back(done.state, replace(then, refused=guided.standing.refused), state)
                guided = guided.undone()
        return guided

    def _put_back(self, safe: safety.State, now: JobState, before: JobState) -> Emitted:
        """As a person does who is told that a step of theirs counts no more: covers, wires and power as before it, but
        no power where that has to stay off."""
        on = now.isolated and not before.isolated and NoPower() not in now.refused
        last = safety.Step(Kind.ENERGISE, inside=bool(before.open_bays)) if on else None
        stood = replace(before, condition=before.condition or conditions.condition(self.machine))
        return now, None, safely.brought(self.machine, safe, now, stood, last)

    def _breaker_off(self, guided: Guided) -> Emitted:
        """Water on the floor: the breaker goes off before anything else."""
        state, safe = self._stands(guided)
        feeds = range(len(self.machine.supply.isolates))
        off = tuple(safely.Doing(safety.Step(Kind.ISOLATE, feed=feed)) for feed in feeds)
        return state, None, safely.Safely(off, safe)

    @staticmethod
    def _stands(guided: Guided) -> tuple[JobState, safety.State]:
        """How the machine stands to the guide, and what has been proved and acknowledged."""
        state = advising.standing(guided.asked, guided.findings, guided.refused)
        return state, advising.safe_so_far(guided.asked, guided.findings)

    # ---- the repair and its proof -----------------------------------------------------------------------------

    def _proved(
        self, guided: Guided, due: Sequence[Repair], truth: Truth, rng: np.random.Generator
    ) -> Generator[Emitted, None, tuple[list[f.Finding], bool]]:
        """The repairs, what is shaken, putting together and the proof run; what that showed where something was wrong,
        and whether it ran. Now and then the person stops in it, and closes what is open as they are told."""
        state, safe = yield from self._repaired(guided, due)
        shaken = proving.before_closing(guided, due)
        for before, step, done in shaken.done:
            yield before, step, done
            state, safe = taken.after(self.machine, before, step) if step else _wired(before), done.state
        truth.repaired({*guided.made, *(one.name for one in due)})
        made = proving.run(guided, due, shaken, proving.to_frame(guided, due, shaken))
        wrong = self._wrong(made.checks, truth)
        ran = made.ran and all(check.number != proof_cards.FIRST for check in wrong)
        state = replace(state, refused=guiding.not_done_after(guided, due))
        hands_in = proving.wants_frame(guided, due)
        stops = bool(wrong) and rng.random() < self.person.stops
        for one in self.runs.after(state, safe, hands_in):
            if not ran and Kind.ENERGISE in one[2].kinds:
                break
            yield one
            if ran and stops and isinstance(one[1], Step) and one[1].live:
                yield self._closed(one)
                break
        return proof_shown.showed(guided.bench, made, guided.findings, wrong) if wrong else [], ran

    def _closed(self, last: Emitted) -> Emitted:
        """Isolated, proved dead and closed after a step of the proof run, with every cover on; the power is back."""
        before, step, done = last
        assert isinstance(step, Step)
        state = taken.after(self.machine, before, step)
        return state, None, safely.put_together(self.machine, done.state, state, safety.Step(Kind.ENERGISE))

    def _repaired(
        self, guided: Guided, due: Sequence[Repair]
    ) -> Generator[Emitted, None, tuple[JobState, safety.State]]:
        """The repairs with hands in the machine, one after the other; how it stands then."""
        state, safe = self._stands(guided)
        for repair in due:
            if handling.hands_in(self.machine, repair):
                then = taken.under_repair(self.machine, state, repair)
                done = emitted(self.machine, safe, state, then, repair)
                yield state, repair, done
                state, safe = then, done.state
        return state, safe

    def _wrong(self, checks: Sequence[Check], truth: Truth) -> dict[Check, f.Finding]:
        """What is not as it must be; where that is what is shaken or read to the frame, nothing else is seen."""
        found: dict[Check, f.Finding] = {}
        for check in checks:
            if found and check.number != proof_cards.FIRST and any(one.number == proof_cards.FIRST for one in found):
                break
            shown = answer(truth, check.step)
            if not check.is_right(self.asked.bench, shown):
                found[check] = shown
                if self.person.first_only:
                    break
        return found


def _now(truth: Truth, before: f.Perceived) -> f.Finding:
    """What was wrong before as it is seen after a repair."""
    return answer(truth, Step("symptom", before.condition, at=before.what))


def _wired(state: JobState) -> JobState:
    """The same with all wires on."""
    return replace(state, condition=replace(state.condition, lift=())) if state.condition else state
