"""What the steps and repairs of a job leave undone: bays in the order of opening, wires off, controls moved, gas shut.

Knows steps, repairs, bays and conditions; of what was found only that it was put together; not how it is made good
(that is work/together's).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from halfsplit.evidence import finding as f
from halfsplit.machine import model, twins
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import powering, pricing, taken
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.work import handling, minutes, places, together
from halfsplit.work.hazards import Pipe
from halfsplit.work.state import Cock, JobState, with_fronts
from halfsplit.work.together import Undone

Hands = Step | Repair | f.Closed | f.Resumed | taken.Perhaps
"""What hands do at a machine."""


def after(machine: model.Machine, done: Sequence[Hands], repairs: Sequence[Repair] = ()) -> Undone:
    """What was done so far, and then these repairs, leave undone; what surely was closed again on the way is closed.

    A repair among what was `done` has been tried, so that the machine is live again. Where nothing was done since, its
    bays count as open, and its wires and the twins exchanged are gone over once more: nobody has said that they were
    made good. A step after it begins at a machine that is closed, with all wires on.
    `repairs` are made now, with the machine isolated where hands go to it; what the house has is no bay to be closed.
    """
    left = _Left(machine)
    for one in done:
        match one:
            case f.Closed():
                left.made_good()
                left.state = taken.put_together(machine, left.state, one.power)
            case Repair():
                left.tried(one)
            case taken.Perhaps():
                left.perhaps_stepped(one)
            case f.Resumed():
                left.state = taken.resumed(left.machine, left.state)
            case _:
                left.stepped(one)
    last = done[-1] if done else None
    used = isinstance(last, Repair) or (isinstance(last, f.Closed) and last.power)
    at = conditions.usual(machine) if used else left.state.condition
    for repair in repairs:
        left.repaired(repair)
    surely = not isinstance(last, taken.Perhaps) and not left.state.unproved
    off = at is not None and conditions.cut_off(machine, at)
    perhaps = off or any(conditions.cut_off(machine, one) for one in left.perhaps)
    hands_in = any(handling.hands_in(machine, repair) for repair in repairs)
    isolated = (off and surely) or hands_in
    found = together.undone(machine, left.opened, left.lifted, at and replace(at, exchange=left.exchange))
    moved = {control: to for one in left.perhaps for control, to in together.undone(machine, (), (), one).moved}
    moved |= dict(found.moved)
    if hands_in and not off and not used:  # it is set back before it is isolated for them, where no cover is in the way
        back = {control for control, _ in found.moved} - machine.inside.keys()
        moved = {control: to for control, to in moved.items() if control not in back}
    drained = tuple(left.drained)
    panel = tuple(one for one in repairs if handling.at_the_panel(machine, one))
    people = max((repair.people for repair in repairs), default=1)
    hands = [bay for repair in repairs for bay in reached(machine, repair)]
    charged = found.charged if not (hands or isolated) else _charged(machine, left.state, hands, found.opened)
    return replace(
        found, isolated=isolated, proved=hands_in or left.state.isolated, off=perhaps and not isolated,
        charged=charged, pipe=left.pipe, moved=tuple(moved.items()), drained=drained, panel=panel, people=people,
        unfastened=tuple(left.unfastened), left_off=left.state.left_off,
        hot=left.state.warm > 0 and not pricing.cools_for(machine, *repairs),
    )  # fmt: skip


def _charged(machine: model.Machine, state: JobState, hands: Sequence[str], opened: Sequence[str]) -> tuple[str, ...]:
    """The bays that are open, where not all that is in reach has been discharged: for `hands` in a repair, or in what
    was done before it; else none. In what is only perhaps open nobody has done so."""
    sure = state.open_bays.union(hands)
    known = bool(hands and places.charge(machine, sure)) or minutes.discharged(machine, state)
    bare = any(places.charge_bare(machine, bay, sure) for bay in opened if bay not in sure)
    return () if known and not bare else tuple(opened)


class _Left:
    """What is left undone, while a job is gone through. `perhaps`: conditions in which the machine may stand."""

    def __init__(self, machine: model.Machine) -> None:
        self.machine, self.state = machine, JobState()
        self.made_good()

    def made_good(self) -> None:
        """Nothing is left undone."""
        self.opened: dict[str, None] = {}
        self.lifted: dict[str, None] = {}
        self.drained: dict[str, None] = {}
        self.unfastened: dict[str, None] = {}
        self.repaired_at, self.perhaps = Pipe.AWAY, tuple[Condition, ...]()
        self.exchange: twins.Exchange = ()
        self.was_tried = False

    def stepped(self, step: Step) -> None:
        """A step was done; where it powers the machine, what may have been open was made good before."""
        self._moved(step, taken.after(self.machine, self.state, step))
        if powering.powered(self.machine, step):
            self.perhaps, self.drained, self.unfastened = (), {}, {}
        self.exchange = self._exchange()

    def perhaps_stepped(self, one: taken.Perhaps) -> None:
        """A step was done or not."""
        self.perhaps = (*self.perhaps, *_stands(taken.begun(self.machine, self.state, one)))
        self._moved(one.step, taken.perhaps(self.machine, self.state, one))
        self.exchange = self._exchange()

    def _moved(self, step: Step, state: JobState) -> None:
        if self.was_tried:  # put together for it: what is done now begins at a closed machine
            self.drained, self.unfastened, self.repaired_at, self.was_tried = {}, {}, Pipe.AWAY, False
        self.state = state
        needed = with_fronts(self.machine, bays_needed(self.machine, step))
        open_now = state.open_bays | state.perhaps_open
        self.opened = {bay: None for bay in (*self.opened, *needed) if bay in open_now}
        self.lifted = _kept(self.lifted, (*state.lifted, *sorted(state.perhaps_off)))

    @property
    def pipe(self) -> Pipe:
        """How the gas pipe is left: as repairs leave it; else with the cock shut, unless it surely was opened since."""
        shut = self.repaired_at is Pipe.AWAY and self.state.cock is not Cock.OPEN
        return Pipe.BESIDE if shut else self.repaired_at

    def _exchange(self) -> twins.Exchange:
        return self.state.exchange or next((at.exchange for at in self.perhaps if at.exchange), ())

    def tried(self, repair: Repair) -> None:
        """A repair was made and tried; its own wires and covers are gone over once more."""
        self.repaired_at, self.perhaps = _pipe(self.machine, self.pipe, repair), ()
        self.state = taken.tried(self.machine, self.state)
        self._opened_for(repair, handling.out_first, handling.taken_off)
        self.was_tried = True

    def repaired(self, repair: Repair) -> None:
        """A repair is made now."""
        self.repaired_at = _pipe(self.machine, self.pipe, repair)
        self._opened_for(repair, handling.out_first, handling.taken_off, handling.pulled_out)

    def _opened_for(self, repair: Repair, *come_off: Callable[[model.Machine, Repair], Iterable[str]]) -> None:
        self.opened |= dict.fromkeys(reached(self.machine, repair))
        self.drained |= dict.fromkeys(_drained(self.machine, repair))
        self.unfastened |= dict.fromkeys(handling.unfastened(self.machine, repair))
        for which in come_off:
            self.lifted |= dict.fromkeys(which(self.machine, repair))


def _stands(state: JobState) -> tuple[Condition, ...]:
    """The condition of a machine that does not stand as its owner left it."""
    return (state.condition,) if state.condition else ()


def _drained(machine: model.Machine, repair: Repair) -> tuple[str, ...]:
    return (repair.subject,) if handling.in_water(machine, repair) else ()


def reached(machine: model.Machine, repair: Repair) -> tuple[str, ...]:
    """The bays that hands go to for a repair, in the order of opening; none for what the house has."""
    return with_fronts(machine, repair.bays) if handling.hands_in(machine, repair) else ()


def _pipe(machine: model.Machine, was: Pipe, one: Repair) -> Pipe:
    """How a repair leaves the gas pipe."""
    now = handling.pipe(machine, one)
    return was if now is Pipe.AWAY or was is Pipe.APART else now


def _kept(before: dict[str, None], now: Iterable[str]) -> dict[str, None]:
    """What is there now, in the order in which it came."""
    wanted = dict.fromkeys(now)
    return {one: None for one in before if one in wanted} | wanted
