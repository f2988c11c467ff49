"""Putting a machine together again: all that was undone, made good once each, in an order in which it can be done.

Knows bays, wires, controls, the frame and what a repair takes off; not how likely a repair is, and no findings.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from halfsplit.machine import feeding, model, primitives, twins
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.quantity.display import duration
from halfsplit.work import earthing, places, refusals, staying
from halfsplit.work.fasteners import Fastener, counted, fasteners
from halfsplit.work.hazards import CAUTIONS, GAS_SUPPLY, STOPS, Hazard, Pipe, gravest_first
from halfsplit.work.minutes import moving
from halfsplit.work.state import with_fronts


@dataclass(frozen=True)
class Undone:
    """What was undone: bays in the order of opening, terminals in the order in which their wires came off, controls
    that stand elsewhere than at rest, whether the machine is isolated now, what was done about the gas (the cock shut
    for work beside the pipe, the pipe taken apart), the parts that came out of the water, and twins that stand in each
    other's places."""

    opened: tuple[str, ...] = ()
    lifted: tuple[str, ...] = ()
    moved: tuple[tuple[str, str], ...] = ()
    isolated: bool = True
    proved: bool = True
    """Whether it was proved dead since: who pulled the plug for a reading at the wall alone has not."""
    off: bool = False
    """Whether hands may have left its power off, though nobody counts on that."""
    pipe: Pipe = Pipe.AWAY
    exchange: twins.Exchange = ()
    drained: tuple[str, ...] = ()
    breaker_off: bool = False
    """Whether the breaker was switched off for water."""
    panel: tuple[Repair, ...] = ()
    """What is still to be done at the house's own supply, and may bring the machine's power back (`at_the_panel`)."""
    read_dead: bool = False
    """Whether something is read on the dead machine before its power may come back."""
    people: int = 1
    """How many the repairs take."""
    charged: tuple[str, ...] = ()
    """The bays that stand open, where nobody knows what hands reach in them to be discharged."""
    unfastened: tuple[str, ...] = ()
    """The parts replaced of which the file says what holds them."""
    volts: str = refusals.VOLTS
    """By which function of the meter it is proved dead; "": by none."""
    measured: bool = True
    """Whether the meter can measure the frame's bond."""
    sees_charge: bool = True
    """Whether the meter shows that a capacitor is discharged."""
    left_off: bool = False
    """Whether it was put together with its power left off, and has not been in use since."""
    hot: bool = False
    """Whether what a run of ours has heated may not have cooled yet."""

    @property
    def inside(self) -> bool:
        """Whether there is something to do that wants the machine isolated: at a machine that is set, a breaker is not
        switched on either."""
        touched = self.opened or self.lifted or self.exchange or self.read_dead or self.unfastened
        return bool(touched or (self.panel and self.moved))


@dataclass(frozen=True)
class Task:
    """One thing to do.

    kind: isolate | discharge | meter | leave | fasten | exchange | plug in | wires | provoke | note | setting | pipe |
    gas | leak | shut | gas off | fill | drips | also | ground | no bond | connector | cover | count | insulation |
    earth | panel | power | judge | tag. `at`: the terminal, control, part (two of them: "A and B") or bay. `wires`:
    what goes on a terminal, as colour and other end. `cautions`: each with its signal word. `used`: what is set for it,
    and set back; through what it was drained; why a thing stays as it is. `people`: how many a cover takes.
    """

    kind: str
    at: str
    wires: tuple[tuple[str, str], ...] = ()
    fasteners: tuple[Fastener, ...] = ()
    cautions: tuple[str, ...] = ()
    to: str = ""
    used: str = ""
    people: int = 1


@dataclass(frozen=True)
class Closing:
    """The tasks in order; fasteners of all covers and new parts by kind; minutes of closing the bays and of putting
    twins back; people that it takes."""

    tasks: tuple[Task, ...]
    fasteners: tuple[Fastener, ...]
    minutes: float
    people: int


# ---- what the file says ------------------------------------------------------------------------------------


