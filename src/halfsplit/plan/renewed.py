"""The adviser for a machine that was repaired: the same steps, and what was found before as the prior of what is left.

For rehearsals and for the guide alike. Knows the adviser and `evidence/mended`; neither how it was tried, nor by whom.
"""

from __future__ import annotations

import copy
from collections.abc import Collection, Iterable, Sequence

from halfsplit.evidence import finding as f
from halfsplit.evidence import mended, switched
from halfsplit.plan.score import Adviser
from halfsplit.work import handling


def by_the_way(adviser: Adviser, findings: Sequence[f.Finding], repairs: Iterable[str]) -> frozenset[str]:
    """What switching the machine off for what was found, or for hands in it at these repairs, has mended as well."""
    bench = adviser.bench
    isolated = any(handling.hands_in(bench.machine, bench.repairs[name]) for name in repairs)
    return switched.mended(bench.machine, bench.repairs.values(), findings, isolated)


def after(
    adviser: Adviser, findings: Sequence[f.Finding], repairs: Collection[str], by_hand: Collection[str] = ()
) -> Adviser:
    """The adviser after these repairs, of which the findings were made before; its table of steps stays. `by_hand`: the
    faults that hands may have made meanwhile."""
    made = copy.copy(adviser)
    made.bench = mended.by_hand(mended.after(adviser.bench, findings, repairs), by_hand)
    return made
