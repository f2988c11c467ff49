"""The proof run step by step: what is clamped, then what is seen, how the machine stands, what is done on the way.

The one walk of it, for whoever tells it (`service/proof_run`) and whoever judges its safety (`rehearse/proved_steps`).
Knows `plan/proof` and the safety automaton; neither words nor what was found. The clamp comes first, from cold and in
one opening; all that is seen and waited for comes with all covers on.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest

from halfsplit.evidence.weighing import Bench
from halfsplit.machine import model
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.plan import barring, powering, pricing, proof, safely, taken, warmth
from halfsplit.plan.safely import Safely
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.work import burning, minutes, places, safety
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState, to_open, with_fronts

Runs = Mapping[Condition, Sequence[str]]
"""Settings, each with what is to be seen in it (`proof.runs`)."""


@dataclass(frozen=True)
class Walked:
    """Something done in a proof run: a step, or (None) what was opened is closed or a control turned back behind its
    cover. `before`: how the machine stood; `shut`: the bays that are opened for it, or closed by it; `turned`: the
    controls that hands turn behind a cover; `done`: all that is done; `again`: the same was asked before, with the same
    answer of a healthy machine; `minutes`: what it takes beside running and waiting."""

    step: Step | None
    before: JobState
    done: Safely
    shut: tuple[str, ...] = ()
    turned: tuple[str, ...] = ()
    again: bool = False
    minutes: float = 0.0


@dataclass(frozen=True)
class Stage:
    """What is done in one go: the clamp in all `settings` that it wants cold, or one setting with all that is seen in
    it. `seen`: whether anything is, in its setting; `minutes`: all of them; `runs`: those that it runs for what is
    seen; `waits`: those of warming up before; `spared`: what of that the runs before it have spared."""

    settings: tuple[Condition, ...]
    walked: tuple[Walked, ...]
    seen: bool
    minutes: float
    runs: float = 0.0
    waits: float = 0.0
    spared: float = 0.0


def afresh(state: JobState) -> JobState:
    """How a machine stands for its proof: single steps that were done or refused in the search are asked again. It is
    another machine now, and there is no proof without them."""
    cannot = frozenset(one for one in state.refused if not isinstance(one, Step))
    return replace(state, refused=cannot, done=frozenset())


def in_order(machine: model.Machine, settings: Sequence[Condition], now: Condition | None) -> list[Condition]:
    """Settings so that what is turned behind a cover is turned as seldom as possible, from how it stands `now`; else
    the named ones first, and of the others the colder ones."""
    named = [conditions.condition(machine, given) for given in machine.settings.values()]
    left = sorted(settings, key=lambda at: (at not in named, 0 if at in named else _warmth(machine, at)))
    found: list[Condition] = []
    while left:
        stands = found[-1] if found else now
        found.append(next((at for at in left if not conditions.turned_inside(machine, stands, at)), left[0]))
        left.remove(found[-1])
    return found


def _warmth(machine: model.Machine, at: Condition) -> int:
    return machine.warmths.index(at.position(WARMTH)) if machine.warmths else 0


def through(healthy: Bench, runs: Runs) -> frozenset[str]:
    """What is to be seen in every setting that the file names, with the same answer in each: not what takes its time or
    shows behind a cover; none where only one setting is run."""
    machine = healthy.machine
    named = [conditions.condition(machine, given) for given in machine.settings.values()]
    ran = [at for at in runs if at in named]
    if len(ran) < 2:
        return frozenset()
    every = set(runs[ran[0]]).intersection(*(runs[at] for at in ran))
    same = (what for what in every if len({healthy.predictor.healthy_shows(what, at) for at in ran}) == 1)
    known = machine.symptoms
    return frozenset(what for what in same if not known[what].takes and not known[what].bay)


class Walk:
    """One proof run while it is walked, from a closed machine. `healthy`: a bench of nothing else (`proof.healthy`).

    What cannot be done here is left out.
    """

    def __init__(self, healthy: Bench, state: JobState, safe: safety.State) -> None:
        self.bench, self.machine = healthy, healthy.machine
        self.state, self.safe = afresh(state), safe
        self.opened: tuple[str, ...] = ()
        self.asked: set[tuple[str, bool]] = set()
        self.ran = 0.0
        """Minutes that the machine has run in the setting before."""

    def stages(self, runs: Runs) -> Iterator[Stage]:
        """All of it, in order."""
        usual, all_through = conditions.usual(self.machine), through(self.bench, runs)
        cold = [at for at in runs if _warmth(self.machine, at) == _warmth(self.machine, usual)]
        seen = {at: self._seen(at, names, all_through) for at, names in runs.items()}
        met = [at for at in runs if seen[at] or (at not in cold and self._clamped(at))]
        if any(self._clamped(at) for at in cold):
            yield from self._smelt(seen)
        first = self._clamps(in_order(self.machine, cold, self.state.condition), met)
        yield from (first,) if first else ()
        order = in_order(self.machine, met, self.state.condition)
        for at, then in zip_longest(order, order[1:]):
            yield self._setting(at, seen[at], [] if at in cold else self._clamped(at), then)

    def answer(self, step: Step) -> tuple[str, bool]:
        """A symptom, and whether it is there on a healthy machine."""
        assert step.condition is not None
        return step.at, self.bench.predictor.healthy_shows(step.at, step.condition)

    def _smelt(self, seen: dict[Condition, list[Step]]) -> Iterator[Stage]:
        """What is smelt or leaks of the gas, before anybody opens a machine for the clamp and the burner burns beside
        them: with all covers on, and not once more."""
        known = self.machine.symptoms
        for at, looks in seen.items():
            gas = [one for one in looks if known[one.at].unpowered and burning.of_gas(self.machine, known[one.at])]
            if gas:
                yield self._setting(at, gas, [], at)
                seen[at] = [one for one in looks if one not in gas]

    # ---- the clamp --------------------------------------------------------------------------------------------

    def _clamps(self, cold: Sequence[Condition], met: Sequence[Condition]) -> Stage | None:
        """The clamp in every setting that is met as cold as the machine was put together, one after another, and what
        was opened for it closed; None where nothing is clamped."""
        walked, settings = list[Walked](), list[Condition]()
        for at in cold:
            steps = self._clamped(at)
            walked += [self._clamp(step) for step in steps]
            settings += [at] if steps else []
        if not walked:
            return None
        then = in_order(self.machine, met, self.state.condition)
        walked.append(self._close(then[0] if then else None))
        return Stage(tuple(settings), tuple(walked), False, sum(one.minutes for one in walked))

    def _clamped(self, at: Condition) -> list[Step]:
        stands = JobState(frozenset(self.opened), at, self.state.refused, warm=places.cooling(self.machine))
        return [step for step in proof.loads(self.bench, stands, at) if not self._barred(step)]

    def _clamp(self, step: Step) -> Walked:
        before = self.state
        bays, took = bays_needed(self.machine, step), pricing.cost_of(self.machine, before, step).minutes
        after = taken.after(self.machine, before, step)
        shut = to_open(self.machine, before, bays)
        turned = conditions.turned_inside(self.machine, before.condition, after.condition) if after.condition else ()
        done = safely.prepared(self.machine, self.safe, before, after, step)
        self.state, self.safe, self.opened = after, done.state, (*self.opened, *shut)
        return Walked(step, before, done, shut, turned, minutes=took)

    def _close(self, then: Condition | None) -> Walked:
        """What is open is closed, and the power is back last; a control behind a cover that is open is turned back
        before, unless the setting that comes `then` wants it as it stands."""
        back = tuple(c for c in self._back(then) if self.machine.turned_in(c) in self.state.open_bays)
        return self._closed(self.opened, back, self._off_and_on)

    def _rest(self, control: str) -> str:
        return self.machine.controls[control].rest

    def _closed(self, shut: tuple[str, ...], back: tuple[str, ...], took: float) -> Walked:
        """The machine closed and live, its controls at rest but for those behind covers that are not turned `back`."""
        before, at = self.state, self.state.condition
        inside = conditions.stands_inside(self.machine, at) if at else {}
        stands = {c: p for c, p in inside.items() if c not in back}
        warmth = {WARMTH: at.position(WARMTH)} if at and self.machine.warmths else {}
        live = conditions.condition(self.machine, stands | warmth)
        after = replace(before, open_bays=frozenset(), condition=live)
        done = safely.brought(self.machine, self.safe, before, after, safety.Step(Kind.ENERGISE))
        if Kind.DISCHARGE in done.kinds:
            took += minutes.to_discharge(self.machine, before.open_bays)
        self.state, self.safe, self.opened = after, done.state, ()
        return Walked(None, before, done, shut, back, minutes=took)

    # ---- what is seen -----------------------------------------------------------------------------------------

    def _seen(self, at: Condition, names: Sequence[str], all_through: frozenset[str]) -> list[Step]:
        """What is seen in a setting: first what shows at once, what is seen all through before the rest, then by the
        time that it takes; last what shows behind a cover."""
        known = self.machine.symptoms
        steps = [step for name in names if not self._barred(step := Step("symptom", at, at=name))]
        return sorted(steps, key=lambda one: (bool(known[one.at].bay), known[one.at].takes, one.at not in all_through))

    def _setting(self, at: Condition, seen: Sequence[Step], clamped: Sequence[Step], then: Condition | None) -> Stage:
        """One setting: the clamp, where it is warmer than the clamp has met it; what is seen, with all covers on; what
        is turned for it turned back, unless the setting that comes `then` wants it so too."""
        walked = list[Walked]()
        took, (waits, spared) = self._brought(at), self._warming(at)
        if clamped:
            self._as_warm(at, bays_needed(self.machine, clamped[0]))
            walked += [*(self._clamp(step) for step in clamped), self._close(at)]
        for step in seen:
            walked += self._look(step, self.answer(step) in self.asked)
        self.asked |= {self.answer(step) for step in seen}
        back = self._back(then)
        walked += [self._turn_back(back)] if back else []
        self.ran = max((minutes.running(self.machine, "symptom", step.at) for step in seen), default=0.0)
        took += max(self.ran, self.machine.handwork.perceive) + sum(one.minutes for one in walked)
        return Stage((at,), tuple(walked), bool(seen), took, self.ran, waits, spared)

    def _brought(self, at: Condition) -> float:
        """Minutes until the machine stands as a setting wants it; it has warmed up while it ran in the one before. Not
        waited for is that it cools to how it is usually run."""
        usual, now = conditions.usual(self.machine), self.state.condition
        if not self.machine.warmths:
            return minutes.changing(self.machine, self._turned_as(now, at), at)
        warmth = at.position(WARMTH)
        if now and warmth == usual.position(WARMTH):
            now = conditions.at_warmth(now, warmth)
        plain = minutes.changing(self.machine, self._turned_as(now, at), at)
        return plain - min(self.ran, self._waited(now, at)) if warmth in self.machine.comes_to else plain

    def _warming(self, at: Condition) -> tuple[float, float]:
        """Minutes until it is as warm as a setting wants it, where the file says how long that takes from cold; and how
        many of those have passed in the runs before."""
        warmth = at.position(WARMTH) if self.machine.warmths else ""
        if warmth not in self.machine.comes_to:
            return 0.0, 0.0
        waited = self._waited(self.state.condition, at)
        left = waited - min(self.ran, waited)
        return left, self._waited(conditions.at_warmth(at, self.machine.warmths[0]), at) - left

    def _as_warm(self, at: Condition, bays: tuple[str, ...]) -> None:
        """It has come to the warmth of a setting, with all covers on, before these bays are opened; where it cools
        meanwhile it comes to it once more."""
        if self.state.condition is None or not self.machine.warmths:
            return
        rest, opening = self.machine.warmths[0], (self.machine.bays[one] for one in with_fronts(self.machine, bays))
        hands = self.machine.handwork.isolate + sum(bay.open_minutes for bay in opening)
        stays = hands < self.machine.comes_to.get(rest, math.inf)
        as_warm = conditions.at_warmth(self.state.condition, at.position(WARMTH) if stays else rest)
        self.state = replace(self.state, condition=as_warm)

    def _turned_as(self, now: Condition | None, at: Condition) -> Condition | None:
        """The same with what is turned behind covers as a setting wants it: that has its own minutes."""
        inside = conditions.stands_inside(self.machine, at)
        return replace(now, setting=tuple((dict(now.setting) | inside).items())) if now else None

    def _waited(self, now: Condition | None, at: Condition) -> float:
        if now is None:
            return 0.0
        return minutes.changing(self.machine, conditions.at_warmth(at, now.position(WARMTH)), at)

    def _look(self, step: Step, asked: bool) -> Iterator[Walked]:
        """A step with all covers on but that behind which it shows, which is closed after it; what it wants turned
        behind a cover is turned before, dead, and that closed."""
        assert step.condition is not None
        before, machine = self.state, self.machine
        turned = conditions.turned_inside(machine, before.condition, step.condition)
        done, stands = Safely((), self.safe), before
        if turned:
            stands = self._turning(step.condition, turned)
            done = safely.brought(machine, self.safe, before, stands)
        bay = machine.symptoms[step.at].bay
        own = with_fronts(machine, (bay,) if bay else ())
        before, waited = self._cooled(before, step, own)
        after = replace(taken.after(machine, replace(stands, open_bays=frozenset()), step), open_bays=frozenset(own))
        then = safely.prepared(machine, done.state, stands, after, step)
        done = Safely((*done.doings, *then.doings), then.state)
        self.state, self.safe, self.opened = after, done.state, own
        bays = tuple(dict.fromkeys((*self._behind(turned), *own)))
        took = self._opening(self._behind(turned)) if turned else 0.0
        took += self._opening(own) + minutes.running(machine, "symptom", step.at) + waited if own else 0.0
        yield Walked(step, before, done, bays, turned, asked, took)
        if own:
            yield self._closed(own, (), self._off_and_on)

    def _cooled(self, before: JobState, step: Step, own: tuple[str, ...]) -> tuple[JobState, float]:
        """How a machine stands whose bays have cooled before they are opened for a step, and the minutes of waiting for
        that, and until it is once more as warm as the step wants it."""
        assert step.condition is not None
        if not powering.opens_hot(self.machine, replace(before, open_bays=frozenset()), step):
            return before, 0.0
        opening = sum(self.machine.bays[bay].open_minutes for bay in own)
        power = self.machine.handwork.isolate
        waited = minutes.cooling(before, minutes.Cost(opening=opening, power=power))
        if before.condition is None or warmth.lasts(self.machine, step.condition, own, True):
            return before, waited
        rest = conditions.at_warmth(before.condition, self.machine.warmths[0])
        return replace(before, condition=rest), waited + self._waited(rest, step.condition)

    def _turning(self, at: Condition, turned: Sequence[str]) -> JobState:
        """Dead and open, with what is turned behind covers as a setting wants it."""
        dead = conditions.condition(self.machine, conditions.stands_inside(self.machine, at), isolated=True)
        warmth = self.state.condition.position(WARMTH) if self.state.condition and self.machine.warmths else ""
        opened = frozenset(self._behind(turned))
        return replace(self.state, open_bays=opened, condition=conditions.at_warmth(dead, warmth))

    def _back(self, then: Condition | None) -> tuple[str, ...]:
        """What is turned behind a cover and rests again in what comes `then` (None: nothing does)."""
        if self.state.condition is None:
            return ()
        stands = conditions.stands_inside(self.machine, self.state.condition)
        wanted = conditions.stands_inside(self.machine, then) if then else {}
        return tuple(c for c in stands if stands[c] != wanted.get(c, self._rest(c)) == self._rest(c))

    def _turn_back(self, back: tuple[str, ...]) -> Walked:
        before, bays = self.state, self._behind(back)
        rest = conditions.condition(self.machine, {c: self._rest(c) for c in back})
        inside = before.condition and conditions.stands_inside(self.machine, before.condition)
        at = conditions.condition(self.machine, {**(inside or {}), **conditions.stands_inside(self.machine, rest)})
        self.state = self._turning(at, back)
        opened = safely.brought(self.machine, self.safe, before, self.state)
        self.safe, self.opened = opened.state, bays
        closed = self._closed(bays, (), self._opening(bays))
        done = Safely((*opened.doings, *closed.done.doings), closed.done.state)
        return replace(closed, before=before, done=done, turned=back)

    def _behind(self, turned: Sequence[str]) -> tuple[str, ...]:
        """The bays in which controls are turned, fronts first."""
        return with_fronts(self.machine, tuple(self.machine.turned_in(control) for control in turned))

    @property
    def _off_and_on(self) -> float:
        return self.machine.handwork.isolate + self.machine.handwork.energise

    def _opening(self, bays: Sequence[str]) -> float:
        """Minutes in which bays are opened dead and closed again, with the power off and on."""
        both = (self.machine.bays[bay].open_minutes + self.machine.bays[bay].close_minutes for bay in bays)
        return self._off_and_on + sum(both)

    def _barred(self, step: Step) -> bool:
        return barring.bars(self.machine, JobState(refused=self.state.refused), step)