def landing(machine: model.Machine, terminal: str) -> tuple[tuple[str, str], ...]:
    """The wires that land on a terminal: colour (IEC 60757; two of them joined) and other end.

    >>> from halfsplit.machine import loading
    >>> landing(loading.load("vented-dryer"), "heater.front")
    (('RD', 'motor.heat 1'), ('VT', 'heat selector.front'))
    """
    wires = model.wired_terminals(machine).get(terminal, [])
    return tuple(("".join(wire.colours), next(end for end in wire.ends if end != terminal)) for wire in wires)


def bonds(machine: model.Machine, bay: str) -> Iterator[Task]:
    """The ground screws to be seen tight before a bay is closed: where the supply's earth and straps meet the frame.

    The earth of a cord or cable lands where its other conductors land.
    """
    landed = {machine.parts[model.part_of(t)].bay for t in machine.supply.meets if t != machine.frame}
    if bay in landed and machine.frame in machine.supply.meets:
        earths = [one for one in landing(machine, machine.frame) if machine.parts[model.part_of(one[1])].house]
        yield Task("ground", machine.frame, tuple(earths))
    for element in machine.elements.values():
        part = machine.parts[element.part]
        if part.bay == bay and machine.frame in element.ends and isinstance(element, primitives.Contact):
            far = next(end for end in element.ends if end != machine.frame)
            yield Task("ground" if _is_fitted(machine, element) else "no bond", part.name, to=far)


def _is_fitted(machine: model.Machine, element: primitives.Contact) -> bool:
    """Whether a strap joins the frame on a machine as its file has it."""
    by_control = [when for when in element.when if isinstance(when, primitives.ByControl)]
    return all(machine.controls[when.control].rest in when.positions for when in by_control)


# ---- what was undone ---------------------------------------------------------------------------------------


def undone(
    machine: model.Machine, opened: Iterable[str] = (), lifted: Iterable[str] = (), at: Condition | None = None
) -> Undone:
    """What was undone in all: fronts before what lies behind them, and the bays of lifted wires with them.

    `at`: the condition in which the machine stands (None: isolated, every control at rest); its lifted wires and the
    twins that it has exchanged count.
    """
    wires = tuple(dict.fromkeys((*lifted, *(at.lift if at else ()))))
    exchange = at.exchange if at else ()
    moved = tuple(_moved(machine, at)) if at else ()
    touched = (*map(model.part_of, wires), *exchange)
    inside = filter(None, (machine.turned_in(control) for control, _ in moved))
    bays = (*opened, *(machine.parts[part].bay for part in touched), *inside)
    isolated = at is None or conditions.cut_off(machine, at)
    inner = with_fronts(machine, bays)
    return Undone(inner, wires, moved, isolated, exchange=exchange, charged=inner)


def _moved(machine: model.Machine, at: Condition) -> Iterator[tuple[str, str]]:
    """The controls that stand elsewhere than at rest; a button that is let go stands nowhere."""
    feeds = machine.house_controls
    for control, position in at.setting:
        known = machine.controls.get(control)
        if known and not known.momentary and control not in feeds and position != known.rest:
            yield control, position


def photograph(lifted: Iterable[str], before: Iterable[str] = ()) -> tuple[str, ...]:
    """The parts to photograph before these wires come off: those that no wire has come off before."""
    known = {model.part_of(terminal) for terminal in before}
    return tuple(dict.fromkeys(part for part in map(model.part_of, lifted) if part not in known))


# ---- the list ----------------------------------------------------------------------------------------------


