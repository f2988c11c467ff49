"""How surely what comes and goes was there when its owner met the machine, given what they told already.

What an owner tells of one condition is one set-up (`weigh`): the fault that made them call was there when they met it,
and is there in all else that they tell of that condition. With c the settings in which what was told without one may
have been met, u the owner's set-ups, m the mass of what was told in each and w the ways to show (`predict/moments`)::

    P(w in set-up v) ~ w * sum over c of P(c) m_vc(w) * prod over u other than v of sum over ways of w m_uc(w)

Knows arrays; neither symptoms nor machines.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence

import numpy as np

from halfsplit.evidence import posterior as ps
from halfsplit.evidence.likelihood import Array, Finding, Index
from halfsplit.evidence.slips import Masses
from halfsplit.predict.moments import Way, moments, weighed

Setups = Mapping[Hashable, Sequence[Finding]]


def ways(
    told: Sequence[ps.Item], candidates: ps.Candidates, masses: Masses, setup: Hashable, of: Index
) -> list[Way]:  # fmt: skip
    """The ways in which the candidates `of` (R,) show in a set-up of which the owner is asked; `told`: all that they
    told, and nothing else. With the usual chances where nothing was told.

    >>> from halfsplit.evidence.likelihood import Perceived
    >>> fault = ps.Candidates(np.array([0.5, 0.5]), 0, np.array([1.0, 0.2]), np.array([[0, 0], [1, 0]]))
    >>> cold = Perceived(setup="told", value=1, table=np.array([[0.96, 0.04], [0.04, 0.96]]))
    >>> [round(float(chance[0]), 2) for chance, _ in ways([cold], fault, Masses(2), "told", np.array([1]))]
    [0.85, 0.15]
    """
    assert candidates.acting is not None
    assert candidates.parts is not None
    usual = moments(candidates.parts, candidates.acting, of, candidates.healthy)
    logs = [np.full(len(of), -np.inf) for _ in usual]
    for log_prior, setups in _met(told):
        elsewhere = sum((_log_any(usual, masses.of(group)) for key, group in setups.items() if key != setup), 0.0)
        here = masses.of(setups.get(setup, ()))
        logs = [np.logaddexp(log, log_prior + elsewhere + here[row]) for log, (_, row) in zip(logs, usual, strict=True)]
    return weighed(usual, logs)


def _met(told: Sequence[ps.Item]) -> list[tuple[float, Setups]]:
    """Each way the unstated settings may have stood: its log probability, and what was told by set-up."""
    return [(log_prior, ps.setups(findings)) for log_prior, findings in ps.ways_to_stand(told)]


def _log_any(usual: Sequence[Way], mass: Array) -> Array:
    """Log mass (R,) of what was told in a set-up, whatever was there."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.logaddexp.reduce([np.log(chance) + mass[row] for chance, row in usual], axis=0))
