"""Every step of a plan passed through the safety automaton: what must come before it, in order, with its cautions.

Knows the machine, how it stands before and after a step, and `work.safety`; chooses nothing. A step that the automaton
refuses raises errors.Refused here, whoever chose it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import NamedTuple

from halfsplit.machine import feeding, model, primitives
from halfsplit.modes.fault import Repair
from halfsplit.operate.condition import cut_off, turned_inside
from halfsplit.plan import cock, powering, pricing, taken
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.predict.readings import DEAD_METERS
from halfsplit.work import handling, places, safety
from halfsplit.work.hazards import CAUTIONS, PROVING_DEAD, SIGNAL_WORDS, Hazard, Kind, Pipe
from halfsplit.work.state import Cock, JobState, with_fronts

HEAT = frozenset({Hazard.HOT})


class Doing(NamedTuple):
    """One thing to do. `at`: the bay that is opened or closed, the terminal whose wires come off or go back, the twins
    that change places ("A and B"), the part, joint or wire that is repaired."""

    step: safety.Step
    at: str = ""

    @property
    def kind(self) -> Kind:
        """What kind of step it is."""
        return self.step.kind


AT_WORK = frozenset({Kind.VOLTS, Kind.AMPS, Kind.WATCH, Kind.RUN})
"""Done with the machine live: nothing of it can be discharged meanwhile, and all of it is LIVE."""


BY_LIVE = AT_WORK - {Kind.RUN} | {Kind.SUPPLY}
"""Done at or beside bare live parts on purpose, as power is brought back beside open covers; all else, a closed machine
at work too, wants live parts minded only until it is proved dead."""


class Safely(NamedTuple):
    """All that is done for one step, in order, the step itself last but for what was lifted out for it and goes back;
    and the automaton's state afterwards."""

    doings: tuple[Doing, ...]
    state: safety.State

    @property
    def kinds(self) -> frozenset[Kind]:
        """The kinds of thing that are done."""
        return frozenset(doing.kind for doing in self.doings)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What is to be shown and acknowledged on the way: signal word (ANSI Z535) and what to do, gravest first."""
        shown = [CAUTIONS[doing.step.hazard] for doing in self.doings if doing.step.hazard]
        live, dead = CAUTIONS[Hazard.LIVE], Kind.ISOLATE in self.kinds and Kind.CLOSE in self.kinds
        if not any(doing.kind in BY_LIVE or _beside(doing.step) for doing in self.doings):
            shown = [PROVING_DEAD if one == live else one for one in (*shown, *((live,) if dead else ()))]
        elif live not in shown and (self._powers or self.state.dead is not safety.Dead.UNKNOWN):
            shown.append(live)  # it was told for proving dead only, and this is another power state
        ranked = sorted(dict.fromkeys(shown), key=lambda one: SIGNAL_WORDS.index(one[0]))
        return tuple(f"{word}: {text}" for word, text in ranked)

    @property
    def _powers(self) -> bool:
        """Whether power comes on the way: to the machine, or to the receptacle behind it."""
        return any(x.kind is Kind.ENERGISE or (x.kind is Kind.SUPPLY and x.step.inside) for x in self.doings)


def _beside(step: safety.Step) -> bool:
    """Whether the power is brought back beside open covers."""
    return step.kind is Kind.ENERGISE and step.inside


def facts(machine: model.Machine) -> safety.Facts:
    """What kind of machine it is to the automaton. It has as many feeds as its supply names controls that all
    have to be moved to cut it off.

    >>> from halfsplit.machine import loading
    >>> facts(loading.load("vented-dryer"))
    Facts(feeds=1, capacitor=False, gas=False, heats=True)
    """
    return safety.Facts(
        feeds=len(machine.supply.isolates),
        capacitor=any(isinstance(element, primitives.Capacitor) for element in machine.elements.values()),
        gas=machine.gas is not None,
        heats=places.cooling(machine) > 0,
    )


def begin(machine: model.Machine) -> safety.State:
    """The machine as it is found: all of it dangerous until shown not to be."""
    return safety.begin(facts(machine))


def anew(machine: model.Machine, before: JobState, after: JobState) -> safety.State:
    """The machine where what was done was not ours, or only perhaps done, or it was put together: as it is found, with
    the covers that may be open, and its frame's bond to be measured before power where that was left off."""
    loose = after.left_off and bool(machine.frame and machine.supply.earth)
    opened = bool(after.open_bays | after.perhaps_open)
    return begin(machine)._replace(opened=opened, loose=loose, gas=_gas_after(machine, before, after))


