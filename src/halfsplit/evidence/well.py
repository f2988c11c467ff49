"""Whether anything that the repairer found is unlike the healthy machine.

Knows what was weighed; decides nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

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
    told = complaints(weighed.predictor, weighed.findings)
    return bool(told) and not any(_unseen(weighed, one) for one in told) and not _speaks_against(weighed)


def to_be_looked_for(weighed: Weighed) -> list[f.Perceived]:
    """What was complained of and the repairer has not looked for, where nothing that was found speaks against the
    healthy machine: before a part is bought the complaint is to be seen."""
    if _speaks_against(weighed):
        return []
    return [one for one in complaints(weighed.predictor, weighed.findings) if _unseen(weighed, one)]


def _unseen(weighed: Weighed, complaint: f.Perceived) -> bool:
    return not any(_answers(weighed, x, complaint) for x in weighed.findings)


def shown_by_the_healthy(predictor: Predictor, found: f.Perceived) -> bool:
    """Whether a healthy machine shows a symptom in the setting in which it was looked for (unstated: the usual one)."""
    at = found.condition or conditions.usual(predictor.machine)
    return predictor.healthy_shows(found.what, at)


def unlike_the_healthy(predictor: Predictor, findings: Sequence[f.Finding]) -> list[f.Perceived]:
    """What was told or seen that a healthy machine does not show."""
    seen = [x for x in findings if isinstance(x, f.Perceived)]
    return [x for x in seen if x.there != shown_by_the_healthy(predictor, x)]


def complaints(predictor: Predictor, findings: Sequence[f.Finding]) -> list[f.Perceived]:
    """Of that, what the owner told."""
    return [x for x in unlike_the_healthy(predictor, findings) if x.by == "owner"]


def _answers(weighed: Weighed, found: f.Finding, complaint: f.Perceived) -> bool:
    """Whether the repairer saw the contrary of a complaint, as a healthy machine shows it, every part in its place."""
    if not isinstance(found, f.Perceived) or found.by != "repairer" or found.what != complaint.what:
        return False
    exchanged = found.condition is not None and found.condition.exchange
    seen_well = found.there != complaint.there and found.there == shown_by_the_healthy(weighed.predictor, found)
    return seen_well and not exchanged


def _speaks_against(weighed: Weighed) -> bool:
    if any(isinstance(x, f.Look) and x.sees != f.FINE for x in weighed.findings):
        return True
    stated = [x for x in weighed.telling if not weigh.is_unstated(x, weighed.predictor.machine)]
    seen = [place for place, x in enumerate(stated) if not (isinstance(x, f.Perceived) and x.by == "owner")]
    masses = weighed.log_masses[seen]
    return bool((masses.max(axis=1, initial=-math.inf) - masses[:, 0] > UNLIKE).any())
