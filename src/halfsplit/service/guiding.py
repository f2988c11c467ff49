"""A guided diagnosis, one step at a time: pure state; the terminal is at the edge.

Holds the findings so far and the steps set aside; what is believed and what to do next follow from them alone, so that
any finding can be taken back at any time.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from halfsplit.errors import BadInput, NotUnderstood, Refused, did_you_mean
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.evidence.weighing import Bench, Candidate, Weighed
from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.plan import undoing
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step
from halfsplit.service import closing, diagnosing, wording
from halfsplit.service.advising import (
    STOP,
    Advice,
    Further,
    advise,
    repair_cautions,
    standing,
    step_of,
    with_further,
)
from halfsplit.work import together


@dataclass(frozen=True, eq=False)
class Guided:
    """A diagnosis under way. Every change makes a new one; the old one stays as it was."""

    asked: Adviser
    findings: tuple[f.Finding, ...] = ()
    aside: frozenset[Step] = frozenset()

    @property
    def bench(self) -> Bench:
        """The machine with its candidates."""
        return self.asked.bench

    @property
    def machine(self) -> model.Machine:
        """The machine."""
        return self.bench.machine

    @cached_property
    def weighed(self) -> Weighed:
        """What is believed now."""
        return self.bench.weigh(self.findings)

    @cached_property
    def ranked(self) -> list[Candidate]:
        """The possible causes, best first, down to one in a thousand."""
        return self.weighed.ranked(0.001)

    @cached_property
    def advice(self) -> Advice | None:
        """The one next step; None where no step tells anything more."""
        return next(iter(advise(self.asked, self.weighed, self.aside, 1)), None)

    @cached_property
    def further(self) -> tuple[Further, ...]:
        """What would most probably be found out next in the set-up of the step advised."""
        return with_further(self.asked, self.weighed, self.advice, self.aside).further if self.advice else ()

    @property
    def due(self) -> tuple[Repair, ...]:
        """The repairs that are worth doing now; none while not enough is known, or nothing is left to ask."""
        if self.advice is not None and self.advice.step.kind == STOP:
            return ()
        known, names = self.weighed.enough
        if not known and self.advice is not None:
            return ()
        made = {x.repair for x in self.findings if isinstance(x, f.Tried) and not x.cured}
        repairs = self.weighed.candidates.repairs
        return tuple(repairs[name] for name in names if name in repairs and name not in made)

    def told(self, finding: f.Finding) -> Guided:
        """With one finding more."""
        return replace(self, findings=(*self.findings, finding))

    def answered(self, step: Step, typed: str) -> Guided:
        """With the answer to a step as it was typed. Raises NotUnderstood with what would be understood."""
        if step.kind == "look":
            known = wording.seen(self.bench.predictor, step.at)
            if typed.lower() not in known:
                raise NotUnderstood(typed, f"{typed!r} is none of {', '.join(known)}.", did_you_mean(typed, known))
            typed = typed.lower()
        return self.told(understood(self.machine, step, typed))

    def set_aside(self, step: Step) -> Guided:
        """Without a step that cannot be done here."""
        return replace(self, aside=self.aside | {step})

    def undone(self) -> Guided:
        """Without the last finding. Raises Refused where there is none."""
        if not self.findings:
            raise Refused("There is nothing to take back.")
        return replace(self, findings=self.findings[:-1])

    def reasons(self) -> list[dict[str, object]]:
        """What speaks for and against the best possible cause."""
        return diagnosing.reasons(self.weighed, self.ranked[0]) if self.ranked and self.findings else []


def understood(machine: model.Machine, step: Step, typed: str) -> f.Finding:
    """A typed answer as a finding, by the same rules as a findings file. Raises NotUnderstood."""
    try:
        (found,) = findings_file.read(json.dumps([_as_written(step, typed)]), "answer", machine)
    except BadInput as error:
        raise NotUnderstood(typed, " ".join(f"{p.message} {p.remedy}".strip() for p in error.problems)) from None
    return found


def _as_written(step: Step, typed: str) -> dict[str, object]:
    if step.kind == "look":
        return {"look": {"at": step.at, "sees": typed}}
    assert step.condition is not None
    if step.probe is None:
        return findings_file.written(f.Perceived(step.at, True, step.condition, "repairer")) | {
            "symptom": {"what": step.at, "value": typed, "by": "repairer", "set": dict(step.condition.setting)}
        }
    return findings_file.written(f.Reading(step.probe, step.condition, text=typed))


def complaint(what: str, there: bool) -> f.Perceived:
    """What an owner tells of the machine, in whatever setting they met it."""
    return f.Perceived(what, there)


@dataclass(frozen=True)
class Job:
    """A repair as the owner and the repairer need it: what, minutes with opening and closing, price, what to mind."""

    repair: str
    minutes: float
    price: float
    currency: str
    opens: tuple[str, ...]
    cautions: tuple[str, ...]
    by: str
    photographs: tuple[str, ...]
    """What to photograph before the first wire comes off."""
    dangers: tuple[str, ...]
    """What must be acknowledged before hands go to the machine, each with its signal word."""
    isolate: str
    """How the machine is isolated first; "" where it stands isolated, or no hand goes to it."""


def job(guided: Guided, repair: Repair) -> Job:
    """What a repair takes. What the house has is switched or handed over, and no bay of it opened."""
    machine = guided.machine
    hands_in = together.hands_in(machine, repair)
    bays = ways_in(machine, repair.bays) if hands_in else []
    opening = sum(bay.open_minutes + bay.close_minutes for bay in bays)
    part = machine.parts.get(repair.subject)
    cautions = [caution for bay in bays for caution in bay.cautions] + ([part.caution] if part and part.caution else [])
    return Job(
        repair.name,
        repair.minutes + opening,
        repair.price,
        machine.currency,
        tuple(bay.name for bay in bays),
        tuple(dict.fromkeys(cautions)),
        repair.by,
        tuple(wording.photographs(machine, together.taken_off(machine, repair), _been_off(guided))),
        repair_cautions(guided.asked, guided.findings, bool(bays)) if hands_in else (),
        wording.isolate(machine) if hands_in and not standing(guided.asked, guided.findings).isolated else "",
    )


def _been_off(guided: Guided) -> tuple[str, ...]:
    """The terminals whose wires were off for a step so far."""
    return tuple(t for x in guided.findings if isinstance(x, f.Reading) for t in x.condition.lift)


def proof_run(guided: Guided) -> tuple[str, ...]:
    """What must be seen after the repair."""
    return closing.proof_run(guided.weighed.predictor, guided.findings)


def put_together(guided: Guided, repairs: Sequence[Repair]) -> together.Closing:
    """How the machine is put together after the steps so far and these repairs."""
    return together.closing(guided.machine, undone(guided, repairs))


def undone(guided: Guided, repairs: Sequence[Repair]) -> together.Undone:
    """What the steps so far and these repairs leave undone."""
    taken = [*filter(None, map(step_of, guided.findings))]
    return undoing.after(guided.machine, taken, repairs)


def ways_in(machine: model.Machine, places: tuple[str, ...]) -> list[model.Bay]:
    """The bays to open for some bays, outermost first, each once."""
    found: dict[str, model.Bay] = {}
    for place in places:
        way: list[model.Bay] = []
        while place in machine.bays:
            way.insert(0, machine.bays[place])
            place = machine.bays[place].behind
        found |= {bay.name: bay for bay in way}
    return list(found.values())
