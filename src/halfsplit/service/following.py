"""The whole plan of a job, by the rule that also leads: what the adviser advises, box after box, as plain data.

Knows the guided diagnosis; the tree itself is plan/whole's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from halfsplit.evidence import copying, findings_file
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.machine import model
from halfsplit.plan import insulated, whole
from halfsplit.plan.shown import Outcome
from halfsplit.plan.steps import Step
from halfsplit.plan.whole import Box, Due
from halfsplit.service import advising, closing, deciding, in_short, meaning, naming, proving, repairing
from halfsplit.service.advising import Advice
from halfsplit.service.guiding import Guided
from halfsplit.service.proof_cards import ProofRun
from halfsplit.work import stopping
from halfsplit.work.hazards import STOPS
from halfsplit.work.refusals import NoOwner

DEEPEST = 12
"""So many steps in a row are put on paper; after them a repair is named, or the row is left out: what it has found is
weighed anew.
Halfsplit's choice."""
LIKELY = 0.5
"""Where no repair cures with as much, none is written down as due. Halfsplit's choice."""
CAUSES = 3
UNASKED: frozenset[object] = frozenset({NoOwner()})
"""On paper no box asks the owner: what they know is asked before the visit (`plan/visit`), and as the owner may err,
every question would split the tree and tell little."""

Plan = Box[Guided]


def plan(
    start: Guided,
    least: float = whole.LEAST,
    budget: int = whole.BUDGET,
    progress: Callable[[int], None] | None = None,
) -> Plan:
    """The whole plan from where a diagnosis stands; see `plan.whole.plan`. Where it is wet, from when the breaker is
    off."""
    begun = start.breaker_off() if start.wet else start
    return whole.plan(rule(begun), begun.findings, least, budget, progress)


def rule(start: Guided) -> Callable[[tuple[f.Finding, ...]], Due[Guided]]:
    """What is due after some findings, of which those of `start` were there before the visit."""
    told = len(start.findings)

    def due(findings: tuple[f.Finding, ...]) -> Due[Guided]:
        guided = replace(start, findings=findings, refused=start.refused | UNASKED)
        step = _step(guided)
        if step and len(findings) - told < DEEPEST:
            return Due(step, (), guided.weighed, guided)
        over = ends(guided)
        repairs = () if over else _due(guided)
        cut = step is not None and not (over or repairs)
        return Due(None, repairs, _closely(guided, repairs), guided, cut)

    return due


def _step(guided: Guided) -> Step | None:
    """The step advised; None where a repair is due, the work stops, or no step pays."""
    if _stopped(guided) or guided.settled or guided.advice is None:
        return None
    return guided.advice.step


def _stopped(guided: Guided) -> bool:
    """Whether the work ends here: by what was found, water until the breaker is off too, or since nothing shows."""
    return stopping.now(guided.machine, guided.findings) is not None or guided.may_go_on


def ends(guided: Guided) -> bool:
    """Whether the job ends here without a repair of ours: the work stops, or what is due is handed over."""
    return _stopped(guided) or handed_over(guided) is not None


def _due(guided: Guided) -> tuple[str, ...]:
    return guided.made_first[0] if guided.weighed.likeliest[1] >= LIKELY else ()


def _closely(guided: Guided, repairs: Sequence[str]) -> Weighed:
    """What is believed of the repairs due: where they leave something that the owner said unexplained, with pairs, so
    that they claim no cure of what a second fault may show."""
    if repairs and proving.unexplained(guided, repairs):
        return guided.bench.weigh_with_pairs(guided.findings)
    return guided.weighed


class Handed(NamedTuple):
    """Why what is due is handed over instead of made: the stop rule ("": it cannot be reached here), and in words."""

    rule: str
    text: str


def handed_over(guided: Guided) -> Handed | None:
    """Whether what is due is not ours to do, lies behind what will not open, or takes a helper who is not there; None
    where it is made, or not known to be due."""
    stands = guided.advice is not None and guided.advice.step.kind == advising.STOP
    names = guided.made_first[0] if stands else _due(guided)
    rule = advising.not_ours(guided.bench, names)
    if rule:
        return Handed(rule, f"{advising.NOT_OURS}: {' and '.join(names)}. {STOPS[rule].say}")
    if names and (why := repairing.why_barred(guided, [guided.bench.repairs[name] for name in names])):
        return Handed("", f"What is due: {' and '.join(names)}. {why}")
    return None


# ---- as data -----------------------------------------------------------------------------------------------


def as_data(box: Plan) -> dict[str, Any]:
    """A box and all that follows."""
    made: dict[str, Any] = {"box": box.number, "reached": box.reached} | _itself(box)
    made["outcomes"] = [_outcome(box, way.outcome, way.then) for way in box.ways]
    return made | {"something_else": box.something_else}


def claim(root: Plan) -> dict[str, float]:
    """How jobs that follow the tree end, in shares that sum to 1."""
    made = whole.claim(root)
    return {
        "cured": made.cured,
        "wrong_repair": made.wrong,
        "handed_over": made.handed_over,
        "off_the_sheet": made.off_the_tree,
    }


