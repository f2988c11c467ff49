"""Why a candidate is believed: what each finding says for and against it.

Knows findings, candidates and the posterior. Weights of evidence are in **bits**: one bit doubles the odds
of the candidate against all the rest, *something the file does not say* included (I. J. Good 1950, who
counted in decibans; 1 bit = 3.01 decibans; from memory). A finding's weight is what the odds lose when it
alone is left out, so that findings which repeat each other get little each, and weights need not add up.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.evidence.likelihood import Finding, Index
from halfsplit.evidence.posterior import (
    Block,
    Candidates,
    Context,
    Item,
    Posterior,
    log_likelihoods,
    log_mass_unexplained,
    posterior,
)
from halfsplit.evidence.slips import Masses

BEST = 12
"""So many of the best candidates are asked which finding fits them worst."""


def weights(items: Sequence[Item], candidates: Candidates, candidate: int, masses: Masses | None = None) -> list[float]:
    """What each finding or block says for (above zero) or against one candidate, in bits.

    >>> import numpy as np
    >>> from halfsplit.evidence.likelihood import Perceived
    >>> hum = Perceived(setup=0, value=1, table=np.array([[.99, .01], [.99, .01], [.2, .8]]))
    >>> [round(w, 1) for w in weights([hum], Candidates(np.array([0., 1., 1.]), healthy=0), 2)]
    [5.2]
    """
    masses = masses or Masses(len(candidates.prior))
    whole = _log_odds(posterior(items, candidates, masses), candidate)
    without = (posterior(rest, candidates, masses) for rest in _leaving_one_out(items))
    return [float((whole - _log_odds(found, candidate)) / np.log(2.0)) for found in without]


def _leaving_one_out(items: Sequence[Item]) -> list[list[Item]]:
    return [[*items[:i], *items[i + 1 :]] for i in range(len(items))]


def _log_odds(found: Posterior, candidate: int) -> float:
    others = np.delete(found.log_weight, candidate)
    rest = np.logaddexp(np.logaddexp.reduce(others), found.log_unexplained)
    return float(found.log_weight[candidate] - rest)


def fits(items: Sequence[Item], candidates: Candidates, masses: Masses | None = None) -> list[float]:
    """How well each finding fits what the best candidates say of it given all the others, in bits.

    The mass of the finding under the best candidates given the other findings, against its mass under
    something the file does not say: far below zero where a finding contradicts the rest. The lowest is the
    one to take again; ``worst_fit`` names it.
    """
    masses = masses or Masses(len(candidates.prior))
    found = posterior(items, candidates, masses)
    chosen = _best(found, candidates)
    few, few_items = _few(candidates, chosen), [_take(item, chosen) for item in items]
    few_masses = Masses(len(chosen))
    whole = _log_explained(few_items, few, few_masses) - log_mass_unexplained(items, candidates, masses)
    bits = []
    for rest, few_rest in zip(_leaving_one_out(items), _leaving_one_out(few_items), strict=True):
        without = _log_explained(few_rest, few, few_masses) - log_mass_unexplained(rest, candidates, masses)
        bits.append(float((whole - without) / np.log(2.0)))
    return bits


def worst_fit(items: Sequence[Item], candidates: Candidates, masses: Masses | None = None) -> int | None:
    """The place, among the findings, of the one that fits worst under the best candidates; None if none."""
    bits = fits(items, candidates, masses)
    return int(np.argmin(bits)) if bits else None


def _best(found: Posterior, candidates: Candidates) -> Index:
    """The best candidates, the single faults that they are made of, and the healthy machine, in ascending order."""
    order = np.argsort(-found.log_weight, kind="stable")[:BEST]
    parts = order if candidates.parts is None else candidates.parts[order].ravel()
    return np.unique(np.concatenate([order, parts, [candidates.healthy]]))


def _few(candidates: Candidates, chosen: Index) -> Candidates:
    """The chosen candidates alone, their indices counted anew."""
    at = np.full(len(candidates.prior), -1, dtype=np.intp)
    at[chosen] = np.arange(len(chosen))
    return Candidates(
        prior=candidates.share[chosen],
        healthy=int(at[candidates.healthy]),
        acting=None if candidates.acting is None else candidates.acting[chosen],
        parts=None if candidates.parts is None else at[candidates.parts[chosen]],
    )


def _take(item: Item, chosen: Index) -> Item:
    if not isinstance(item, Block):
        return item.take(chosen)
    return Block(tuple(Context(c.prior, _take_all(c.findings, chosen)) for c in item.contexts))


def _take_all(findings: Sequence[Finding], chosen: Index) -> tuple[Finding, ...]:
    return tuple(f.take(chosen) for f in findings)


def _log_explained(items: Sequence[Item], candidates: Candidates, masses: Masses) -> float:
    """Log mass of the findings under the candidates, by their prior."""
    with np.errstate(divide="ignore"):
        return float(np.logaddexp.reduce(np.log(candidates.share) + log_likelihoods(items, candidates, masses)))
