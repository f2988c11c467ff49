"""What opening has parted and a reading wants whole: a connector that is plugged in again, a switch that is held as
what came off holds it.

What a reading shows is predicted of a circuit that nobody has parted. Where opening parts it (`unplugs`, `frees` of the
file), a person makes it whole for the reading; else OL would be all there is to read. Knows bays and the solver; tells
nothing where it makes no difference.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import replace

import numpy as np

from halfsplit.machine import model
from halfsplit.operate import effect
from halfsplit.operate.condition import Condition
from halfsplit.operate.effect import HEALTHY, Effect
from halfsplit.plan import insulated
from halfsplit.plan.steps import Step
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import Probe
from halfsplit.service import tasks
from halfsplit.work import together

APART = 0.05
"""Readings that differ by less, relatively, are the same for a person."""
LEADS = 0.2
"""Ohms by which the same reading differs from one time to the next by how the probes touch."""


def sentences(predictor: Predictor, step: Step, opened: Collection[str]) -> Iterator[str]:
    """What is made whole for a dead reading with these bays open, as a person is told.

    >>> from halfsplit.evidence.weighing import Bench
    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate.condition import condition
    >>> dryer = Bench(loading.load("vented-dryer"))
    >>> through = Probe("ohms", "terminal block.N", "door switch.NO")
    >>> step = Step("reading", condition(dryer.machine, isolated=True), through)
    >>> list(sentences(dryer.predictor, step, ["top", "drum space"]))
    ['Plug the connector of door switch in again for it.']
    """
    if step.probe is None or step.condition is None or not step.condition.isolated:
        return
    parts, held = needed(predictor, step.probe, step.condition, opened)
    if parts:
        yield f"Plug the connector{'s' if len(parts) > 1 else ''} of {' and '.join(parts)} in again for it."
    for part, switch in held:
        yield f"Hold the {switch} as the {part} does, by hand or with tape; take the tape off after it."


def still_on(predictor: Predictor, step: Step, perhaps_off: Collection[str]) -> Iterator[str]:
    """What a dead reading goes through that may be off still, after a step that was taken back or set aside, and has to
    be on for it."""
    at, probe = step.condition, step.probe
    doubtful = sorted(set(perhaps_off) - set(at.lift if at else ()))
    if probe is None or at is None or not at.isolated or not doubtful:
        return
    if _whole(predictor, probe, at)(replace(at, lift=(*at.lift, *doubtful)), HEALTHY):
        on = (tasks.sentence(predictor.machine, task) for task in together.wired(predictor.machine, doubtful))
        yield f"Where it may be off still: {' '.join(on)}"


def needed(
    predictor: Predictor, probe: Probe, at: Condition, opened: Collection[str]
) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    """The parts whose connectors opening these bays has pulled, and what came off with the switch that it holds, that
    make a difference to a reading."""
    machine = predictor.machine
    bays = [bay for name, bay in machine.bays.items() if name in opened]
    if not any(bay.unplugs or bay.frees for bay in bays):
        return (), ()
    pulled = (part for bay in bays for part in bay.unplugs if not _lifted(machine, part, at))
    freed = ((part, element) for bay in bays for part in bay.frees for element in holds(machine, part))
    matters = _whole(predictor, probe, at)
    parts = tuple(part for part in pulled if matters(_without(machine, part, at), HEALTHY))
    held = ((part, element) for part, element in freed if matters(at, _open(predictor, element)))
    return parts, tuple((part, model.part_of(element)) for part, element in held)


def holds(machine: model.Machine, part: str) -> tuple[str, ...]:
    """The contacts that stand open once a part is off: those that its failing opens."""
    failed = (changes for mode in machine.parts[part].modes for _, changes in mode.alternatives)
    return tuple(dict.fromkeys(one.what for changes in failed for one in changes if one.kind == "opened"))


def _lifted(machine: model.Machine, part: str, at: Condition) -> bool:
    return bool({f"{part}.{terminal}" for terminal in machine.parts[part].terminals} & set(at.lift))


def _without(machine: model.Machine, part: str, at: Condition) -> Condition:
    """The condition with a part's connector pulled."""
    return replace(at, lift=(*at.lift, *(f"{part}.{terminal}" for terminal in machine.parts[part].terminals)))


def _open(predictor: Predictor, element: str) -> Effect:
    return effect.effect(predictor.operation.assembly, [model.Change("opened", element)])


def _whole(predictor: Predictor, probe: Probe, at: Condition) -> Callable[[Condition, Effect], bool]:
    """Whether a healthy machine reads otherwise when it is parted so; what is off the frame has to be off it with all
    that belongs to it."""
    if insulated.reads(predictor, Step("reading", at, probe)):
        return lambda parted, how: True
    whole = predictor.readings.read(probe, at.still, [HEALTHY])

    def differs(parted: Condition, how: Effect) -> bool:
        other = predictor.readings.read(probe, parted.still, [how])
        if (whole.over[0] > 0.5) != (other.over[0] > 0.5):
            return True
        return bool(whole.over[0] < 0.5 and not np.isclose(whole.value[0], other.value[0], rtol=APART, atol=LEADS))

    return differs