def kind_of(step: Step, inside: bool) -> Kind:
    """What a step is to the automaton. A machine is watched at work through its covers, or beside open ones."""
    if step.asks:
        return Kind.ASK
    if step.condition is None:
        return Kind.LOOK  # at a place, or for a symptom that shows without power
    if step.kind == "symptom" and step.condition.isolated:
        return Kind.MOVE
    if step.kind == "symptom":
        return Kind.WATCH if inside else Kind.RUN
    assert step.probe is not None
    if step.condition and step.condition.provoke and inside and not step.live:
        return Kind.PROVOKE  # outside it would be done at work with covers closed; leads want it dead
    if step.probe.meter in DEAD_METERS:
        return Kind.OHMS
    return Kind.AMPS if step.probe.meter == "amps" else Kind.VOLTS


def prepared(machine: model.Machine, safe: safety.State, before: JobState, after: JobState, step: Step) -> Safely:
    """What to do, in order, for a step that takes the machine from `before` to `after`.

    Bays that are open count as the inside of the machine, wherever the leads go. Raises errors.Refused where no
    preparation makes the step safe.
    """
    out = [t for t in machine.gripped if model.part_of(t) in pricing.looked_under(machine, before, step)]
    lifted, back = (
        [Doing(_hands(machine, kind, t, after.open_bays), t) for t in out] for kind in (Kind.LIFT, Kind.REFIT)
    )
    on = _on_again(machine, safe, before, after) if powering.powered(machine, step) else ()
    lit = (Doing(safety.Step(Kind.RUN, pipe=Pipe.LIT)),) if cock.warms(machine, before, step) else ()
    itself = Doing(_itself(machine, after, step))
    moves = (_seen_into(machine, step, one) for one in _moves(machine, before, after))
    return _done(safe, before, (*lit, *moves, *lifted, *on, itself, *back))


def _seen_into(machine: model.Machine, step: Step, one: Doing) -> Doing:
    """The same; what is opened to see into it has cooled before."""
    hot = one.kind is Kind.OPEN and step.kind == "symptom" and one.at in machine.hot_bays
    return one._replace(step=one.step._replace(cool=True)) if hot else one


def _on_again(machine: model.Machine, safe: safety.State, before: JobState, after: JobState) -> Iterator[Doing]:
    """The power brought back to a machine that stands isolated, or with its plug out for a reading at the wall, though
    to the automaton it may be live: what was taken back or set aside may have been done, so that nothing counts as
    proved any more."""
    if before.condition and cut_off(machine, before.condition) and all(safe.live):
        for feed in range(safe.facts.feeds):
            yield Doing(safety.Step(Kind.ENERGISE, inside=bool(after.open_bays), feed=feed))


def repaired(machine: model.Machine, safe: safety.State, before: JobState, after: JobState, repair: Repair) -> Safely:
    """What to do, in order, for a repair with hands in the machine, which stands as `after` meanwhile.

    A gas pipe that comes apart for it is joined and tested by what the next thing done needs. Raises errors.Refused
    where no preparation makes it safe.
    """
    itself = Doing(repairing(machine, repair, after.open_bays), repair.subject)
    return _done(safe, before, (*_moves(machine, before, after), itself))


def put_together(
    machine: model.Machine, safe: safety.State, before: JobState, last: safety.Step | None = None
) -> Safely:
    """What to do, in order, to put a machine together (`closed`): all that was undone, and something `last`."""
    return brought(machine, safe, before, taken.closed(machine, before), last)


