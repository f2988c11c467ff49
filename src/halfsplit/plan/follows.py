"""What goes without saying once something was told or seen: symptoms that every fault leaves one answer to.

Taken at its word, a motor that never runs means that nothing got warm and no air flowed. To ask for that tells only
whether somebody was mistaken before; and nobody can tell what shows in a warm machine only. Knows the predictions of
single faults and findings; weighs nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence import finding as f
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import steps
from halfsplit.predict.predictor import Predictor
from halfsplit.work import warms


def answer(
    predictor: Predictor, findings: Sequence[f.Finding], what: str, at: Condition, by_owner: bool = True
) -> bool | None:
    """What its owner must say of a symptom in a setting by what was told and seen, or who sees it for himself; None
    where that is open, nothing was, or no single fault shows all of it."""
    rows = _taken_at_their_word(predictor, findings)
    if rows is None or not rows.any():
        return None
    there = _there(predictor, what, at, by_owner)[rows]
    return bool(there[0]) if (there == there[0]).all() else None


def no_warmth(predictor: Predictor, findings: Sequence[f.Finding], by_owner: bool = True) -> list[f.Perceived]:
    """The warmth that a healthy machine gives from cold and that its owner must have missed by what was told and seen,
    or who sees for himself: a control that had stood elsewhere at home is set right now."""
    machine = predictor.machine
    found: list[f.Perceived] = []
    for what, symptom in machine.symptoms.items():
        at = steps.met_in(machine, symptom)
        gives = warms.heats_from_cold(machine, symptom) and predictor.healthy_shows(what, at)
        if gives and answer(predictor, findings, what, at, by_owner) is False:
            found.append(f.Perceived(what, False, at, "owner" if by_owner else "repairer"))
    return found


def _taken_at_their_word(predictor: Predictor, findings: Sequence[f.Finding]) -> Array | None:
    """(S,) the variants that show all that was told or seen, nobody being mistaken; None where nothing was."""
    usual = conditions.usual(predictor.machine)
    seen = [x for x in findings if isinstance(x, f.Perceived)]
    shown = [_there(predictor, x.what, x.condition or usual, x.by == "owner") == x.there for x in seen]
    return np.logical_and.reduce(shown) if shown else None


def _there(predictor: Predictor, what: str, at: Condition, by_owner: bool) -> Array:
    return np.asarray(predictor.symptom(what, at, by_owner) > 0.5)
