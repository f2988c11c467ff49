"""The likelihood of findings in plain loops: one candidate, one set of slips at a time, no shortcuts.

Written from the model, not from the fast code: every choice of slips gives a density of the numbers that
nobody spoiled, from their own covariance matrix, times the mass of what was displayed under the slips.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray
from scipy.stats import multivariate_normal, norm

from halfsplit.evidence.likelihood import (
    LEAST_MASS,
    REPEAT_SCATTER,
    Finding,
    Mistaken,
    Numeric,
    Perceived,
    Shown,
    Slip,
)
from halfsplit.evidence.slips import SLIP

Way = tuple[str, float, tuple[int, ...]]
"""Kind of a slip ("" is flat), its probability, and the places in the list of what it spoils."""


def joint(findings: Sequence[Finding], s: int, most_slips: int | None = 2) -> float:
    """Mass of all findings under candidate s; ``most_slips`` None sums over every set of slips."""
    total = 1.0
    for group in groups(findings):
        possible = slips_of(group)
        if most_slips is not None and len(alike(group)) > 2:
            total_flat = math.prod(SLIP * max(f.flat for f in same) * flat_mass(same) for same in alike(group))
        else:
            total_flat = 0.0
        total *= total_flat + sum(
            chance(possible, made) * displayed(group, list(made.values()), s)
            for made in choices(possible, len(possible) if most_slips is None else most_slips)
        )
    return total


def choices(possible: Sequence[Sequence[Way]], most: int) -> Iterator[dict[int, Way]]:
    """Every set of at most so many slips that spoils no finding twice: which slip, and in which way."""
    for count in range(most + 1):
        for which in combinations(range(len(possible)), count):
            for ways in product(*(possible[i] for i in which)):
                spoiled = [i for _, _, hit in ways for i in hit]
                if len(spoiled) == len(set(spoiled)):
                    yield dict(zip(which, ways, strict=True))


def chance(possible: Sequence[Sequence[Way]], made: dict[int, Way]) -> float:
    """Probability that just these slips were made."""
    return math.prod(made[i][1] if i in made else 1.0 - sum(p for _, p, _ in ways) for i, ways in enumerate(possible))


def slips_of(group: Sequence[Finding]) -> list[list[Way]]:
    """Every slip that the findings can hold, with its ways: one a set-up, and one a reading of several."""
    found: list[list[Way]] = []
    for setup in dict.fromkeys(f.setup for f in group):
        mine = [f for f in group if f.setup == setup]
        readings = alike(mine)
        whole = named(group, mine, alone=False)
        own = [[*named(group, same, alone=True), flat_way(group, same)] for same in readings]
        found += [whole + own[0]] if len(readings) == 1 else [[*whole, flat_way(group, mine)], *own]
    return [scaled(ways) for ways in found]


def flat_way(group: Sequence[Finding], spoiled: Sequence[Finding]) -> Way:
    """The slip that could have displayed anything."""
    return "", max(f.flat for f in spoiled), places(group, spoiled)


def places(group: Sequence[Finding], some: Sequence[Finding]) -> tuple[int, ...]:
    """Where some findings stand in the group."""
    return tuple(i for i, f in enumerate(group) if any(f is g for g in some))


def named(group: Sequence[Finding], mine: Sequence[Finding], alone: bool) -> list[Way]:
    """The named slips of findings, that spoil a reading alone or all that name the kind."""
    kinds = dict.fromkeys(a.kind for f in mine for a in f.alternatives if a.alone == alone)
    out: list[Way] = []
    for kind in kinds:
        hit = [f for f in mine if any(a.kind == kind for a in f.alternatives)]
        out.append((kind, max(a.weight for f in hit for a in f.alternatives if a.kind == kind), places(group, hit)))
    return out


def scaled(ways: Sequence[Way]) -> list[Way]:
    """Shares turned into probabilities."""
    total = max(1.0, sum(share for _, share, _ in ways))
    return [(kind, SLIP * share / total, hit) for kind, share, hit in ways]


def groups(findings: Sequence[Finding]) -> Iterator[list[Finding]]:
    """Findings that hang together, by spreading from the first one until nothing is touched any more."""
    left = list(findings)
    while left:
        group = [left.pop(0)]
        while touched := [f for f in left if any(hang_together(f, g) for g in group)]:
            group += touched
            left = [f for f in left if f not in touched]
        yield group


def hang_together(one: Finding, other: Finding) -> bool:
    """Whether two findings share a set-up, a place, or both are numbers."""
    same_place = one.same_place is not None and one.same_place == other.same_place
    return one.setup == other.setup or same_place or (number(one) and number(other))


def number(f: Finding) -> bool:
    """Whether a number was displayed."""
    return isinstance(f, Numeric) and f.shown is Shown.NUMBER


def displayed(group: Sequence[Finding], made: Sequence[Way], s: int) -> float:
    """Mass of what was displayed given the slips that were made."""
    spoiled = {i for _, _, hit in made for i in hit}
    total = clean_mass([f for i, f in enumerate(group) if i not in spoiled], s)
    for kind, _, hit in made:
        for same in alike([group[i] for i in hit]):
            total *= flat_mass(same) if kind == "" else slip_mass(same, kind, s)
    return total


def alike(findings: Sequence[Finding]) -> list[list[Finding]]:
    """Findings of one place and one outcome together."""
    out: list[list[Finding]] = []
    for f in findings:
        for group in out:
            g = group[0]
            if type(f) is type(g) and f.same_place == g.same_place is not None and f.outcome == g.outcome:
                group.append(f)
                break
        else:
            out.append([f])
    return out


def clip(p: float) -> float:
    """A probability off zero and one."""
    return min(max(p, LEAST_MASS), 1.0 - LEAST_MASS)


def over_mass(over: float, shown: Shown) -> float:
    """Mass of over range, or of its opposite."""
    return clip(over if shown is Shown.OVER else 1.0 - over)


def discrete(f: Finding, s: int) -> float:
    """Mass of a look, of over range, of a beep, or of there being a number."""
    return clip(float(f.table[s, f.value])) if isinstance(f, Perceived) else over_mass(f.over[s], f.shown)


def clean_mass(findings: Sequence[Finding], s: int) -> float:
    """Mass of findings that nobody spoiled."""
    total = math.prod(min(discrete(f, s) for f in same) for same in alike(findings))
    every = [f for f in findings if isinstance(f, Numeric) and f.shown is Shown.NUMBER]
    numbers, ranges = [f for f in every if not f.spans], [f for f in every if f.spans]
    if numbers:
        density = multivariate_normal([f.mean[s] for f in numbers], covariance(numbers, numbers, s))
        total *= float(density.pdf([f.x for f in numbers])) * math.prod(f.width for f in numbers)
    return total * (held(ranges, numbers, s) if ranges else 1.0)


def covariance(some: Sequence[Numeric], others: Sequence[Numeric], s: int) -> NDArray[np.float64]:
    """Covariance of numbers with others, one by one."""
    made = np.zeros((len(some), len(others)))
    for i, f in enumerate(some):
        for j, g in enumerate(others):
            made[i, j] = f.jacobian[s] @ g.jacobian[s]
            if f is g:
                made[i, j] += f.noise[s] ** 2 + (0.0 if f.spans else f.width**2 / 12)
            elif f.same_place is not None and f.same_place == g.same_place:
                made[i, j] += common(f.noise[s]) * common(g.noise[s])
    return made


def held(ranges: Sequence[Numeric], numbers: Sequence[Numeric], s: int) -> float:
    """Chance that all ranges hold their readings, given the numbers: each combination of their spans by the library's
    integral of a normal distribution over a box."""
    mean, spread = np.array([f.mean[s] for f in ranges]), covariance(ranges, ranges, s)
    if numbers:
        off = np.array([f.x - f.mean[s] for f in numbers])
        gain = covariance(ranges, numbers, s) @ np.linalg.inv(covariance(numbers, numbers, s))
        mean, spread = mean + gain @ off, spread - gain @ covariance(numbers, ranges, s)
    total = 0.0
    for box in product(*(ends(f) for f in ranges)):
        low, high = np.array(box).T
        total += float(multivariate_normal(mean, spread).cdf(high, lower_limit=low, rng=np.random.default_rng(1)))
    return clip(total)


def ends(f: Numeric) -> list[tuple[float, float]]:
    """The ends of each span of a range, in units of x."""
    return [(math.asinh(low / f.scale) if low > 0 else -math.inf, math.asinh(high / f.scale)) for low, high in f.spans]


def length(f: Numeric) -> float:
    """The width of what was displayed: of the last digit, or of all spans above 0."""
    return sum(high - max(low, 0.0) for low, high in ends(f)) if f.spans else f.width


def common(sd: float) -> float:
    """Standard deviation that repeats of one place have in common."""
    return math.sqrt(max(float(sd) ** 2 - REPEAT_SCATTER**2, 0.0))


def slip_mass(same: Sequence[Finding], kind: str, s: int) -> float:
    """Mass of findings alike under a named slip."""
    f = same[0]
    slips = [next(a for a in g.alternatives if a.kind == kind) for g in same]
    if isinstance(f, Perceived):
        return min(clip(float(a.table[s, f.value])) for a in slips if isinstance(a, Mistaken))
    readings = [a for a in slips if isinstance(a, Slip)]
    total: float = min([over_mass(float(a.over[s]), f.shown) for a in readings])
    if f.shown is not Shown.NUMBER:
        return total
    numbers = [g for g in same if isinstance(g, Numeric)]
    if f.spans:
        (only,) = readings
        within = norm(only.mean[s], only.sd[s])
        return total * clip(sum(float(within.cdf(high) - within.cdf(low)) for low, high in ends(f)))
    shared = np.array([common(a.sd[s]) for a in readings])
    own = np.array([a.sd[s] ** 2 + f.width**2 / 12 for a in readings]) - shared**2
    covariance = np.outer(shared, shared) + np.diag(own)
    density = multivariate_normal([a.mean[s] for a in readings], covariance).pdf([g.x for g in numbers])
    return float(total * density * math.prod(g.width for g in numbers))


def flat_alone(f: Finding) -> float:
    """Mass of one finding under a slip that could have shown anything."""
    if isinstance(f, Perceived):
        return 1.0 / int(f.table.shape[1])
    if f.shown is Shown.NUMBER:
        return (1.0 - f.flat_over) * length(f) / f.span
    return f.flat_over if f.shown is Shown.OVER else 1.0 - f.flat_over


def flat_mass(same: Sequence[Finding]) -> float:
    """Mass of findings alike under the flat slip: half the time the first display again."""
    apart = math.prod(flat_alone(f) for f in same)
    if len(same) == 1:
        return apart
    again = flat_alone(same[0])
    numbers = [f for f in same if isinstance(f, Numeric) and f.shown is Shown.NUMBER]
    if numbers:
        again *= scatter([f.x for f in numbers], numbers[0].width)
    return 0.5 * again + 0.5 * apart


def scatter(x: Sequence[float], width: float) -> float:
    """Mass of repeats given their mean: joint density with a common unknown, over that of the mean."""
    m = len(x)
    joint_density = multivariate_normal(np.zeros(m), np.ones((m, m)) + width**2 * np.eye(m)).pdf(x)
    mean_density = norm(0.0, math.sqrt(1.0 + width**2 / m)).pdf(np.mean(x))
    return float(joint_density / mean_density) * width ** (m - 1)


def posterior(
    findings: Sequence[Finding], prior: Sequence[float], healthy: int, mass: Callable[..., float] = joint
) -> tuple[list[float], float]:
    """Probability of each candidate, and of something the file does not say."""
    total = sum(prior)
    share = [p / total for p in prior]
    weights = [0.97 * share[s] * mass(findings, s) for s in range(len(share))]
    rest = 0.03
    for f in findings:
        mixture = sum(share[s] * mass([f], s) for s in range(len(share)))
        rest *= 0.6 * mass([f], healthy) + 0.4 * (0.5 * mixture + 0.5 * flat_alone(f))
    evidence = sum(weights) + rest
    return [w / evidence for w in weights], rest / evidence


def lookalike(findings: Sequence[Finding], prior: Sequence[float], healthy: int, pairs: Sequence[int] = ()) -> float:
    """Odds against all the rest that what the file does not say shows as one of the single faults or of these pairs,
    but for what tells of it by itself."""
    apart = [f for f in findings if isinstance(f, Perceived) and f.unlisted is not None]
    alike = [f for f in findings if f not in apart]

    def mass(s: int) -> float:
        return joint(alike, s) * math.prod(float(f.unlisted[s, f.value]) for f in apart if f.unlisted is not None)

    single = [s for s, p in enumerate(prior) if p > 0 and s != healthy and s not in pairs]
    shares, _ = posterior(findings, prior, healthy)
    s = max(range(len(prior)), key=lambda s: shares[s])
    evidence = 0.97 * prior[s] / sum(prior) * joint(findings, s) / shares[s]
    every = math.comb(len(single), 2) or 1
    ones = sum(0.015 / len(single) * mass(s) for s in single)
    return (ones + sum(0.003 / every * mass(s) for s in pairs if prior[s] > 0)) / evidence
