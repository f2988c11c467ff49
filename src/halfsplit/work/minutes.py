"""What a step costs in minutes, all of it in one place so that it can be shown when asked why.

What hands do takes the machine's own minutes: of its bays and parts from the file, of the rest in `machine.handwork`;
`work.pace` scales both. How long warmth is waited for stands in `work.waits`. Common practice, no source, but for the
file's.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from halfsplit.machine import feeding, model, twins
from halfsplit.operate.condition import WARMTH, Condition, at_the_wall, cut_off, turned_inside, unplugged
from halfsplit.work import places, waits
from halfsplit.work import state as st

QUESTION = 0.4
"""To ask the owner and to hear the answer, on the phone or on site."""
SEEN_TOO = 0.2
"""To see one thing more on a machine that runs before us, set as that wants it."""
HEAT = 3.0
"""To warm one thing with hot air until it would act, and let it cool."""
LOAD = 5.0
"""The machine runs with its heaviest load on until what gives way in the supply would; common practice, no source."""


@dataclass(frozen=True)
class Cost:
    """Minutes by what they go into."""

    itself: float = 0.0
    opening: float = 0.0
    closing: float = 0.0
    power: float = 0.0
    setting: float = 0.0
    lifting: float = 0.0
    spades: float = 0.0
    """Old ones break now and then when wires are pulled off."""
    waiting: float = 0.0
    """Until the machine is as warm, or as cold, as it has to be."""
    exchanging: float = 0.0
    discharging: float = 0.0
    """To hold a resistor across each capacitor in reach, and to prove it discharged."""
    gas: float = 0.0
    """To shut the gas cock, or to open it."""
    cooling: float = 0.0
    """Until what our own run has heated may be touched."""
    running: float = 0.0
    """The machine runs and hands wait, until what is asked is seen or the supply has been loaded."""
    provoking: float = 0.0
    """After a repair, before the covers close: what no repair explains is provoked, or read once more."""

    @property
    def minutes(self) -> float:
        """All of it. The closing of a bay is priced once, when it is opened."""
        made_ready = self.power + self.gas + self.setting + self.lifting + self.spades
        made_ready += self.exchanging + self.discharging
        waited = self.waiting + self.cooling + self.running
        return self.itself + self.opening + self.closing + made_ready + waited + self.provoking

    @property
    def passed(self) -> float:
        """Those that have passed when it is done: what is opened for it is closed later."""
        return self.minutes - self.closing


def cost(
    machine: model.Machine,
    state: st.JobState,
    itself: float,
    bays: tuple[str, ...],
    at: Condition | None,
    running: float = 0.0,
) -> Cost:
    """What it takes to do something of `itself` minutes in these bays and this condition, from where things stand;
    running: minutes that the machine runs in that condition until it is seen. What says no condition is done on a
    machine that is isolated where it stands open."""
    opened = [machine.bays[bay] for bay in st.to_open(machine, state, bays)]
    opening, closing = sum(bay.open_minutes for bay in opened), sum(bay.close_minutes for bay in opened)
    wires_back = at is not None and not set(state.lifted) <= set(at.lift)
    to_prove = state.unproved and (wires_back or not (at and cut_off(machine, at)))  # hands; the bond before power
    inside = bool(opened) or (bool(state.open_bays) and (at is None or to_prove))
    inside |= state.left_off and to_prove and at is not None and not cut_off(machine, at)
    bays = tuple(bay.name for bay in opened)
    now = st.as_left(machine, state.condition, bays)
    uncovering = to_uncover(machine, now, at, state.isolated) if inside else 0.0
    uncovering += sum(proving(machine, state, bay) for bay in bays)
    if at is None:
        return Cost(itself, opening, closing, uncovering, running=running)
    itself += provoking(machine, at)
    change = _change(machine, now, at, machine.warmth_behind(bays), state.isolated)
    power, running = change.power + uncovering, running + change.running
    return replace(change, itself=itself, opening=opening, closing=closing, power=power, running=running)


def proving(machine: model.Machine, state: st.JobState, bay: str) -> float:
    """Minutes to prove dead once more in a bay that is opened, where the supply lands in a machine isolated already."""
    return machine.handwork.prove if state.isolated and places.supply_lands(machine, bay) else 0.0


def discharging(machine: model.Machine, state: st.JobState, bays: tuple[str, ...]) -> float:
    """Minutes to discharge what hands reach once these bays are open besides those that are: all of it in another power
    state, or where its own terminals are laid bare by that, else nothing, for it has been done."""
    opened = state.open_bays.union(st.with_fronts(machine, bays))
    fresh = (places.charge_bare(machine, bay, state.open_bays) for bay in opened - state.open_bays)
    return to_discharge(machine, opened) if not state.isolated or any(fresh) else 0.0


def discharged(machine: model.Machine, state: st.JobState) -> bool:
    """Whether what hands reach has been discharged: hands were in a machine that has been dead since."""
    return state.isolated and bool(places.charge(machine, state.open_bays))


def to_discharge(machine: model.Machine, opened: Collection[str] | None = None) -> float:
    """Minutes to discharge what hands reach with these bays open (None: all capacitors of a machine)."""
    opened = machine.bays if opened is None else opened
    found = places.discharged(machine, opened)
    return sum(machine.handwork.discharge + places.seconds(one.capacitor) / 60.0 for one in found)


def to_uncover(
    machine: model.Machine, now: Condition | None, at: Condition | None, isolated: bool | None = None
) -> float:
    """Minutes of power where covers come off on the way from one condition (None: as the owner left it) to another
    (None: any), beyond those of the change itself: off a live machine, and on again where it is to be live. isolated:
    as in `changing`.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate.condition import condition
    >>> heater = loading.load("water-heater")
    >>> dead, live = condition(heater, isolated=True), condition(heater)
    >>> [to_uncover(heater, *change) for change in ((dead, live), (live, dead), (live, live), (live, None))]
    [0.0, 0.0, 3.5, 1.5]
    """
    if _is_isolated(now, isolated):
        return 0.0
    if at is None:
        return machine.handwork.isolate
    return _powering(machine, now, at, False, True) - _powering(machine, now, at, False, _inside(machine, now, at))


def itself(machine: model.Machine, kind: str, what: str = "", closely: bool = False) -> float:
    """Minutes of hands and eyes for a reading, a look (once more and closely), or a symptom `what`; none where the
    machine has to run for it, since it is seen while it runs. Of a question those of asking, at which no hand is
    quicker than another.

    >>> from halfsplit.machine import loading
    >>> dryer = loading.load("vented-dryer")
    >>> itself(dryer, "reading"), itself(dryer, "symptom", "motor hums"), itself(dryer, "symptom", "time passes")
    (0.6, 1.0, 0.0)
    """
    if running(machine, kind, what):
        return 0.0
    hands = machine.handwork
    look = hands.look_closely if closely else hands.look
    return {"reading": hands.reading, "look": look, "symptom": hands.perceive, "question": QUESTION}[kind]


def running(machine: model.Machine, kind: str, what: str = "") -> float:
    """Minutes that the machine has to run, in the setting and once it is as warm as that says, until a symptom is seen.

    The machine's own time, which no pace scales. Nought for all else, and where the file says nothing of it.

    >>> from halfsplit.machine import loading
    >>> running(loading.load("vented-dryer"), "symptom", "one load dries in time")
    40.0
    """
    return machine.symptoms[what].takes if kind == "symptom" and what in machine.symptoms else 0.0


def provoking(machine: model.Machine, at: Condition | None) -> float:
    """Minutes to shake, heat, turn or warm what a condition says is shaken, heated, turned or warmed.

    To load the supply is no work: the machine runs for it, which `changing` counts.
    """
    if at is None or not at.provoke or at.loads:
        return 0.0
    return HEAT if at.in_hot_air else machine.handwork.shake


def changing(
    machine: model.Machine, now: Condition | None, at: Condition, left: str = "", isolated: bool | None = None
) -> float:
    """Minutes from one condition of the machine (None: as the owner left it, its controls at rest) to another. left:
    the warmth at which what is opened on the way leaves it, which nobody waits for ("": none is). isolated: whether it
    is that, and proved dead, now, which a reading at the wall with its plug out leaves as it was (None: as `now` says).

    An exchange of twins is made on a machine that is isolated and proved dead, and a control behind a cover is turned
    so: where it is neither before nor after, that is done in between.
    """
    return _change(machine, now, at, left, isolated).minutes


def exchanging(machine: model.Machine, now: Condition | None, at: Condition | None) -> float:
    """Minutes to put back what stands exchanged now and to exchange what should be; None: all in their own places.

    Two parts out and two parts in, each time.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate.condition import condition
    >>> cooktop = loading.load("coil-cooktop")
    >>> exchanging(cooktop, None, condition(cooktop, exchange=["left front burner", "right rear burner"]))
    2.0
    """
    was, wanted = (one.exchange if one else () for one in (now, at))
    return moving(machine, (*was, *wanted)) if was != wanted else 0.0


def moving(machine: model.Machine, parts: Iterable[str]) -> float:
    """Minutes to lift parts that plug in out of their places and to put each where another one was."""
    return sum(2 * machine.parts[name].lifts for name in parts)


def cooling(state: st.JobState, taken: Cost) -> float:
    """Minutes still to be waited before what is hot is touched, beyond those in which hands isolate and open.

    >>> cooling(st.JobState(warm=10.0), Cost(opening=4.0, power=2.0))
    4.0
    """
    return max(0.0, state.warm - taken.power - taken.opening - taken.waiting)


def cooled(state: st.JobState, passed: float) -> float:
    """`JobState.warm` after so many minutes.

    >>> cooled(st.JobState(warm=10.0), 4.0)
    6.0
    """
    return max(0.0, state.warm - passed)


def _change(machine: model.Machine, now: Condition | None, at: Condition, left: str, isolated: bool | None) -> Cost:
    """What it takes to bring the machine from one condition to another; left, isolated: as in `changing`."""
    hands, isolated = machine.handwork, _is_isolated(now, isolated)
    power = _powering(machine, now, at, isolated, _inside(machine, now, at))
    lifted = set(at.lift) - set(now.lift if now else ())
    put_back = set(now.lift if now else ()) - set(at.lift)
    lifting = _off(machine, lifted, hands.lift) + _off(machine, put_back, hands.lift)
    spades = hands.spade * len(lifted - set(machine.gripped))
    waiting = _waiting(machine, now, at, left)
    if waiting and isolated and at.isolated and not waits.by_itself(machine, at.position(WARMTH), True):
        power = hands.energise + hands.isolate  # it has to run for that
    return Cost(
        power=power, setting=hands.set * len(_moved(machine, now, at)), lifting=lifting, spades=spades,
        waiting=waiting, exchanging=exchanging(machine, now, at), running=_loading(now, at),
    )  # fmt: skip


def _is_isolated(now: Condition | None, isolated: bool | None) -> bool:
    """Whether the machine is isolated and proved dead."""
    return (now is not None and now.isolated) if isolated is None else isolated


def _inside(machine: model.Machine, now: Condition | None, at: Condition) -> bool:
    """Whether hands are in a dead machine on the way: twins change places, a control behind a cover is turned, or a
    plug behind one is pulled."""
    pulled = bool(feeding.plug_bay(machine)) and at_the_wall(machine, at)
    return pulled or bool(exchanging(machine, now, at) or turned_inside(machine, now or at, at))


def _powering(machine: model.Machine, now: Condition | None, at: Condition, isolated: bool, inside: bool) -> float:
    """Minutes to isolate a machine that is not, where it is to be so or hands go inside on the way; and to bring the
    power back where it has been off."""
    hands = machine.handwork
    isolating = hands.isolate if (at.isolated or inside) and not isolated else 0.0
    was_off = bool(isolating) or (now is not None and cut_off(machine, now))
    return isolating + (hands.energise if was_off and not cut_off(machine, at) else 0.0)


def _moved(machine: model.Machine, now: Condition | None, at: Condition) -> list[str]:
    """The controls that are set on the way. What cuts the machine off is moved by hand where it is pulled out for a
    reading at the wall; all else that it does is isolating and bringing the power back."""
    before, powers = dict(now.setting) if now else {}, {*dict(machine.supply.isolates), *unplugged(machine)}
    if cut_off(machine, at) and not (now and cut_off(machine, now)):
        powers = set()
    known = machine.controls
    return [c for c, p in at.setting if c != WARMTH and c not in powers and before.get(c, known[c].rest) != p]


def _off(machine: model.Machine, terminals: Collection[str], wires: float) -> float:
    """Minutes to take terminals off or to put them back: `wires` for each, but once for a part that plugs in."""
    parts = twins.pulled(machine, terminals)
    gripped = sum(terminal in machine.gripped for terminal in terminals)
    return wires * (len(terminals) - gripped) + sum(machine.parts[name].lifts for name in parts)


def _loading(now: Condition | None, at: Condition) -> float:
    """Minutes that the machine has to run until the supply has been loaded; none where it runs so already."""
    return LOAD if at.loads and now != at else 0.0


def _waiting(machine: model.Machine, now: Condition | None, at: Condition, left: str) -> float:
    """Minutes until the machine is as warm as wanted, from the warmth that opening leaves or where it stands."""
    if not machine.warmths:
        return 0.0
    return waits.waiting(machine, now.position(WARMTH) if now else "", at.position(WARMTH), at.isolated, left)
