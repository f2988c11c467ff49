"""What steps have to do with gas pipe, how the gas cock is turned for them, and how it stands afterwards.

Knows steps, bays and how the machine stands; of the automaton nothing (it is asked in `plan/safely`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.operate.condition import turned_inside
from halfsplit.plan import powering
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.work import burning, handling
from halfsplit.work.hazards import Pipe
from halfsplit.work.state import Cock, JobState, to_open, with_fronts


def pipe(machine: model.Machine, step: Step) -> Pipe:
    """What a step has to do with gas: it should burn for what is perceived of it, and where something is read at work
    in a setting in which that is met, or is perceived there once it has burnt for a while; hands, leads and eyes in a
    bay with its pipe go to a dead machine."""
    if machine.gas is None or step.asks:
        return Pipe.AWAY
    if step.kind == "symptom" and burning.of_gas(machine, machine.symptoms[step.at]):
        return Pipe.LIT
    if powering.powered(machine, step):
        assert step.condition is not None
        burns = burning.should_burn if step.kind == "reading" else burning.is_lit
        return Pipe.LIT if burns(machine, step.condition) else Pipe.AWAY
    return beside(machine, bays_needed(machine, step))


def beside(machine: model.Machine, bays: Iterable[str]) -> Pipe:
    """Where hands are in these bays and those in front of them: beside gas pipe, or away from it."""
    pipes = machine.gas.bays if machine.gas else ()
    return Pipe.AWAY if set(with_fronts(machine, tuple(bays))).isdisjoint(pipes) else Pipe.BESIDE


def warms(machine: model.Machine, state: JobState, step: Step) -> bool:
    """Whether the cock has to be opened first so that a machine that burns gas comes to the warmth of a step
    (`powering.first_warm`): with its covers on and no hand in it."""
    shut = machine.gas is not None and state.cock is not Cock.OPEN and not state.open_bays
    return shut and bool(powering.first_warm(machine, state, step))


def positions(machine: model.Machine, state: JobState, step: Step) -> tuple[Cock, ...]:
    """How the cock is turned for a step, one after another: open to warm the machine up, shut for hands beside the pipe
    on the way or in the step itself, open for what should burn. None where it stands so already."""
    if machine.gas is None or step.asks:
        return ()
    own = pipe(machine, step)
    near = Pipe.BESIDE in (own, beside(machine, _reached(machine, state, step)))
    joined = state.cock is Cock.APART and powering.powered(machine, step)  # and tested under gas
    turned = [Cock.OPEN] if warms(machine, state, step) else []
    if near and (turned or not _is_shut(state.cock)):
        turned.append(Cock.SHUT)
    stands = turned[-1] if turned else state.cock
    return (*turned, Cock.OPEN) if (own is Pipe.LIT or joined) and stands is not Cock.OPEN else tuple(turned)


def _is_shut(at: Cock) -> bool:
    return at in (Cock.SHUT, Cock.APART)


def left(machine: model.Machine, state: JobState, step: Step) -> Cock:
    """How a step leaves the cock."""
    return (state.cock, *positions(machine, state, step))[-1]


def opened(machine: model.Machine, state: JobState, step: Step) -> bool:
    """Whether the cock is opened for a step: dead, with nothing lit."""
    return Cock.OPEN in positions(machine, state, step)


def perhaps(machine: model.Machine, state: JobState, step: Step) -> Cock:
    """How the cock stands where nobody says whether a step was done."""
    return state.cock if left(machine, state, step) is state.cock else Cock.PERHAPS


def under_repair(machine: model.Machine, state: JobState, *repairs: Repair) -> Cock:
    """How the cock stands while hands are in the machine for repairs, with the wires back that were off."""
    mine = [one for one in repairs if handling.hands_in(machine, one)]
    if state.cock is Cock.APART or any(handling.pipe(machine, one) is Pipe.APART for one in mine):
        return Cock.APART
    return Cock.SHUT if _near(machine, state, *mine) else state.cock


def chance_beside(machine: model.Machine, state: JobState, chance: float, repairs: Iterable[Repair]) -> float:
    """A probability (0..1) where these repairs take hands beside gas pipe, else 0."""
    return chance * _near(machine, state, *repairs)


def beside_for(machine: model.Machine, state: JobState, *repairs: Repair) -> Pipe:
    """Whether repairs take hands beside gas pipe."""
    return Pipe.BESIDE if _near(machine, state, *repairs) else Pipe.AWAY


def minutes(machine: model.Machine, state: JobState, step: Step) -> float:
    """Minutes of turning the cock for a step."""
    return machine.handwork.cock * len(positions(machine, state, step))


def repair_minutes(machine: model.Machine, at: Cock, near: float) -> float:
    """Minutes of turning the cock until a repair is made and the machine together, from how the cock stands. near:
    probability (0..1) that the repair takes hands beside the pipe.

    Whoever puts the machine together opens what is shut, so a step that shuts it is charged for that once.

    >>> from halfsplit.machine import loading
    >>> dryer = loading.load("vented-dryer")
    >>> [repair_minutes(dryer, Cock.OPEN, near) / dryer.handwork.cock for near in (0.0, 1.0)]
    [0.0, 2.0]
    >>> [repair_minutes(dryer, Cock.SHUT, near) / dryer.handwork.cock for near in (0.0, 1.0)]
    [1.0, 1.0]
    """
    shutting = near * (not _is_shut(at))
    opening = near + (1.0 - near) * (at is not Cock.OPEN)
    return machine.handwork.cock * (shutting + opening)


def to_repair(machine: model.Machine, state: JobState, *repairs: Repair) -> float:
    """Minutes of turning the cock for repairs made in one go, until the machine is together."""
    return repair_minutes(machine, state.cock, float(_near(machine, state, *repairs)))


def _near(machine: model.Machine, state: JobState, *repairs: Repair) -> bool:
    """Whether hands come beside gas pipe for repairs, or for the wires that go back before."""
    mine = [one for one in repairs if handling.hands_in(machine, one)]
    wired = [machine.parts[model.part_of(terminal)].bay for terminal in state.lifted] if mine else []
    return beside(machine, wired) is Pipe.BESIDE or any(handling.pipe(machine, one) is not Pipe.AWAY for one in mine)


def _reached(machine: model.Machine, state: JobState, step: Step) -> Iterator[str]:
    """The bays to which hands go on the way: opened, or with wires, twins and controls that are put otherwise."""
    yield from to_open(machine, state, bays_needed(machine, step))
    at = step.condition
    if at is None:
        return
    parts = {model.part_of(terminal) for terminal in {*state.lifted} ^ {*at.lift}}
    parts |= {*state.exchange, *at.exchange} if state.exchange != at.exchange else set()
    yield from (machine.parts[part].bay for part in sorted(parts))
    yield from map(machine.turned_in, turned_inside(machine, state.condition, at))
