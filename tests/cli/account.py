"""The physical state of a machine by told words alone, and what is wrong in what is told next.

Every fact is the set of what it may be: where nobody knows whether a step was begun, both. A danger is one where it may
be; a contradiction only where it is sure. Knows the facts of the machine's file; no rule of the guide is asked.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from halfsplit.machine import model
from halfsplit.operate.condition import WARMTH
from tests.cli.told_doings import UNKNOWN, Doing

May = frozenset[str]
YES, NO, EITHER = frozenset({"yes"}), frozenset({"no"}), frozenset({"yes", "no"})
AS_LEFT = "as its owner left it"
LIVE = "Live parts"
MOVING = "may start by itself"
HANDS = ("hands", "lift", "refit", "lift out", "plug part in", "swap", "swap back", "turn", "touch", "shake", "hold",
         "repair", "fasten", "photo")  # fmt: skip
DEAD_READS = ("dead read", "bond")
QUIET = ("running", "hums", "lit", "sounds", "energised", "heat", "air", "tingles", "trips", "chatters", "noisy")
"""Kinds of symptom that show at work only."""


@dataclass(frozen=True)
class Account:
    """How it stands. `open`, `off`: bays and terminals (or parts that plug in) by whether they are; `set`: controls by
    where they stand; `joined`: the gas pipe; `told`: the cautions of this power state."""

    plug: May = YES
    breaker: May = YES
    open: Mapping[str, May] = field(default_factory=dict)
    off: Mapping[str, May] = field(default_factory=dict)
    set: Mapping[str, May] = field(default_factory=dict)
    swapped: May = NO
    dead: bool = False
    meter: bool = False
    barred: bool = False
    """Whether no meter proves it dead."""
    bonded: bool = True
    """Whether the frame's bond was measured since a cover or a wire was off."""
    cock: May = YES
    joined: bool = True
    tested: bool = True
    hot: bool = True
    charged: bool = True
    tagged: bool = False
    told: frozenset[str] = frozenset()
    photos: frozenset[str] = frozenset()
    """The terminals that were photographed for a repair, whose wires come off with it."""
    repaired: bool = False
    unsure: bool = False
    """Whether something was taken back or set aside since the power was told off: it is told off once more then."""
    doubt: frozenset[str] = frozenset()
    """What a step that was set aside told open or off: told closed or back once more, it is no contradiction."""
    in_parts: bool = False
    """Whether the words leave something as it is, open or off, for who takes over."""

    @property
    def on(self) -> May:
        """Whether there is power in it."""
        if "no" in (self.plug & self.breaker) and not self.plug & self.breaker & YES:
            return NO
        if self.plug == NO or self.breaker == NO:
            return NO
        return YES if self.plug == YES and self.breaker == YES else EITHER

    def opened(self) -> list[str]:
        """The bays that may be open."""
        return [bay for bay, may in self.open.items() if "yes" in may]

    def is_open(self, bay: str) -> May:
        return self.open.get(bay, NO)

    def is_off(self, what: str) -> May:
        return self.off.get(what, NO)


def either(one: Account, other: Account) -> Account:
    """Where nobody knows which of two it is."""

    def both(a: Mapping[str, May], b: Mapping[str, May], rest: May) -> dict[str, May]:
        return {name: a.get(name, rest) | b.get(name, rest) for name in {**a, **b}}

    return replace(
        one,
        plug=one.plug | other.plug, breaker=one.breaker | other.breaker,
        open=both(one.open, other.open, NO), off=both(one.off, other.off, NO),
        set=both(one.set, other.set, frozenset({AS_LEFT})),
        swapped=one.swapped | other.swapped,
        dead=one.dead and other.dead, meter=one.meter and other.meter, bonded=one.bonded and other.bonded,
        cock=one.cock | other.cock, joined=one.joined and other.joined, tested=one.tested and other.tested,
        hot=one.hot or other.hot, charged=one.charged or other.charged, tagged=one.tagged and other.tagged,
        told=one.told & other.told, unsure=one.unsure or other.unsure,
        doubt=one.doubt | other.doubt, repaired=one.repaired or other.repaired,
    )  # fmt: skip


