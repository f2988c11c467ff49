"""How the machine stands when a step has been taken: what is open, in which condition it is, what is done.

Knows steps, bays and conditions; not what was found.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from halfsplit.machine import feeding, model
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition, cut_off
from halfsplit.plan import cock, powering, pricing, warmth
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.work import minutes, places, refusals
from halfsplit.work.state import Cock, JobState, as_left, to_open, with_fronts


@dataclass(frozen=True)
class Perhaps:
    """A step that was told, and of which nobody says any more whether it was done; for it no hand came behind the bays
    `shut`, which would not open."""

    step: Step
    shut: tuple[str, ...] = ()


def after(machine: model.Machine, state: JobState, step: Step) -> JobState:
    """The state after a step: bays that it needs are open, those that stop the machine are closed for a run.

    A look, which says no condition, wants the machine isolated where it is open. Twins stay where they stand.
    """
    opened = state.open_bays | set(with_fronts(machine, bays_needed(machine, step)))
    opened -= set(powering.shut_to_run(machine, state, step))
    at = step.condition.lasting if step.condition else state.condition
    dead = bool(opened) or cock.opened(machine, state, step)
    if dead and not state.left_isolated and step.condition is None and not step.asks:
        at = _dead(machine, state, opened)
    elif step.condition is None:
        at = as_left(machine, at, to_open(machine, state, bays_needed(machine, step)))
    done, warm = _done(machine, state, step), _warm(machine, state, step)
    off = _kept_isolated(machine, state, step, at)
    unproved = state.unproved and step.condition is None and (step.asks or not dead)
    then = replace(
        state, open_bays=opened, condition=at, done=done, warm=warm, kept_isolated=off, unproved=unproved,
        cock=cock.left(machine, state, step), left_off=state.left_off and not _bond_measured(machine, state, step),
        perhaps_cold=state.perhaps_cold and (step.asks or (step.condition is None and at == state.condition)),
    )  # fmt: skip
    if powering.powered(machine, step):  # what may be open or off was made good before
        return replace(then, perhaps_open=frozenset(), perhaps_off=frozenset())
    return replace(
        then, perhaps_open=state.perhaps_open - opened, perhaps_off=state.perhaps_off.difference(then.lifted)
    )


def _bond_measured(machine: model.Machine, state: JobState, step: Step) -> bool:
    """Whether a machine that was left off has its frame's bond measured for a step: before its power comes back."""
    return powering.powered(machine, step) and refusals.measures(state.refused)


def _kept_isolated(machine: model.Machine, state: JobState, step: Step, at: Condition | None) -> bool:
    """Whether a machine whose plug is out for a reading at the wall was isolated before, or is on the way to that. Not
    one whose plug lies in a bay: for the reading its breaker is switched on, and off again."""
    at_wall = at is not None and not at.isolated and cut_off(machine, at)
    if not at_wall or feeding.plug_bay(machine):
        return False
    return pricing.leaves_isolated(machine, state, step, pricing.cost_of(machine, state, step))


def begun(machine: model.Machine, state: JobState, one: Perhaps) -> JobState:
    """The state after a step as far as it may have come: nothing is open, off, turned or exchanged behind what would
    not open, unless it was before."""
    then = after(machine, replace(state, perhaps_open=frozenset(), perhaps_off=frozenset()), one.step)
    closed = machine.bays.keys() - state.open_bays
    shut = {bay for bay in closed if not set(one.shut).isdisjoint(with_fronts(machine, (bay,)))}
    at = then.condition
    if not shut or at is None:
        return replace(then, open_bays=then.open_bays - shut)
    there = {name for name, part in machine.parts.items() if part.bay in shut}
    lift = tuple(t for t in at.lift if model.part_of(t) not in there or t in state.lifted)
    exchange = at.exchange if there.isdisjoint(at.exchange) else state.exchange
    stood = dict((state.condition or conditions.condition(machine)).setting)
    setting = tuple((c, stood[c] if machine.turned_in(c) in shut else p) for c, p in at.setting)
    at = replace(at, lift=lift, exchange=exchange, setting=setting)
    return replace(then, open_bays=then.open_bays - shut, condition=at)


