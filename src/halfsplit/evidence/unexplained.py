"""The mass of the findings under *something the file does not say*.

Knows findings, the prior and which candidate is the healthy machine. Findings are taken as independent of
each other, but what was seen at one place counts once. Each is displayed as a healthy machine would, or as
some candidate would, or as anything at all::

    u = .6 P(y | healthy) + .4 (.5 sum over s of prior_s P(y | s) + .5 flat)

so that it wins when nothing fits, and loses to any candidate that says beforehand what is found. The
shares are Halfsplit's choice (no source).
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence

import numpy as np

from halfsplit.evidence import slips
from halfsplit.evidence.likelihood import Array, Finding
from halfsplit.evidence.slips import Masses

PRIOR = 0.03
"""Prior probability that the cause is nothing that the machine file says."""

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
