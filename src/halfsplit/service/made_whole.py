"""What opening has parted and a reading wants whole: a connector that is plugged in again, a switch that is held as
what came off holds it, or pressed in as the door does that is off, or open for the hands at its switch.

What a reading shows is predicted of a circuit that nobody has parted, with every control where it is set. Where opening
parts it or moves them (`unplugs`, `frees`, `hands` of the file), a person makes it whole for the reading; else another
machine is read. Knows bays and the solver; tells nothing where it makes no difference.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import replace

import numpy as np

from halfsplit.machine import model
from halfsplit.operate import effect
from halfsplit.operate.condition import Condition, moved
from halfsplit.operate.effect import Effect
from halfsplit.plan import insulated
from halfsplit.plan.steps import Step
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import Probe, Reading
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
    >>> for said in sentences(dryer.predictor, step, ["top", "drum space"]):
    ...     print(said)
    Plug the connector of door switch in again for it, if it is not.
    Press the door switch in and keep it so, by hand or with tape; take the tape off after it.
    """
    if step.probe is None or step.condition is None or not step.condition.isolated:
        return
    parts, held = needed(predictor, step.probe, step.condition, opened)
    if parts:
        many = len(parts) > 1
        yield f"Plug the connector{'s' if many else ''} of {' and '.join(parts)} in {IN_AGAIN[many]}."
    for part, switch in held:
        yield f"Hold the {switch} as the {part} does, {BY_HAND}"
    for control, back in pressed(predictor, step.probe, step.condition, opened):
        after = f" After it: {control} {back}." if back else ""
        yield f"Press the {' and the '.join(predictor.machine.worked_by(control))} in and keep it so, {BY_HAND}{after}"


IN_AGAIN = {False: "again for it, if it is not", True: "again for it, if they are not"}
BY_HAND = "by hand or with tape; take the tape off after it."
"""How what springs back is held while both hands are at the leads; common practice, no source."""


def still_on(predictor: Predictor, step: Step, perhaps_off: Collection[str]) -> Iterator[str]:
    """What a dead reading goes through that may be off still, after a step that was taken back or set aside, and has to
    be on for it."""
    at, probe = step.condition, step.probe
    doubtful = sorted(set(perhaps_off) - set(at.lift if at else ()))
    if probe is None or at is None or not at.isolated or not doubtful:
        return
    if _whole(predictor, probe, at)(replace(at, lift=(*at.lift, *doubtful)), None):
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
    parts = tuple(part for part in pulled if matters(_without(machine, part, at), None))
    held = ((part, element) for part, element in freed if matters(at, _open(predictor, element)))
    return parts, tuple((part, model.part_of(element)) for part, element in held)


def pressed(
    predictor: Predictor, probe: Probe, at: Condition, opened: Collection[str]
) -> tuple[tuple[str, str], ...]:
    """The controls that stand otherwise than a reading wants them, since what sets them is off or hands are at their
    switch, and make a difference to it; with the position into which each is put again after it ("": its bay is
    open)."""
    astray = stand_astray(predictor.machine, probe, at, opened)
    if not astray:
        return ()
    matters, freed = _whole(predictor, probe, at), freed_controls(predictor.machine, opened)
    made = (c for c, position in astray.items() if matters(moved(at, c, position), None))
    return tuple((control, "" if control in freed else at.position(control)) for control in made)


def stand_astray(machine: model.Machine, probe: Probe, at: Condition, opened: Collection[str]) -> dict[str, str]:
    """The controls that cannot stand as a condition has them, each with how it does: with what sets it off, or for the
    hands at its switch."""
    freed = freed_controls(machine, opened)
    touched = machine.moved_by_hands((probe.red, probe.black, *at.lift))
    return {control: stands for control, stands in (touched | freed).items() if at.position(control) != stands}


def freed_controls(machine: model.Machine, opened: Collection[str]) -> dict[str, str]:
    """The controls that have come off what they set once these bays are open, each with how its switch then stands.

    >>> from halfsplit.machine import loading
    >>> freed_controls(loading.load("vented-dryer"), ["top", "drum space"])
    {'door': 'open'}
    """
    names = (name for bay in opened if bay in machine.bays for name in machine.bays[bay].frees)
    return {name: machine.controls[name].positions[1] for name in names if name not in machine.parts}


def holds(machine: model.Machine, part: str) -> tuple[str, ...]:
    """The contacts that stand open once a part is off: those that its failing opens; none for a control."""
    modes = machine.parts[part].modes if part in machine.parts else ()
    failed = (changes for mode in modes for _, changes in mode.alternatives)
    return tuple(dict.fromkeys(one.what for changes in failed for one in changes if one.kind == "opened"))


def _lifted(machine: model.Machine, part: str, at: Condition) -> bool:
    return bool({f"{part}.{terminal}" for terminal in machine.parts[part].terminals} & set(at.lift))


def _without(machine: model.Machine, part: str, at: Condition) -> Condition:
    """The condition with a part's connector pulled."""
    return replace(at, lift=(*at.lift, *(f"{part}.{terminal}" for terminal in machine.parts[part].terminals)))


def _open(predictor: Predictor, element: str) -> Effect:
    return effect.effect(predictor.operation.assembly, [model.Change("opened", element)])


def _whole(predictor: Predictor, probe: Probe, at: Condition) -> Callable[[Condition, Effect | None], bool]:
    """Whether a machine reads otherwise when it is parted so, and something acts in it (None: it is healthy); what is
    off the frame has to be off it with all that belongs to it."""
    if insulated.reads(predictor, Step("reading", at, probe)):
        return lambda parted, how: True
    whole = predictor.healthy_reading(probe, at)

    def differs(parted: Condition, how: Effect | None) -> bool:
        other = predictor.reading_under(how, probe, parted) if how else predictor.healthy_reading(probe, parted)
        return otherwise(whole, other)

    return differs


def otherwise(one: Reading, other: Reading) -> bool:
    """Whether a person reads two readings of one variant each as different."""
    if (one.over[0] > 0.5) != (other.over[0] > 0.5):
        return True
    return bool(one.over[0] < 0.5 and not np.isclose(one.value[0], other.value[0], rtol=APART, atol=LEADS))
