"""Whether anything that the repairer found is unlike the healthy machine.

Knows what was weighed; decides nothing.
"""

from __future__ import annotations

import math

from halfsplit.evidence import finding as f
from halfsplit.evidence import weigh
from halfsplit.evidence.weighing import Weighed
from halfsplit.operate import condition as conditions
from halfsplit.predict.predictor import Predictor

UNLIKE = math.log(10.0)
"""A finding speaks against the healthy machine where a fault makes it so many times likelier (as a logarithm)."""


def shows_nothing_wrong(weighed: Weighed) -> bool:
    """Whether the repairer has looked for all that was complained of and it was not there, and nothing else that was
    found speaks against the healthy machine."""
    complaints = _complaints(weighed)
    return bool(complaints) and complaints <= _seen_well(weighed) and not _speaks_against(weighed)


def shown_by_the_healthy(predictor: Predictor, found: f.Perceived) -> bool:
    """Whether a healthy machine shows a symptom in the setting in which it was looked for (unstated: the usual one)."""
    at = found.condition or conditions.usual(predictor.machine)
    return bool(predictor.symptom(found.what, at, False)[0] > 0.5)


def _complaints(weighed: Weighed) -> set[str]:
    """What the owner told that a healthy machine does not show."""
    return {x.what for x in _perceived(weighed, "owner") if x.there != shown_by_the_healthy(weighed.predictor, x)}


def _seen_well(weighed: Weighed) -> set[str]:
    return {x.what for x in _perceived(weighed, "repairer") if x.there == shown_by_the_healthy(weighed.predictor, x)}


def _perceived(weighed: Weighed, by: str) -> list[f.Perceived]:
    return [x for x in weighed.findings if isinstance(x, f.Perceived) and x.by == by]


def _speaks_against(weighed: Weighed) -> bool:
    if any(isinstance(x, f.Look) and x.sees != f.FINE for x in weighed.findings):
        return True
    stated = sum(not weigh.is_unstated(x) for x in weighed.findings)
    masses = weighed.log_masses[:stated]
    return bool((masses.max(axis=1, initial=-math.inf) - masses[:, 0] > UNLIKE).any())
