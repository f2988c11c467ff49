"""What every step costs from where things stand, and which can be done: worked out once for steps that cost alike.

Knows the steps of a table, the bays and how the machine stands; not what a step tells.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.machine import model, twins
from halfsplit.modes.fault import Repair
from halfsplit.operate.condition import turned_inside
from halfsplit.plan import barring, cock, heat, odd, opened, powering, steps
from halfsplit.work import handling, minutes, places, prices, refusals, stopping
from halfsplit.work.state import JobState, to_open, with_fronts

MOST_MET = 64
"""The prices of so many states are kept (some 400 groups of steps each on a dryer)."""


class Priced(NamedTuple):
    """What a step costs, and the minutes beyond what the repair will take in any case: a bay that it lies in has to be
    opened anyway."""

    cost: minutes.Cost
    extra: float


@dataclass(frozen=True)
class NeededAnyway:
    """How probably (0..1) the repair wants in any case what a step may want too: each bay open, the machine isolated;
    and of the repairs that wait until what is hot has cooled, the minutes that isolating and opening take first."""

    bays: Mapping[str, float]
    isolated: float
    hot: tuple[tuple[float, float], ...]
    discharged: float = 0.0
    """How probably the repair wants a charge away."""
    gas: float = 0.0
    """How probably the repair takes hands beside gas pipe."""
    _waits: dict[float, float] = field(default_factory=dict, repr=False, compare=False)

    def waits(self, warm: float) -> float:
        """Expected minutes that the repair waits where it takes so many until all may be touched; kept, since steps
        leave a machine in a few ways only."""
        if warm not in self._waits:
            self._waits[warm] = sum(chance * max(0.0, warm - first) for chance, first in self.hot)
        return self._waits[warm]


NOTHING = NeededAnyway({}, 0.0, ())


class Grouped:
    """The steps of a machine in groups of one kind, place, condition and time that the machine runs; the trusted ones
    first, then the odd ones."""

    def __init__(self, machine: model.Machine, usual: Sequence[steps.Step], strange: odd.OddSteps) -> None:
        self.machine, self.usual, self.strange = machine, usual, strange
        self.bays = [steps.bays_needed(machine, step) for step in usual]
        self._met: dict[object, Standing] = {}

    @cached_property
    def _grouped(self) -> tuple[list[steps.Step], Array]:
        """A step of each group, and the group of every step."""
        places, group_of = steps.in_groups(map(self._priced_alike, self.usual, self.bays))
        firsts = [self.usual[k] for k in places]
        _, first, place = np.unique(self._odd_keys, return_index=True, return_inverse=True)
        firsts += [self.strange.step(int(number)) for number in first]
        return firsts, np.concatenate([np.array(group_of, np.intp), place + len(firsts) - len(first)])

    def _priced_alike(self, step: steps.Step, bays: tuple[str, ...]) -> object:
        """All that its price may hang on."""
        running = minutes.running(self.machine, step.kind, step.at), _shows_as_left(self.machine, step)
        return step.kind, bays, step.condition, *running, steps.lifted_out(self.machine, step), step.closely

    @property
    def _odd_keys(self) -> Array:
        """(N,) equal number: the same condition and the same bays."""
        found, parts = self.strange, self.machine.parts
        bays = [parts[model.part_of(t)].bay for t in found.terminals]
        _, bay = np.unique(np.array(bays), return_inverse=True)
        low, high = np.minimum(bay[found.red], bay[found.black]), np.maximum(bay[found.red], bay[found.black])
        return np.asarray((found.at.astype(np.int64) * len(bays) + low) * len(bays) + high)

    @cached_property
    def possible(self) -> Array:
        """(K,) whether each trusted step can be done at all."""
        firsts, group_of = self._grouped
        can = np.array([powering.possible(self.machine, step) for step in firsts], bool)
        return np.asarray(can[group_of[: len(self.usual)]])

    @cached_property
    def asks(self) -> Array:
        """(K,) whether each trusted step asks the owner."""
        return np.array([step.asks for step in self.usual], bool)

    @cached_property
    def questions(self) -> list[steps.Step]:
        """The trusted steps that ask the owner."""
        return [step for step in self.usual if step.asks]

    @cached_property
    def live(self) -> Array:
        """(K,) whether leads touch a machine under power in each trusted step."""
        return np.array([step.live for step in self.usual], bool)

    def best(self, rate: Array, count: int, questions: int) -> list[int]:
        """So many of the trusted steps at which `rate` (K,) is highest and not 0, questions counted by themselves:
        there are many, they cost next to nothing, and nothing else would be looked at."""
        order = np.argsort(-rate, kind="stable")
        order = order[rate[order] > 0]
        asks = self.asks[order]
        return [*order[~asks][:count].tolist(), *order[asks][:questions].tolist()]

    @cached_property
    def place_of(self) -> dict[steps.Step, int]:
        """The place of each trusted step."""
        return {step: k for k, step in enumerate(self.usual)}

    def allowed(self, state: JobState) -> Array:
        """(K,) the trusted steps that can be done, were neither done nor refused, and that no refusal bars; of close
        looks those after a first one."""
        found = self.possible & ~self._barring.of(state) & opened.in_reach(self.machine, self._warmths, state)
        for one in state.refused | state.done:
            k = self.place_of.get(one) if isinstance(one, steps.Step) else None
            if k is not None:
                found[k] = False
        for k, first in self._closely:
            found[k] &= first in state.done
        return found

    @cached_property
    def _closely(self) -> list[tuple[int, steps.Step]]:
        """The places of the close looks, each with the first look that it follows."""
        return [(k, replace(step, closely=False)) for k, step in enumerate(self.usual) if step.closely]

    @cached_property
    def _warmths(self) -> Array:
        """(K,) the warmth at which each dead step reads."""
        return opened.warmths(self.usual)

    @cached_property
    def _barring(self) -> barring.Barring:
        """The trusted steps, as far as what the person cannot do bars them."""
        return barring.Barring(self.machine, self.usual)

    def priced(self, state: JobState, anyway: NeededAnyway = NOTHING) -> Prices:
        """The prices from where things stand; anyway: what the repair probably wants in any case."""
        return Prices(self._standing(state), self._grouped[1], state, anyway)

    def price_ahead(self, state: JobState) -> None:
        """Works out now what the trusted steps will cost in a state to come, as long as that is kept."""
        self.priced(state).extra(slice(len(self.usual)))

    def _standing(self, state: JobState) -> Standing:
        """What is known of the prices from here: few states are met again and again, in a job and from job to job."""
        stands = replace(state, done=frozenset(), refused=frozenset(), earlier=frozenset())  # all that prices know of
        key = stands, _is_as_left(state)
        found = self._met.pop(key, None) or Standing(self.machine, self._grouped[0], state)
        self._met[key] = found  # the last used stand last
        if len(self._met) > MOST_MET:
            del self._met[next(iter(self._met))]
        return found


class Standing:
    """What the steps of each group cost from where things stand, whatever is believed; worked out when first asked."""

    def __init__(self, machine: model.Machine, firsts: Sequence[steps.Step], state: JobState) -> None:
        self.machine, self.firsts, self.state = machine, firsts, state
        self._known: dict[int, Plain] = {}

    def of(self, group: int) -> Plain:
        """The price of a group's steps."""
        if group not in self._known:
            self._known[group] = plain(self.machine, self.state, self.firsts[group])
        return self._known[group]