def closing(machine: model.Machine, was: Undone, rule: str = "") -> Closing:
    """All that was undone, in order: wires and settings while the bays are open, then bay after bay, power last.

    `rule`: the stop rule by which the machine is left ("": none); where that wants it so the power stays off, and the
    gas with it.
    """
    if was.left_off and _bonded(machine, was) and not _stays_off(rule):  # what a list left off is measured by this one
        was = replace(was, read_dead=True)
    stays, stood = stays_of(machine, was, rule), was
    was = _made_good(machine, was, stays)
    left = _left_as_it_is(machine, stood, was, stays)
    bays = [machine.bays[name] for name in reversed(was.opened)]
    parts = [machine.parts[name] for name in was.unfastened]
    texts = [*(bay.fasteners for bay in bays), *(part.fasteners for part in parts)]
    held = counted(one for text in texts for one in fasteners(text)[0])
    settings = [Task("setting", control, to=machine.controls[control].rest) for control, _ in was.moved]
    # What can be set back with nothing opened is, before the plug is pulled.
    live = stood.inside and not (was.isolated and was.proved)
    off = _stays_off(rule) or any(task.to for task in left)
    first = [task for task in settings if live and task.at not in machine.inside]
    tasks = [
        *first,
        *((Task("isolate", _where_off(rule), to=was.volts),) if live else ()),
        *discharging(machine, was.charged),
        Task("meter", OUTSIDE if stays.barred else "", to=TAPE if _taped(machine, stood) else ""),
        *left,
        *_fastened(parts, bays),
        *_wired_and_placed(machine, was),
        *(task for task in settings if task not in first),
        *_gas(machine, was, rule, off),
        *(task for bay in bays if _holds_water(machine, bay) for task in _covered(machine, bay, was)),
        *(_filled(machine, was) if was.drained == stood.drained else ()),
        *(task for bay in bays if not _holds_water(machine, bay) for task in _covered(machine, bay, was)),
        *((Task("count", "", fasteners=held),) if held else ()),
        *(_earth(machine, was) if not earthing.reached_inside(machine, was.opened) else ()),
        *_left(machine, was, rule, off, bool(left and stays.barred)),
    ]
    tasks = [task for task in tasks if task.kind != "earth" or not off]
    minutes = sum(bay.close_minutes for bay in bays) + moving(machine, was.exchange)
    return Closing(tuple(tasks), held, minutes, max((was.people, *(bay.people for bay in bays))))


# ---- what stays as it is -----------------------------------------------------------------------------------

OUTSIDE = "outside"
"""Where the meter and tools are taken away, when no hand goes in."""
NOT_WHOLE = "not before it is put together"
"""On the tag of a machine that is left in parts."""


def stays_of(machine: model.Machine, was: Undone, rule: str) -> staying.Staying:
    """What of all that was undone stays as it is, where a machine is left by a stop rule ("": by none)."""
    return staying.staying(machine, was.opened, was.volts, was.sees_charge, rule)


def _made_good(machine: model.Machine, was: Undone, stays: staying.Staying) -> Undone:
    """What of it is made good: not what lies where no hand goes, nor the covers that stay off."""
    if not stays.why:
        return was

    def free(part: str) -> bool:
        return machine.parts[part].bay not in stays.barred

    pipe_stays = was.pipe is Pipe.APART and machine.gas and not stays.barred.isdisjoint(machine.gas.bays)
    return replace(
        was,
        opened=tuple(bay for bay in was.opened if bay not in stays.open),
        lifted=tuple(terminal for terminal in was.lifted if free(model.part_of(terminal))),
        moved=tuple(one for one in was.moved if machine.turned_in(one[0]) not in stays.barred),
        exchange=was.exchange if all(map(free, was.exchange)) else (),
        unfastened=tuple(filter(free, was.unfastened)),
        drained=tuple(filter(free, was.drained)),
        pipe=Pipe.BESIDE if pipe_stays else was.pipe,
        charged=() if stays.barred else was.charged,
        read_dead=False,
    )


def _left_as_it_is(machine: model.Machine, stood: Undone, made: Undone, stays: staying.Staying) -> tuple[Task, ...]:
    """What is left of how the machine `stood`, beside what is `made` good, to be written down."""
    if not stays.why:
        return ()
    off = wired(machine, [terminal for terminal in stood.lifted if terminal not in made.lifted])
    said = [_off(task) for task in off]
    said += [f"{' and '.join(stood.exchange)} in each other's places"] if stood.exchange != made.exchange else []
    said += [f"the new {part} not fastened" for part in stood.unfastened if part not in made.unfastened]
    said += [f"{control} at {position}" for control, position in stood.moved if (control, position) not in made.moved]
    said += ["the gas pipe apart"] if stood.pipe != made.pipe else []
    said += [f"the water shut off, {part} out of it" for part in stood.drained if part not in made.drained]
    said += [f"open: {', '.join(stays.open)}"] if stays.open else []
    cautions = (staying.CHARGED,) if stays.charged else ()
    return (Task("leave", "", cautions=cautions, to="; ".join(said), used=" ".join(stays.why)),)


