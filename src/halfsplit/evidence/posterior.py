"""The probability of every candidate, and of *something the file does not say*, given what was found.

Knows candidates as indices with a prior, intermittent faults by how often they act, and unstated settings
as alternative contexts. Pure: what is left out of the findings was never found, and their order does not
matter.

A fault that comes and goes acts in a set-up with a certain probability and else shows what the rest of its
candidate shows: the healthy machine, or the other fault of a pair, which acts by a chance of its own
(``predict/moments``). With m the mass of one set-up by itself, w the chance of a way to show, and "steady"
what is left where nothing acts that comes and goes::

    L = L(steady) * prod over set-ups of sum over ways of w m(way) / m(steady)

so that one good reading barely clears it while findings stay correlated.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from math import prod

import numpy as np

from halfsplit.evidence import unexplained
from halfsplit.evidence.likelihood import Array, Finding, Index, Numeric, Perceived, clipped_log
from halfsplit.evidence.slips import Masses
from halfsplit.predict.moments import moments

MOST_CONTEXTS = 4
"""Most alternative contexts of one block."""

MOST_JOINT_CONTEXTS = 16
"""Up to so many combinations of contexts are summed one by one; above, each block is summed by itself."""


@dataclass(frozen=True, eq=False)
class Context:
    """One way in which unstated settings may have stood: its probability, and the findings under it."""

    prior: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True, eq=False)
class Block:
    """Findings made in settings that were not stated: the same findings under up to four contexts."""

    contexts: tuple[Context, ...]

    def __post_init__(self) -> None:
        if not 1 <= len(self.contexts) <= MOST_CONTEXTS:
            raise ValueError(f"a block has {len(self.contexts)} contexts: give one to {MOST_CONTEXTS}")
        if any(c.prior <= 0.0 for c in self.contexts):
            raise ValueError("the probability of a context must be above zero: leave the context out")

    def log_priors(self) -> list[float]:
        """Log of the probabilities of the contexts, made to sum to one."""
        total = sum(c.prior for c in self.contexts)
        return [float(np.log(c.prior / total)) for c in self.contexts]


Item = Numeric | Perceived | Block
"""What a job holds: a finding, or a block of findings whose setting was not stated."""


@dataclass(frozen=True, eq=False)
class Candidates:
    """The candidates as arrays over their index.

    ``prior`` (S,) in any scale, zero allowed; ``healthy`` the index of the machine without fault (its prior
    may be zero); ``acting`` (S,) the probability that a fault that comes and goes acts in a set-up, 1 for one
    that is always there; ``parts`` (S, 2) the candidates of single faults that each is made of, itself and the
    healthy one where it is one. Left out: no fault is intermittent.
    """

    prior: Array
    healthy: int
    acting: Array | None = None
    parts: Index | None = None

    def __post_init__(self) -> None:
        if not np.all(np.isfinite(self.prior)) or np.any(self.prior < 0.0) or not self.prior.sum() > 0.0:
            raise ValueError("priors of candidates must be finite, none below zero, and not all zero")
        if (self.acting is None) != (self.parts is None):
            raise ValueError("'acting' and 'parts' of candidates go together: give both or neither")
        if self.acting is not None and self.parts is not None:
            _check_parts(self.acting, self.parts, self.healthy)

    @property
    def share(self) -> Array:
        """The prior (S,), summing to one."""
        return np.asarray(self.prior / self.prior.sum())

    @cached_property
    def steady(self) -> Index:
        """(S,) what each candidate shows while nothing acts that comes and goes."""
        every = np.arange(len(self.prior))
        if self.acting is None or self.parts is None:
            return every
        first, second = self.parts.T
        stays = self.acting[self.parts] >= 1.0
        left = np.where(stays[:, 0], first, np.where(stays[:, 1], second, self.healthy))
        return np.where(stays.all(axis=1), every, left)

    @cached_property
    def intermittent(self) -> Index:
        """The indices of the candidates that do not always act."""
        return np.flatnonzero(self.steady != np.arange(len(self.prior)))


def _check_parts(acting: Array, parts: Index, healthy: int) -> None:
    if not np.all((acting > 0.0) & (acting <= 1.0)):
        raise ValueError("'acting' must be above 0 and at most 1: a fault that never acts is no candidate")
    singles = parts[parts]
    if acting[healthy] < 1.0 or np.any(singles[..., 0] != parts) or np.any(singles[..., 1] != healthy):
        raise ValueError("'parts' must be single faults, each of itself and the healthy machine, which always acts")


@dataclass(frozen=True, eq=False)
class Posterior:
    """What is believed after the findings.

    ``probability`` (S,) and ``unexplained`` sum to one. ``log_weight`` (S,) and ``log_unexplained`` are the
    same before they were made to sum to one (natural logs), ``log_likelihood`` (S,) without the prior, and
    ``log_evidence`` the log mass of all the findings under everything that was considered. ``lookalike_odds`` is
    beside all that: the odds that the cause only shows as some candidate does and is none (``unexplained.lookalikes``).
    """

    probability: Array
    unexplained: float
    log_likelihood: Array
    log_weight: Array
    log_unexplained: float
    log_evidence: float
    lookalike_odds: float


def posterior(items: Sequence[Item], candidates: Candidates, masses: Masses | None = None) -> Posterior:
    """The posterior of every candidate given findings and blocks of findings, in any order.

    Hand the same ``masses`` to every call of one job: what was worked out for earlier findings is kept.

    >>> import numpy as np
    >>> from halfsplit.evidence.likelihood import Perceived
    >>> hum = Perceived(setup=0, value=1, table=np.array([[.99, .01], [.99, .01], [.2, .8]]))
    >>> found = posterior([hum], Candidates(prior=np.array([0., 1., 1.]), healthy=0))
    >>> found.probability.round(3), round(found.unexplained, 3)
    (array([0.   , 0.013, 0.973]), 0.014)
    """
    masses = masses or Masses(len(candidates.prior))
    log_likelihood = log_likelihoods(items, candidates, masses)
    with np.errstate(divide="ignore"):
        log_share = np.log(candidates.share)
    log_weight = np.log1p(-unexplained.PRIOR) + log_share + log_likelihood
    log_unexplained = float(np.log(unexplained.PRIOR)) + log_mass_unexplained(items, candidates, masses)
    log_evidence = float(np.logaddexp(np.logaddexp.reduce(log_weight), log_unexplained))
    alike = unexplained.lookalikes(candidates.prior, candidates.healthy, candidates.parts)
    log_alike = log_likelihood + _log_apart(items, candidates, masses)
    return Posterior(
        probability=np.exp(log_weight - log_evidence),
        unexplained=float(np.exp(log_unexplained - log_evidence)),
        log_likelihood=log_likelihood,
        log_weight=log_weight,
        log_unexplained=log_unexplained,
        log_evidence=log_evidence,
        lookalike_odds=float(alike @ np.exp(log_alike - log_evidence)),
    )


def _log_apart(items: Sequence[Item], candidates: Candidates, masses: Masses) -> Array | float:
    """Log of the mass (S,) of what tells a lookalike from its candidate, marks and repairs that were tried, under the
    first against the second. Nothing hangs together with a look or a repair but the same once more."""
    telling = [one for one in items if isinstance(one, Perceived) and one.unlisted is not None]
    total: Array | float = 0.0
    for first, *_ in (same := setups(telling)).values():
        assert isinstance(first, Perceived)
        assert first.unlisted is not None
        known = _log_likelihood(same[first.setup], candidates, masses)
        total = total + clipped_log(first.unlisted[:, first.value]) - known
    return total


def log_likelihoods(items: Sequence[Item], candidates: Candidates, masses: Masses) -> Array:
    """Log mass (S,) of all the findings under each candidate, settings and slips summed over."""
    stated, blocks = _parted(items)
    if prod(len(b.contexts) for b in blocks) > MOST_JOINT_CONTEXTS:
        return _by_block(stated, blocks, candidates, masses)
    ways = [log_prior + _log_likelihood(findings, candidates, masses) for log_prior, findings in ways_to_stand(items)]
    return np.asarray(np.logaddexp.reduce(ways, axis=0))


def _parted(items: Sequence[Item]) -> tuple[list[Finding], list[Block]]:
    return (
        [i for i in items if not isinstance(i, Block)],
        [i for i in items if isinstance(i, Block)],
    )


def ways_to_stand(items: Sequence[Item]) -> Iterator[tuple[float, list[Finding]]]:
    """Every way the unstated settings may have stood: its log probability and all findings under it."""
    stated, blocks = _parted(items)
    choices = [list(zip(b.log_priors(), b.contexts, strict=True)) for b in blocks]
    for way in product(*choices):
        chosen = [f for _, context in way for f in context.findings]
        yield sum(log_prior for log_prior, _ in way), [*stated, *chosen]


def _by_block(stated: Sequence[Finding], blocks: Sequence[Block], candidates: Candidates, masses: Masses) -> Array:
    """Each block summed by itself, relative to the context of it that is likeliest over all candidates."""
    chosen, factor = list(stated), np.zeros(len(candidates.prior))
    for block in blocks:
        alone = np.stack(
            [
                log_prior + _log_likelihood(context.findings, candidates, masses)
                for log_prior, context in zip(block.log_priors(), block.contexts, strict=True)
            ]
        )
        best = int(np.argmax(np.exp(alone - alone.max()) @ candidates.share))
        factor += np.logaddexp.reduce(alone, axis=0) - (alone[best] - block.log_priors()[best])
        chosen.extend(block.contexts[best].findings)
    return factor + _log_likelihood(chosen, candidates, masses)


def _log_likelihood(findings: Sequence[Finding], candidates: Candidates, masses: Masses) -> Array:
    """Log mass (S,) of findings whose settings are known, intermittent faults included."""
    total = masses.of(findings)
    some = candidates.intermittent
    if not some.size or candidates.acting is None or candidates.parts is None:
        return total
    steady = candidates.steady[some]
    total = total.copy()
    total[some] = total[steady]
    for setup in setups(findings).values():
        mass = masses.of(setup)
        ways = moments(candidates.parts, _acting_in(setup, candidates.acting), some, candidates.healthy)
        with np.errstate(divide="ignore"):
            logs = [np.log(chance) + mass[row] for chance, row in ways]
        total[some] += np.logaddexp.reduce(logs, axis=0) - mass[steady]
    return total


def _acting_in(setup: Sequence[Finding], usual: Array) -> Array:
    """The chances (S,) of acting in a set-up: the usual ones unless something was done to bring faults out."""
    return next((finding.acting for finding in setup if finding.acting is not None), usual)


def setups(findings: Sequence[Finding]) -> dict[Hashable, tuple[Finding, ...]]:
    """The findings by the set-up in which they were made."""
    groups: dict[Hashable, tuple[Finding, ...]] = {}
    for finding in findings:
        groups[finding.setup] = (*groups.get(finding.setup, ()), finding)
    return groups


def log_mass_unexplained(items: Sequence[Item], candidates: Candidates, masses: Masses) -> float:
    """Log mass of all findings under something the file does not say; contexts averaged block by block."""
    stated, blocks = _parted(items)
    share, healthy = candidates.share, candidates.healthy
    total = unexplained.log_mass(stated, share, healthy, masses)
    for block in blocks:
        ways = [
            log_prior + unexplained.log_mass(context.findings, share, healthy, masses)
            for log_prior, context in zip(block.log_priors(), block.contexts, strict=True)
        ]
        total += float(np.logaddexp.reduce(ways))
    return total