class Prices:
    """What the steps cost in one state, where the repair probably wants so much of it anyway."""

    def __init__(self, standing: Standing, group_of: Array, state: JobState, anyway: NeededAnyway) -> None:
        self.standing, self.group_of, self.state, self.anyway = standing, group_of, state, anyway

    def of(self, k: int) -> Priced:
        """The price of one step."""
        return self.standing.of(int(self.group_of[k])).where(self.anyway)

    def extra(self, ks: Array | slice) -> Array:
        """The extra minutes of some steps."""
        wanted = self.group_of[ks]
        each = np.zeros(len(self.standing.firsts))
        for group in np.flatnonzero(np.bincount(wanted)).tolist():
            each[group] = self.standing.of(group).extra(self.anyway)
        return np.asarray(each[wanted])


class Plain(NamedTuple):
    """What a step costs, with minutes to close and open again what stops the machine, and those of each bay that it
    opens; minutes of isolating and of discharging that it spares a repair (below 0: that it adds), minutes until all
    may be touched, before it and after it; and of turning the gas cock that it spares a repair away from its pipe, and
    one beside that."""

    cost: minutes.Cost
    whole: float
    opened: tuple[tuple[str, float], ...]
    isolating: float
    discharging: float
    warm: tuple[float, float]
    gas: tuple[float, float] = (0.0, 0.0)

    def extra(self, anyway: NeededAnyway) -> float:
        """Minutes beyond those of the repair; anyway: what that probably wants in any case."""
        opened = sum(each * anyway.bays.get(bay, 0.0) for bay, each in self.opened)
        before, after = map(anyway.waits, self.warm)
        spared = self.isolating * anyway.isolated + self.discharging * anyway.discharged
        spared += self.gas[0] * (1.0 - anyway.gas) + self.gas[1] * anyway.gas
        return self.whole - opened - spared - (before - after)

    def where(self, anyway: NeededAnyway) -> Priced:
        """The price where the repair probably wants so much in any case."""
        return Priced(self.cost, self.extra(anyway))


