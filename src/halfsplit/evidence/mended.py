"""What may still be wrong once a repair is made: the findings before it, carried over to the machine as it is now.

With H a set of faults, R what the repairs cure and F the findings before them, what is left L has the prior

    P(L) = sum over all H with H - R = L of P(H | F)

over single faults, and over pairs of the likeliest fault that was cured with every other. The findings after the
repair are weighed from there, on the machine without what was cured. Knows the bench; not who repaired.
"""

from __future__ import annotations

import copy
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench, Kept, Weighed
from halfsplit.modes import tripping
from halfsplit.predict.candidates import Candidates, Variant, pair

PINCHED = 0.01
"""How often hands that were in a machine for a repair have left a wire that leads to the frame; common practice, no
source."""


def after(bench: Bench, findings: Sequence[f.Finding], repairs: Collection[str]) -> Bench:
    """The bench of the machine after these repairs: the same candidates, with the prior of what is left.

    What the repairs cure has no weight any more: a part that was just replaced is good. What had tripped and was set
    again keeps the share of it that trips again (`modes/tripping`).
    """
    known = bench.singles
    cured = _cured(known, repairs)
    alone = Weighed(bench.predictor, tuple(findings), bench.kept)
    both = list(_both(known, cured, alone.posterior.probability))
    left = [0 if cured[s] else s for s in (*range(len(known.variants)), *(s for s, _ in both))]
    posterior = alone.posterior.probability
    if both:
        predictor = bench.pool.predictor(bench.predictor, [v for _, v in both])
        posterior = Weighed(predictor, tuple(findings), Kept(predictor)).posterior.probability
    weight = np.bincount(left, posterior, minlength=len(known.variants))
    again = [s for s, gone in enumerate(cured) if gone and _trips_again(bench, known.variants[s])]
    weight[again] = tripping.AGAIN * posterior[again]
    weight[0] -= weight[again].sum()
    return _with_prior(bench, weight)


def by_hand(bench: Bench, names: Collection[str]) -> Bench:
    """The same where hands may just have made one of these faults, any as likely as another."""
    known = bench.singles
    rows = [s for s, v in enumerate(known.variants) if {known.faults[i].name for i in v.faults} & {*names}]
    weight = np.array(known.prior)
    weight[rows] += PINCHED / max(len(rows), 1)
    return _with_prior(bench, weight) if rows else bench


def _cured(known: Candidates, repairs: Collection[str]) -> list[bool]:
    """Whether the repairs cure each variant."""
    by_group = [known.cured(g, repairs) for g in range(len(known.groups))]
    return [by_group[g] for g in known.group_of.tolist()]


def _trips_again(bench: Bench, variant: Variant) -> bool:
    faults = (bench.singles.faults[number] for number in variant.faults)
    return bool(variant.faults) and all(tripping.has_tripped(bench.machine, one) for one in faults)


def _both(known: Candidates, cured: Sequence[bool], probability: Array) -> Iterator[tuple[int, Variant]]:
    """The likeliest fault and size that each repair cured, each two once with every other fault, the second told."""
    likeliest: dict[int, int] = {}
    for s in np.argsort(-probability, kind="stable").tolist():
        if cured[s] and s:
            likeliest.setdefault(int(known.repair_of[s]), s)
    firsts = list(likeliest.values())
    for n, first in enumerate(firsts):
        faults = {*known.variants[first].faults}
        for s, variant in enumerate(known.variants):
            if variant.faults and faults.isdisjoint(variant.faults) and s not in firsts[:n]:
                yield s, pair(known.variants[first], variant)


def _with_prior(bench: Bench, weight: Array) -> Bench:
    """The same bench with other prior weights (S,); what was predicted for it stays, since no effect has changed."""
    variants = tuple(replace(v, weight=float(w)) for v, w in zip(bench.singles.variants, weight, strict=True))
    made, predictor = copy.copy(bench), copy.copy(bench.predictor)
    made.singles = predictor.candidates = Candidates(bench.singles.faults, variants)
    made.predict_with(predictor)
    return made
