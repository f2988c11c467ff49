"""The adviser's steps that fit the machine as it was found, none wanting a warmth out of reach or a short to the frame
tried under power; when none is taken, and what is seen before an unsure repair then.

Knows the adviser, the findings and the rules of `work/warms`, `insulated` and `worth`; scores nothing itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from halfsplit.evidence import finding as f
from halfsplit.evidence import well
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import insulated, pricing, worth
from halfsplit.plan.score import Adviser, Scored
from halfsplit.plan.steps import Step
from halfsplit.work import warms
from halfsplit.work.state import JobState

SPARE = 48
"""So many more are asked for, all that are scored: some want a warmth that the machine as it was found cannot reach."""


def next_steps(asked: Adviser, weighed: Weighed, state: JobState, count: int = 1) -> list[Scored]:
    """The best steps that can be done on the machine as it was found, best first."""
    best = asked.next_steps(weighed, state, count + SPARE)
    left = [one for one in best if fits(asked, weighed.findings, one.step)]
    return asked.in_order(weighed, left)[:count]


def fits(asked: Adviser, findings: Sequence[f.Finding], step: Step) -> bool:
    """Whether the machine as it was found can reach the warmth that a step wants, or that its owner is asked about, and
    whether a person there could feel what is asked; and whether ohms to the frame stand before a breaker is tried."""
    machine, shows = asked.bench.machine, healthy(asked)
    if insulated.wanted(machine, step) and not insulated.measured(asked.bench.predictor, findings):
        return False
    met = warms.can_be_met(machine, findings, step.tells_of, shows)
    return met and (not step.perceived or warms.can_be_felt(machine, findings, step.at, shows))


def sure(weighed: Weighed) -> bool:
    """Whether one set of repairs is so likely that no further step is taken."""
    return weighed.likeliest[1] >= worth.SURE


def settled(asked: Adviser, weighed: Weighed, best: Sequence[Scored]) -> bool:
    """Whether nothing more is found out: one set of repairs is sure enough, or the best step does not pay."""
    return sure(weighed) or not best or not asked.pays(weighed, best[0])


def paying(asked: Adviser, weighed: Weighed, state: JobState) -> Scored | None:
    """The best step while it pays; None where nothing more is found out (see `settled`)."""
    best = [] if sure(weighed) else next_steps(asked, weighed, state)
    return None if settled(asked, weighed, best) else best[0]


def first_seen(asked: Adviser, weighed: Weighed, state: JobState) -> Step | None:
    """The complaint to be seen before a repair that is not sure, where nothing found is unlike a healthy machine and
    the machine can be brought to show it; before a breaker is tried, the reading that it wants. None where nothing is
    to be seen first."""
    if sure(weighed):
        return None
    wanted = {one.what for one in well.to_be_looked_for(weighed)}
    for step in asked.steps.usual if wanted else ():
        plain = step.kind == "symptom" and not step.exchange
        asked_for = plain and step.at in wanted and step not in state.done | state.refused
        if asked_for and fits(asked, weighed.findings, step):
            return step
        if asked_for and (reading := _before_it(asked, weighed, state, step)):
            return reading
    return None


def _before_it(asked: Adviser, weighed: Weighed, state: JobState, step: Step) -> Step | None:
    """The reading without which a breaker is not tried, the soonest made; None for all else, and where none helps."""
    machine = asked.bench.machine
    if not insulated.wanted(machine, step):
        return None
    can = [one for one, allowed in zip(asked.steps.usual, asked.allowed(state), strict=True) if allowed]
    lacking = insulated.lacking(asked.bench.predictor, weighed.findings, [one for one in can if not one.live])
    return min(lacking, key=lambda one: pricing.cost_of(machine, state, one).minutes, default=None)


def healthy(asked: Adviser) -> warms.Shows:
    """What a healthy machine shows in the setting of a finding; unstated, as it is usually run."""
    return partial(well.shown_by_the_healthy, asked.bench.predictor)
