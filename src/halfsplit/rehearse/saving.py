"""What one way of working saves against another on the same jobs, as a share, with its uncertainty.

Numbers only.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from typing import NamedTuple

import numpy as np


class Saving(NamedTuple):
    """Over `jobs` jobs: mean minutes of the way and of the one that it is held against, and the share that is saved.

    `share` is 1 - minutes / against (below 0: it takes longer); `error` its standard error.
    """

    jobs: int
    minutes: float
    against: float
    share: float
    error: float


def saved(minutes: Sequence[float], against: Sequence[float]) -> Saving:
    """The share of the minutes that is saved, from paired jobs: number by number the same job; [min], at least one job.

    The standard error of the ratio r = mean(a) / mean(b) is that of the mean of a - r b, over mean(b): the delta method
    (Cochran, Sampling Techniques, 1977, ch. 6; from memory). Of one job it is 0. Raises ValueError where the numbers of
    jobs differ, where there are none, or where what is held against took no time.

    >>> saved([30.0, 50.0], [60.0, 100.0])
    Saving(jobs=2, minutes=40.0, against=80.0, share=0.5, error=0.0)
    """
    if len(minutes) != len(against) or not minutes:
        raise ValueError(f"Savings are told from the same jobs, at least one: {len(minutes)} and {len(against)}.")
    a, b = np.array(minutes, float), np.array(against, float)
    if not b.mean() > 0:
        raise ValueError("Nothing can be saved where no minute was spent.")
    ratio = float(a.mean() / b.mean())
    spread = float(np.std(a - ratio * b, ddof=1)) if len(a) > 1 else 0.0
    return Saving(len(a), float(a.mean()), float(b.mean()), 1 - ratio, spread / sqrt(len(a)) / float(b.mean()))
