"""Why a step cannot be done, as a person would say it, and what is refused by that and planned around.

Knows machine, step and refusals; decides nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from halfsplit.machine import model
from halfsplit.plan.steps import Step, bays_needed, lifted_out
from halfsplit.work.refusals import CannotLift, CannotOpen, NoHelper, NoMeter
from halfsplit.work.state import JobState, to_open

NO_CLAMP = "there is no clamp for amps"


class Refusal(NamedTuple):
    """What is the matter, and what is refused by that for the rest of the job: a step, or one of `work/refusals`."""

    said: str
    refused: object


def of_step(machine: model.Machine, state: JobState, step: Step) -> list[Refusal]:
    """What may be the matter with a step, the step alone last.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate.condition import Condition
    >>> from halfsplit.predict.readings import Probe
    >>> heater = loading.load("water-heater")
    >>> clamp = Step("reading", Condition(()), Probe("amps", "limit.1"), places=("limit.1",))
    >>> [one.said for one in of_step(heater, JobState(), clamp)]
    ['the upper cover will not open', 'there is no clamp for amps', 'only this step cannot be done here']
    """
    return [*_lasting(machine, state, step), Refusal("only this step cannot be done here", step)]


def _lasting(machine: model.Machine, state: JobState, step: Step) -> Iterator[Refusal]:
    closed = to_open(machine, state, bays_needed(machine, step))
    for bay in closed:
        yield Refusal(f"the {bay} will not open", CannotOpen(bay))
    if any(machine.bays[bay].people > 1 for bay in closed):
        yield Refusal("nobody is here to help", NoHelper())
    for part in lifted_out(machine, step):
        yield Refusal(f"the {part} will not lift out", CannotLift(part))
    if step.probe:
        meter = step.probe.meter
        yield Refusal(NO_CLAMP if meter == "amps" else f"the meter does not read {meter}", NoMeter(meter))
