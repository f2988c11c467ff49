"""Planning around what a person cannot or will not do: a bay that will not open, a meter without a clamp.

Knows the problem as arrays. Indices stay as they are, so states and actions of the problem go on being valid.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halfsplit.plan.problem import Bools, Problem


def without(
    problem: Problem, tests: Sequence[int] = (), repairs: Sequence[int] = (), bays: Sequence[int] = ()
) -> Problem:
    """The problem without these tests and repairs, and without all that needs one of these bays.

    Raises ValueError when a fault would be left without a repair: handing over has to be among the repairs.

    >>> from halfsplit.plan import problem as arrays
    >>> one = arrays.Tests([[[1, 0], [0, 1]]], [2.0], [[0]])
    >>> two = arrays.build([1, 1], one, arrays.Repairs(np.eye(2), [9, 9]), arrays.Bays([-1], [3], [3]))
    >>> without(two, bays=[0]).times.tolist()
    [0]
    """
    lost_tests = _chosen(tests, len(problem.times)) | problem.test_bays[:, list(bays)].any(axis=1)
    lost_repairs = _chosen(repairs, len(problem.cures)) | problem.repair_bays[:, list(bays)].any(axis=1)
    cures = problem.cures & ~lost_repairs[:, None]
    if not cures.any(axis=0).all():
        raise ValueError("Nothing would be left for some fault but to hand over; add handing over as a repair.")
    return replace(problem, times=np.where(lost_tests, 0, problem.times), cures=cures, _at={})


def _chosen(given: Sequence[int], size: int) -> Bools:
    found = np.zeros(size, dtype=bool)
    found[list(given)] = True
    return found
