"""What a proof run has shown, by what was named of it: that, and what was seen before it to be as it must be.

Knows the cards of the proof run and what was found; asks nobody.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

from halfsplit.evidence import finding as f
from halfsplit.evidence import well
from halfsplit.evidence.weighing import Bench
from halfsplit.service.proof_cards import Check, ProofRun
from halfsplit.work import stopping, warms


def showed(
    bench: Bench, made: ProofRun, before: Sequence[f.Finding], wrong: Mapping[Check, f.Finding]
) -> list[f.Finding]:
    """What a proof run has shown, in its order: of what was found `wrong` that; of what is seen before the last of
    these, in the same settings as they or wrong `before`, that it is as it must be. Not so of what has to be waited
    for, unless it was wrong before and nothing is wrong sooner, nor in another setting of what was named: nobody need
    have seen that. What was out of reach was not seen; that water is gone nobody says by not naming it. Where something
    is wrong before it runs the power stays off: no more was seen."""
    shows = partial(well.shown_by_the_healthy, bench.predictor)
    complained = {x.what for x in well.unlike_the_healthy(bench.predictor, before)}
    named, order = {one.step.at for one in wrong if one.seen}, {one: n for n, one in enumerate(made.checks)}
    places = sorted(order[one] for one in wrong) or [0]
    found: list[f.Finding] = []
    for card in made.cards:
        here = any(one in wrong for one in card.checks)
        for one in card.checks:
            if not warms.can_be_met(bench.machine, found, one.at, shows):
                continue
            told = one.step.at in complained
            waited = one.seen and (not bench.machine.symptoms[one.step.at].takes or (told and order[one] < places[0]))
            if one in wrong:
                found.append(wrong[one])
            elif waited and (here or told) and order[one] < places[-1] and one.step.at not in {*named, stopping.WATER}:
                found.append(one.found(True))
        if here and not card.number:
            break
    return found
