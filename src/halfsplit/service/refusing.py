"""What cannot be done on a job, as a person would say it, and what is refused by that and planned around.

Knows machine, step and refusals; decides nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import NamedTuple

from halfsplit.errors import WrongUse, did_you_mean
from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.plan import powering
from halfsplit.plan.steps import Step, bays_needed, lifted_out
from halfsplit.predict.readings import SCALES
from halfsplit.service.proof_cards import ProofRun
from halfsplit.work import handling, refusals
from halfsplit.work.refusals import CannotLift, CannotOpen, NoHelper, NoMeter, NoOwner, NoPower
from halfsplit.work.state import JobState, to_open

NO_CLAMP = "there is no clamp for amps"
HELPER = "help"
"""Stands for somebody to help where it is said what there is not."""
OWNER = "owner"
"""Stands for the owner who is not there to be asked."""
POWER = "power"
"""Stands for power that has to stay off, whatever the reason."""


class Refusal(NamedTuple):
    """What is the matter, and what is refused by that for the rest of the job: a step, or one of `work/refusals`."""

    said: str
    refused: object


NO_HELPER = Refusal("nobody is here to help", NoHelper())


def of_step(machine: model.Machine, state: JobState, step: Step) -> list[Refusal]:
    """What may be the matter with a step, the step alone last.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate.condition import Condition
    >>> from halfsplit.predict.readings import Probe
    >>> heater = loading.load("water-heater")
    >>> clamp = Step("reading", Condition(()), Probe("amps", "limit.1"), places=("limit.1",))
    >>> [one.said for one in of_step(heater, JobState(), clamp)]
    ['the upper cover will not open', 'the power has to stay off', 'there is no clamp for amps',
     'no volts to prove it dead', 'no ohms to prove its frame bonded', 'only this step cannot be done here']
    """
    alone = Refusal("only this step cannot be done here", step)
    return [*_lasting(machine, state, step), *_for_safety(machine, state, step), alone]


def shut_by(machine: model.Machine, state: JobState, step: Step, refused: object) -> tuple[str, ...]:
    """The bays that a refusal at a step says were not opened for it: that which will not open, or for want of a helper
    those that take two; none that was open before."""
    closed = to_open(machine, state, bays_needed(machine, step))
    if isinstance(refused, NoHelper):
        return refusals.heavy(machine, closed)
    return tuple(bay for bay in closed if refused == CannotOpen(bay))


def of_repairs(machine: model.Machine, state: JobState, repairs: Iterable[Repair]) -> list[Refusal]:
    """What may stand in the way of repairs for which hands go to the machine: each cover that is on still, and nobody
    to help where one of them, or the work itself, takes two; without what was said already.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.modes import listing
    >>> heater = loading.load("water-heater")
    >>> tank = listing.repairs(heater)["tank: replace the whole appliance"]
    >>> [one.said for one in of_repairs(heater, JobState(frozenset({"top fittings"})), [tank])]
    ['the upper cover will not open', 'nobody is here to help']
    """
    inside = [one for one in repairs if handling.hands_in(machine, one)]
    closed = to_open(machine, state, tuple(bay for one in inside for bay in one.bays))
    alone = bool(refusals.heavy(machine, closed)) or any(one.people > 1 for one in inside)
    covers = [Refusal(f"the {bay} will not open", CannotOpen(bay)) for bay in closed]
    return [one for one in (*covers, *([NO_HELPER] if alone else [])) if one.refused not in state.refused]


def of_proof(machine: model.Machine, run: ProofRun) -> list[Refusal]:
    """What may be the matter with what the meter reads in a proof run under power: the clamp, and the covers that come
    off for it. What is seen is seen, and what comes before the power has been read."""
    read = [check.step for check in run.checks if not check.seen and check.number]
    found = (one for step in read for one in _lasting(machine, JobState(), step))
    return list(dict.fromkeys(one for one in found if not isinstance(one.refused, NoPower)))


def _lasting(machine: model.Machine, state: JobState, step: Step) -> Iterator[Refusal]:
    if step.asks:
        yield Refusal("the owner is not here", NoOwner())
    closed = to_open(machine, state, bays_needed(machine, step))
    for bay in closed:
        yield Refusal(f"the {bay} will not open", CannotOpen(bay))
    if refusals.heavy(machine, (*closed, *powering.shut_to_run(machine, state, step))):
        yield NO_HELPER
    for part in lifted_out(machine, step):
        yield Refusal(f"the {part} will not lift out", CannotLift(part))
    if powering.wants_power(machine, step):
        yield Refusal("the power has to stay off", NoPower())
    if step.probe:
        meter = step.probe.meter
        yield Refusal(NO_CLAMP if meter == "amps" else f"the meter does not read {meter}", NoMeter(meter))


def _for_safety(machine: model.Machine, state: JobState, step: Step) -> Iterator[Refusal]:
    """Functions of the meter that safety wants for a step, beside its own."""
    if step.asks:
        return
    own, opened = step.probe.meter if step.probe else "", bool(bays_needed(machine, step) or state.open_bays)
    dead = opened or bool(step.condition and step.condition.isolated) or bool(lifted_out(machine, step))
    volts = refusals.proving(state.refused)
    if dead and volts not in ("", own):
        yield Refusal(f"no {volts} to prove it dead", NoMeter(volts))
    no_dc = NoMeter(refusals.DC_VOLTS)
    if no_dc not in state.refused and refusals.charged(machine, bays_needed(machine, step)):
        yield Refusal("no DC volts to see it discharged", no_dc)
    if opened and machine.frame and powering.powered(machine, step) and refusals.measures(state.refused):
        yield Refusal("no ohms to prove its frame bonded", NoMeter(refusals.OHMS))


def choices(machine: model.Machine) -> dict[str, object]:
    """What may be refused before any step is known, by its word: a bay that will not open, a part that plugs in and
    will not lift out, a function that the meter lacks, a helper, the owner, power.

    >>> from halfsplit.machine import loading
    >>> choices(loading.load("water-heater"))["upper cover"]
    CannotOpen(bay='upper cover')
    """
    parts = {name: CannotLift(name) for name, part in machine.parts.items() if part.lifts}
    meters = {function: NoMeter(function) for function in SCALES}
    said = {HELPER: NoHelper(), OWNER: NoOwner(), POWER: NoPower()}
    return {**parts, **meters, **said, **{bay: CannotOpen(bay) for bay in machine.bays}}


def parted(machine: model.Machine, findings: Iterable[f.Finding]) -> tuple[list[f.Finding], frozenset[object]]:
    """What was found, and what is refused by what stands beside it in a file (`f.Cannot`). Raises WrongUse with all
    that means nothing here."""
    found, said = list[f.Finding](), list[str]()
    for one in findings:
        if isinstance(one, f.Cannot):
            said.append(one.what)
        else:
            found.append(one)
    return found, named(machine, said)


def as_found(machine: model.Machine, refused: Collection[object]) -> tuple[f.Cannot, ...]:
    """What is refused for the rest of the job as a file has it; a single step that was set aside has no word.

    >>> from halfsplit.machine import loading
    >>> as_found(loading.load("water-heater"), [NoHelper(), CannotOpen("upper cover")])
    (Cannot(what='help'), Cannot(what='upper cover'))
    """
    return tuple(f.Cannot(word) for word, one in choices(machine).items() if one in refused)


def named(machine: model.Machine, words: Iterable[str]) -> frozenset[object]:
    """What these words refuse. Raises WrongUse with all that mean nothing here."""
    known = choices(machine)
    said = {word.casefold(): refused for word, refused in known.items()}
    unknown = [word for word in words if word.casefold() not in said]
    if unknown:
        told = " ".join(f"Nothing here is called {word!r}. {did_you_mean(word, known)}".rstrip() for word in unknown)
        words_for = f"{HELPER}, {OWNER} or {POWER}"
        what = f"a bay that will not open, a part that will not lift out, a function of the meter, {words_for}"
        raise WrongUse(told, f"Say {what}.")
    return frozenset(said[word.casefold()] for word in words)