def perhaps(machine: model.Machine, state: JobState, one: Perhaps) -> JobState:
    """The state after a step that was done or not: as before it, so that all of it is told and priced anew; what it
    opens may be open, what it takes off may be off, and what may be hot is hot."""
    then = begun(machine, state, one)
    return replace(
        state,
        warm=max(state.warm, then.warm),
        perhaps_open=state.perhaps_open | (then.open_bays - state.open_bays),
        perhaps_off=state.perhaps_off | (set(then.lifted) - set(state.lifted)),
        cock=cock.perhaps(machine, state, one.step),
        perhaps_cold=state.perhaps_cold or warmth.goes(machine, state),
    )


def resumed(machine: model.Machine, state: JobState) -> JobState:
    """The state of a job that is taken up again: all stands as it was left, and nothing counts as proved; the gas cock
    may have been turned, unless the machine stands as its owner left it, and a warmth may be gone."""
    gas = Cock.PERHAPS if machine.gas and (state.condition or state.open_bays) else state.cock
    cold = state.perhaps_cold or warmth.goes(machine, state)
    return replace(state, unproved=True, earlier=state.done, cock=gas, perhaps_cold=cold)


def _done(machine: model.Machine, state: JobState, step: Step) -> frozenset[object]:
    """What has been done with a step: what shows without power was seen, in whatever condition that was."""
    seen = step.kind == "symptom" and machine.symptoms[step.at].unpowered
    return state.done | {step} | ({replace(step, condition=None)} if seen else frozenset())


def _warm(machine: model.Machine, state: JobState, step: Step) -> float:
    """Minutes until all may be touched: as many as the machine takes after a step under power, fewer after others."""
    return powering.cooled(machine, state, step, pricing.cost_of(machine, state, step))


def under_repair(machine: model.Machine, state: JobState, repair: Repair) -> JobState:
    """The state while hands are in the machine for a repair: isolated, every wire on but for what is replaced.

    Twins that stand exchanged are put back with the rest: a new part goes where the old one belongs.
    """
    opened = state.open_bays | set(with_fronts(machine, repair.bays))
    warm = minutes.cooled(state, pricing.repair_cost(machine, state, repair).passed)
    at = _dead(machine, state, opened)
    shut = cock.under_repair(machine, state, repair)
    return replace(
        state, open_bays=opened, condition=at, warm=warm, kept_isolated=False, unproved=False, cock=shut,
        perhaps_cold=False,
    )  # fmt: skip


def _dead(machine: model.Machine, state: JobState, opened: Iterable[str]) -> Condition:
    """Isolated, all at rest, as warm as the open bays leave it, and every wire on. What is turned behind a cover stands
    as it stood: nobody turns it for a look or a repair."""
    inside = {} if state.condition is None else conditions.stands_inside(machine, state.condition)
    given = conditions.as_reached(machine, inside, opened)
    return replace(conditions.condition(machine, given, isolated=True), exchange=state.exchange)


def put_together(machine: model.Machine, state: JobState, power: bool) -> JobState:
    """The state of a machine that was put together: in use, or its power left off, of which nothing counts as proved
    then; nor that the gas was opened again."""
    if power:
        return tried(machine, state)
    gas = Cock.PERHAPS if machine.gas else Cock.OPEN
    return replace(closed(machine, state), unproved=True, left_off=True, cock=gas)


def closed(machine: model.Machine, state: JobState) -> JobState:
    """The state of a machine that has been put together: closed, at rest, the power still off."""
    nothing = frozenset[str]()
    at = conditions.condition(machine, isolated=True)
    made_good = replace(state, perhaps_open=nothing, perhaps_off=nothing)
    return replace(made_good, open_bays=nothing, condition=at, kept_isolated=False, perhaps_cold=False)


def tried(machine: model.Machine, state: JobState) -> JobState:
    """The state after a repair that was made and tried: put together and used, so as an owner leaves it, and warm."""
    return JobState(refused=state.refused, done=state.done, warm=places.cooling(machine))