class Judge:
    """Applies doings to an account, one after the other, and says what is wrong with each."""

    def __init__(self, machine: model.Machine) -> None:
        self.machine = machine
        self.isolates = dict(machine.supply.isolates)
        self.perhaps = self.proved = False
        self.block: list[Doing] = []
        self.stood: dict[str, May] = {}
        """How controls stood before this paragraph."""
        self.cautions: frozenset[str] = frozenset()

    def begins(self, doings: list[Doing], cautions: frozenset[str]) -> None:
        """A paragraph is told, of these doings, with these cautions before it."""
        self.block, self.cautions, self.perhaps, self.proved = doings, cautions, False, False
        self.stood = {}

    def wrong(self, now: Account, doing: Doing) -> Iterator[str]:
        """What is wrong in telling this, as the machine stands by the words so far."""
        if doing.kind == UNKNOWN:
            yield f"a sentence that the reader does not know: {doing.said}"
        by_kind = {
            "open": self._open, "close": self._close, "power on": self._power, "judged on": self._power,
            "plug in": self._plug_in, "plug out": self._plug_out, "breaker off": self._breaker_off,
            "breaker on": self._breaker_on, "dead read": self._dead_read, "bond": self._bond,
            "live read": self._live, "wall read": self._wall, "clamp": self._live, "look": self._look,
            "see": self._see, "lift": self._lift, "lift out": self._lift, "refit": self._refit,
            "plug part in": self._refit, "gas on": self._gas_on, "gas off": self._gas_off, "warm closed": self._warm,
            "warm": self._warm, "load": self._load, "swap": self._swap, "swap back": self._swap_back,
            "covers on": self._covers_on, "dead": self._prove_dead, "join": self._join,
        }  # fmt: skip
        if doing.kind in HANDS and not (doing.kind == "repair" and doing.at.startswith("breaker")):
            yield from self._hands(now, doing)
        if doing.kind in by_kind:
            yield from by_kind[doing.kind](now, doing)

    # ---- power --------------------------------------------------------------------------------------------------

    def _plug_out(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.plug == NO and not (self.perhaps or now.unsure):
            yield "the plug is told out that is out"

    def _plug_in(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.plug == YES:
            yield "the plug is told in that is in"
        yield from self._powered(now, replace(now, plug=YES))

    def _breaker_off(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.breaker == NO and not (self.perhaps or now.unsure):
            yield "the breaker is told off that is off"

    def _breaker_on(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.breaker == YES:
            yield "the breaker is told on that is on"
        yield from self._powered(now, replace(now, breaker=YES))

    def _power(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.on == YES:
            yield "the power is told on that is on"
        yield from self._powered(now, self._all_on(now))

    def _all_on(self, now: Account) -> Account:
        return replace(now, **{name: YES for name in self.isolates})  # type: ignore[arg-type]

    def _powered(self, was: Account, now: Account) -> Iterator[str]:
        """What must be so before the power comes."""
        if now.on == NO or was.on == YES:
            return
        bare = [bay for bay in now.opened() if self._is_live(bay)]
        if bare and not self._said(now, LIVE):
            yield f"power beside open covers ({', '.join(bare)}) without the caution of live parts"
        if self.machine.frame and not now.bonded:
            yield "power told before the frame's bond was measured since a cover or a wire was off"
        if off := [what for what, may in now.off.items() if "yes" in may]:
            yield f"power told with {', '.join(off)} perhaps off"
        if not (now.joined and now.tested):
            yield "power told with a gas joint open or not tested"
        if now.tagged:
            yield "power told on a machine that is told to be tagged"

    def _prove_dead(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.on != NO:
            yield "proved dead with the power perhaps on"

    # ---- covers, wires, hands -----------------------------------------------------------------------------------

    def _open(self, now: Account, doing: Doing) -> Iterator[str]:
        bay = self.machine.bays[doing.at]
        if now.is_open(bay.name) == YES:
            yield f"{bay.name} told open that is open"
        if bay.behind in self.machine.bays and now.is_open(bay.behind) != YES:
            yield f"{bay.name} told open before {bay.behind}, which is in front of it"
        if now.on != NO:
            yield f"{bay.name} told open with the power perhaps on"
        if bay.name in self.machine.hot_bays and now.hot and not self._said(now, "Hot parts"):
            yield f"{bay.name} told open hot, without waiting and without the caution"
        if self.machine.gas and bay.name in self.machine.gas.bays and now.cock != NO:
            yield f"{bay.name} with gas pipe told open with the cock perhaps open"

    def _close(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.is_open(doing.at) == NO and not (self.perhaps or doing.at in now.doubt):
            yield f"{doing.at} told closed that is closed"
        behind = [b.name for b in self.machine.bays.values() if b.behind == doing.at and now.is_open(b.name) != NO]
        if behind:
            yield f"{doing.at} told closed before {', '.join(behind)} behind it"
        if now.on != NO:
            yield f"{doing.at} told closed with the power perhaps on"

    def _hands(self, now: Account, doing: Doing) -> Iterator[str]:
        outside = not now.opened() and doing.kind in ("lift out", "plug part in", "hold", "hands", "touch")
        if now.on != NO:
            yield f"hands ({doing.kind} {doing.at}) with the power perhaps on"
        elif not now.dead and not outside and doing.kind != "repair":
            yield f"hands ({doing.kind} {doing.at}) before it is proved dead"
        if self.machine.stored and now.charged and now.opened() and doing.kind != "repair":
            yield f"hands ({doing.kind} {doing.at}) beside a charge"

    def _lift(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.is_off(doing.at) == YES:
            yield f"{doing.at} told off that is off"
        yield from self._reached(now, doing.at, doing.kind)

    def _refit(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.is_off(doing.at) == NO and not (self.perhaps or now.repaired or doing.at in now.doubt):
            yield f"{doing.at} told back that is on"

    def _swap(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.swapped == YES:
            yield "parts told swapped that are swapped"

    def _swap_back(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.swapped == NO:
            yield "parts told back that were not swapped"

    # ---- readings and looks -------------------------------------------------------------------------------------

    def _dead_read(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.on != NO:
            yield f"ohms ({doing.at}) with the power perhaps on"
        elif not now.dead:
            yield f"ohms ({doing.at}) before it is proved dead"
        part = self.machine.parts.get(doing.at.split(".")[0])
        if now.hot and part and part.bay in self.machine.hot_bays:
            yield f"ohms ({doing.at}) where it is hot, before it has cooled"
        if self.machine.stored and now.charged and now.opened():
            yield f"ohms ({doing.at}) beside a charge"
        for end in (doing.at, doing.to):
            yield from self._reached(now, end, "ohms")
        yield from self._stands_as_said(now)

    def _stands_as_said(self, now: Account) -> Iterator[str]:
        """How controls stand that were moved in an earlier step is said again with a dead reading."""
        said = {one.at for one in self.block if one.kind in ("set", "set back", "stands", "turn")}
        loose = {name for bay in now.opened() for name in self.machine.bays[bay].frees}
        for name, may in now.set.items():
            control = self.machine.controls[name]
            kept = control.momentary or name in self.machine.inside or name in loose or name in said
            if not kept and AS_LEFT not in may and may != {control.rest} and len(self.block) > 0:
                yield f"a dead reading told without how {name} stands, which was set before ({'/'.join(sorted(may))})"

    def _bond(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.on != NO:
            yield "the frame's bond measured with the power perhaps on"
        elif not now.dead:
            yield "the frame's bond measured before it is proved dead"

    def _live(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.on != YES:
            yield f"a reading under power ({doing.at}) on a machine that is {'perhaps ' * (now.on != NO)}off by the words"
        if now.opened() and not self._said(now, LIVE):
            yield f"a reading under power ({doing.at}) without the caution of live parts"
        if doing.kind == "live read":
            if not now.meter:
                yield f"a reading under power ({doing.at}) with a meter that was not proved in this power state"
            for end in (doing.at, doing.to):
                yield from self._reached(now, end, "volts")

    def _wall(self, now: Account, doing: Doing) -> Iterator[str]:
        if "slot" in doing.at and (now.plug != NO or now.breaker != YES):
            yield "the receptacle's slots read with the plug perhaps in or the breaker perhaps off"
        if not now.meter:
            yield f"a reading at the wall ({doing.at}) with a meter that was not proved in this power state"

    def _reached(self, now: Account, place: str, how: str) -> Iterator[str]:
        """Whether a lead or a hand comes to a place by the covers that are told off."""
        part = self.machine.parts.get(place.removeprefix("the ").split(".")[0])
        if part is None or part.house or part.bay not in self.machine.bays or part.lifts:
            return
        if now.is_open(part.bay) != YES:
            yield f"{how} at {place}, behind {part.bay}, which is not told open"

    def _look(self, now: Account, doing: Doing) -> Iterator[str]:
        yield from self._reached(now, doing.at, "a look")
        part = self.machine.parts.get(doing.at.split(".")[0])
        inside = part is not None and part.bay in now.opened()
        if inside and now.on != NO:
            yield f"a look inside ({doing.at}) with the power perhaps on"
        if re_plug(doing.at) and now.plug != NO and "plug" in {**self.isolates, "plug": ""} and not now.barred:
            yield f"a look at {doing.at} with the plug perhaps in"

    # ---- running ------------------------------------------------------------------------------------------------

    def _see(self, now: Account, doing: Doing) -> Iterator[str]:
        asked = doing.at.split("? ")[0].rstrip("?").casefold()
        symptom = next((one for one in self.machine.symptoms.values()
                        if (one.question or one.name).rstrip("?").casefold().startswith(asked)), None)  # fmt: skip
        if symptom is None:
            yield f"a symptom that the file does not have: {doing.at}"
            return
        if symptom.by_hand and (now.on != NO or not now.dead):
            yield f"turned by hand with the power perhaps on, or before it is proved dead: {symptom.name}"
        if symptom.unpowered or symptom.by_hand:
            return
        if symptom.kind in QUIET and now.on != YES and not symptom.shows_as_left:
            yield f"run told ({symptom.name}) on a machine that is {'perhaps ' * (now.on != NO)}off by the words"
        if symptom.bay and now.is_open(symptom.bay) != YES:
            yield f"seen behind {symptom.bay}, which is not told open: {symptom.name}"
        if stops := [bay for bay in now.opened() if not self.machine.bays[bay].runs]:
            yield f"run told ({symptom.name}) while {', '.join(stops)} perhaps stands open, which stops it"
        if [bay for bay in now.opened() if self._is_live(bay)] and not self._said(now, MOVING):
            yield f"run told ({symptom.name}) beside open covers without the caution that it may start"
        parts = {name.split(".")[0] for name in (*symptom.of, *symptom.through)}
        warm = WARMTH in dict(symptom.setting)
        if self.machine.gas and warm and parts & set(self.machine.gas.parts) and now.cock != YES:
            yield f"the burner wanted with the cock perhaps shut: {symptom.name}"

    def _warm(self, now: Account, doing: Doing) -> Iterator[str]:
        if doing.kind == "warm closed" and (now.on != YES or now.opened()):
            yield "warmed closed and with the power on, by the words it is open or off"
        rest = next(iter(self.machine.warmths), doing.at)
        if doing.kind == "warm" and doing.at != rest and now.on != YES:
            yield f"let come to {doing.at} without power"
        if self.machine.gas and doing.at != rest and now.cock != YES:
            yield "warmed by gas with the cock perhaps shut"

    def _load(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.on != YES:
            yield "loaded on a machine that is off by the words"

    def _covers_on(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.opened():
            yield f"all covers told to be on with {', '.join(now.opened())} perhaps open"
        if now.on != YES:
            yield "a run told on a machine that is off by the words"

    # ---- gas ----------------------------------------------------------------------------------------------------

    def _gas_on(self, now: Account, doing: Doing) -> Iterator[str]:
        if not now.joined:
            yield "the cock told open with the pipe apart"
        if now.cock == YES and not self.perhaps:
            yield "the cock told open that is open"

    def _gas_off(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.cock == NO and "leave it shut" not in doing.said and not now.unsure:
            yield "the cock told shut that is shut"

    def _join(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.cock != NO:
            yield "the pipe told joined with the cock perhaps open"

    # ---- facts --------------------------------------------------------------------------------------------------

    def _is_live(self, bay: str) -> bool:
        """Whether terminals that may be live lie bare in it."""
        parts = [part for part in self.machine.parts.values() if part.bay == bay and part.terminals]
        return any(part.name != self.machine.frame for part in parts)

    def _said(self, now: Account, words: str) -> bool:
        told = now.told | self.cautions
        return any(words in one or ("live" in words and one.startswith("DANGER: Live")) for one in told)

    # ---- what comes of it ---------------------------------------------------------------------------------------

    def then(self, now: Account, doing: Doing) -> Account:
        """How it stands after it is done."""
        at, to = doing.at, doing.to
        match doing.kind:
            case "perhaps":
                self.perhaps = True
            case "plug out":
                now = self._switched(now, replace(now, plug=NO))
            case "plug in":
                now = self._switched(now, replace(now, plug=YES))
            case "stays off" | "breaker off":
                now = self._switched(now, replace(now, breaker=NO))
            case "breaker on":
                now = self._switched(now, replace(now, breaker=YES))
            case "power on" | "judged on":
                now = self._switched(now, self._all_on(now))
            case "panel":
                now = self._switched(now, replace(now, breaker=YES))
            case "tag":
                now = replace(self._switched(now, replace(now, **{at: NO})), tagged=True)  # type: ignore[arg-type]
            case "dead":
                now, self.proved = replace(now, dead=True, meter=True, unsure=False), True
            case "unproved":
                now = replace(now, barred=True)
            case "meter":
                now, self.proved = replace(now, meter=True), True
            case "cool":
                now = replace(now, hot=False)
            case "discharge":
                now = replace(now, charged=False)
            case "open":
                loosened = bool(self.machine.frame)
                lands = self._lands(at)
                now = replace(now, open={**now.open, at: YES}, bonded=now.bonded and not loosened,
                              dead=now.dead and not lands)  # fmt: skip
            case "close":
                now = replace(now, open={**now.open, at: NO})
            case "lift" | "lift out":
                now = replace(now, off={**now.off, at: YES}, bonded=False)
            case "photo":
                now = replace(now, photos=now.photos | {at})
            case "refit" | "plug part in":
                now = replace(now, off={**now.off, at: NO})
            case "swap":
                now = replace(now, swapped=YES)
            case "swap back":
                now = replace(now, swapped=NO)
            case "repair":
                own = [one for one in now.photos if f"replace {one.split('.')[0]}" in re.split(" and ", at)]
                off = {**now.off, **dict.fromkeys(own, YES)}
                now = replace(now, repaired=True, bonded=not self.machine.frame, off=off, photos=frozenset())
            case "bond":
                now = replace(now, bonded=True)
            case "gas on":
                now = replace(now, cock=YES)
            case "gas off":
                now = replace(now, cock=NO)
            case "join":
                now = replace(now, joined=True)
            case "leak test":
                now = replace(now, tested=True)
            case "left so":
                now = replace(now, in_parts=True)
            case "set back as it was":
                again = {one.at for one in self.block if one.kind == "set"}
                now = replace(now, set={c: self.stood.get(c, now.set[c]) if c in again else now.set[c] for c in now.set})
            case "set" | "turn" | "set back":
                if doing.kind == "set":
                    self.stood[at] = now.set.get(at, frozenset({AS_LEFT}))
                now = replace(now, set={**now.set, at: frozenset({to})})
            case "see" | "live read" | "clamp" | "warm closed" | "load":
                now = replace(now, hot=bool(self.machine.hot_bays))
        return now

    def _switched(self, was: Account, now: Account) -> Account:
        """The power changed: what was proved counts no more, and cautions are those of this paragraph."""
        anew = was.breaker != now.breaker and "yes" in now.breaker
        if was.on == now.on:
            return replace(now, dead=False) if anew else now
        return replace(now, dead=False, meter=self.proved, told=self.cautions, charged=now.charged or now.on != NO)

    def _lands(self, bay: str) -> bool:
        """Whether what is isolated at the breaker comes into a bay: dead is proved there anew."""
        if "plug" in self.isolates:
            return False
        ends = self.machine.supply.meets
        return any(self.machine.parts[end.split(".")[0]].bay == bay for end in ends if end != self.machine.frame)

    def at_the_end(self, now: Account) -> Iterator[str]:
        """What is wrong in how the machine is left."""
        if now.in_parts:
            return
        if now.opened():
            yield f"left with {', '.join(now.opened())} perhaps open"
        if off := [what for what, may in now.off.items() if "yes" in may]:
            yield f"left with {', '.join(off)} perhaps off"
        if now.swapped != NO:
            yield "left with parts perhaps swapped"
        if now.on != YES and not now.tagged:
            yield f"left {'perhaps ' * (now.on != NO)}without power, and no tag told"
        if now.on != NO and now.tagged:
            yield "left tagged, and the power perhaps on"
        for name, may in now.set.items():
            control = self.machine.controls[name]
            if not (control.momentary or AS_LEFT in may or control.rest in may):
                yield f"left with {name} at {'/'.join(sorted(may))}"


def re_plug(at: str) -> bool:
    """Whether a place is seen with the plug out only."""
    return "plug's" in at or "slot" in at or at == "the wall receptacle"
