"""The likelihood of findings when people slip: forget to lift a wire, misread k and M, mistype.

Knows findings as arrays (``likelihood``); does not know priors. Every set-up has one latent slip, shared by
all findings taken in it, of probability SLIP. A slip is of one kind, drawn by the weights that the findings
give; a kind that a finding does not name leaves that finding as it was, and a set-up with few kinds slips
less often. The flat kind hits every finding of the set-up and could have displayed anything.

With f the joint mass without slips, and for a set A of slipped set-ups q_A what was displayed there under
the slip and N_A the mass of what they displayed given all the rest::

    L = f * prod (1 - e_g) * sum over A, |A| <= 2, of prod_{g in A} e_g q_g / (1 - e_g) / N_A

The sum runs over sets within each group of set-ups that hang together (through the shared unknowns, or one
place read twice); groups multiply, so that set-ups which hang on nothing may all slip. A group of three or
more has one more term, all of it flat: that is the floor under a candidate which fits nothing.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from halfsplit.evidence import likelihood
from halfsplit.evidence.likelihood import Array, Finding, Gaussian, Numeric, Slip, Unit

SLIP = 0.02
"""Probability that something went wrong in one set-up (Halfsplit's choice, no source)."""

Members = tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Removal:
    """One way in which a set-up slipped: what it takes out of the joint, and what it puts there.

    ``log_odds`` (S,) is the log of e q / (1 - e) for the findings ``members`` of ``setup``.
    """

    setup: Hashable
    members: frozenset[int]
    log_odds: Array


def log_joint(findings: Sequence[Finding], candidates: int) -> Array:
    """Log mass (S,) of all the findings under each candidate, slips summed over; no setting is open.

    >>> import numpy as np
    >>> hum = likelihood.Perceived(setup=0, value=1, table=np.array([[.9, .1], [.2, .8]]))
    >>> np.exp(log_joint([hum], 2)).round(4)
    array([0.1008, 0.7994])
    """
    total = np.zeros(candidates)
    for group in hanging_together(findings):
        total = total + _log_group([findings[i] for i in group])
    return total


class Masses:
    """Remembers the joint mass of sets of findings, by identity, so that one more finding costs little.

    Keep one with a job and hand it to every call; a finding left out later is simply not asked for again.
    """

    def __init__(self, candidates: int) -> None:
        self.candidates = candidates
        self._known: dict[frozenset[Finding], Array] = {}

    def of(self, findings: Sequence[Finding]) -> Array:
        """Log mass (S,) of the findings, slips summed over: ``log_joint``, remembered."""
        key = frozenset(findings)
        if key not in self._known:
            self._known[key] = log_joint(findings, self.candidates)
        return self._known[key]


def hanging_together(findings: Sequence[Finding]) -> list[Members]:
    """Findings grouped by set-ups that hang together through numbers or a place read in both."""
    groups: list[tuple[set[Hashable], list[int]]] = []
    for i, finding in enumerate(findings):
        links = _links(finding)
        touching = [g for g in groups if g[0] & links]
        merged = (links.union(*(g[0] for g in touching)), sorted([i, *(j for g in touching for j in g[1])]))
        groups = [g for g in groups if g not in touching] + [merged]
    return [tuple(members) for _, members in groups]


def _links(finding: Finding) -> set[Hashable]:
    links: set[Hashable] = {("set-up", finding.setup)}
    if likelihood.is_number(finding):
        links.add("numbers")
    if finding.same_place is not None:
        links.add(("place", finding.same_place))
    return links


def _log_group(findings: Sequence[Finding]) -> Array:
    """Log mass (S,) of one group of findings that hang together."""
    parts = likelihood.units(findings)
    joint = likelihood.gaussian(findings)
    setups = _setups(findings)
    whole = _log_whole(parts, joint)
    careful = {g: _slipless(findings, members) for g, members in setups.items()}
    removals = [removal for g, members in setups.items() for removal in _removals(findings, g, members, careful[g])]
    terms = [np.zeros((1, *whole.shape)), *_log_terms(removals, parts, joint)]
    total: Array = whole + sum(careful.values()) + _log_sum(np.concatenate(terms))
    if len(setups) > 2:
        total = np.logaddexp(total, sum(_log_all_flat(findings, m) for m in setups.values()))
    return total


def _setups(findings: Sequence[Finding]) -> dict[Hashable, Members]:
    setups: dict[Hashable, Members] = {}
    for i, finding in enumerate(findings):
        setups[finding.setup] = (*setups.get(finding.setup, ()), i)
    return setups


def _log_whole(parts: Sequence[Unit], joint: Gaussian | None) -> Array:
    """Log mass (S,) when nobody slipped."""
    total: Array = np.sum([u.log_mass for u in parts], axis=0)
    return total if joint is None else total + joint.log_mass


def _log_sum(terms: Array) -> Array:
    """Log of the sum of exponentials over the first axis."""
    top = terms.max(axis=0)
    total: Array = top + np.log(np.exp(terms - top).sum(axis=0))
    return total


# --- what a slip displays ---------------------------------------------------------------------------


def _kinds(findings: Sequence[Finding], members: Members) -> dict[str, float]:
    """The kinds of slip that a set-up can have, with their shares; "" is the flat one."""
    shares: dict[str, float] = {"": max(findings[i].flat for i in members)}
    for i in members:
        for slip in findings[i].alternatives:
            shares[slip.kind] = max(slip.weight, shares.get(slip.kind, 0.0))
    total = max(1.0, sum(shares.values()))
    return {kind: share / total for kind, share in shares.items() if share > 0.0}


def _slipless(findings: Sequence[Finding], members: Members) -> float:
    """Log of the probability that nothing went wrong in a set-up."""
    return float(np.log1p(-SLIP * sum(_kinds(findings, members).values())))


def _removals(findings: Sequence[Finding], setup: Hashable, members: Members, careful: float) -> Iterator[Removal]:
    """The ways in which one set-up can slip; kinds that hit the same findings are summed."""
    ways: dict[frozenset[int], list[Array]] = {}
    for kind, share in _kinds(findings, members).items():
        hit = tuple(i for i in members if not kind or _named(findings[i], kind) is not None)
        mass = _log_slipped(findings, hit, kind) + np.log(SLIP * share) - careful
        ways.setdefault(frozenset(hit), []).append(mass)
    for hit_set, masses in ways.items():
        yield Removal(setup, hit_set, _log_sum(np.stack(masses)))


def _named(finding: Finding, kind: str) -> Slip | likelihood.Mistaken | None:
    return next((a for a in finding.alternatives if a.kind == kind), None)


def _log_all_flat(findings: Sequence[Finding], members: Members) -> float:
    """Log of the probability that a set-up slipped flat and displayed what it did."""
    share = max(_kinds(findings, members).get("", 0.0), likelihood.LEAST_MASS)
    return float(np.log(SLIP * share) + log_flat(findings, members))


def _log_slipped(findings: Sequence[Finding], hit: Members, kind: str) -> Array:
    """Log mass (S,) of what the hit findings displayed under one kind of slip."""
    size = findings[hit[0]].log_discrete.shape
    if not kind:
        return np.full(size, log_flat(findings, hit))
    log_masses = [_log_alternative(findings, same, kind) for same in _same(findings, hit)]
    return np.asarray(np.sum(log_masses, axis=0))


def _same(findings: Sequence[Finding], members: Members) -> list[Members]:
    """The findings grouped by what showed the same at one place."""
    groups: dict[Hashable, Members] = {}
    for i in members:
        finding = findings[i]
        place: Hashable = ("alone", i) if finding.same_place is None else finding.same_place
        key = (type(finding), place, finding.outcome)
        groups[key] = (*groups.get(key, ()), i)
    return list(groups.values())


def log_flat(findings: Sequence[Finding], members: Members) -> float:
    """Log mass under a flat slip: a repeat shows the same again, or half the time anything.

    A number that shows the same again scatters by one last digit.
    """
    return sum(_log_flat_same([findings[i] for i in same]) for same in _same(findings, members))


def _log_flat_same(same: Sequence[Finding]) -> float:
    apart = sum(f.log_flat for f in same)
    if len(same) == 1:
        return apart
    again = float(np.mean([f.log_flat for f in same]))
    numbers = [f for f in same if isinstance(f, Numeric) and likelihood.is_number(f)]
    if numbers:
        digit = np.array([np.mean([f.width**2 for f in numbers])])
        again += float(_log_repeats(numbers, digit)[0])
    return float(np.logaddexp(again, apart) + np.log(0.5))


def _log_repeats(numbers: Sequence[Numeric], own: Array) -> Array:
    """Log mass (S,) of the scatter of repeated numbers about their mean, all but one of them."""
    x = np.array([f.x for f in numbers])
    m = len(x)
    square = ((x - x.mean()) ** 2).sum()
    steps = np.log([f.width for f in numbers]).sum() * (m - 1) / m
    log: Array = steps - 0.5 * ((m - 1) * (likelihood.LOG_2PI + np.log(own)) + np.log(m) + square / own)
    return log


def _log_alternative(findings: Sequence[Finding], same: Members, kind: str) -> Array:
    """Log mass (S,) of findings that showed the same at one place, under a named slip."""
    alternatives = [_named(findings[i], kind) for i in same]
    finding = findings[same[0]]
    slips = [a for a in alternatives if isinstance(a, Slip)]
    if isinstance(finding, Numeric) and slips:
        return _log_numeric_alternative([findings[i] for i in same], slips)
    tables = [
        a.table[:, finding.value]
        for a in alternatives
        if isinstance(a, likelihood.Mistaken) and isinstance(finding, likelihood.Perceived)
    ]
    return likelihood.clipped_log(np.min(tables, axis=0))


def _log_numeric_alternative(readings: Sequence[Finding], slips: Sequence[Slip]) -> Array:
    numbers = [f for f in readings if isinstance(f, Numeric)]
    shown = numbers[0].shown
    discrete: Array = np.min([likelihood.log_over(s.over, shown) for s in slips], axis=0)
    if shown is not likelihood.Shown.NUMBER:
        return discrete
    mean, sd = np.mean([s.mean for s in slips], axis=0), np.mean([s.sd for s in slips], axis=0)
    m = len(numbers)
    width = float(np.mean([f.width for f in numbers]))
    common = likelihood.common_variance(sd)
    own = sd**2 - common + width**2 / 12.0
    variance = common + own / m
    residual = np.mean([f.x for f in numbers]) - mean
    first: Array = np.log(width) - 0.5 * (residual**2 / variance + np.log(variance) + likelihood.LOG_2PI)
    return discrete + first + (_log_repeats(numbers, own) if m > 1 else 0.0)


# --- what a slip takes out --------------------------------------------------------------------------


def _log_terms(removals: Sequence[Removal], parts: Sequence[Unit], joint: Gaussian | None) -> list[Array]:
    """Log terms of one and of two slipped set-ups, relative to nobody having slipped."""
    if not removals:
        return []
    alone = np.stack([r.log_odds - _log_units(r.members, parts) for r in removals])
    singles = alone - _log_numbers([r.members for r in removals], joint)
    pairs = [(i, j) for i, j in combinations(range(len(removals)), 2) if removals[i].setup != removals[j].setup]
    if not pairs:
        return [singles]
    first, second = np.array(pairs).T
    both = [removals[i].members | removals[j].members for i, j in pairs]
    twos = alone[first] + alone[second] - _log_numbers(both, joint)
    for row, log_mass in _straddling(removals, pairs, parts):
        twos[row] -= log_mass
    return [singles, twos]


def _log_units(members: frozenset[int], parts: Sequence[Unit]) -> Array:
    """Log discrete mass (S,) that goes when these findings go."""
    gone = [u.log_mass for u in parts if u.members <= members]
    return np.sum(gone, axis=0) if gone else np.zeros_like(parts[0].log_mass)


def _straddling(
    removals: Sequence[Removal], pairs: Sequence[tuple[int, int]], parts: Sequence[Unit]
) -> Iterator[tuple[int, Array]]:
    """Pairs that take a unit out only together: the row of the pair and the unit's log mass."""
    shared = [u for u in parts if len(u.members) > 1]
    for row, (i, j) in enumerate(pairs) if shared else ():
        one, other = removals[i].members, removals[j].members
        for unit in shared:
            if unit.members <= one | other and not (unit.members <= one or unit.members <= other):
                yield row, unit.log_mass


def _log_numbers(sets: Sequence[frozenset[int]], joint: Gaussian | None) -> Array:
    """Log mass (B, S) of the numbers in each set of findings given the numbers outside it."""
    if joint is None:
        return np.zeros((len(sets), 1))
    rows = [tuple(joint.position[i] for i in sorted(s) if i in joint.position) for s in sets]
    total = np.zeros((len(sets), len(joint.log_mass)))
    for size in {len(r) for r in rows} - {0}:
        at = np.array([b for b, r in enumerate(rows) if len(r) == size])
        total[at] = joint.log_removed(np.array([rows[b] for b in at]))
    return total
