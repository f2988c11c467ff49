"""Which faults nothing tells apart though different repairs cure them, by enumeration of all that can be found out.

Knows the adviser's table and the faults' repairs and rates; plays nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

from halfsplit.plan.score import Adviser
from halfsplit.rehearse import play


@dataclass(frozen=True)
class Alike:
    """Faults that show the same in everything, by name, and their share of all faults by rate."""

    faults: tuple[str, ...]
    share: float


def sets(adviser: Adviser) -> list[Alike]:
    """The sets of faults that nothing tells apart and that not one repair cures; the most frequent first.

    Sets of the same faults in different sizes are told once, with their shares added.
    """
    singles = adviser.bench.singles
    shares: dict[tuple[str, ...], float] = {}
    for rows in play.inseparable(adviser):
        repairs = {singles.repairs_of(int(singles.group_of[s])) for s in rows} - {()}
        if len(repairs) > 1:
            names = tuple(
                dict.fromkeys(singles.faults[i].name for s in sorted(rows) for i in singles.variants[s].faults)
            )
            shares[names] = shares.get(names, 0.0) + float(singles.prior[list(rows)].sum())
    return [Alike(*pair) for pair in sorted(shares.items(), key=lambda pair: -pair[1])]
