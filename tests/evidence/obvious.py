"""The likelihood of findings in plain loops: one candidate, one set of slips at a time, no shortcuts.

Written from the model, not from the fast code: every choice of slips gives a density of the numbers that
nobody spoiled, from their own covariance matrix, times the mass of what was displayed under the slips.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterator, Sequence
from itertools import product

import numpy as np
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

Assignment = dict[Hashable, str | None]


def joint(findings: Sequence[Finding], s: int, most_slips: int | None = 2) -> float:
    """Mass of all findings under candidate s; ``most_slips`` None sums over every set of slips."""
    total = 1.0
    for group in groups(findings):
        setups = list(dict.fromkeys(f.setup for f in group))
        total *= sum(
            chance(group, slips) * displayed(group, slips, s)
            for slips in assignments(group, setups)
            if allowed(list(slips.values()), most_slips)
        )
    return total


def allowed(slips: Sequence[str | None], most: int | None) -> bool:
    """Whether a choice of slips is in the sum: few enough, or all of it flat."""
    slipped = [s for s in slips if s is not None]
    return most is None or len(slipped) <= most or all(s == "" for s in slips)


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


def shares(group: Sequence[Finding], setup: Hashable) -> dict[str, float]:
    """Kinds of slip of a set-up and their shares; the empty name is the flat one."""
    found: dict[str, float] = {}
    for f in group:
        if f.setup == setup:
            found[""] = max(found.get("", 0.0), f.flat)
            for a in f.alternatives:
                found[a.kind] = max(found.get(a.kind, 0.0), a.weight)
    scale = max(1.0, sum(found.values()))
    return {kind: share / scale for kind, share in found.items()}


def assignments(group: Sequence[Finding], setups: Sequence[Hashable]) -> Iterator[Assignment]:
    """Every way in which the set-ups may have been slipped in."""
    for choice in product(*([None, *shares(group, g)] for g in setups)):
        yield dict(zip(setups, choice, strict=True))


def chance(group: Sequence[Finding], slips: Assignment) -> float:
    """Probability of one choice of slips."""
    total = 1.0
    for setup, kind in slips.items():
        kinds = shares(group, setup)
        total *= 1.0 - SLIP * sum(kinds.values()) if kind is None else SLIP * kinds[kind]
    return total


def displayed(group: Sequence[Finding], slips: Assignment, s: int) -> float:
    """Mass of what was displayed given who slipped how."""
    spoiled = {id(f): kind for f in group if (kind := spoiling(f, slips)) is not None}
    total = clean_mass([f for f in group if id(f) not in spoiled], s)
    for setup, kind in slips.items():
        hit = [f for f in group if f.setup == setup and id(f) in spoiled]
        for same in alike(hit):
            total *= flat_mass(same) if kind == "" else slip_mass(same, str(kind), s)
    return total


def spoiling(f: Finding, slips: Assignment) -> str | None:
    """The slip that spoils a finding, if any."""
    kind = slips[f.setup]
    return kind if kind == "" or any(a.kind == kind for a in f.alternatives) else None


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
    numbers = [f for f in findings if isinstance(f, Numeric) and f.shown is Shown.NUMBER]
    if not numbers:
        return total
    n = len(numbers)
    covariance = np.zeros((n, n))
    for i, f in enumerate(numbers):
        for j, g in enumerate(numbers):
            covariance[i, j] = f.jacobian[s] @ g.jacobian[s]
            if i == j:
                covariance[i, j] += f.noise[s] ** 2 + f.width**2 / 12
            elif f.same_place is not None and f.same_place == g.same_place:
                covariance[i, j] += common(f.noise[s]) * common(g.noise[s])
    density = multivariate_normal([f.mean[s] for f in numbers], covariance).pdf([f.x for f in numbers])
    return total * float(density) * math.prod(f.width for f in numbers)


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
        return (1.0 - f.flat_over) * f.width / f.span
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