def _cock_opened(safe: safety.State, after: JobState, last: safety.Step | None) -> tuple[Doing, ...]:
    """The gas on again where it was shut only, and all is closed for something `last`: as the lists say."""
    shut = last is not None and not after.open_bays and safe.gas is safety.Gas.OFF
    return (Doing(safety.Step(Kind.GAS_ON)),) if shut else ()


def brought(
    machine: model.Machine, safe: safety.State, before: JobState, after: JobState, last: safety.Step | None = None
) -> Safely:
    """What to do, in order, to bring a machine from how it stood to how it should stand, and something `last`."""
    moved = _done(safe, before, _moves(machine, before, after))
    left = (*_cock_opened(moved.state, after, last), *((Doing(last),) if last else ()))
    then = _done(moved.state, after, left)
    return Safely((*moved.doings, *then.doings), then.state)


def repairing(machine: model.Machine, repair: Repair, opened: Collection[str]) -> safety.Step:
    """A repair as the automaton knows it; `opened`: the bays that are open for it."""
    part = machine.parts.get(repair.subject)
    there = places.near(machine, with_fronts(machine, repair.bays), HEAT) | places.charge(machine, opened)
    there |= _hot((part,) if part else ()) | ({Hazard.HEAVY} if repair.people > 1 else set())
    return safety.Step(Kind.REPAIR, inside=bool(opened), hazards=there, pipe=handling.pipe(machine, repair))


def _gas_after(machine: model.Machine, before: JobState, after: JobState) -> safety.Gas:
    """Where the gas stands where what was done was not ours, or only perhaps done, or the machine was put together: on,
    unless it may have been shut and nobody has said that it was opened since."""
    if machine.gas is None:
        return safety.Gas.NONE
    surely = after.cock is Cock.OPEN and (before.cock is Cock.OPEN or after.condition is None)
    return safety.Gas.ON if surely else safety.Gas.PERHAPS


def _done(safe: safety.State, before: JobState, wanted: Iterable[Doing]) -> Safely:
    doings: list[Doing] = []
    stands = _Stands(set(before.open_bays), set(before.lifted))
    for doing in wanted:
        for one in (*(Doing(ready) for ready in safety.prepare(safe, doing.step)), doing):
            safe = stands.still(safety.after(safe, one.step), one)
            doings.append(one)
    return Safely(tuple(doings), safe)


class _Stands(NamedTuple):
    """Open bays and terminals without their wires: closing one bay leaves the machine open while others are."""

    bays: set[str]
    terminals: set[str]

    def still(self, safe: safety.State, one: Doing) -> safety.State:
        """The automaton's state after one thing more."""
        if not one.at:
            return safe
        added = {Kind.OPEN: self.bays, Kind.LIFT: self.terminals}
        taken = {Kind.CLOSE: self.bays, Kind.REFIT: self.terminals}
        if one.kind in added:
            added[one.kind].add(one.at)
        elif one.kind in taken:
            taken[one.kind].discard(one.at)
        return safe._replace(opened=bool(self.bays), lifted=bool(self.terminals))