def plain(machine: model.Machine, state: JobState, step: steps.Step) -> Plain:
    """What a step costs, whatever is believed: to run a machine that cannot run open, it is closed and opened again."""
    cost = cost_of(machine, state, step)
    again = sum(_both_ways(machine, bay) for bay in powering.shut_to_run(machine, state, step))
    opened = to_open(machine, state, steps.bays_needed(machine, step))
    each = tuple((bay, _both_ways(machine, bay)) for bay in opened)
    after = leaves_isolated(machine, state, step, cost)
    isolating = _to_isolate(machine, state.isolated) - _to_isolate(machine, after)
    warm = powering.cooled(machine, state, step, cost)
    was = minutes.discharged(machine, state)
    gone = after and (was or cost.discharging > 0)
    discharging = minutes.to_discharge(machine) * (gone - was) if gone != was else 0.0
    left = cock.left(machine, state, step)
    away, near = (
        cock.repair_minutes(machine, state.cock, one) - cock.repair_minutes(machine, left, one) for one in (0.0, 1.0)
    )
    return Plain(cost, cost.minutes + again, each, isolating, discharging, (state.warm, warm), (away, near))


def _to_isolate(machine: model.Machine, isolated: bool) -> float:
    return 0.0 if isolated else machine.handwork.isolate


def leaves_isolated(machine: model.Machine, state: JobState, step: steps.Step, cost: minutes.Cost) -> bool:
    """Whether the machine is isolated after a step of that cost. What says no condition, and a reading at the wall with
    the plug out, leave that as it was, but isolate where they open a cover."""
    if step.condition is not None and (step.condition.isolated or powering.powered(machine, step)):
        return step.condition.isolated
    return state.isolated or (cost.power > 0 and not step.asks)


def _both_ways(machine: model.Machine, bay: str) -> float:
    return machine.bays[bay].open_minutes + machine.bays[bay].close_minutes


def needed_anyway(
    machine: model.Machine, state: JobState, by_repair: Mapping[tuple[str, ...], float], repairs: Mapping[str, Repair]
) -> NeededAnyway:
    """What the repair probably wants from where things stand, by the probabilities of the sets of repairs. One that is
    handed over wants the machine isolated, as it is left, and nothing opened."""
    found: dict[str, float] = {}
    isolated, discharged, gas, hot = 0.0, 0.0, 0.0, []
    for names, probability in by_repair.items():
        due = [repairs[name] for name in names]
        if handed_over(machine, state, *due):
            isolated += probability
            continue
        bays = tuple(bay for one in due for bay in one.bays)
        for bay in with_fronts(machine, bays):
            found[bay] = found.get(bay, 0.0) + probability
        inside = any(handling.hands_in(machine, one) for one in due)
        isolated += probability * inside
        reached = inside and places.charge(machine, state.open_bays.union(with_fronts(machine, bays)))
        discharged += probability * bool(reached)
        gas += cock.chance_beside(machine, state, probability, due)
        if cools_for(machine, *due):
            opening = sum(machine.bays[bay].open_minutes for bay in to_open(machine, state, bays))
            hot.append((probability, opening + _to_isolate(machine, state.isolated)))
    return NeededAnyway(found, isolated, tuple(hot), discharged, gas)


# ---- one step ---------------------------------------------------------------------------------------------


def cost_of(machine: model.Machine, state: JobState, step: steps.Step) -> minutes.Cost:
    """What a step costs from where things stand; where hands come to what our own run has heated, with letting it cool.
    To close what stops the machine, where it has to run, was paid when that was opened."""
    hands, running = hands_at(machine, state, step), running_at(machine, state, step)
    if step.asks:
        return minutes.Cost(hands)
    bays = steps.bays_needed(machine, step)
    cost = minutes.cost(machine, state, hands, bays, step.condition, running)
    if not to_open(machine, state, bays) and powering.shut_to_run(machine, state, step):  # off for the covers, and on
        uncovering = minutes.to_uncover(machine, state.condition, step.condition, state.isolated)
        cost = replace(cost, power=cost.power + uncovering)
    if cock.opened(machine, state, step):
        cost = replace(cost, power=_dead_for_the_cock(machine, state, step, cost.power))
    cost = replace(cost, gas=cock.minutes(machine, state, step)) if machine.gas else cost
    cooling = powering.cooling(machine, state, step, cost) if heat.met_hot(machine, state, step) else 0.0
    discharging = 0.0
    if hands_dead(machine, state, step):
        discharging = minutes.discharging(machine, state, bays)
    elif powering.shut_to_run(machine, state, step):  # hands at the ground screws behind a cover that goes on
        discharging = minutes.discharging(machine, state, ())
    cost = replace(cost, cooling=cooling, discharging=discharging) if cooling or discharging else cost
    return powering.warmed_anew(machine, state, step, cost)


