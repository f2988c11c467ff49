"""A step in plain sentences: power, setting, what to open, where red and black go.

Knows steps and how the machine stands; chooses nothing. What each outcome would mean is told by service/meaning.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import zip_longest

from halfsplit.machine import feeding, model, twins
from halfsplit.operate.condition import WARMTH, Condition, at_warmth, cut_off, turned_inside
from halfsplit.operate.condition import condition as conditions_of
from halfsplit.plan import cock, powering, pricing, warmth
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.predict.predictor import Predictor
from halfsplit.quantity.display import duration
from halfsplit.service import acting, isolating, made_whole, naming, questions, setting_back, tasks
from halfsplit.work import earthing, places, refusals, together
from halfsplit.work.hazards import GAS_SAID, Kind
from halfsplit.work.state import Cock, JobState, to_open, with_fronts

# ---- what to do -------------------------------------------------------------------------------------------


def sentence(
    predictor: Predictor, state: JobState, step: Step, bays: tuple[str, ...], wanted: Collection[Kind] = ()
) -> str:
    """All that has to be done for a step, from how the machine stands, in the order in which it can be done.

    `wanted`: the kinds of thing that the safety automaton wants done on the way. It knows more than how the machine was
    left: a look at terminals behind a cover that is open already has them isolated first, and the power back later.
    """
    machine = predictor.machine
    safe = [*made_safe(machine, {*state.open_bays, *with_fronts(machine, bays)}, wanted)]
    back = [*_wires_back(machine, state, step)]
    shut = [*_turning(machine, state, step, True), *shutting_said(machine, state, step)]
    loose = [*_loose(machine, state, step)]
    off = [*_off(machine, state, step, bays, wanted)]
    power = [*_power_back(machine, state, step, bays, wanted)]
    volts = refusals.proving(state.refused)
    if cock.warms(machine, state, step) and cock.positions(machine, state, step).count(Cock.OPEN) == 1:
        wanted = {*wanted} - {Kind.GAS_ON}  # told with the warming
    tested, cock_shut = Kind.LEAK_TEST in wanted, [*gas(machine, {Kind.GAS_OFF} & set(wanted))]
    turned = {Kind.GAS_OFF, *(() if tested or not cock_shut else (Kind.GAS_ON,))}  # on again once hands are out
    set_back = [*setting_back.before_off(machine, state.condition)] if loose or off else []
    to_power = [*setting_back.before_on(machine, state.condition)] if power else []
    isolated = bool(loose) and powering.powered(machine, step) and not (back or shut)  # told with what may be open
    ready = [
        *(set_back if loose else ()),
        *loose,
        *_warmed(machine, state, step, bool(loose)),
        *(() if loose else set_back),
        *(() if isolated else off),
        *cooled(machine, wanted),
        *(() if tested else cock_shut),
        *(safe if back or shut else ()),
        *back,
        *gas(machine, set(wanted) - turned),
        *shut,
        *(cock_shut if tested else ()),
        *opening(machine, state, bays),
        *isolating.proved_dead(machine, to_open(machine, state, bays), isolated or not off, volts),
        *(() if back or shut else safe),
        *_exchanging(state, step),
        *_turning(machine, state, step, False),
        *gas(machine, (turned & set(wanted)) - {Kind.GAS_OFF}),
        *to_power,
    ]
    bare = {*state.open_bays, *with_fronts(machine, bays)} - {*powering.shut_to_run(machine, state, step)}
    meter = [*_meter_first(step, ready, wanted)]
    early = meter if power and bare else []  # nobody walks off with a meter from what is live and open
    back_to = {WARMTH} if warmth.is_unsure(machine, state, bool(power)) else set[str]()
    said = [*ready, *early, *power, *_setting(predictor, state, step, bays, bool(set_back or to_power), back_to)]
    out = [_who_sits(state, part) for part in pricing.looked_under(machine, state, step)]
    itself = acting.itself(predictor, state, step, bays, bool(off))
    done = [*(() if early else meter), *_by_place(machine, step), *lift_out(out), itself, *_plug_in(out)]
    return naming.told(machine, " ".join([*_leads_off_once(said), *done]))


def _leads_off_once(said: Sequence[str]) -> Iterator[str]:
    """Sentences, without that the leads come off where the next one begins so."""
    for one, then in zip_longest(said, said[1:], fillvalue=""):
        again = then.startswith(tasks.LEADS_OFF[:-1])
        yield one.removesuffix(f" {tasks.LEADS_OFF}") if again else one


METER_FIRST = "Prove the meter first on a source that you know to be live."
"""A dead meter shows the 0 V of a dead source. Told where the safety automaton wants it, once a power state, and not
where the meter is proved to prove the machine dead."""


def _meter_first(step: Step, said: Iterable[str], wanted: Collection[Kind]) -> Iterator[str]:
    if step.live and Kind.PROVE_METER in wanted and not any(isolating.PROVED in one for one in said):
        yield METER_FIRST


def _warmed(machine: model.Machine, state: JobState, step: Step, loose: bool) -> Iterator[str]:
    """How warm the machine has to be before it is isolated: nothing makes it warmer afterwards. Where gas warms it and
    the cock is shut, that is opened first. `loose`: it was isolated on the way, for what may be open or off."""
    if wanted := powering.first_warm(machine, state, step):
        if cock.warms(machine, state, step):
            yield isolating.isolate(machine, volts=refusals.proving(state.refused))
            yield from gas(machine, {Kind.GAS_ON})
            yield "Bring the power back."
        elif loose:
            yield POWER_BACK
        closed = "as it stands" if state.open_bays else "closed and"
        warm = f"{stand(machine, WARMTH, wanted)}, {closed} with the power on"
        used = ", ".join(warmed_in(machine, wanted, None if loose else state.condition))
        yield f"First set: {used}; {warm}; then set it back." if used else f"First {warm}."


def warmed_in(machine: model.Machine, wanted: str, stands: Condition | None) -> Iterator[str]:
    """The controls without which a machine never comes to a warmth, as its file names a setting for that, but for those
    that are so already; it `stands` so (None: at rest).

    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate.condition import usual
    >>> dryer = loading.load("vented-dryer")
    >>> list(warmed_in(loading.load("coil-cooktop"), "hot", None))
    ['left front low', 'right rear low', 'left rear low', 'right front low']
    >>> list(warmed_in(dryer, "hot", usual(dryer)))
    []
    """
    settings = (dict(setting) for setting in machine.settings.values())
    used = next((one for one in settings if one.get(WARMTH) == wanted), {})
    at = dict((stands or conditions_of(machine)).setting)
    out_of_reach = machine.house_controls | {WARMTH, *machine.inside}
    moved = {c: p for c, p in used.items() if c not in out_of_reach and p != at.get(c)}
    yield from (stand(machine, c, p) for c, p in moved.items() if not _let_go(machine, c, p))


def _off(
    machine: model.Machine, state: JobState, step: Step, bays: tuple[str, ...], wanted: Collection[Kind]
) -> Iterator[str]:
    """Isolating, where hands go in; for the house's own volts at the wall the plug alone is pulled, where it is in
    reach with nothing opened."""
    turns = _turned(machine, state, step)
    moves = bool(to_open(machine, state, bays) or powering.shut_to_run(machine, state, step) or turns)
    at_wall = step.condition is not None and not step.condition.isolated and cut_off(machine, step.condition)
    if at_wall and not feeding.plug_bay(machine):
        hands_in = not state.isolated and (turns or Kind.REFIT in wanted)
        out = state.condition is not None and cut_off(machine, state.condition)
        pulled = () if out else ("Pull the plug.",)
        safe = isolating.isolate(machine, to_open(machine, state, bays), volts=refusals.proving(state.refused))
        how = (safe,) if hands_in else pulled
        yield " ".join([*how, "The receptacle stays live."])
    elif Kind.ISOLATE in wanted or (
        not state.isolated and (moves or at_wall or (step.condition is not None and step.condition.isolated))
    ):
        shut, volts = to_open(machine, state, bays), refusals.proving(state.refused)
        yield isolating.isolate(machine, shut, bool(state.open_bays), volts)


def gas(machine: model.Machine, wanted: Collection[Kind]) -> Iterator[str]:
    """What is done about the gas on the way; nothing where the machine burns none."""
    if machine.gas is not None:
        yield from (text.format(cock=machine.gas.cock) for kind, text in GAS_SAID.items() if kind in wanted)


def _wires_back(machine: model.Machine, state: JobState, step: Step) -> Iterator[str]:
    already = set(state.lifted)
    yield from wires_back(machine, already - set(step.condition.lift) if step.condition else ())


def wires_back(machine: model.Machine, off: Collection[str]) -> Iterator[str]:
    """How what came off these terminals goes back."""
    again = sorted(off)
    yield from (f"Put the wires back on {terminal}." for terminal in again if terminal not in machine.gripped)
    yield from _plug_in(twins.pulled(machine, again))


def lift_out(parts: Iterable[str]) -> Iterator[str]:
    """How parts that plug in come out of their sockets."""
    yield from (f"Lift the {part} out." for part in parts)


def _plug_in(parts: Iterable[str]) -> Iterator[str]:
    yield from (f"Plug the {part} in again." for part in parts)


def _loose(machine: model.Machine, state: JobState, step: Step) -> Iterator[str]:
    """How what may be open or off, nobody knows, is made good before the machine is powered."""
    told = made_good(machine, state, step)
    if told:
        bays = [task.at for task in told if task.kind == "cover"]
        where = f"the {', the '.join(bays)}" if bays else "wires"
        how = " ".join(tasks.sentences(machine, told))
        safe = isolating.isolate(machine, volts=refusals.proving(state.refused))
        yield f"Where {where} may be open or off still: {lowered(safe)} {how}"


def made_good(machine: model.Machine, state: JobState, step: Step) -> tuple[together.Task, ...]:
    """What may be open or off, and is made good before the machine is powered for a step; with the frame's bond, but
    where that is measured once more before the power, beside open covers."""
    powers = powering.powered(machine, step) or powering.first_warm(machine, state, step)
    if not powers or not (state.perhaps_open or state.perhaps_off):
        return ()
    bays = [bay for bay in with_fronts(machine, tuple(machine.bays)) if bay in state.perhaps_open]
    opened = state.open_bays.union(with_fronts(machine, bays_needed(machine, step)))
    later = powering.powered(machine, step) and opened - {*powering.shut_to_run(machine, state, step)}
    return (
        *together.discharging(machine, state.open_bays | state.perhaps_open),
        *together.wired(machine, sorted(state.perhaps_off)),
        *together.covers(machine, bays, not later or earthing.reached_inside(machine, bays)),
    )


def shutting_said(machine: model.Machine, state: JobState, step: Step) -> Iterator[str]:
    """What must be closed for the machine to run, innermost first, with all that was undone behind each cover."""
    closed = shutting(machine, state, step)
    if closed:
        bays = [task.at for task in closed if task.kind == "cover"]
        stops = [bay for bay in bays if set(with_fronts(machine, (bay,))) & set(powering.stopping(machine, state))]
        why = [f"The machine does not run with the {', the '.join(stops)} open."] if stops else []
        off = dict.fromkeys((*powering.parting(machine, state, step), *powering.unducted(machine, state, step)))
        parted = [bay for bay in off if bay not in stops]
        why += [f"With the {bay} open the {' and the '.join(machine.bays[bay].frees)} is off." for bay in parted]
        told = {*powering.stopping(machine, state), *parted}
        left = any(not told & set(with_fronts(machine, (bay,))) for bay in bays)
        yield " ".join([*why, *((LEFT_OPEN,) if left else ()), "First:"])
        yield from tasks.sentences(machine, closed)


LEFT_OPEN = "No cover stays off over live parts while the machine runs that long."
"""Why covers are closed for a run in which the machine is left to itself (`powering.LEFT_RUNNING`)."""


def shutting(machine: model.Machine, state: JobState, step: Step) -> tuple[together.Task, ...]:
    """What is done to close what must not be open for a step."""
    shut = powering.shut_to_run(machine, state, step)
    order = [bay for bay in with_fronts(machine, shut) if bay in shut]
    return together.covers(machine, order, not state.open_bays - set(shut)) if order else ()


def _exchanging(state: JobState, step: Step) -> Iterator[str]:
    """Twins put back and exchanged, where the step wants them otherwise than they stand."""
    if step.condition is None:
        return
    were, are = state.exchange, step.condition.exchange
    if were and were != are:
        yield back(were)
    if are and were != are:
        first, second = are
        yield f"Swap the {first} and the {second}."


def back(pair: tuple[str, str]) -> str:
    """How twins that were exchanged are put back, in words."""
    return f"Put the {pair[0]} and the {pair[1]} back, each in its own place."


def _turned(machine: model.Machine, state: JobState, step: Step) -> tuple[str, ...]:
    """The controls behind covers that a step wants otherwise than they stand."""
    return turned_inside(machine, state.condition, step.condition) if step.condition else ()


def _turning(machine: model.Machine, state: JobState, step: Step, in_open: bool) -> Iterator[str]:
    """How they are turned, before the power is back; `in_open`: those in bays that stand open already, of which one may
    be closed next, or the others."""
    stands = dict(step.condition.setting) if step.condition else {}
    for control in _turned(machine, state, step):
        if (machine.turned_in(control) in state.open_bays) != in_open:
            continue
        where = machine.controls[control].where
        yield f"Turn {control} to {stands[control]}{f' ({where})' if where else ''}."


def _power_back(
    machine: model.Machine, state: JobState, step: Step, bays: tuple[str, ...], wanted: Collection[Kind]
) -> Iterator[str]:
    """Power, where the step needs it and it is off; beside open covers, and where a list has left it off, only with the
    frame proved bonded."""
    shut = set(powering.shut_to_run(machine, state, step))
    was_off = bool(state.condition and cut_off(machine, state.condition))
    moves = shut or to_open(machine, state, bays) or _turned(machine, state, step)
    back = Kind.ENERGISE in wanted or was_off or moves
    if not powering.powered(machine, step) or not back:
        return
    opened = {*state.open_bays, *with_fronts(machine, bays)} - shut
    left_off = Kind.PROVE_BOND in wanted and not shut and not state.perhaps_open  # else told with the covers
    if machine.frame and (opened or left_off):
        earth = earthing.reached_at(machine, opened)
        yield f"Ohms from {machine.frame} to {earth}: below 1 ohm; else leave the power off."
    yield POWER_BACK


POWER_BACK = "Take the leads off, clear your hands, and bring the power back."


def opening(machine: model.Machine, state: JobState, bays: tuple[str, ...]) -> Iterator[str]:
    """How the bays that are still shut are opened, with what to photograph before connectors are pulled."""
    for bay in to_open(machine, state, bays):
        fasteners, unplugs = machine.bays[bay].fasteners, machine.bays[bay].unplugs
        if unplugs:
            yield f"Photograph the connectors of {' and '.join(unplugs)}, then pull them."
        two = tasks.taken_by(machine.bays[bay].people)
        held = "" if not fasteners else f": {fasteners}" if two else f" ({fasteners})"
        yield f"Open the {bay}{two}{held}."


def cooled(machine: model.Machine, wanted: Collection[Kind]) -> Iterator[str]:
    """What is hot waited for, where the safety automaton wants that on the way: before any cover or part comes off."""
    if Kind.COOL in wanted:
        yield places.cool(machine)


def made_safe(machine: model.Machine, opened: Collection[str], wanted: Collection[Kind]) -> Iterator[str]:
    """What is charged discharged, where the safety automaton wants that on the way: it is reached behind its cover."""
    if Kind.DISCHARGE in wanted:
        yield from places.discharge(machine, opened)


def _setting(
    predictor: Predictor, state: JobState, step: Step, bays: tuple[str, ...], set_back: bool, anew: Collection[str]
) -> Iterator[str]:
    """What is set for a step; all that it wants, where the controls were `set_back` on the way, what is come to `anew`,
    and what decides the answer where nobody knows how its owner left it."""
    if step.condition is None:
        return
    machine, first = predictor.machine, questions.told_first(predictor, state, step)
    elsewhere = machine.house_controls
    elsewhere |= set(_turned(machine, state, step))
    rest = dict(conditions_of(machine).setting)
    before = dict(state.condition.setting) if state.condition else rest
    if set_back:
        before |= {c: rest[c] for c in before if c in machine.controls and c not in machine.inside}
    opened = {*state.open_bays, *with_fronts(machine, bays)}
    elsewhere |= set(made_whole.freed_controls(machine, opened))
    if step.probe:
        elsewhere |= set(made_whole.stand_astray(machine, step.probe, step.condition, opened))
    known = {c: p for c, p in before.items() if c not in {*first, *anew}}
    moved = [(c, p) for c, p in step.condition.setting if known.get(c) != p and c not in elsewhere]
    told = {WARMTH} if machine.warmth_behind(bays) or powering.first_warm(machine, state, step) else set()
    wanted = [stand(machine, c, p) for c, p in moved if not _let_go(machine, c, p) and c not in told]
    if wanted:
        yield f"Set: {', '.join(wanted)}."
    if step.probe and step.condition.isolated:
        yield from setting_back.still(machine, step.condition, {*elsewhere, *(control for control, _ in moved)})
        yield from () if WARMTH in told or WARMTH in dict(moved) else _only_so_warm(predictor, step)
    if step.condition.isolated:
        held = (machine.controls[c] for c, p in step.condition.setting if p == HELD and c in machine.controls)
        yield from (f"Have {control.name} {HOLDING}" for control in held if control.momentary)
    yield from _lifted(machine, state, step.condition)


def _only_so_warm(predictor: Predictor, step: Step) -> Iterator[str]:
    """How warm a machine has to be for a reading that shows otherwise where it is warmer or colder, and that no
    part of it warms in a run, as a tank: nobody knows how its owner left it. On hot water a thermostat is open, and
    good."""
    machine, probe, at = predictor.machine, step.probe, step.condition
    if machine.heats or not machine.warmths or probe is None or at is None:
        return
    shown, warmth = predictor.healthy_reading(probe, at), at.position(WARMTH)
    others = (at_warmth(at, other) for other in machine.warmths if other != warmth)
    if any(made_whole.otherwise(shown, predictor.healthy_reading(probe, other)) for other in others):
        long = machine.comes_to.get(warmth)
        took = f" (some {duration(long)} where it is not)" if long else ""
        yield f"Read it at '{warmth}' only{took}: else a good one shows otherwise."


HELD = "held"
"""The position of a momentary control that a finger keeps in."""
HOLDING = "held for the whole reading, by a helper or with tape; take the tape off before anything else."
"""How a control that springs back is held while both hands are at the leads; common practice, no source."""


def _let_go(machine: model.Machine, control: str, position: str) -> bool:
    """Whether a control is one that springs back and is not touched: nothing for a hand to do."""
    known = machine.controls.get(control)
    return known is not None and known.momentary and position == known.rest


def stand(machine: model.Machine, control: str, position: str) -> str:
    """How one control stands, or how warm the machine is to be."""
    if control == WARMTH:
        long = machine.comes_to.get(position)
        took = "" if not long else f", some {duration(long)}{'' if position == machine.warmths[0] else ' from cold'}"
        return f"let it come to '{position}'{took}"
    return f"{control} {position}" if control in machine.controls else f"{control}: {position}"


def _lifted(machine: model.Machine, state: JobState, at: Condition) -> Iterator[str]:
    already = set(state.lifted)
    fresh = [terminal for terminal in at.lift if terminal not in already]
    wired = [terminal for terminal in fresh if terminal not in machine.gripped]
    still_off = () if state.earlier else already
    yield from photographs(machine, wired, (*still_off, *_lifted_before(state)))
    yield from (f"Take the wires off {terminal}." for terminal in wired)
    yield from lift_out(twins.pulled(machine, fresh))


def _lifted_before(state: JobState) -> Iterator[str]:
    """The terminals whose wires were off in a step that was done, since the job was taken up again if it was: who
    took them off before may have the photographs."""
    for step in state.done - state.earlier:
        if isinstance(step, Step) and step.condition:
            yield from step.condition.lift


def photographs(machine: model.Machine, lifted: Sequence[str], before: Iterable[str] = ()) -> Iterator[str]:
    """What to photograph before these wires come off; `before`: terminals whose wires have been off already."""
    for part in together.photograph(lifted, before):
        wired = [t for t in (f"{part}.{t}" for t in machine.parts[part].terminals) if together.landing(machine, t)]
        each = (f"{t.split('.', 1)[1]} {' '.join(c for c, _ in together.landing(machine, t))}" for t in wired)
        yield f"Photograph {part} before its first wire comes off ({', '.join(each)})."


def _who_sits(state: JobState, place: str) -> str:
    """The part that sits in the place of this name: its twin, where they were put in each other's places."""
    return next((other for other in state.exchange if place in state.exchange and other != place), place)


def _by_place(machine: model.Machine, step: Step) -> Iterator[str]:
    """Which of two twins that stand in each other's places sits where a step reads or looks: names are of places."""
    first, second = step.exchange or ("", "")
    symptom = machine.symptoms[step.at] if step.kind == "symptom" else None
    about = {machine.elements[n].part if n in machine.elements else n for n in symptom.of} if symptom else set()
    about |= set(map(model.part_of, step.places))
    for place, sits in ((first, second), (second, first)):
        socket = next(twins.sockets(machine, place), "") if place else ""
        if about & {place, socket} - {""}:
            where = f"the {socket}" if socket else f"the place of the {place}"
            yield f"Go by the place: {where} holds the {sits} now."


def lowered(sentence: str) -> str:
    """A sentence as it stands within another.

    >>> lowered("Isolate the machine.")
    'isolate the machine.'
    """
    return sentence[:1].lower() + sentence[1:]
