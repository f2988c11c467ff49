"""The likelihood of findings when people slip: forget to lift a wire, misread k and M, mistype.

Knows findings as arrays (``likelihood``); does not know priors. A slip is of one kind, drawn by the shares
that the findings give. Some kinds spoil a set-up: every finding of it that names the kind. Others spoil one
reading ``alone`` (k for M, a neighbouring terminal), and so does the flat kind, which could have displayed
anything. Each set-up can be slipped in once, and each reading of it once by itself; a set-up with one
reading has one slip for both. SLIP is the probability of a slip whose shares make one: with fewer kinds
there are fewer slips. What a slip does not spoil stays as it was. A whole set-up may be flat as well.

With f the joint mass without slips, e the probability of each slip, and for a set A of slips q_A what was
displayed under them and N_A the mass of what they spoiled given all the rest::

    L = f * prod (1 - e_i) * sum over A, |A| <= 2, of prod_{i in A} e_i q_i / (1 - e_i) / N_A

No finding is spoiled twice. The sum runs over sets within each group of findings that hang together
(through a set-up, the shared unknowns, or one place read twice); groups multiply, so that findings which
hang on nothing may all be slips. A group of three or more readings has one more term, all of them flat:
that is the floor under a candidate which fits nothing.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from halfsplit.evidence import likelihood
from halfsplit.evidence.likelihood import Array, Finding, Gaussian, Numeric, Slip, Unit
from halfsplit.evidence.ranges import Ranges, ranges, share_within

SLIP = 0.02
"""Probability that something went wrong in a set-up of one reading (Halfsplit's choice, no source)."""

Members = tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Removal:
    """One way to slip: what it takes out of the joint, and what it puts there.

    ``slip`` counts the slips, of which each is made in one way or not at all; ``log_odds`` (S,) is the log
    of e q / (1 - e) for the findings ``members``.
    """

    slip: int
    members: frozenset[int]
    log_odds: Array


class Masses:
    """Remembers the joint mass of sets of findings, by identity, and of each group in them that hangs together, so that
    one more finding costs little: another way in which something may have stood leaves the other groups as they were.

    Keep one with a job and hand it to every call; a finding left out later is simply not asked for again.
    """

    def __init__(self, candidates: int) -> None:
        self.candidates = candidates
        self._known: dict[frozenset[Finding], Array] = {}

    def of(self, findings: Sequence[Finding]) -> Array:
        """Log mass (S,) of the findings, slips summed over; no setting is open."""
        key = frozenset(findings)
        if key not in self._known:
            groups = [[findings[i] for i in group] for group in hanging_together(findings)]
            self._known[key] = sum(map(self._group, groups), np.zeros(self.candidates))
        return self._known[key]

    def _group(self, findings: Sequence[Finding]) -> Array:
        """Log mass (S,) of one group of findings that hang together, remembered."""
        key = frozenset(findings)
        if key not in self._known:
            self._known[key] = _log_group(findings)
        return self._known[key]


def log_joint(findings: Sequence[Finding], candidates: int) -> Array:
    """Log mass (S,) of all the findings under each candidate, slips summed over; no setting is open, nothing is kept.

    >>> import numpy as np
    >>> hum = likelihood.Perceived(setup=0, value=1, table=np.array([[.9, .1], [.2, .8]]))
    >>> np.exp(log_joint([hum], 2)).round(4)
    array([0.1008, 0.7994])
    """
    return Masses(candidates).of(findings)


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
    joint = Numbers(likelihood.gaussian(findings), ranges(findings))
    whole = _log_whole(parts, joint)
    slips = _slips(findings)
    careful = [float(np.log1p(-SLIP * sum(way.share for way in ways))) for ways in slips]
    removals = [r for i, ways in enumerate(slips) for r in _removals(findings, i, ways, careful[i])]
    terms = [np.zeros((1, *whole.shape)), *_log_terms(removals, parts, joint)]
    total: Array = whole + sum(careful) + _log_sum(np.concatenate(terms))
    readings = _same(findings, tuple(range(len(findings))))
    if len(readings) > 2 and all(f.flat > 0.0 for f in findings):
        total = np.logaddexp(total, sum(_log_spoiled_flat(findings, same) for same in readings))
    return total


@dataclass(frozen=True, eq=False)
class Numbers:
    """The numbers of a group of findings jointly, and the ranges given the numbers; None where there are none."""

    known: Gaussian | None
    within: Ranges | None

    @property
    def log_mass(self) -> Array | float:
        """Log mass (S,) of all of them."""
        total: Array | float = 0.0 if self.known is None else self.known.log_mass
        return total if self.within is None else total + self.within.log_kept([frozenset()])[0]


def _log_whole(parts: Sequence[Unit], joint: Numbers) -> Array:
    """Log mass (S,) when nobody slipped."""
    total: Array = np.sum([u.log_mass for u in parts], axis=0)
    return total + joint.log_mass


def _log_sum(terms: Array) -> Array:
    """Log of the sum of exponentials over the first axis."""
    top = terms.max(axis=0)
    total: Array = top + np.log(np.exp(terms - top).sum(axis=0))
    return total


# --- what a slip displays ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Way:
    """One way to slip: its kind ("" is flat), its share among all slips, the findings that it spoils."""

    kind: str
    share: float
    hit: Members


def _slips(findings: Sequence[Finding]) -> list[list[Way]]:
    """The slips that a group of findings can hold, and the ways of each."""
    slips: list[list[Way]] = []
    setups: dict[Hashable, Members] = {}
    for i, finding in enumerate(findings):
        setups[finding.setup] = (*setups.get(finding.setup, ()), i)
    for members in setups.values():
        readings = _same(findings, members)
        whole, own = _ways(findings, members, False), [_ways(findings, same, True) for same in readings]
        flat = [Way("", max(findings[i].flat for i in members), members)]
        slips += [whole + own[0]] if len(readings) == 1 else [whole + flat, *own]
    return [scaled for ways in slips if (scaled := _scaled(ways))]


def _ways(findings: Sequence[Finding], members: Members, alone: bool) -> list[Way]:
    """The ways that findings name: those that spoil a reading alone, with the flat one, or the others."""
    shares = {"": max(findings[i].flat for i in members)} if alone else {}
    for i in members:
        for slip in findings[i].alternatives:
            if slip.alone is alone:
                shares[slip.kind] = max(slip.weight, shares.get(slip.kind, 0.0))
    return [
        Way(kind, share, tuple(i for i in members if not kind or _named(findings[i], kind) is not None))
        for kind, share in shares.items()
    ]


def _scaled(ways: Sequence[Way]) -> list[Way]:
    """The ways that have a share, made to sum to one at most."""
    total = max(1.0, sum(way.share for way in ways))
    return [Way(way.kind, way.share / total, way.hit) for way in ways if way.share > 0.0]


def _removals(findings: Sequence[Finding], slip: int, ways: Sequence[Way], careful: float) -> Iterator[Removal]:
    """The ways of one slip; those that spoil the same findings are summed."""
    masses: dict[frozenset[int], list[Array]] = {}
    for way in ways:
        mass = _log_slipped(findings, way.hit, way.kind) + np.log(SLIP * way.share) - careful
        masses.setdefault(frozenset(way.hit), []).append(mass)
    for hit, same in masses.items():
        yield Removal(slip, hit, _log_sum(np.stack(same)))


def _named(finding: Finding, kind: str) -> Slip | likelihood.Mistaken | None:
    return next((a for a in finding.alternatives if a.kind == kind), None)


def _log_spoiled_flat(findings: Sequence[Finding], same: Members) -> float:
    """Log of the probability that a reading was spoiled flat and displayed what it did."""
    share = max(findings[i].flat for i in same)
    return float(np.log(SLIP * share) + log_flat(findings, same))


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

    A number that shows the same again scatters by one last digit; a range beside it says no more, and of several ranges
    the narrowest says all.
    """
    return sum(_log_flat_same([findings[i] for i in same]) for same in _same(findings, members))


def _log_flat_same(same: Sequence[Finding]) -> float:
    apart = sum(f.log_flat for f in same)
    if len(same) == 1:
        return apart
    numbers = [f for f in same if isinstance(f, Numeric) and likelihood.is_number(f)]
    if any(f.spans for f in numbers):
        return float(np.logaddexp(_log_flat_ranges(numbers), apart) + np.log(0.5))
    again = float(np.mean([f.log_flat for f in same]))
    if numbers:
        digit = np.array([np.mean([f.width**2 for f in numbers])])
        again += float(_log_repeats(numbers, digit)[0])
    return float(np.logaddexp(again, apart) + np.log(0.5))


def _log_flat_ranges(same: Sequence[Numeric]) -> float:
    """Log mass of readings of one place, ranges among them, that show the same again under a flat slip."""
    numbers = [f for f in same if not f.spans]
    return _log_flat_same(numbers) if numbers else min(f.log_flat for f in same)


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
    within = [share_within(f.spans_in_x, mean, sd) for f in numbers if f.spans]
    numbers = [f for f in numbers if not f.spans]
    if not numbers:
        return np.asarray(discrete + likelihood.clipped_log(np.min(within, axis=0)))
    m = len(numbers)
    width = float(np.mean([f.width for f in numbers]))
    common = likelihood.common_variance(sd)
    own = sd**2 - common + width**2 / 12.0
    variance = common + own / m
    residual = np.mean([f.x for f in numbers]) - mean
    first: Array = np.log(width) - 0.5 * (residual**2 / variance + np.log(variance) + likelihood.LOG_2PI)
    return discrete + first + (_log_repeats(numbers, own) if m > 1 else 0.0)


# --- what a slip takes out --------------------------------------------------------------------------


def _log_terms(removals: Sequence[Removal], parts: Sequence[Unit], joint: Numbers) -> list[Array]:
    """Log terms of one and of two slips, relative to nobody having slipped."""
    if not removals:
        return []
    alone = np.stack([r.log_odds - _log_units(r.members, parts) for r in removals])
    singles = alone - _log_numbers([r.members for r in removals], joint)
    pairs = [
        (i, j)
        for (i, one), (j, other) in combinations(enumerate(removals), 2)
        if one.slip != other.slip and not one.members & other.members
    ]
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


def _log_numbers(sets: Sequence[frozenset[int]], joint: Numbers) -> Array:
    """Log mass (B, S) of the numbers and ranges in each set of findings given those outside it."""
    total = _log_known(sets, joint.known)
    if joint.within is not None:
        whole, *kept = joint.within.log_kept([frozenset(), *sets])
        total = total + whole - np.array(kept)
    return total


def _log_known(sets: Sequence[frozenset[int]], joint: Gaussian | None) -> Array:
    """Log mass (B, S) of the numbers in each set of findings given the numbers outside it."""
    if joint is None:
        return np.zeros((len(sets), 1))
    rows = [tuple(joint.position[i] for i in sorted(s) if i in joint.position) for s in sets]
    total = np.zeros((len(sets), len(joint.log_mass)))
    for size in {len(r) for r in rows} - {0}:
        at = np.array([b for b, r in enumerate(rows) if len(r) == size])
        total[at] = joint.log_removed(np.array([rows[b] for b in at]))
    return total