def _dead_for_the_cock(machine: model.Machine, state: JobState, step: steps.Step, power: float) -> float:
    """Minutes of power for a step for which the gas cock is opened, which is done dead: those for the rest of it, with
    a machine that is live isolated for it and, where it runs then, the power brought back."""
    hands = machine.handwork
    off_and_on = hands.isolate + hands.energise
    if cock.warms(machine, state, step):
        return power + off_and_on
    if state.isolated:
        return power
    return max(power, off_and_on if powering.powered(machine, step) else hands.isolate)


def hands_dead(machine: model.Machine, state: JobState, step: steps.Step) -> bool:
    """Whether hands or leads are at a dead machine in a step, or on the way to it: twins change places, or a control
    behind a cover is turned."""
    at = step.condition
    if at is None or at.isolated:
        return not step.asks
    return state.exchange != at.exchange or bool(turned_inside(machine, state.condition, at))


def hands_at(machine: model.Machine, state: JobState, step: steps.Step) -> float:
    """Minutes of hands and eyes for a step, with what a look has lifted out and put back; hardly any where the machine
    runs before them as that wants already."""
    at_once = _shows_as_left(machine, step) and not running_at(machine, state, step)
    taken = machine.handwork.perceive if at_once else minutes.itself(machine, step.kind, step.at, step.closely)
    taken += minutes.moving(machine, looked_under(machine, state, step))
    runs_already = step.kind == "symptom" and step.condition is not None and step.condition == state.condition
    return min(taken, minutes.SEEN_TOO) if runs_already else taken


def running_at(machine: model.Machine, state: JobState, step: steps.Step) -> float:
    """Minutes that the machine has to run until what a step asks is seen; none of what shows on a machine in use, as
    long as nothing has been done since its owner left it but to look on in the same condition."""
    here = _is_as_left(state) and (state.condition is None or state.condition == step.condition)
    return 0.0 if here and _shows_as_left(machine, step) else minutes.running(machine, step.kind, step.at)


def _is_as_left(state: JobState) -> bool:
    """Whether nothing has been done since the owner left the machine but to look on, in the condition it stands in."""
    own = (state.condition, None)
    return not state.open_bays and all(not isinstance(one, steps.Step) or one.condition in own for one in state.done)


def _shows_as_left(machine: model.Machine, step: steps.Step) -> bool:
    return step.kind == "symptom" and machine.symptoms[step.at].shows_as_left


def looked_under(machine: model.Machine, state: JobState, step: steps.Step) -> tuple[str, ...]:
    """The parts that are lifted out for a look at what they sit in, and are not out already."""
    out = twins.pulled(machine, state.lifted)
    return tuple(part for part in steps.lifted_out(machine, step) if part not in out) if step.kind == "look" else ()


def repair_cost(machine: model.Machine, state: JobState, *repairs: Repair) -> minutes.Cost:
    """What repairs cost in one go from where things stand: isolated first, twins put back, hot parts left to cool."""
    work, bays = sum(one.minutes for one in repairs), tuple(bay for one in repairs for bay in one.bays)
    cost = minutes.cost(machine, state, work, bays, None)
    inside = any(handling.hands_in(machine, one) for one in repairs)
    isolating = machine.handwork.isolate if inside and not state.isolated else 0.0
    cost = replace(
        cost, power=max(cost.power, isolating), exchanging=minutes.exchanging(machine, state.condition, None)
    )
    cooling = minutes.cooling(state, cost) if cools_for(machine, *repairs) else 0.0
    discharging = minutes.discharging(machine, state, bays) if inside else 0.0
    return replace(cost, cooling=cooling, discharging=discharging, gas=cock.to_repair(machine, state, *repairs))


def repair_price(machine: model.Machine, state: JobState, *repairs: Repair) -> float:
    """Minutes that repairs made in one go come to from where things stand, parts, trying and another visit among them
    (`work/prices`)."""
    price = prices.price_together(repairs, machine.handwork.hourly, machine.van)
    return price.minutes - price.work + repair_cost(machine, state, *repairs).minutes


def handed_over(machine: model.Machine, state: JobState, *repairs: Repair) -> bool:
    """Whether repairs are not made by us: another trade's, behind what will not open, or too much for one."""
    return stopping.of_repairs(repairs) is not None or refusals.bars_repairs(machine, state, repairs)


def cools_for(machine: model.Machine, *repairs: Repair) -> bool:
    """Whether what is hot is waited for, for repairs."""
    mine = [one for one in repairs if handling.hands_in(machine, one)]
    return any(heat.hot_at(machine, one.bays, [one.subject]) for one in mine)
