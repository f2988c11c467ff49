"""`visit`: the sheet before a visit: what to ask on the phone, what to put on the van, and the whole plan."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.machine import model
from halfsplit.plan import fitting, visit, whole
from halfsplit.plan.score import Adviser
from halfsplit.plan.visit import Answer, Part, Question
from halfsplit.predict.predictor import Predictor
from halfsplit.service import advising, following, off_the_sheet, questions, refusing, remembering, replaying, resuming
from halfsplit.service.guiding import Guided
from halfsplit.work import minutes, prices, stopping
from halfsplit.work.refusals import NoOwner
from halfsplit.work.state import JobState

CAUSES = 5


@dataclass(frozen=True)
class Asked:
    """What the sheet shall hold: the whole plan or not, branches reached with at least `least`, `boxes` at most."""

    tree: bool = False
    least: float = whole.LEAST
    boxes: int = whole.BUDGET


def sheet(
    machine: model.Machine,
    findings: Sequence[f.Finding],
    asked: Asked = Asked(),
    key: str = "",
    worked_on_before: bool = False,
    progress: Callable[[int], None] | None = None,
    cannot: Sequence[str] = (),
) -> dict[str, Any]:
    """The sheet; under `key` the machine's table of steps is kept. `progress` is told the boxes of the plan made.
    `cannot`: what cannot be done there (`refusing.choices`). Raises WrongUse where that means nothing here."""
    refused = refusing.named(machine, cannot)
    bench = remembering.bench(machine, key, worked_on_before)
    adviser = advising.adviser(bench, key)
    guided = replaying.replayed(adviser, findings, refused)
    made = _told(guided)
    remembering.keep(bench, key)
    root = None
    if asked.tree:
        loaded = _loaded(guided, adviser, key, worked_on_before)
        there = replaying.replayed(loaded, findings, refused).resumed()
        root = following.plan(there, asked.least, asked.boxes, progress)
        remembering.keep(loaded.bench, key)
    return made | {
        "tree": following.as_data(root) if root else None,
        "claims": following.claim(root) if root else None,
        "stands": (resuming.said(guided) or None) if root else None,
        "left": off_the_sheet.as_data(root, asked.least) if root else None,
        "least": asked.least,
        "findings": [findings_file.written(one) for one in findings],
    }


def _loaded(guided: Guided, adviser: Adviser, key: str, worked_on_before: bool) -> Adviser:
    """The adviser of the visit itself, before any repair, where the first was `adviser`: what the sheet puts on the van
    lies there, where anything is said of a van."""
    machine = guided.machine
    load = {part.name for part in visit.van(machine, guided.weighed).load}
    if machine.van is None or not load:
        return adviser
    loaded = replace(machine, van=machine.van | load)
    return advising.adviser(remembering.bench(loaded, key, worked_on_before), key)


def _told(guided: Guided) -> dict[str, Any]:
    adviser, machine, findings, weighed = guided.asked, guided.machine, guided.findings, guided.weighed
    stop, van = stopping.reason(machine, findings), visit.van(machine, weighed)
    at = JobState(refused=guided.refused)
    asked = visit.questions(adviser, weighed, lambda step: fitting.fits(adviser, findings, step), at)
    told = [_question(adviser.bench.predictor, findings, one) for one in asked]
    if NoOwner() in guided.refused:  # or after a repair, when they know the machine as it was; dangers are asked still
        told = [one for one in told if one["danger"]]
    return {
        "machine": machine.title,
        "stop": stopping.said(stop) if stop else None,
        "first": list(stopping.first(findings)),
        "causes": following.causes(weighed, CAUSES),
        "unexplained": weighed.unsaid,
        "questions": [] if stop else _dangers_first(told),
        "parts": [] if stop else [_part(machine, part) for part in van.parts],
        "van": {"covered": van.covered, "missing": van.missing, "no_part": van.no_part},
        "minutes": {"second_trip": prices.SECOND_TRIP, "carrying": prices.CARRYING, "asking": minutes.QUESTION},
    }


def _dangers_first(questions: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What may end the work is asked before anything else, whatever it saves; the order is kept else."""
    return sorted(questions, key=lambda one: not one["danger"])


def _question(predictor: Predictor, findings: Sequence[f.Finding], one: Question) -> dict[str, Any]:
    machine = predictor.machine
    answers = [_answer(machine, findings, answer) for answer in reversed(one.answers)]
    return {
        "what": one.what,
        "ask": questions.question(predictor, one.what, one.condition),
        "set": questions.stands(machine, one.what, one.condition),
        "bits": one.bits,
        "saving": one.saving,
        "saves": {"on_site": one.on_site, "load": one.load, "asking": -one.asking},
        "danger": any(answer["stop"] for answer in answers),
        "answers": answers,
    }


def _answer(machine: model.Machine, findings: Sequence[f.Finding], one: Answer) -> dict[str, Any]:
    after = (*findings, one.finding)
    stop = stopping.reason(machine, after)
    said = [stopping.said(stop)] if stop else [t for t in stopping.first(after) if t not in stopping.first(findings)]
    return {
        "value": "yes" if one.finding.there else "no",
        "probability": one.probability,
        "causes": following.causes(one.weighed),
        "stop": " ".join(said) or None,
        "finding": findings_file.written(one.finding),
    }


def _part(machine: model.Machine, part: Part) -> dict[str, Any]:
    return {
        "part": part.name,
        "title": part.title,
        "probability": part.probability,
        "price": part.price or None,
        "currency": machine.currency,
        "saving": part.saving,
        "saves": {"trip": part.trip, "carrying": -part.carrying},
        "take": part.saving > 0,
        "on_van": part.aboard,
    }