def _off(task: Task) -> str:
    if task.kind != "wires":
        return f"{task.at} pulled out"
    wires = ", ".join(f"{colour} from {end}" for colour, end in task.wires)
    return f"wires off {task.at}: {wires}"


def _where_off(rule: str) -> str:
    """Where a machine is isolated; "" where it always is."""
    return model.BREAKER if rule and STOPS[rule].plug_stays else ""


# ---- the tasks ---------------------------------------------------------------------------------------------


def _fastened(parts: Sequence[model.Part], bays: Sequence[model.Bay]) -> Iterator[Task]:
    """New parts in their places, and what else came off for them; what comes off with a cover goes back with that."""
    told = {text for bay in bays for text in fasteners(bay.fasteners)[1]}
    for part in parts:
        held, also = fasteners(part.fasteners)
        yield Task("fasten", part.name, fasteners=held)
        yield from (Task("fasten", part.name, to=text) for text in also if text not in told)
        told |= set(also)


TAPE = "tape"
"""What has to come off with the meter."""


def _taped(machine: model.Machine, was: Undone) -> bool:
    """Whether tape may have held a switch for a reading: a button that springs back, one that opening a bay has freed,
    or one that hands move."""
    freed = any(machine.bays[bay].frees for bay in was.opened)
    return freed or any(control.momentary or control.hands for control in machine.controls.values())


def wired(machine: model.Machine, lifted: Sequence[str]) -> tuple[Task, ...]:
    """How what came off these terminals, the first first, goes back: wires, then parts that plug in, for
    these sit in what is wired."""
    wires = (Task("wires", t, landing(machine, t)) for t in reversed(lifted) if t not in machine.gripped)
    parts = (Task("plug in", part) for part in reversed(twins.pulled(machine, lifted)))
    return (*wires, *parts)


def discharging(machine: model.Machine, opened: Collection[str]) -> Iterator[Task]:
    """What hands reach with these bays open is discharged before they go there."""
    caution = ": ".join(CAUTIONS[Hazard.CHARGE])
    for found in places.discharged(machine, opened):
        how = places.how_discharged(machine, found)
        yield Task("discharge", found.capacitor.part, cautions=(caution,), to=how)


def covers(machine: model.Machine, bays: Sequence[str], earth: bool) -> tuple[Task, ...]:
    """How these bays, fronts first, are closed in the middle of a job, where nothing else is made good: with all that
    was undone behind each cover. `earth`: the frame's bond is measured too, since the power comes back."""
    was = Undone(tuple(bays) if earth else ())
    tasks = [task for name in reversed(bays) for task in _covered(machine, machine.bays[name], was)]
    after = earth and not earthing.reached_inside(machine, was.opened)
    return (*tasks, *(_earth(machine, was) if after else ()))


def _wired_and_placed(machine: model.Machine, was: Undone) -> Iterator[Task]:
    """What came off goes back, and twins to their own places once the sockets in which these sit are wired: that is
    what plugs them in again."""
    back = wired(machine, was.lifted)
    yield from (task for task in back if task.kind == "wires")
    yield from _own_places(machine, was)
    yield from (task for task in back if task.kind != "wires" and task.at not in was.exchange)


def _own_places(machine: model.Machine, was: Undone) -> Iterator[Task]:
    """Twins back in their own places, cold."""
    hot = max((machine.parts[name].cools for name in was.exchange), default=0.0)
    if was.exchange:
        cautions = (f"CAUTION: hot after a run; wait {duration(hot)} before they are touched",) if hot else ()
        yield Task("exchange", " and ".join(was.exchange), cautions=cautions)


def _gas(machine: model.Machine, was: Undone, rule: str, stays_off: bool) -> Iterator[Task]:
    """The pipe joined, the cock opened, the joint tested while it can still be seen; left shut, or shut, where all
    stays off. A joint that was apart is tested then too: nobody sees it later, behind covers. Where gas is another
    trade's, so is the test."""
    apart = was.pipe is Pipe.APART
    if machine.gas is None or not (stays_off or apart or was.pipe is Pipe.BESIDE):
        return
    tests = apart and rule != GAS_SUPPLY
    yield from (Task("pipe", ""),) if apart else ()
    yield from (Task("gas", machine.gas.cock),) if tests or not stays_off else ()
    yield from (Task("leak", ""),) if tests else ()
    if stays_off:
        shut = not tests and was.pipe in (Pipe.APART, Pipe.BESIDE)
        yield Task("shut" if shut else "gas off", machine.gas.cock)