def _moves(machine: model.Machine, before: JobState, after: JobState) -> Iterator[Doing]:
    """Wires put back, bays closed, bays opened and wires taken off; each in the order of the bays.

    Twins go back to their places before a bay is closed, and change places once theirs are open.
    """
    was, now = set(before.lifted), set(after.lifted)
    twins_were, twins_are = before.exchange, after.exchange
    order = list(with_fronts(machine, tuple(machine.bays)))
    for terminal in sorted(was - now):
        yield Doing(_hands(machine, Kind.REFIT, terminal, before.open_bays), terminal)
    if twins_were and twins_were != twins_are:
        yield _exchanging(machine, twins_were, before.open_bays)
    turned = list(_turning(machine, before, after))
    yield from (one for bay, one in turned if bay in before.open_bays)
    opened = set(before.open_bays)
    for bay in sorted(before.open_bays - after.open_bays, key=order.index, reverse=True):
        there = places.at_closing(machine, bay) | places.beside(machine)
        yield Doing(safety.Step(Kind.CLOSE, hazards=there | places.charge(machine, opened)), bay)
        opened.discard(bay)
    for bay in sorted(after.open_bays - before.open_bays, key=order.index):
        there = places.hazards(machine, bay) | places.beside(machine)
        lands, charged = places.supply_lands(machine, bay), places.charge_bare(machine, bay, opened)
        opens = safety.Step(Kind.OPEN, hazards=there, pipe=cock.beside(machine, (bay,)))
        yield Doing(opens._replace(supply=lands, charge=charged, cool=places.burns(machine, bay)), bay)
        opened.add(bay)
    if twins_are and twins_were != twins_are:
        yield _exchanging(machine, twins_are, after.open_bays)
    yield from (one for bay, one in turned if bay not in before.open_bays)
    for terminal in sorted(now - was):
        yield Doing(_hands(machine, Kind.LIFT, terminal, after.open_bays), terminal)


def _turning(machine: model.Machine, before: JobState, after: JobState) -> Iterator[tuple[str, Doing]]:
    """Controls turned behind a cover, each with its bay: hands in the machine, and never under power."""
    for control in turned_inside(machine, before.condition, after.condition) if after.condition else ():
        bay = machine.turned_in(control)
        there = places.near(machine, (bay,), HEAT) | places.charge(machine, before.open_bays | after.open_bays)
        turns = safety.Step(Kind.TURN, inside=True, hazards=there, pipe=cock.beside(machine, (bay,)))
        yield bay, Doing(turns, control)


def _exchanging(machine: model.Machine, pair: tuple[str, str], opened: Collection[str]) -> Doing:
    """Two twins change places, whichever way: hands on both, which may be hot though no bay holds them."""
    parts = [machine.parts[name] for name in pair]
    bays = [part.bay for part in parts]
    there = places.near(machine, bays, HEAT) | places.charge(machine, opened) | _hot(parts)
    moved = safety.Step(Kind.EXCHANGE, inside=bool(opened), hazards=there, pipe=cock.beside(machine, bays))
    return Doing(moved, " and ".join(pair))


def _hot(parts: Iterable[model.Part]) -> frozenset[Hazard]:
    """What parts in the hand may be after a run, though no bay holds them."""
    return HEAT if any(part.cools for part in parts) else frozenset()


def _hands(machine: model.Machine, kind: Kind, terminal: str, opened: Collection[str]) -> safety.Step:
    """Wires taken off or put back, a part lifted out of its socket: beside what is hot in the terminal's bay or in the
    hand itself, and what is charged in any open one."""
    part = machine.parts[model.part_of(terminal)]
    there = places.near(machine, (part.bay,), HEAT) | _hot((part,) if terminal in machine.gripped else ())
    there |= places.charge(machine, opened)
    return safety.Step(kind, inside=bool(opened), hazards=there, pipe=cock.beside(machine, (part.bay,)))


def _itself(machine: model.Machine, after: JobState, step: Step) -> safety.Step:
    inside = bool(after.open_bays)
    kind = kind_of(step, inside)
    if kind is Kind.ASK:
        return safety.Step(kind)
    if kind is Kind.VOLTS and not powering.powered(machine, step):
        return safety.Step(Kind.SUPPLY, inside=bool(feeding.plug_bay(machine)))
    there = places.near(machine, with_fronts(machine, bays_needed(machine, step)), HEAT)
    if step.condition is not None and step.condition.loads:
        there |= {Hazard.MOVING} | (HEAT if facts(machine).heats else frozenset())  # minutes at work, covers open
    if powering.fumes(machine, after, step):
        there |= {Hazard.FUMES}
    if kind not in AT_WORK:
        there |= places.charge(machine, after.open_bays)
    return safety.Step(kind, inside=inside, hazards=there, pipe=cock.pipe(machine, step))