def _itself(box: Plan) -> dict[str, Any]:
    guided = box.due.told
    if box.due.step is not None:
        assert guided.advice is not None
        outcomes = [way.outcome for way in box.ways]
        assert guided.advice.scored is not None
        why = advising.reason(box.due.weighed, guided.advice.scored, outcomes)
        told = advising.as_data(guided.advice) | {"reason": why}
        return {"kind": "step"} | _left_after(box) | {k: v for k, v in told.items() if k in STEP_FIELDS}
    if box.due.repairs:
        made = [copying.line(guided.machine, f.Tried(name, False), ()) for name in box.due.repairs]
        return {"kind": "repair", "repair": _repair(box), "write": made}
    if _stopped(guided) and guided.advice is not None:
        return _stop(guided, guided.advice)
    handed = handed_over(guided)
    return {
        "kind": "hand over",
        "rule": (handed and handed.rule) or None,
        "text": naming.told(guided.machine, handed.text) if handed else None,
        "causes": causes(guided.weighed),
        "unexplained": guided.weighed.unsaid,
        "put_together": closing.as_data(guided.machine, proving.left_as_it_is(guided, handed and handed.rule)),
    }


def _stop(guided: Guided, advice: Advice) -> dict[str, Any]:
    """A stop with how the machine is left, but where nobody goes to it any more."""
    untouched = STOPS[advice.rule].untouched
    left = None if untouched else closing.as_data(guided.machine, proving.left_as_it_is(guided, advice.rule))
    goes_on = advice.rule == stopping.WATER
    return {
        "kind": "stop", "rule": advice.rule, "text": advice.text, "cautions": list(advice.cautions),
        "goes_on": goes_on, "put_together": left,
    }  # fmt: skip


STEP_FIELDS = (
    "text", "minutes", "live", "reason", "cautions", "acknowledge", "meter", "red", "black", "set", "isolated", "lift",
    "exchange", "provoke", "at", "closely",
)  # fmt: skip


def _left_after(box: Plan) -> dict[str, Any]:
    """What who leaves the sheet after a step has to know: whether it read to the frame, what to make good, and how
    the findings file has it."""
    guided = box.due.told
    framed = box.due.step is not None and insulated.reads(box.due.weighed.predictor, box.due.step)
    if not box.ways:
        return {"to_frame": framed, "leave": in_short.left(guided), "write": []}
    found = box.ways[0].outcome.finding
    write = copying.line(guided.machine, found, guided.findings)
    return {"to_frame": framed, "leave": in_short.left(guided.told(found)), "write": [write]}


def _outcome(box: Plan, outcome: Outcome, then: Plan | None) -> dict[str, Any]:
    meter = box.due.weighed.predictor.readings.meter
    return {
        "shows": naming.told(box.due.told.machine, meaning.shows(meter, outcome)),
        "probability": outcome.probability,
        "finding": findings_file.written(outcome.finding),
        "left_out": then is None,
        **_ended(box, outcome, then),
        "then": as_data(then) if then else None,
    }


def _ended(box: Plan, outcome: Outcome, then: Plan | None) -> dict[str, str | None]:
    """Where an outcome that no box follows ends the work: what to do, and how the machine is left, where anybody goes
    to it still. That cannot wait until all is weighed anew."""
    found = box.due.told.told(outcome.finding)
    rule = None if then else stopping.now(found.machine, found.findings)
    if not rule:
        return {"stop": None, "leave": None}
    return {"stop": stopping.said(rule), "leave": None if STOPS[rule].untouched else in_short.left(found, rule)}


def causes(weighed: Weighed, count: int = CAUSES) -> list[dict[str, Any]]:
    """The likeliest causes with their probabilities."""
    return [{"faults": list(one.faults), "probability": one.probability} for one in weighed.ranked(1e-3)[:count]]


def _repair(box: Plan) -> dict[str, Any]:
    """The repairs due in a box, how they are reached, and how the machine is put together after them."""
    guided = box.due.told
    repairs = [guided.weighed.candidates.repairs[name] for name in box.due.repairs]
    work = repairing.work(guided, repairs)
    return {
        "name": work.name,
        "probability": box.due.cures,
        "doubt": deciding.doubt(box.due.weighed),
        "mistaken": [proving.said(guided.machine, one) for one in proving.unexplained(guided, box.due.repairs)],
        "minutes": work.minutes,
        "price": work.price,
        "currency": work.currency,
        "second_trip": work.trip,
        "by": list(work.by),
        "first": list(work.first),
        "cautions": list(work.minded),
        "acknowledge": list(work.acknowledge),
        "before_closing": list(work.before_closing),
        "when": work.when,
        "put_together": closing.as_data(guided.machine, work.closed),
        "leave": in_short.unproved(guided.machine),
        "proof": [*_ends_it(guided.machine, proof := work.proof.in_use), *proof.sentences()],
    }


def _ends_it(machine: model.Machine, run: ProofRun) -> Iterator[str]:
    """What of a proof run ends the work where it is not as it must be, and what to do then: told before it, for nobody
    is asked on paper what was seen."""
    asked: dict[str, list[str]] = {}
    for check in run.checks:
        rule = stopping.now(machine, (check.found(False),)) if check.seen and not check.there else None
        question = f"'{machine.symptoms[check.step.at].question or check.step.at}'" if rule else ""
        if rule and question not in asked.setdefault(rule, []):
            asked[rule].append(question)
    yield from (f"At a yes to {' or '.join(some)}: {stopping.said(rule)}" for rule, some in asked.items())
