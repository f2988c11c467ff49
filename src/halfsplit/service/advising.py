"""The next steps as data, best first: the only place that asks the plan. The table of steps is kept per machine."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from halfsplit.errors import Refused
from halfsplit.evidence import finding as f
from halfsplit.evidence import outcome
from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.machine import model
from halfsplit.operate.condition import Condition
from halfsplit.plan import alike, fitting, odd, pricing, safely, score, setups, steps, table, taken
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.service import kept, remembering, wording
from halfsplit.work import safety, stopping
from halfsplit.work.hazards import CAUTIONS, STOPS, Kind
from halfsplit.work.state import JobState, to_open

CLASSES = kept.named(
    table.Table, table.Outcomes, alike.Compared, odd.OddSteps, outcome.Partition, Step, Condition, Probe
)
COUNT = 3
"""So many steps are offered."""
STOP = "stop"
"""The kind of a step that ends the work here."""
ODD = "No reading across one part or along one wire tells half as much a minute: mind where the leads go."
"""What is said of a reading between two places that nothing joins."""


@dataclass(frozen=True)
class Further:
    """A reading or look of the same set-up that would most probably be made next: how, how probably, beside what.

    `alike`: what is said where it should show the same as a reading before it, and `within` how far, relatively, two
    healthy ones may lie apart (0: it is compared with none).
    """

    step: Step
    text: str
    minutes: float
    probability: float
    alike: str = ""
    within: float = 0.0

    @property
    def sentence(self) -> str:
        """What to do, and what it should be like."""
        return f"{self.text} {self.alike}".strip()


@dataclass(frozen=True)
class Advice:
    """One step: what to do in a sentence, its minutes, the bits it tells about the repair, what outcomes mean."""

    step: Step
    text: str
    minutes: float
    bits: float
    outcomes: tuple[str, ...]
    cautions: tuple[str, ...]
    scored: score.Scored | None = None
    """As the plan scored it; None for a stop."""
    further: tuple[Further, ...] = ()
    """What would most probably be found out next in the same set-up, in order; see `with_further`."""

    @property
    def meanwhile(self) -> str:
        """When the further readings are made."""
        return "While the leads are here" if self.step.kind == "reading" else "While you are here"

    @property
    def live(self) -> bool:
        """Whether leads touch a machine under power."""
        return self.step.live


def adviser(bench: Bench, key: str = "") -> score.Adviser:
    """The adviser of a machine; its table of steps is kept under `key` ("": not kept)."""
    name = kept.key("table", key)
    found = kept.get(name, CLASSES | kept.arrays()) if key else None
    if isinstance(found, table.Table):
        return setups.Setups(bench, found)
    made = setups.Setups(bench)
    if key:
        kept.put(name, made.table)
        remembering.learn_the_usual(bench)
    return made


def advise(asked: score.Adviser, weighed: Weighed, aside: Collection[Step] = (), count: int = COUNT) -> list[Advice]:
    """The best steps from where the findings have brought the machine, without those set aside."""
    stop = stopping.reason(asked.bench.machine, weighed.findings)
    if stop:
        return [Advice(Step(STOP), f"STOP. {STOPS[stop].say}", 0.0, 0.0, (), (f"DANGER: {stop}.",))]
    state = standing(asked, weighed.findings, aside)
    safe = _safe_so_far(asked, weighed.findings)
    return [_advice(asked, weighed, state, safe, one) for one in fitting.next_steps(asked, weighed, state, count)]


def _safe_so_far(asked: score.Adviser, findings: Sequence[f.Finding]) -> safety.State:
    """What has been proved and acknowledged by the steps taken so far; begun anew where they were not ours."""
    machine, state, safe = asked.bench.machine, JobState(), safely.begin(asked.bench.machine)
    for step in filter(None, map(step_of, findings)):
        after = taken.after(asked.bench.machine, state, step)
        try:
            safe = safely.prepared(machine, safe, state, after, step).state
        except Refused:
            safe = safely.begin(machine)
        state = after
    return safe


def standing(asked: score.Adviser, findings: Sequence[f.Finding], aside: Collection[Step] = ()) -> JobState:
    """How the machine stands after these findings: what is open, its condition, what has been done."""
    state = JobState(refused=frozenset(aside))
    for step in filter(None, map(step_of, findings)):
        state = taken.after(asked.bench.machine, state, step)
    return state


def step_of(found: f.Finding) -> Step | None:
    """The step that gave a finding; None for what an owner told and for repairs."""
    match found:
        case f.Reading():
            places = steps.places_of(found.probe, found.condition)
            return Step("reading", found.condition, found.probe, places=places)
        case f.Look():
            return Step("look", at=found.at, places=(found.at,))
        case f.Perceived(by="repairer", condition=Condition()):
            return Step("symptom", found.condition, at=found.what)
    return None


def _advice(asked: score.Adviser, weighed: Weighed, state: JobState, safe: safety.State, one: score.Scored) -> Advice:
    machine, step = asked.bench.machine, one.step
    bays = steps.bays_needed(machine, step)
    done = safely.prepared(machine, safe, state, taken.after(machine, state, step), step)
    wanted = {doing.kind for doing in done.doings}
    return Advice(
        step,
        wording.sentence(weighed.predictor, state, step, bays, wanted),
        one.cost.minutes,
        one.bits,
        wording.outcomes(weighed, step),
        (*stopping.first(weighed.findings), *done.cautions, *_of_bays(machine, state, bays)),
        one,
    )


def with_further(asked: score.Adviser, weighed: Weighed, advice: Advice, aside: Collection[Step] = ()) -> Advice:
    """A step with what would most probably be made next in its set-up.

    Its likeliest outcomes are weighed and advised upon: some tenths of a second.
    """
    if advice.scored is None or not isinstance(asked, setups.Setups):
        return advice
    state, safe = standing(asked, weighed.findings, aside), _safe_so_far(asked, weighed.findings)
    after = taken.after(asked.bench.machine, state, advice.step)
    safe = safely.prepared(asked.bench.machine, safe, state, after, advice.step).state
    chain = asked.further(weighed, state, advice.scored)
    return replace(advice, further=tuple(_further(asked, weighed, after, safe, chain)))


def _further(
    asked: setups.Setups, weighed: Weighed, after: JobState, safe: safety.State, chain: Iterable[setups.Further]
) -> Iterator[Further]:
    """The further steps in words, as long as the automaton wants nothing done in between."""
    machine = asked.bench.machine
    for more in chain:
        then = taken.after(machine, after, more.step)
        done = safely.prepared(machine, safe, after, then, more.step)
        if len(done.doings) > 1:
            return
        bays = steps.bays_needed(machine, more.step)
        text = wording.sentence(weighed.predictor, after, more.step, bays)
        spent = pricing.cost_of(machine, after, more.step).minutes
        yield Further(more.step, text, spent, more.probability, _alike(more), more.within)
        after, safe = then, done.state


def _alike(more: setups.Further) -> str:
    """What is said of two like things: the line, the leads and the meter are the same for both."""
    if more.beside is None or more.beside.probe is None:
        return ""
    probe = more.beside.probe
    return f"It should show what {probe.red} to {probe.black} showed, within {more.within:.0%}: they are alike."


def _of_bays(machine: model.Machine, state: JobState, bays: tuple[str, ...]) -> Iterator[str]:
    """The cautions of each bay to be opened."""
    for bay in to_open(machine, state, bays):
        for caution in machine.bays[bay].cautions:
            yield f"CAUTION: {bay}: {caution}"


def repair_cautions(asked: score.Adviser, findings: Sequence[f.Finding], inside: bool) -> tuple[str, ...]:
    """What the automaton wants acknowledged before hands go to the machine for a repair; `inside`: behind a cover."""
    safe, found = _safe_so_far(asked, findings), []
    repair = safety.Step(Kind.REPAIR, inside=inside)
    for one in safety.prepare(safe, repair):
        if one.hazard:
            found.append("{}: {}".format(*CAUTIONS[one.hazard]))
    return tuple(dict.fromkeys(found))


def reason(advice: Advice) -> str:
    """Why this step."""
    if advice.step.kind == STOP:
        return "Going on could hurt somebody."
    tells = f"It tells {advice.bits:.2f} bits about which repair is due in {advice.minutes:.1f} minutes."
    return f"{tells} {ODD}" if advice.step.odd else tells


def as_data(advice: Advice) -> dict[str, Any]:
    """A step as the contract has it, and all that a tool needs to do it."""
    step = advice.step
    at = step.condition
    return {
        "kind": step.kind,
        "text": advice.text,
        "minutes": advice.minutes,
        "live": advice.live,
        "reason": reason(advice),
        "bits": advice.bits,
        "at": step.at or None,
        "meter": step.probe.meter if step.probe else None,
        "red": step.probe.red if step.probe else None,
        "black": (step.probe.black or None) if step.probe else None,
        "set": dict(at.setting) if at else None,
        "isolated": at.isolated if at else None,
        "lift": list(at.lift) if at else [],
        "provoke": (at.provoke or None) if at else None,
        "outcomes": list(advice.outcomes),
        "cautions": list(advice.cautions),
        "further": [_further_as_data(one) for one in advice.further],
    }


def _further_as_data(further: Further) -> dict[str, Any]:
    """A further reading or look of the same set-up; its setting is that of the step before it."""
    probe = further.step.probe
    return {
        "kind": further.step.kind,
        "text": further.text,
        "minutes": further.minutes,
        "probability": further.probability,
        "at": further.step.at or None,
        "meter": probe.meter if probe else None,
        "red": probe.red if probe else None,
        "black": (probe.black or None) if probe else None,
        "alike": further.alike or None,
        "within": further.within or None,
    }
