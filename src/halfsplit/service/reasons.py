"""What each finding says for or against a possible cause, as data.

Knows what was weighed; neither what is done next nor who asks.
"""

from __future__ import annotations

from typing import Any

from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.evidence.weighing import Candidate, Weighed
from halfsplit.service import naming


def of(weighed: Weighed, one: Candidate) -> list[dict[str, Any]]:
    """What each finding says for (above 0) or against a candidate, in bits, strongest first; what was told without a
    setting is weighed as one, the first of it the `finding`, the rest `together` with that."""
    bits = sorted(weighed.weights(one), key=lambda pair: -abs(pair[1]))
    machine = weighed.predictor.machine
    return [
        {
            "finding": findings_file.written(found[0]),
            "together": [findings_file.written(one) for one in found[1:]],
            "label": "; ".join(naming.told(machine, whose(one)) for one in found),
            "bits": weight,
        }
        for found, weight in bits
    ]


def whose(found: f.Finding) -> str:
    """A finding in words; of a symptom with whose word it is, since an owner and a repairer are not believed alike."""
    if not isinstance(found, f.Perceived):
        return found.label
    return f"{found.label} ({'the owner says' if found.by == 'owner' else 'seen here'})"
