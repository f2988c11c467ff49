"""Which checks of a proof run show that a repair holds, in words: for whom all of it is too long.

Knows the bench, the walk of the run and its cards.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from halfsplit.evidence import finding as f
from halfsplit.evidence import well
from halfsplit.evidence.weighing import Bench
from halfsplit.plan import holds
from halfsplit.plan.proof_walk import Stage
from halfsplit.quantity.display import duration
from halfsplit.service.proof_cards import ProofRun
from halfsplit.service.proof_words import ranged

LITTLE = 10.0
"""For so few minutes less nobody is told what could be left out; Halfsplit's choice."""


def sentence(
    bench: Bench, repairs: Collection[str], before: Sequence[f.Finding], stages: Sequence[Stage], run: ProofRun
) -> str:
    """Which checks they are, card by card; "" where there are none, or that spares little. `before`: what was found
    before the repairs; `stages`: those of the run."""
    told = {x.what for x in well.unlike_the_healthy(bench.predictor, before)}
    few = holds.soonest(bench, repairs, told, stages) if repairs else holds.Holds()
    if not few.steps or run.minutes - few.minutes < LITTLE:
        return ""
    cards = {card.number: {check.step: check.number for check in card.checks} for card in run.run}
    on: dict[int, list[int]] = {}
    for stage, step in few.steps:
        on.setdefault(stage + 1, []).append(cards[stage + 1][step])
    said = "; ".join(f"{ranged(sorted(numbers))} on card {card}" for card, numbers in on.items())
    short = duration(max(1, round(few.minutes)))
    return f"Whether this repair holds is shown by {said}: some {short}. All else looks for what may be wrong besides."
