"""Before the visit: what to ask on the phone, and which parts to put on the van, by what each is expected to save.

Knows the posterior after the complaint and the table of steps; not the words in which a question is put. Everything is
in minutes, at the prices of work/prices and work/minutes:

- a **part** on the van saves a second trip when it is needed: P(needed) x the trip - what carrying costs.
- a **question** saves what the best step on site would take to tell as much, and what its answers change about the
  load of the van: sum over parts of min(P x trip, carrying), before less after; less the minutes of asking.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from halfsplit.evidence import finding as f
from halfsplit.evidence import weigh
from halfsplit.evidence.weighing import Weighed
from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.plan import score, steps
from halfsplit.plan.steps import Step
from halfsplit.predict.predictor import Predictor
from halfsplit.work import handling, minutes, prices
from halfsplit.work.state import JobState

AS_LEFT = JobState()
"""The machine as its owner leaves it, and nothing refused."""
LEAST_PART = 1e-3
"""A part that is needed less often is not listed."""


# ---- parts -------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Part:
    """A part for the van. `probability` that it is needed, its price (0: not in the file), minutes that it saves.

    `aboard`: it lies on the van already, so that nothing is carried and nothing more is saved.
    """

    name: str
    title: str
    probability: float
    price: float
    trip: float
    carrying: float = prices.CARRYING
    aboard: bool = False

    @property
    def saving(self) -> float:
        """Expected minutes saved by having it on the van; below 0 where it is better left on the shelf."""
        return self.trip - self.carrying


@dataclass(frozen=True)
class Van:
    """All parts that may be needed, the best to have first; and how often the load decides about a second trip.

    `covered`: the parts needed are all on the van (those that save anything, and those aboard); `missing`: one is not;
    `no_part`: the cure needs none. With what the file does not say these sum to 1.
    """

    parts: tuple[Part, ...]
    covered: float
    missing: float
    no_part: float

    @property
    def load(self) -> tuple[Part, ...]:
        """The parts that are worth carrying."""
        return tuple(part for part in self.parts if part.saving > 0)


def van(machine: model.Machine, weighed: Weighed) -> Van:
    """What to put on the van after these findings, beside what lies on it already."""
    needs = [(names, weighed.in_file * probability) for names, probability in _needs(weighed)]
    price = {r.subject: r.price for r in _repairs(weighed) if handling.new_part(r)}
    made = [
        _part(machine, name, probability, price[name])
        for name, probability in _wanted(needs).items()
        if probability >= LEAST_PART
    ]
    parts = tuple(sorted(made, key=lambda part: (-part.saving, part.name)))
    load = {part.name for part in parts if part.saving > 0} | (machine.van or frozenset())
    covered = sum(p for names, p in needs if names and names <= load)
    no_part = sum(p for names, p in needs if not names)
    return Van(parts, covered, sum(p for names, p in needs if names and not names <= load), no_part)


def _part(machine: model.Machine, name: str, probability: float, price: float) -> Part:
    aboard = name in (machine.van or ())
    trip, carrying = (0.0, 0.0) if aboard else (probability * prices.SECOND_TRIP, prices.CARRYING)
    return Part(name, machine.parts[name].title or name, probability, price, trip, carrying, aboard)


def unsure_load(weighed: Weighed) -> float:
    """Minutes expected to be lost with the best load: carried for nothing, or fetched by a second trip."""
    aboard = weighed.predictor.machine.van or frozenset()
    wanted = (probability for name, probability in _wanted(_needs(weighed)).items() if name not in aboard)
    return sum(min(probability * prices.SECOND_TRIP, prices.CARRYING) for probability in wanted)


def _wanted(needs: Iterable[tuple[frozenset[str], float]]) -> dict[str, float]:
    """Probability that each part is needed."""
    wanted: dict[str, float] = {}
    for names, probability in needs:
        for name in sorted(names):
            wanted[name] = wanted.get(name, 0.0) + probability
    return wanted


def _repairs(weighed: Weighed) -> list[Repair]:
    return [fault.repair for fault in weighed.candidates.faults]


def _needs(weighed: Weighed) -> list[tuple[frozenset[str], float]]:
    """For each set of repairs the parts that it needs, and its probability."""
    brings = {repair.name: handling.new_part(repair) for repair in _repairs(weighed)}
    return [
        (frozenset(filter(None, (brings[name] for name in names))), probability)
        for names, probability in weighed.by_repair.items()
    ]


# ---- questions ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Answer:
    """One answer: the finding that it makes, how likely it is, and what is believed after it."""

    finding: f.Perceived
    probability: float
    weighed: Weighed


@dataclass(frozen=True)
class Question:
    """A symptom to ask the owner for. `bits` about which repair is due; minutes saved on site and by the van's load."""

    what: str
    condition: Condition
    answers: tuple[Answer, Answer]
    bits: float
    on_site: float
    load: float
    asking: float = minutes.QUESTION

    @property
    def saving(self) -> float:
        """Expected minutes that the question saves in all."""
        return self.on_site + self.load - self.asking


