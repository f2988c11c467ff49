"""A part that opens by itself when it was overloaded, and closes once it is cool: read at once it looks broken.

Knows devices and the solver; what was found decides nothing here.
"""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.machine import model
from halfsplit.machine.primitives import Overcurrent
from halfsplit.modes import tripping
from halfsplit.operate import effect
from halfsplit.plan.steps import Step
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import DEAD_METERS
from halfsplit.quantity.display import duration
from halfsplit.service import made_whole
from halfsplit.work.state import JobState

COOLS = 15.0
"""Minutes after which a protector that has opened has closed again; common practice, no source."""
SAID = "If it does not read as on a good machine: {part} may have opened just now; read again after {time}."


def again(predictor: Predictor, state: JobState, step: Step) -> str:
    """What is said behind a dead reading of a machine that was live until now; "" where nothing in its way opens so.

    >>> from halfsplit.evidence.weighing import Bench
    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate.condition import condition
    >>> from halfsplit.predict.readings import Probe
    >>> fridge = Bench(loading.load("refrigerator"))
    >>> across = Step("reading", condition(fridge.machine, isolated=True), Probe("ohms", "overload.1", "overload.2"))
    >>> again(fridge.predictor, JobState(), across)
    'If it does not read as on a good machine: overload may have opened just now; read again after 15 min.'
    """
    probe, at = step.probe, step.condition
    if probe is None or at is None or probe.meter not in DEAD_METERS or state.left_isolated:
        return ""
    healthy = predictor.healthy_reading(probe, at)
    for part, contact in _opened(predictor.machine):
        acted = effect.effect(predictor.operation.assembly, [model.Change("opened", contact)])
        if made_whole.otherwise(healthy, predictor.reading_under(acted, probe, at)):
            return SAID.format(part=part, time=duration(COOLS))
    return ""


def _opened(machine: model.Machine) -> Iterator[tuple[str, str]]:
    """The parts that open when overloaded and close by themselves, each with its contact."""
    for contact in machine.elements:
        for one in tripping.opened_by(machine, contact):
            if isinstance(one, Overcurrent) and one.resets == "itself":
                yield one.part, contact
