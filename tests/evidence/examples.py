"""Random findings and candidates that the tests of the evidence share."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import replace

import numpy as np
from hypothesis import strategies as st

from halfsplit.evidence.likelihood import Finding, Mistaken, Numeric, Perceived, Shown, Slip

KINDS = (
    ("wire not lifted", 0.4, False),
    ("k for M", 0.2, True),
    ("setting not made", 0.2, False),
    ("neighbour", 0.1, True),
)
"""Kinds of slip, their shares, and whether they spoil one reading alone."""


def numeric(
    random: np.random.Generator,
    candidates: int = 4,
    unknowns: int = 2,
    setup: Hashable = 0,
    shown: Shown = Shown.NUMBER,
    kinds: int = 2,
    same_place: Hashable | None = None,
) -> Numeric:
    """A reading near what one candidate would have shown."""
    mean = random.uniform(1.0, 3.0, candidates)
    noise = random.uniform(0.03, 0.3, candidates)
    x = mean[random.integers(candidates)] + 0.1 * random.normal()
    slips = tuple(
        Slip(
            kind,
            weight,
            random.uniform(1.0, 3.0, candidates),
            random.uniform(0.05, 0.3, candidates),
            random.uniform(0.01, 0.6, candidates),
            alone,
        )
        for kind, weight, alone in KINDS[:kinds]
    )
    return Numeric(
        setup=setup,
        scale=2.0,
        mean=mean,
        jacobian=0.2 * random.normal(size=(candidates, unknowns)),
        noise=noise,
        over=random.uniform(0.01, 0.6, candidates),
        value=2.0 * float(np.sinh(x)),
        shown=shown,
        step=float(random.choice([0.001, 0.01, 0.02])),
        alternatives=slips,
        same_place=same_place,
    )


def ranged(random: np.random.Generator, reading: Numeric, width: float = 0.6) -> Numeric:
    """The same where only a range of up to about this width in x is known, or two with a gap between them."""
    low = reading.x - width * random.random()
    ends = [low, *(low + np.cumsum(width * random.uniform(0.2, 1.0, 3)))]
    some = ends if random.random() < 0.3 else ends[:2]
    si = (reading.scale * np.sinh(np.maximum(some, 0.0))).tolist()
    return replace(reading, spans=tuple(zip(si[::2], si[1::2], strict=True)))


def perceived(
    random: np.random.Generator,
    candidates: int = 4,
    values: int = 3,
    setup: Hashable = 0,
    kinds: int = 0,
    same_place: Hashable | None = None,
) -> Perceived:
    """A look with a random table."""
    table = random.dirichlet(np.ones(values), candidates)
    slips = tuple(
        Mistaken(kind, weight, random.dirichlet(np.ones(values), candidates), alone)
        for kind, weight, alone in KINDS[:kinds]
    )
    return Perceived(setup, int(random.integers(values)), table, alternatives=slips, same_place=same_place)


def anything(random: np.random.Generator, count: int, setups: int, candidates: int = 4) -> list[Finding]:
    """Findings of all sorts, spread over set-ups."""
    findings: list[Finding] = []
    for _ in range(count):
        setup, kinds = int(random.integers(setups)), int(random.integers(4))
        if random.random() < 0.3:
            findings.append(perceived(random, candidates, setup=setup, kinds=kinds))
        else:
            shown = random.choice(np.array([Shown.NUMBER, Shown.NUMBER, Shown.OVER, Shown.BEEP], dtype=object))
            findings.append(numeric(random, candidates, setup=setup, shown=shown, kinds=kinds))
    return findings


seeds = st.integers(0, 2**32 - 1)