def _holds_water(machine: model.Machine, bay: model.Bay) -> bool:
    """Whether a bay has to be closed before the machine is filled: it is a pipe, or lies behind one."""
    return any(machine.bays[front].holds_water for front in with_fronts(machine, (bay.name,)))


def _filled(machine: model.Machine, was: Undone) -> Iterator[Task]:
    """The water on and free of air, and each part that came out of it, and pipe that was open, looked at, while it can
    be seen."""
    pipes = [bay for bay in was.opened if machine.bays[bay].holds_water]
    if machine.water is not None and (was.drained or pipes):
        yield Task("fill", machine.water.tap, to=machine.water.cock, used=machine.water.drain)
        seen = (part for part in was.drained if machine.parts[part].bay not in pipes)
        yield from (Task("drips", place) for place in (*seen, *pipes))


def _covered(machine: model.Machine, bay: model.Bay, was: Undone) -> Iterator[Task]:
    """One bay: what was undone behind its cover, the ground screws, connectors, the cover with its fasteners. Where the
    supply's earth can be reached behind it alone, the frame's bond is measured before it is closed."""
    held, also = fasteners(bay.fasteners)
    yield from (Task("also", bay.name, to=text) for text in also)
    yield from bonds(machine, bay.name)
    if earthing.reached_inside(machine, was.opened) and bay.name == feeding.landing_bay(machine):
        yield from _earth(machine, was)
    yield from (Task("connector", part) for part in bay.unplugs)
    yield Task("cover", bay.name, fasteners=held, cautions=_cautions(machine, bay, was.hot), people=bay.people)


def _cautions(machine: model.Machine, bay: model.Bay, hot: bool) -> tuple[str, ...]:
    """What to mind when a bay is closed: as its file words it, and what the safety automaton wants told then; of heat
    only where something may be `hot` still."""
    there = sorted(places.at_closing(machine, bay.name) - (frozenset() if hot else {Hazard.HOT}))
    wanted = (": ".join(CAUTIONS[hazard]) for hazard in there)
    return gravest_first((*(one.told for one in bay.cautions if one.at("closing")), *wanted))


def _earth(machine: model.Machine, was: Undone) -> Iterator[Task]:
    """The frame's bond, measured before the power comes back: where it can be, and hands were in the machine."""
    if _bonded(machine, was) and (was.isolated or was.inside):
        yield Task("earth", machine.frame, to=earthing.reached_at(machine, was.opened))


def _bonded(machine: model.Machine, was: Undone) -> bool:
    """Whether there is a bond of the frame to measure, and a meter that can."""
    return bool(machine.frame and machine.supply.earth and was.measured)


def _stays_off(rule: str) -> bool:
    return bool(rule and STOPS[rule].tag)


def _left(machine: model.Machine, was: Undone, rule: str, off: bool, in_parts: bool) -> Iterator[Task]:
    """The power back where it was off, with what brings it back at the panel; or `off` at the breaker and tagged, as
    the stop rule wants it, and where it is left `in_parts`."""
    if off:
        tags = (NOT_WHOLE if in_parts else "", STOPS[rule].tag if rule else "")
        yield Task("tag", model.BREAKER, to="; ".join(filter(None, tags)))
    elif was.isolated or was.off or was.inside or was.breaker_off:
        kind = "judge" if rule and STOPS[rule].judged else "power"
        yield from (Task("panel", one.subject, to=one.name) for one in was.panel)
        at_the_panel = {one.subject for one in was.panel}
        controls = [control for control, _ in reversed(machine.supply.isolates)]
        at_breaker = was.breaker_off or was.left_off  # where the list that left it off has put the tag
        controls = [*([model.BREAKER] if at_breaker else []), *controls]
        for control in dict.fromkeys(one for one in controls if one not in at_the_panel):
            yield Task(kind, control, to=machine.controls[control].rest if control in machine.controls else "on")