def questions(
    asked: score.Adviser, weighed: Weighed, fits: Callable[[Step], bool], at: JobState = AS_LEFT
) -> list[Question]:
    """Every question that an owner can answer and has not, by expected saving; `fits`: an owner can have met it; `at`:
    how the machine will stand, and what cannot be done there.

    What was told without a setting is asked again with one where that may matter: "not warm" may have been on air only.
    """
    machine = asked.bench.machine
    told = {(x.what, x.condition) for x in weighed.findings if isinstance(x, f.Perceived)}
    answered = {*told, *_whatever_was_set(asked.bench.predictor, {what for what, at in told if at is None})}
    best = asked.next_steps(weighed, at)
    pace = max((one.rate for one in best), default=0.0)
    made = [
        question(weighed, step.at, step.met, pace)
        for step in steps.questions(machine)
        if step.met and (step.at, step.met) not in answered and fits(step)
    ]
    return sorted(made, key=lambda one: (-one.saving, one.what))


def _whatever_was_set(predictor: Predictor, told: Iterable[str]) -> Iterator[tuple[str, Condition | None]]:
    """Of what was told without a setting the questions that this has answered: in no other setting that an owner can
    make, of those that they may have meant, would a healthy machine answer otherwise. How warm it is nobody sets."""
    machine = predictor.machine
    meant = [at for at, _ in weigh.usual_conditions(predictor) if steps.owner_can(machine, at)]
    for step in steps.questions(machine):
        if step.at in told and step.met:
            as_warm = [conditions.at_warmth(at, step.met.position(WARMTH)) if machine.warmths else at for at in meant]
            there = {predictor.healthy_shows(step.at, at) for at in (step.met, *as_warm)}
            if len(there) == 1:
                yield step.at, step.met


def question(weighed: Weighed, what: str, at: Condition, pace: float) -> Question:
    """One question weighed: both answers are put in. pace: bits a minute of the best step on site (0: none).

    To know more never costs anything; a value below 0 comes from slips, which are weighed to second order only.
    """
    answers = _answers(weighed, what, at)
    before = score.unsure(weighed)
    bits = max(before - sum(one.probability * score.unsure(one.weighed) for one in answers), 0.0)
    lost = sum(one.probability * unsure_load(one.weighed) for one in answers)
    load = max(unsure_load(weighed) - lost, 0.0)
    return Question(what, at, answers, bits, bits / pace if pace else 0.0, load)


def _answers(weighed: Weighed, what: str, at: Condition) -> tuple[Answer, Answer]:
    """No and yes, with the same candidates as before: the evidence of each is its probability."""
    found = [f.Perceived(what, there, at, "owner") for there in (False, True)]
    after = [Weighed(weighed.predictor, (*weighed.findings, one), weighed.kept) for one in found]
    logs = np.array([one.posterior.log_evidence for one in after])
    chances = np.exp(logs - np.logaddexp.reduce(logs))
    no, yes = (Answer(*one) for one in zip(found, chances.tolist(), after, strict=True))
    return no, yes
