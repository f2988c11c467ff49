"""What goes without saying once something was told or seen: symptoms that every fault leaves one answer to.

Taken at its word, a motor that never runs means that nothing got warm and no air flowed. To ask for that tells only
whether somebody was mistaken before; and nobody can tell what shows in a warm machine only. Knows the predictions of
single faults and findings; weighs nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import steps
from halfsplit.predict.predictor import Predictor
from halfsplit.work import warms

AT_THEIR_WORD = 0.9
"""Who told something is taken at his word where that is so probable, by all that was told. Halfsplit's choice, no
source."""
KEPT = 16
"""So many answers are kept: every step that might come next is asked about the same findings."""

Seen = tuple[f.Perceived, ...]


def answer(
    predictor: Predictor, findings: Sequence[f.Finding], what: str, at: Condition, by_owner: bool = True
) -> bool | None:
    """What its owner must say of a symptom in a setting by what was told and seen, or who sees it for himself; None
    where that is open, nothing was, or no single fault shows all of it. Of the same thing in another setting he says
    what he said before, though all that he told may contradict itself."""
    return _answer(predictor, _perceived(findings), what, at, by_owner)


def _answer(predictor: Predictor, seen: Seen, what: str, at: Condition, by_owner: bool) -> bool | None:
    if by_owner and (said := _said_before(predictor, seen, what, at)) is not None:
        return said
    rows = _taken_at_their_word(predictor, seen)
    if rows is None or not rows.any():
        return None
    there = predictor.symptom(what, at, by_owner)[rows] > 0.5
    return bool(there[0]) if (there == there[0]).all() else None


def _said_before(predictor: Predictor, seen: Seen, what: str, at: Condition) -> bool | None:
    """What follows from one thing that its owner told of the very same thing in another setting: a drum that turns once
    START is let go turns while it is held. Right or mistaken, he says of both what he believes."""
    usual, symptoms = conditions.usual(predictor.machine), predictor.machine.symptoms
    there = predictor.symptom(what, at, True) > 0.5
    for x in seen:
        if x.by == "owner" and x.what != what and _bare(symptoms[x.what]) == _bare(symptoms[what]):
            rows = (predictor.symptom(x.what, x.condition or usual, True) > 0.5) == x.there
            if rows.any() and (there[rows] == there[rows][0]).all():
                return bool(there[rows][0])
    return None


def _bare(symptom: model.Symptom) -> model.Symptom:
    """A symptom without its setting and its words."""
    return replace(symptom, name="", setting=(), question="")


def no_warmth(predictor: Predictor, findings: Sequence[f.Finding], by_owner: bool = True) -> tuple[f.Perceived, ...]:
    """The warmth that a healthy machine gives from cold and that its owner must have missed by what was told and seen,
    or who sees for himself: a control that had stood elsewhere at home is set right now."""
    return _no_warmth(predictor, _perceived(findings), by_owner)


def _perceived(findings: Sequence[f.Finding]) -> Seen:
    return tuple(x for x in findings if isinstance(x, f.Perceived))


@lru_cache(maxsize=KEPT)
def _no_warmth(predictor: Predictor, seen: Seen, by_owner: bool) -> tuple[f.Perceived, ...]:
    machine = predictor.machine
    found: list[f.Perceived] = []
    for what, symptom in machine.symptoms.items():
        at = steps.met_in(machine, symptom)
        gives = warms.heats_from_cold(machine, symptom) and predictor.healthy_shows(what, at)
        if gives and _answer(predictor, seen, what, at, by_owner) is False:
            found.append(f.Perceived(what, False, at, "owner" if by_owner else "repairer"))
    return tuple(found)


@lru_cache(maxsize=KEPT)
def _taken_at_their_word(predictor: Predictor, seen: Seen) -> Array | None:
    """(S,) the variants that show all that was told or seen, nobody being mistaken; None where nothing was, or where a
    mistake is no unlikely reason for it."""
    usual = conditions.usual(predictor.machine)
    chance = predictor.candidates.prior
    rows = np.ones(len(chance), bool)
    for x in seen:
        yes = predictor.symptom(x.what, x.condition or usual, x.by == "owner")
        rows = rows & ((yes > 0.5) == x.there)
        chance = chance * (yes if x.there else 1 - yes)
    return rows if seen and chance[rows].sum() >= AT_THEIR_WORD * chance.sum() else None
