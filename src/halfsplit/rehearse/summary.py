"""What many rehearsals show: how often right, how sure, how long; with intervals.

Knows plain results only.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import sqrt

import numpy as np

from halfsplit.rehearse.play import Played

CLAIM = 0.9
BINS = (0.0, 0.5, 0.7, 0.9, 0.95, 0.99, 1.000001)


def wilson(right: int, count: int, z: float = 1.96) -> tuple[float, float]:
    """The 95 % interval of a share (Wilson 1927; from memory).

    >>> [round(x, 3) for x in wilson(95, 100)]
    [0.888, 0.978]
    """
    if not count:
        return 0.0, 1.0
    share = right / count
    middle = (share + z * z / (2 * count)) / (1 + z * z / count)
    half = z * sqrt(share * (1 - share) / count + z * z / (4 * count * count)) / (1 + z * z / count)
    return middle - half, middle + half


def summary(played: Sequence[Played]) -> dict[str, object]:
    """All figures of a run, as plain data."""
    count, right = len(played), sum(p.right_first for p in played)
    claims = [p for p in played if p.claimed >= CLAIM]
    wrong_claims = sum(not p.right_first for p in claims)
    minutes = np.array([p.minutes for p in played]) if played else np.zeros(1)
    return {
        "trials": count,
        "right_first": right / max(count, 1),
        "right_first_low": wilson(right, count)[0],
        "right_first_high": wilson(right, count)[1],
        "minutes_mean": float(minutes.mean()),
        "minutes_half": float(np.median(minutes)),
        "minutes_nine_tenths": float(np.quantile(minutes, 0.9)),
        "steps_mean": float(np.mean([p.steps for p in played])) if played else 0.0,
        "claims": len(claims) / max(count, 1),
        "claims_right": 1 - wrong_claims / max(len(claims), 1),
        "wrong_though_claimed": wrong_claims / max(count, 1),
        "needless_parts": sum(p.needless_parts for p in played) / max(count, 1),
        "needless_share": sum(p.needless_parts > 0 for p in played) / max(count, 1),
        "stopped": sum(bool(p.stopped) for p in played) / max(count, 1),
        "live_steps": sum(p.live_steps for p in played) / max(count, 1),
        "unsafe_steps": sum(p.unsafe_steps for p in played),
        "reliability": reliability(played),
    } | _all_found(played)


def _all_found(played: Sequence[Played]) -> dict[str, object]:
    """Of the jobs with several hidden faults: how often all were repaired before the machine was closed."""
    several = [p.all_found for p in played if p.all_found is not None]
    if not several:
        return {}
    low, high = wilson(sum(several), len(several))
    return {"all_found": sum(several) / len(several), "all_found_low": low, "all_found_high": high}


def reliability(played: Sequence[Played]) -> list[dict[str, float]]:
    """By claimed probability: how many, what was claimed on average, how many were right."""
    table = []
    for low, high in pairwise(BINS):
        some = [p for p in played if low <= p.claimed < high]
        if some:
            table.append(
                {
                    "from": low, "to": min(high, 1.0), "trials": len(some),
                    "claimed": float(np.mean([p.claimed for p in some])),
                    "right": float(np.mean([p.right_first for p in some])),
                }
            )  # fmt: skip
    return table
