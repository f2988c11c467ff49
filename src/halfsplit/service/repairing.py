"""The repairs that are due, as work: what comes first, minutes, price, and how the machine is put together after them.

The only place that says so, for the talk of the guide and for the printed plan alike. Knows the guided diagnosis.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import takewhile

from halfsplit.evidence import finding as f
from halfsplit.evidence import switched
from halfsplit.machine import cautions, model, twins
from halfsplit.modes.fault import Repair
from halfsplit.plan import pricing
from halfsplit.plan.safely import Safely
from halfsplit.plan.steps import Step
from halfsplit.service import advising, behind_a_trip, isolating, naming, proving, setting_back, tasks, wording
from halfsplit.service.guiding import Guided
from halfsplit.service.proof_cards import ProofRun
from halfsplit.work import handling, prices, refusals, staying, stopping, together
from halfsplit.work.hazards import DRAIN_OUT_SAID, DRAIN_SAID, LET_OUT_SAID, MAY_SCALD, STOPS, Kind, gravest_first
from halfsplit.work.minutes import Cost
from halfsplit.work.refusals import NoHelper
from halfsplit.work.state import JobState, to_open, with_fronts

BARRED = "You said that this cannot be reached here: it lies behind what will not open. Find a way in, or hand it over."
UNDISCHARGED = f"{staying.NO_CHARGE_SEEN} Come back with a meter that does, or hand it over."
ALONE = "You said that nobody is here to help, and this takes two people: come back with a helper, or hand it over."
IN_SHORT = {
    STOPS[stopping.NOT_DEAD].say: "not to be proved dead with this meter",
    UNDISCHARGED: "its charge not to be seen gone with this meter",
    BARRED: "out of reach: a cover will not open",
    ALONE: "takes two, and nobody is here to help",
}
"""Why a repair cannot be made here (`why_barred`), where there is no room for all of it."""
HELD = "For the old {part}: {by}."
"""What comes off where a part is replaced."""
HELP_LATER = "To close the {bays} again takes {people}: have help there before you begin."
"""Told before a repair of covers that are off already; common practice, no source."""
BY_THE_WAY = "The {part} was switched off for this work, which is the repair: with the power on again it is made."
"""Told of what isolating has done (`evidence/switched`)."""


@dataclass(frozen=True)
class Work:
    """Repairs that are made in one go, as the owner and the repairer need them."""

    names: tuple[str, ...]
    cost: Cost
    """What the minutes go into, from how the machine stands now to closed again: what is open is not opened anew."""
    price: float
    """Of the parts, in `currency`."""
    currency: str
    by: tuple[str, ...]
    first: tuple[str, ...]
    """What comes before the work itself, in order: isolating, the gas, opening, photographs."""
    dangers: tuple[str, ...]
    """What must be acknowledged before hands go to the machine, each with its signal word."""
    cautions: tuple[str, ...]
    """What the file says is to be minded, in bays and of parts, and what is at what is shaken, each with its signal
    word."""
    trip: float
    """Minutes of a second trip, where a part is not on the van."""
    before_closing: tuple[str, ...]
    """What no repair explains, and how that is provoked while the machine is dead and open; among `closed` as well."""
    when: str
    """That a repair is not made before the list for putting together says so, with which the power comes back, or not
    while that has to stay off; "" where it is made at once."""
    closed: together.Closing
    """How the machine is put together afterwards, and proved off the frame before the power."""
    proof: ProofRun
    """What must be seen once it runs again."""

    @property
    def name(self) -> str:
        """All of them in a few words."""
        return " and ".join(self.names)

    @property
    def acknowledge(self) -> tuple[str, ...]:
        """All that is to be acknowledged before it begins, the proof run's with it, each with its signal word, gravest
        first."""
        return gravest_first((*self.dangers, *self.cautions, *self.proof.cautions))

    @property
    def minded(self) -> tuple[str, ...]:
        """The same without what the proof run says for itself, where each check has its own beside it: what is
        acknowledged before hands begin is of the work that they do then."""
        return gravest_first((*self.dangers, *self.cautions))

    @property
    def minutes(self) -> float:
        """From how the machine stands now until it is closed again; trying it is not among them."""
        return self.cost.minutes


def work(guided: Guided, repairs: Sequence[Repair]) -> Work:
    """What repairs take. What the house has is switched or handed over, and no bay of it opened."""
    machine = guided.machine
    shaken = proving.before_closing(guided, repairs)
    read = proving.to_frame(guided, repairs, shaken)
    closed, proof = proving.put_together(guided, repairs, shaken, read), proving.run(guided, repairs, shaken, read)
    safe = _safely(guided, repairs)
    wanted = frozenset(kind for one in safe for kind in one.kinds)
    return Work(
        tuple(one.name for one in repairs),
        _cost(guided, repairs, proving.opened_besides(guided, repairs, shaken, read), closed, shaken),
        sum(one.price for one in repairs),
        machine.currency,
        tuple(dict.fromkeys(one.by for one in repairs)),
        tuple(dict.fromkeys(naming.told(machine, one) for one in _first(guided, repairs, wanted, closed))),
        _dangers(guided, safe),
        tuple(dict.fromkeys((*_own_cautions(guided, repairs), *shaken.cautions))),
        prices.price_together(repairs, van=machine.van).trip,
        shaken.said,
        _when(guided, repairs, closed),
        closed,
        proof,
    )


def minutes(guided: Guided, repairs: Sequence[Repair]) -> float:
    """Minutes of repairs from how the machine stands now until it is closed again, without what would be provoked
    before the covers close: to work that out takes as long as all else of a sheet."""
    none = proving.Shaken()
    read = proving.to_frame(guided, repairs, none)
    closed = proving.put_together(guided, repairs, none, read)
    return _cost(guided, repairs, proving.opened_besides(guided, repairs, none, read), closed, none).minutes


def minded(guided: Guided, repairs: Sequence[Repair]) -> tuple[str, ...]:
    """What is to be minded at repairs, each with its signal word, gravest first; without what would be provoked before
    the covers close."""
    return gravest_first((*_dangers(guided, _safely(guided, repairs)), *_own_cautions(guided, repairs)))


def _safely(guided: Guided, repairs: Sequence[Repair]) -> list[Safely]:
    """What the automaton wants done, and acknowledged, before each for which hands go to the machine."""
    return [advising.repair_safely(guided.asked, guided.findings, one) for one in _hands_in(guided.machine, repairs)]


def _dangers(guided: Guided, safe: Sequence[Safely]) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*stopping.first(guided.findings), *(told for one in safe for told in one.cautions))))


def _when(guided: Guided, repairs: Sequence[Repair], closed: together.Closing) -> str:
    """When those are made at the panel, where the machine is open, set or isolated by then, or is to be read first."""
    names = " and ".join(one.name for one in repairs if handling.at_the_panel(guided.machine, one))
    kinds = [task.kind for task in closed.tasks]
    if names and "tag" in kinds:
        return f"{names}: not while the power has to stay off."
    return f"{names}: not before the list says so." if proving.PANEL in kinds else ""


def _hands_in(machine: model.Machine, repairs: Sequence[Repair]) -> list[Repair]:
    """Those for which hands go to the machine."""
    return [one for one in repairs if handling.hands_in(machine, one)]


def _bays(machine: model.Machine, repairs: Sequence[Repair]) -> tuple[str, ...]:
    """The bays that hands go to."""
    return tuple(bay for one in _hands_in(machine, repairs) for bay in one.bays)


def barred(guided: Guided, repairs: Sequence[Repair]) -> bool:
    """Whether repairs lie behind what the person said will not open, or take a helper whom they have not."""
    return refusals.bars_repairs(guided.machine, guided.standing, _hands_in(guided.machine, repairs))


def why_barred(guided: Guided, repairs: Sequence[Repair]) -> str:
    """Why repairs cannot be made here, "" where they can: who cannot prove it dead opens nothing; then what will not
    open, for no helper opens that."""
    if not barred(guided, repairs):
        return ""
    if refusals.unproved(guided.machine, guided.refused, repairs):
        return STOPS[stopping.NOT_DEAD].say
    machine, inside = guided.machine, _hands_in(guided.machine, repairs)
    if refusals.undischarged(machine, guided.refused, _bays(machine, inside)):
        return UNDISCHARGED
    shut = refusals.bars_repairs(machine, replace(guided.standing, refused=guided.refused - {NoHelper()}), inside)
    return BARRED if shut else ALONE


def _cost(
    guided: Guided, repairs: Sequence[Repair], besides: Sequence[str], closed: together.Closing, shaken: proving.Shaken
) -> Cost:
    """Isolating, cooling, opening what is shut, that which is opened `besides` too, the work, and what is shaken after
    it; then closing all that is open by then, with twins put back, as the list of putting together has it."""
    machine = guided.machine
    mine = [replace(one, bays=_bays(machine, [one])) for one in repairs]
    cost = pricing.repair_cost(machine, _standing(guided), *mine)
    more = sum(machine.bays[bay].open_minutes for bay in besides)
    provoked = sum(_provoking(guided, state, step) for state, step, _ in shaken.done if step)
    return replace(
        cost, opening=cost.opening + more, closing=closed.minutes, exchanging=0.0, provoking=provoked
    )


def _provoking(guided: Guided, state: JobState, step: Step) -> float:
    """Minutes of a step that is made before the covers close, beside opening and closing, which are counted as one with
    the rest."""
    made = pricing.cost_of(guided.machine, state, step)
    return made.minutes - made.opening - made.closing


def _standing(guided: Guided) -> JobState:
    return advising.standing(guided.asked, guided.findings)


def _own_cautions(guided: Guided, repairs: Sequence[Repair]) -> Iterator[str]:
    """Those of the bays that are opened for it, and of the parts."""
    machine = guided.machine
    yield from advising.of_bays(machine, _standing(guided), _bays(machine, repairs))
    parts = (machine.parts.get(one.subject) for one in repairs)
    yield from (cautions.placed(part.name, part.caution) for part in parts if part and part.caution)


# ---- what comes first --------------------------------------------------------------------------------------


def _first(
    guided: Guided, repairs: Sequence[Repair], wanted: Collection[Kind], closed: together.Closing
) -> Iterator[str]:
    """What comes before the repairs' own work; `wanted`: what the safety automaton wants done on the way; `closed`: how
    the machine is put together afterwards."""
    machine, state, inside = guided.machine, _standing(guided), _hands_in(guided.machine, repairs)
    bays, volts = _bays(machine, repairs), refusals.proving(guided.refused)
    if why := why_barred(guided, repairs):
        yield why
    yield from _closed_by_two(closed, to_open(machine, state, bays))
    made = switched.mended(machine, repairs, guided.all_findings)
    yield from (BY_THE_WAY.format(part=one.subject) for one in repairs if one.name in made)
    shut = to_open(machine, state, bays) if inside and (Kind.ISOLATE in wanted or not state.isolated) else None
    if shut is not None:
        yield from setting_back.before_off(machine, state.condition)
        yield isolating.isolate(machine, shut, bool(state.open_bays), volts)
    yield from wording.gas(machine, {Kind.GAS_OFF} & set(wanted))
    yield from wording.cooled(machine, wanted)
    late = handling.drained_inside(machine)
    yield from () if late else _drained(machine, inside)
    yield from wording.opening(machine, state, bays)
    yield from isolating.proved_dead(machine, to_open(machine, state, bays), shut is None, volts)
    yield from wording.made_safe(machine, {*state.open_bays, *with_fronts(machine, bays)}, wanted)
    yield from _drained(machine, inside) if late else ()
    yield from wording.lift_out(_lifted_out(guided, repairs))
    off = [terminal for one in repairs for terminal in handling.taken_off(machine, one)]
    yield from wording.photographs(machine, off, _been_off(guided))
    yield from (
        HELD.format(part=name, by=machine.parts[name].fasteners)
        for one in repairs
        for name in handling.unfastened(machine, one)
    )
    yield from behind_a_trip.made_it_trip(guided.bench, repairs)


def _closed_by_two(closed: together.Closing, opened: Collection[str]) -> Iterator[str]:
    """The covers that are closed after the work and take more than one, but for those that are `opened` for it: there
    that is said where they come off."""
    heavy = [task for task in closed.tasks if task.kind == "cover" and task.people > 1 and task.at not in opened]
    if heavy:
        people = tasks.so_many(max(task.people for task in heavy))
        yield HELP_LATER.format(bays=" and the ".join(task.at for task in heavy), people=people)


def _lifted_out(guided: Guided, repairs: Sequence[Repair]) -> tuple[str, ...]:
    """What sits in a socket that is replaced, and is not out yet; its own minutes are among those of the socket."""
    machine, at = guided.machine, _standing(guided).condition
    inside = [terminal for one in repairs for terminal in handling.out_first(machine, one)]
    return tuple(part for part in twins.pulled(machine, inside) if not at or part not in twins.pulled(machine, at.lift))


def _drained(machine: model.Machine, repairs: Sequence[Repair]) -> Iterator[str]:
    """How the water is let out below each part that comes out of it, before the part does."""
    if machine.water is not None:
        wet = (one for one in repairs if handling.in_water(machine, one))
        for one in wet:
            empty = one.is_whole or one.subject == machine.water.drain
            said = (DRAIN_OUT_SAID if empty else DRAIN_SAID) if machine.water.tap else LET_OUT_SAID
            hot = MAY_SCALD if handling.heats_water(machine) else ""
            yield said.format(**vars(machine.water) | {"part": one.subject, "hot": hot})


def _been_off(guided: Guided) -> tuple[str, ...]:
    """The terminals whose wires were off for a step so far, since the job was taken up again if it was."""
    since = takewhile(lambda x: not isinstance(x, f.Resumed), reversed(guided.findings))
    return tuple(t for x in since if isinstance(x, f.Reading) for t in x.condition.lift)
