"""The guide on machines as a person follows it who takes what it offers: one step ahead, and instead of it what the
planner would rather have done, where the guide tells of it (`service/further.thought`).

Knows the guide's offers and how a rehearsal chooses; plays nothing. The same on problems of arrays: `ways.offered`.
"""

from __future__ import annotations

from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import pricing
from halfsplit.plan.ahead import Ahead
from halfsplit.plan.score import Adviser
from halfsplit.rehearse import play
from halfsplit.service import further
from halfsplit.service.guiding import Guided
from halfsplit.work.state import JobState


def taken(adviser: Adviser) -> play.Choose:
    """What is found out next: what one step ahead shows, or the step offered instead.

    None where neither is a step. Of repairs offered the rehearsal makes those that come first by its own rule
    (`fitting.first_of`), as where many steps are looked ahead; the talk makes the very ones that it offered.
    """
    planner, shown = Ahead(adviser), play.as_advised(adviser)

    def choose(weighed: Weighed, state: JobState) -> play.Choice | None:
        one = shown(weighed, state)
        guided = Guided(adviser, weighed.findings, state.refused)
        offered = further.thought(planner.plan(guided.weighed, state), guided)
        if offered is None or offered.other is None:
            return one
        if offered.step is None:
            return None
        return offered.step, pricing.cost_of(adviser.bench.machine, state, offered.step)

    return choose
