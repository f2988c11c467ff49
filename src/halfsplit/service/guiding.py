"""A guided diagnosis, one step at a time: pure state; the terminal is at the edge.

Holds the findings so far and the steps set aside; what is believed and what to do next follow from them alone, so that
any finding can be taken back at any time.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from functools import cached_property

from halfsplit.errors import BadInput, NotUnderstood, Refused, did_you_mean
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.evidence.weighing import Bench, Candidate, Weighed
from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step
from halfsplit.service import diagnosing, wording
from halfsplit.service.advising import STOP, Advice, advise


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

    @property
    def due(self) -> tuple[Repair, ...]:
        """The repairs that are worth doing now; none while not enough is known, or nothing is left to ask."""
        if self.advice is not None and self.advice.step.kind == STOP:
            return ()
        known, names = self.weighed.enough
        if not known and self.advice is not None:
            return ()
        made = {x.repair for x in self.findings if isinstance(x, f.Tried) and not x.cured}
        repairs = {fault.repair.name: fault.repair for fault in self.weighed.candidates.faults}
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


def usual(machine: model.Machine) -> Condition:
    """The setting in which an owner uses the machine: the first that the file names."""
    return conditions.condition(machine, next(iter(machine.settings.values()), ()))


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
    """A repair as the owner and the repairer need it: what, minutes with opening and closing, price, what after."""

    repair: str
    minutes: float
    price: float
    currency: str
    opens: tuple[str, ...]
    cautions: tuple[str, ...]
    by: str
    after: tuple[str, ...]


def job(guided: Guided, repair: Repair) -> Job:
    """What a repair takes, and what to check when it is done."""
    machine = guided.machine
    bays = ways_in(machine, repair.bays)
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
        tuple(_afterwards(guided)),
    )


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


def _afterwards(guided: Guided) -> list[str]:
    """Every symptom that was not as on a healthy machine must now be so; and the frame must be earthed."""
    machine, predictor = guided.machine, guided.weighed.predictor
    checks = []
    for found in guided.findings:
        if isinstance(found, f.Perceived):
            healthy = bool(predictor.symptom(found.what, found.condition or usual(machine), True)[0] > 0.5)
            if healthy != found.there:
                checks.append(f"{machine.symptoms[found.what].question or found.what} It must be {_word(healthy)} now.")
    if machine.frame and machine.supply.earth:
        checks.append(
            f"Before plugging in: ohms from {machine.frame} to the earth contact of the plug or supply, below 1 ohm."
        )
    return [*dict.fromkeys(checks), "Every cover is on and every wire that came off is back where it was."]


def _word(there: bool) -> str:
    return "yes" if there else "no"
