"""The mass of the findings under *something the file does not say*.

Knows findings, the prior and which candidate is the healthy machine. Findings are taken as independent of
each other, but what was seen at one place counts once. Each is displayed as a healthy machine would, or as
some candidate would, or as anything at all::

    u = .6 P(y | healthy) + .4 (.5 sum over s of prior_s P(y | s) + .5 flat)

so that it wins when nothing fits, and loses to any candidate that says beforehand what is found.

What the file does not say may also show as one listed fault does, or as two together: wires exchanged between two
parts as one broken wire. No reading and no symptom tells such a *lookalike* from the listed fault, so it has no part in
choosing the next step; but what people are told of that fault is the less sure, and much less where the fault is rare.
It looks like a rare fault as probably as like a common one, leaves no mark that the file names, and the repair of what
it looks like does not cure it. All shares are Halfsplit's choice (no source).
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence

import numpy as np

from halfsplit.evidence import slips
from halfsplit.evidence.likelihood import Array, Finding, Index
from halfsplit.evidence.slips import Masses

PRIOR = 0.03
"""Prior probability that the cause is nothing that the machine file says, and shows in its own way."""
LIKE_ONE, LIKE_TWO = 0.015, 0.003
"""The same of a cause that shows as one listed fault does, and as two together; beside all else, which has one."""

AS_HEALTHY = 0.6
AS_ANY_CANDIDATE = 0.2
AS_ANYTHING = 0.2


def log_mass(findings: Sequence[Finding], prior: Array, healthy: int, masses: Masses) -> float:
    """Log mass of all the findings when the file does not say what is wrong.

    ``prior`` is (S,) and sums to one; ``healthy`` is the index of the healthy machine.
    """
    return sum(_log_place(place, prior, healthy, masses) for place in places(findings))


def places(findings: Sequence[Finding]) -> list[tuple[Finding, ...]]:
    """The findings grouped by ``same_place``; one without a place stands alone."""
    groups: dict[Hashable, tuple[Finding, ...]] = {}
    for i, finding in enumerate(findings):
        key: Hashable = ("alone", i) if finding.same_place is None else ("place", finding.same_place)
        groups[key] = (*groups.get(key, ()), finding)
    return list(groups.values())


def _log_place(findings: tuple[Finding, ...], prior: Array, healthy: int, masses: Masses) -> float:
    log_masses = masses.of(findings)
    parts = (
        np.log(AS_HEALTHY) + log_masses[healthy],
        np.log(AS_ANY_CANDIDATE) + _log_mixture(prior, log_masses),
        np.log(AS_ANYTHING) + slips.log_flat(findings, tuple(range(len(findings)))),
    )
    return float(np.logaddexp.reduce(parts))


def _log_mixture(prior: Array, log_masses: Array) -> float:
    top = log_masses.max()
    return float(top + np.log(prior @ np.exp(log_masses - top) + np.finfo(float).tiny))


def lookalikes(prior: Array, healthy: int, parts: Index | None = None) -> Array:
    """(S,) prior probability of a cause that the file does not say and that shows as each candidate does.

    ``prior`` (S,) of the candidates in any scale; ``parts`` (S, 2) the single ones that each is made of (None: all are
    single). Each single one that can be the cause has the same share of ``LIKE_ONE``, each pair of them of
    ``LIKE_TWO``; the healthy machine has none.

    >>> lookalikes(np.array([0.0, 3.0, 1.0]), 0)
    array([0.    , 0.0075, 0.0075])
    """
    possible = (prior > 0.0) & (np.arange(len(prior)) != healthy)
    single = possible if parts is None else possible & (parts[:, 1] == healthy)
    count = max(int(single.sum()), 1)
    pairs = max(count * (count - 1) // 2, 1)
    return np.where(single, LIKE_ONE / count, np.where(possible, LIKE_TWO / pairs, 0.0))
