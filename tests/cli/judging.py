"""What is wrong in telling a thing, as the machine stands by the words told before.

A danger is one where it may be; a contradiction only where it is sure. Rules of its own: none is asked of the guide.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from halfsplit.operate.condition import WARMTH
from tests.cli.account import AS_LEFT, NO, NO_HANDS, YES, Account, Course
from tests.cli.told_doings import UNKNOWN, Doing

LIVE = "Live parts"
MOVING = "may start by itself"
HANDS = ("hands", "lift", "refit", "lift out", "plug part in", "swap", "swap back", "turn", "touch", "shake", "hold",
         "repair", "fasten", "photo")  # fmt: skip
DEAD_READS = ("dead read", "bond")
BODY = 37.0
"""What is colder than this [°C] comes to it by standing."""
QUIET = ("running", "hums", "lit", "sounds", "energised", "heat", "air", "tingles", "trips", "chatters", "noisy")
"""Kinds of symptom that show at work only."""


class Judge(Course):
    """Says what is wrong with each doing, as the account stands."""

    def wrong(self, now: Account, doing: Doing) -> Iterator[str]:
        """What is wrong in telling this, as the machine stands by the words so far."""
        if doing.kind == UNKNOWN:
            yield f"a sentence that the reader does not know: {doing.said}"
        by_kind = {
            "open": self._open, "close": self._close, "power last": self._power_last, "all on": self._all_power,
            "judged on": self._power,
            "plug in": self._plug_in, "plug out": self._plug_out, "breaker off": self._breaker_off,
            "breaker on": self._breaker_on, "dead read": self._dead_read, "bond": self._bond,
            "live read": self._live, "wall read": self._wall, "clamp": self._live, "look": self._look,
            "see": self._see, "lift": self._lift, "lift out": self._lift, "refit": self._refit,
            "plug part in": self._refit, "gas on": self._gas_on, "gas off": self._gas_off, "warm closed": self._warm,
            "warm": self._warm, "warm up": self._warm, "load": self._load, "swap": self._swap,
            "swap back": self._swap_back,
            "covers on": self._covers_on, "dead": self._prove_dead, "join": self._join,
        }  # fmt: skip
        if doing.kind in HANDS and not (doing.kind == "repair" and doing.at.startswith(NO_HANDS)):
            yield from self._hands(now, doing)
        if doing.kind in by_kind:
            yield from by_kind[doing.kind](now, doing)

    # ---- power --------------------------------------------------------------------------------------------------

    def _plug_out(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.plug == NO and not (self.perhaps or now.unsure or self._proves(now)):
            yield "the plug is told out that is out"

    def _plug_in(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.plug == YES:
            yield "the plug is told in that is in"
        yield from self._powered(now, replace(now, plug=YES))

    def _breaker_off(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.breaker == NO and not (self.perhaps or now.unsure or self._proves(now)):
            yield "the breaker is told off that is off"

    def _proves(self, now: Account) -> bool:
        """Whether it is isolated to be proved dead, which it was not since it was last live: that is made sure of."""
        return not now.dead and any(one.kind == "dead" for one in self.block)

    def _breaker_on(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.breaker == YES:
            yield "the breaker is told on that is on"
        yield from self._powered(now, replace(now, breaker=YES))

    def _power(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.on == YES and "power" not in now.doubt:
            yield "the power is told on that is on"
        yield from self._powered(now, self.all_on(now))

    def _power_last(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.on == YES and "power" not in now.doubt:
            yield "the power is told on that is on"
        for name, may in now.set.items():
            control = self.machine.controls[name]
            if not (control.momentary or control.hands or AS_LEFT in may or control.rest in may):
                yield f"the power told last with {name} at {'/'.join(sorted(may))}"
        tagged = now.tagged and doing.at != "breaker"
        yield from self._powered(now, replace(now, tagged=tagged, **{doing.at: YES}))  # type: ignore[arg-type]

    def _all_power(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.on == YES and "power" not in now.doubt:
            yield "the power is told on that is on"
        yield from self._powered(now, replace(now, plug=YES, breaker=YES, tagged=False))

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
        if self._beside_a_charge(replace(now, open={doing.at: YES}), True):
            yield f"{doing.at} told closed beside a charge"

    def _hands(self, now: Account, doing: Doing) -> Iterator[str]:
        outside = not now.opened() and doing.kind in ("lift out", "plug part in", "hold", "hands", "touch")
        if now.on != NO:
            yield f"hands ({doing.kind} {doing.at}) with the power perhaps on"
        elif not now.dead and not outside and doing.kind != "repair":
            yield f"hands ({doing.kind} {doing.at}) before it is proved dead"
        if doing.kind != "repair" and self._beside_a_charge(now, doing.kind == "hands"):
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
        if now.swapped == NO and "swapped" not in now.doubt:
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
        inside = any(end.split(".")[0] in self.machine.parts for end in (doing.at, doing.to))
        if inside and self._beside_a_charge(now):
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
            if not (kept or control.hands) and AS_LEFT not in may and may != {control.rest} and len(self.block) > 0:
                yield f"a dead reading told without how {name} stands, which was set before ({'/'.join(sorted(may))})"

    def _bond(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.on != NO:
            yield "the frame's bond measured with the power perhaps on"
        elif not now.dead:
            yield "the frame's bond measured before it is proved dead"

    def _live(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.on != YES:
            off = f"{'perhaps ' * (now.on != NO)}off by the words"
            yield f"a reading under power ({doing.at}) on a machine that is {off}"
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
        if seen_unplugged(doing.at) and now.plug != NO and "plug" in {**self.isolates, "plug": ""} and not now.barred:
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
        if doing.kind == "warm closed" and now.opened():
            yield "warmed closed, by the words it is open"
        rest = next(iter(self.machine.warmths), doing.at)
        wanted = next((one for one in self.machine.settings.values() if dict(one).get(WARMTH) == doing.at), ())
        for name, position in wanted:
            own = self.machine.controls.get(name)
            known = now.set.get(name, frozenset({own.rest} if own else ()))
            if own and not own.momentary and name not in self.machine.inside and doing.kind != "warm":
                yield from [f"warmed with {name} at {'/'.join(known)}"] if position not in known else []
        hottest = max((there.get(doing.at, 0.0) for there in self.machine.places.values()), default=0.0)
        if doing.at != rest and now.on != YES and hottest > BODY:
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
        if now.cock == YES and not (self.perhaps or now.unsure or "cock" in now.doubt):
            yield "the cock told open that is open"

    def _gas_off(self, now: Account, doing: Doing) -> Iterator[str]:
        perhaps = self.perhaps or now.unsure or "cock" in now.doubt or "leave it shut" in doing.said
        if now.cock == NO and not perhaps:
            yield "the cock told shut that is shut"

    def _join(self, now: Account, doing: Doing) -> Iterator[str]:
        if now.cock != NO:
            yield "the pipe told joined with the cock perhaps open"

    # ---- facts --------------------------------------------------------------------------------------------------

    def _beside_a_charge(self, now: Account, at_both: bool = False) -> bool:
        """Whether the charge of a capacitor may be met behind what may stand open; `at_both`: at both of its ends, so
        that it can be discharged there."""
        opened = {*now.opened()}
        met = (one.across(opened) if at_both else one.met & opened for one in self.machine.stored)
        return now.charged and any(met)

    def _is_live(self, bay: str) -> bool:
        """Whether terminals that may be live lie bare in it."""
        parts = [part for part in self.machine.parts.values() if part.bay == bay and part.terminals]
        return any(part.name != self.machine.frame for part in parts)

    def _said(self, now: Account, words: str) -> bool:
        told = now.told | self.cautions
        return any(words in one or ("live" in words and one.startswith("DANGER: Live")) for one in told)

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
        if now.tagged and self.machine.gas and now.cock != NO:
            yield "left without power, and the gas perhaps open"
        for name, may in now.set.items():
            control = self.machine.controls[name]
            if not (control.momentary or AS_LEFT in may or control.rest in may):
                yield f"left with {name} at {'/'.join(sorted(may))}"


def seen_unplugged(at: str) -> bool:
    """Whether a place is seen with the plug out only."""
    return "plug's" in at or "slot" in at or at == "the wall receptacle"
