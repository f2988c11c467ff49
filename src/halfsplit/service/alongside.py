"""What would most probably be read or looked at next in the set-up of a step, in words and as data.

Knows the adviser with set-ups and the safety automaton; what is named wants nothing done in between.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from halfsplit.evidence.weighing import Weighed
from halfsplit.machine import model
from halfsplit.plan import pricing, safely, score, setups, steps, taken
from halfsplit.plan.steps import Step
from halfsplit.service import expecting, made_whole, naming, setting_back, wording
from halfsplit.service.advising import Advice, safe_so_far, standing
from halfsplit.work import safety
from halfsplit.work.state import OUTSIDE, JobState


@dataclass(frozen=True)
class Alongside:
    """A reading or look of the same set-up that would most probably be made next: when, how, minutes, how probably.

    `alike`: what is said where it should show the same as a reading before it, and `within` how far, relatively, two
    healthy ones may lie apart (0: it is compared with none).
    """

    when: str
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


def readings(
    asked: score.Adviser, weighed: Weighed, advice: Advice, refused: Collection[object] = ()
) -> tuple[Alongside, ...]:
    """What would most probably be made next in the set-up of a step, in order; none where the adviser has no set-ups.

    The likeliest outcomes are weighed and advised upon as if they were found: some tenths of a second.
    """
    if advice.scored is None or not isinstance(asked, setups.Setups):
        return ()
    machine, state = asked.bench.machine, standing(asked, weighed.findings, refused)
    after = taken.after(machine, state, advice.step)
    safe = safely.prepared(machine, safe_so_far(asked, weighed.findings), state, after, advice.step).state
    chain = asked.alongside(weighed, state, advice.scored)
    return tuple(_in_words(asked, weighed, after, safe, advice, chain))


def _in_words(
    asked: setups.Setups, weighed: Weighed, after: JobState, safe: safety.State, advice: Advice,
    chain: Iterable[setups.Alongside],
) -> Iterator[Alongside]:  # fmt: skip
    """The steps in words, as long as the automaton wants nothing done in between."""
    machine = asked.bench.machine
    when = "While the leads are here" if advice.step.kind == "reading" else "While you are here"
    for one in chain:
        if not at_hand(machine, after, advice.step, one.step):
            return
        then = taken.after(machine, after, one.step)
        done = safely.prepared(machine, safe, after, then, one.step)
        if len(done.doings) > 1:
            return
        text = _text(weighed, after, one.step, advice)
        spent = pricing.cost_of(machine, after, one.step).minutes
        alike = naming.told(machine, _alike(one))
        yield Alongside(when, one.step, text, spent, one.probability, alike, one.within)
        after, safe = then, done.state


def at_hand(machine: model.Machine, now: JobState, here: Step, step: Step) -> bool:
    """Whether a step is done from where a person stands for another one: in the same bay, or one that lies in front of
    it; outside only for who is outside, or where nothing is open. The frame is at hand everywhere."""
    stands, goes = _where(machine, here), _where(machine, step)
    in_front = {bay.name for name in stands for bay in machine.fronts(name)}
    near = {*stands, *in_front} | ({OUTSIDE} if not now.open_bays else set())
    return goes <= near


def _where(machine: model.Machine, step: Step) -> set[str]:
    """The bays in which the places of a step lie."""
    parts = (machine.parts.get(model.part_of(place)) for place in step.places if place != machine.frame)
    return {part.bay if part.bay in machine.bays else OUTSIDE for part in parts if part}


def _text(weighed: Weighed, after: JobState, step: Step, advice: Advice) -> str:
    """What to do where all else stands already, to be said after `when`: where the leads go and what it wants made
    whole that the advice has not told, or where to look. A look tells nobody how the controls stand."""
    if step.probe is not None and step.probe.black:
        assert step.condition is not None
        astray = made_whole.stand_astray(weighed.predictor.machine, step.probe, step.condition, after.open_bays)
        looks, dead = advice.step.probe is None, step.condition.isolated
        still = setting_back.still(weighed.predictor.machine, step.condition, astray) if looks and dead else ()
        whole = (*made_whole.sentences(weighed.predictor, step, after.open_bays), *still)
        good = expecting.when_good(weighed.predictor, step.probe, step.condition)
        said = f"red on {step.probe.red}, black on {step.probe.black} ({good})."
        also = (one for one in whole if one not in advice.text)
        return naming.told(weighed.predictor.machine, " ".join([said, *also]))
    text = wording.sentence(weighed.predictor, after, step, steps.bays_needed(weighed.predictor.machine, step))
    return wording.lowered(text)


def _alike(one: setups.Alongside) -> str:
    """What is said of two like things: the line, the leads and the meter are the same for both."""
    if one.beside is None or one.beside.probe is None:
        return ""
    probe = one.beside.probe
    apart = f"within {100 * one.within:.0f} %"
    return f"Healthy, it shows what {probe.red} to {probe.black} showed, {apart}: the two are alike."


def as_data(one: Alongside) -> dict[str, Any]:
    """One of them as data; its setting is that of the step before it."""
    probe = one.step.probe
    return {
        "when": one.when,
        "kind": one.step.kind,
        "text": one.text,
        "minutes": one.minutes,
        "probability": one.probability,
        "at": one.step.at or None,
        "closely": one.step.closely,
        "meter": probe.meter if probe else None,
        "red": probe.red if probe else None,
        "black": (probe.black or None) if probe else None,
        "alike": one.alike or None,
        "within": one.within or None,
    }
