"""The adviser's steps that fit the machine as it was found, none wanting a warmth out of reach; and when none is taken.

Knows the adviser, the findings and the rules of `work/warms` and `worth`; scores nothing itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.evidence.well import shown_by_the_healthy
from halfsplit.plan import worth
from halfsplit.plan.score import Adviser, Scored
from halfsplit.plan.steps import Step
from halfsplit.work import warms
from halfsplit.work.state import JobState

SPARE = 12
"""So many more are scored, since some want a warmth that the machine as it was found cannot reach."""


def next_steps(asked: Adviser, weighed: Weighed, state: JobState, count: int = 1) -> list[Scored]:
    """The best steps that can be done on the machine as it was found, best first."""
    best = asked.next_steps(weighed, state, count + SPARE)
    left = [one for one in best if fits(asked, weighed.findings, one.step)]
    return asked.in_order(weighed, left)[:count]


def fits(asked: Adviser, findings: Sequence[f.Finding], step: Step) -> bool:
    """Whether the machine as it was found can reach the warmth that a step wants, or that its owner is asked about, and
    whether a person there could feel what is asked."""
    machine, shows = asked.bench.machine, healthy(asked)
    met = warms.can_be_met(machine, findings, step.tells_of, shows)
    return met and (not step.perceived or warms.can_be_felt(machine, findings, step.at, shows))


def sure(weighed: Weighed) -> bool:
    """Whether one set of repairs is so likely that no further step is taken."""
    return weighed.likeliest[1] >= worth.SURE


def settled(asked: Adviser, weighed: Weighed, best: Sequence[Scored]) -> bool:
    """Whether nothing more is found out: one set of repairs is sure enough, or the best step does not pay."""
    return sure(weighed) or not best or not asked.pays(weighed, best[0])


def healthy(asked: Adviser) -> warms.Shows:
    """What a healthy machine shows in the setting of a finding; unstated, as it is usually run."""
    return partial(shown_by_the_healthy, asked.bench.predictor)
