"""Reads what is done in a session, thing after thing, and says what could hurt somebody. Keeps its own account.

Knows the words of the steps and where leads and hands go; nothing of needs, nor of the state that the automaton keeps.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from halfsplit.machine import model, primitives
from halfsplit.modes.fault import Repair
from halfsplit.operate.condition import WARMTH, Condition, cut_off, usual
from halfsplit.plan import safely
from halfsplit.plan.safely import Doing
from halfsplit.plan.steps import Step
from halfsplit.rehearse.random_steps import Sessions
from halfsplit.work import refusals
from halfsplit.work.hazards import Hazard, Kind

HANDS = {
    Kind.OHMS, Kind.LIFT, Kind.REFIT, Kind.EXCHANGE, Kind.TURN, Kind.REPAIR, Kind.DISCHARGE, Kind.PROVOKE, Kind.CLIP,
    Kind.MOVE,
}  # fmt: skip
LEADS_LIVE = {Kind.VOLTS, Kind.AMPS, Kind.SUPPLY}
STAYS = {"leaks", "smells"}
AT_WORK = {Kind.VOLTS, Kind.AMPS, Kind.WATCH, Kind.RUN, Kind.ENERGISE}


class Watcher:
    """One session: what is physically so, and what was shown since the power was last changed."""

    def __init__(self, machine: model.Machine, capacitor: bool) -> None:
        self.machine, self.stores = machine, capacitor
        self.feeds = {*range(len(machine.supply.isolates))}
        self.on, self.charged, self.earth = set(self.feeds), capacitor, False
        self.open: set[str] = set()
        self.off: set[str] = set()
        self.exchanged: set[str] = set()
        self.stands = {c.name: c.rest for c in machine.controls.values() if self._bay_of(c) != "outside"}
        self.since: list[Kind] = []
        self.told: set[Hazard] = set()
        self.bonded, self.loosened, self.left_loose = False, False, False
        self.places: set[str] = set()
        parts, bays = machine.parts.values(), machine.bays.values()
        stored = {e.part for e in machine.elements.values() if isinstance(e, primitives.Capacitor)}
        self.own = {part.bay for part in parts if part.name in stored} - {"outside"}
        plates = [e.ends for e in machine.elements.values() if isinstance(e, primitives.Capacitor)]
        self.ends = [[self._wired(end, False) for end in ends] for ends in plates]
        joined = {t for ends in plates for end in ends for t in self._wired(end, True)}
        self.storing = {machine.parts[t.split(".")[0]].bay for t in joined} & set(machine.bays)
        self.warm = {part.bay for part in parts if part.cools} | set(machine.gas.bays if machine.gas else ())
        self.warm -= {"outside"}  # what lies there is touched by everybody who uses the machine
        self.heavy = {bay.name for bay in bays if bay.people > 1}
        self.sharp = {bay.name for bay in bays if any(one.text.startswith("sharp") for one in bay.cautions)}
        self.hot = bool(self.warm)
        self.gets_hot = {part.name for part in parts if part.cools}
        self.just_ran = True
        self.glows = any(part.cools and part.bay not in machine.bays and not part.house for part in parts)
        wired = machine.supply.meets if "plug" not in dict(machine.supply.isolates) else ()
        self.fed = {machine.parts[model.part_of(terminal)].bay for terminal in wired} & set(machine.bays)
        self.laid_bare = 0
        plug = {part.bay for part in parts if part.house and any("prong" in one for one in part.terminals)}
        self.plug = plug & {bay.name for bay in bays}
        self.gas_on, self.apart, self.untested = machine.gas is not None, False, False

    @property
    def live(self) -> bool:
        """Whether any of its feeds is on."""
        return bool(self.on)

    def left_off(self) -> None:
        """A list has ended with the power off and tagged: whoever comes next begins anew."""
        self.on, self.since, self.told = set(), [], set()
        self.left_loose = self.loosened

    def reads(
        self, step: Step | Repair | None, doings: tuple[Doing, ...], refused: Collection[object] = frozenset()
    ) -> Iterator[str]:
        """Every danger in what is done for one step or repair, where another is done than advised, what was refused."""
        self.places = self._bays_of(step)
        for doing in doings:
            yield from self._seen_hot(step, doing)
            yield from self._dangers(doing)
            yield from self._unwilling(doing, refused)
            self._then(doing)
        if isinstance(step, Step):
            closed = {doing.at for doing in doings if doing.kind is Kind.CLOSE} & self.heavy
            if refusals.NoHelper() in refused:
                yield from (f"closed alone though it takes two: {bay}" for bay in sorted(closed))
            lifted = {doing.at for doing in doings if doing.kind is Kind.LIFT}
            back = (doing for doing in reversed(doings) if not (doing.kind is Kind.REFIT and doing.at in lifted))
            yield from self._other_than(step, next(back).kind)
            if doings[-1].kind is Kind.ASK and len(doings) > 1:
                yield f"done to the machine for a question: {doings[0].kind}"
            yield from self._cold(step)
            yield from self._gone(step, doings)
            yield from self._fumes(step)
            yield from self._set(step, {doing.at for doing in doings if doing.kind is Kind.TURN})
            if step in refused:
                yield "a step that the person refused"
            if step.probe and refusals.NoMeter(step.probe.meter) in refused:
                yield f"read on a meter without it: {step.probe.meter}"
            return
        turned = [doing.at for doing in doings if doing.kind is Kind.TURN]
        if step is None:
            self.stands |= {control: self.machine.controls[control].rest for control in turned}
            return
        yield from (f"turned for a repair: {control}" for control in turned)
        yield from self._carried(step, refused)
        yield from self._under_gas(step)

    def _bays_of(self, step: Step | Repair | None) -> set[str]:
        """The bays to which hands or leads go, and those in front of them, while any is open for it."""
        parts = [self.machine.parts[p.split(".")[0]].bay for p in getattr(step, "places", ()) if self._is_part(p)]
        named = [place for place in getattr(step, "places", ()) if place in self.machine.bays]
        found, waiting = set[str](), [*parts, *named, *(step.bays if isinstance(step, Repair) else ())]
        while waiting:
            bay = waiting.pop()
            if bay in self.machine.bays and bay not in found:
                found.add(bay)
                waiting.append(self.machine.bays[bay].behind)
        return found

    def _bay_of(self, control: model.Control) -> str:
        return self.machine.parts[control.through].bay if control.through in self.machine.parts else "outside"

    def _set(self, step: Step, turned: Collection[str]) -> Iterator[str]:
        """What is set behind a cover is turned there by hand, and nothing is turned that stands as it should."""
        for name, stood in self.stands.items():
            stands = dict(step.condition.setting)[name] if step.condition else stood
            if (stands != stood) != (name in turned):
                yield f"set otherwise than it was turned: {name} {stands}"
            self.stands[name] = stands

    def _behind_cover(self, doing: Doing) -> bool:
        return doing.kind is Kind.TURN and self._bay_of(self.machine.controls[doing.at]) not in self.open

    def _is_part(self, place: str) -> bool:
        return place.split(".")[0] in self.machine.parts

    def _unwilling(self, doing: Doing, refused: Collection[object]) -> Iterator[str]:
        """What the person said that they cannot do, and that is done all the same."""
        if doing.kind is Kind.OPEN and doing.at:
            if refusals.CannotOpen(doing.at) in refused:
                yield f"opened though it will not open: {doing.at}"
            if refusals.NoHelper() in refused and self.machine.bays[doing.at].people > 1:
                yield f"opened alone though it takes two: {doing.at}"
        lifted = {one.part for one in refused if isinstance(one, refusals.CannotLift)} & self._twins(doing)
        yield from (f"exchanged though it will not come out: {name}" for name in sorted(lifted))
        part = doing.at.split(".")[0]
        wire = any(doing.at in one.ends for one in self.machine.wires)  # comes off the part, which stays where it is
        if doing.kind is Kind.LIFT and not wire and refusals.CannotLift(part) in refused:
            yield f"lifted though it will not come out: {part}"
        if doing.kind is Kind.AMPS and refusals.NoMeter("amps") in refused:
            yield "amps on a meter without a clamp"
        yield from self._beyond_meter(doing, refused)
        if doing.kind is Kind.ASK and refusals.NoOwner() in refused:
            yield "asked though the owner is not there"
        if doing.kind in AT_WORK | LEADS_LIVE and refusals.NoPower() in refused:
            yield f"power though it has to stay off: {doing.kind}"

    def _beyond_meter(self, doing: Doing, refused: Collection[object]) -> Iterator[str]:
        """What safety wants read, on a meter that does not read it; and what must not be done without."""
        no_volts = {refusals.NoMeter(meter) for meter in ("volts", "low-impedance volts")} <= set(refused)
        no_ohms = refusals.NoMeter("ohms") in refused
        if doing.kind is Kind.PROVE_DEAD and no_volts:
            yield "proved dead on a meter without volts"
        if doing.kind is Kind.DISCHARGE and refusals.NoMeter("dc volts") in refused:
            yield "discharged, and seen so on a meter without DC volts"
        if doing.kind is Kind.PROVE_BOND and (no_volts or no_ohms):
            yield "the frame's bond on a meter that cannot measure it"
        if doing.kind is Kind.ENERGISE and self.loosened and no_ohms:
            yield "power on a machine that was open, its frame not measured"

    def _twins(self, doing: Doing) -> set[str]:
        """The two parts that change places."""
        return set(doing.at.split(" and ")) if doing.kind is Kind.EXCHANGE else set()

    def _behind_covers(self, doing: Doing) -> bool:
        return any(self.machine.parts[name].bay not in {"outside", *self.open} for name in self._twins(doing))

    def _dangers(self, doing: Doing) -> Iterator[str]:
        kind, dead = doing.kind, not self.live and self._proved_dead()
        inside, stopped = bool(self.open), any(not self.machine.bays[bay].runs for bay in self.open)
        rules = {
            "hands on what is not proved dead": kind in HANDS and not dead,
            "a look inside what is not proved dead": kind is Kind.LOOK and inside and not dead,
            "hands beside a charged capacitor": kind in HANDS - {Kind.DISCHARGE} and self.charged and self._by_charge(),
            "a look beside a charged capacitor": kind is Kind.LOOK and self.charged and self._by_charge(),
            "discharged where no capacitor can be reached": kind is Kind.DISCHARGE and not self._both_ends(),
            "discharged without the caution": kind is Kind.DISCHARGE and Hazard.CHARGE not in self.told,
            "a capacitor's bay opened, no caution": self._opens(doing, self.storing) and self._unsaid(Hazard.CHARGE),
            "hands on hot parts": kind in HANDS | {Kind.LOOK} - {Kind.DISCHARGE} and self.hot and self._by_heat(doing),
            "covers moved beside hot parts outside, no caution": kind in (Kind.OPEN, Kind.CLOSE)
            and self.glows and self.just_ran and Hazard.HOT not in self.told,
            "a burner's bay opened hot": self.hot and self._gassy(doing) and kind is Kind.OPEN,
            "a hot bay opened, no caution": self._opens(doing, self.warm) and self._unsaid(Hazard.HOT),
            "a hot bay closed, no caution": kind is Kind.CLOSE and doing.at in self.warm and self._unsaid(Hazard.HOT),
            "hot parts lifted out": self.just_ran and bool(self._twins(doing) & self.gets_hot),
            "lifted out behind a closed cover": self._behind_covers(doing),
            "turned behind a closed cover": self._behind_cover(doing),
            "waited for hot parts, not told why": kind is Kind.COOL and Hazard.HOT not in self.told,
            "lifted by two, no caution": self._opens(doing, self.heavy) and Hazard.HEAVY not in self.told,
            "a sharp bay opened, no caution": self._opens(doing, self.sharp) and Hazard.SHARP not in self.told,
            "live leads on a meter not proven": kind in LEADS_LIVE and self._last_proof() is not Kind.PROVE_METER,
            "live leads without the caution": kind in LEADS_LIVE and Hazard.LIVE not in self.told,
            "energised uncovered, no caution": kind is Kind.ENERGISE and inside and Hazard.LIVE not in self.told,
            "watched uncovered, no caution": kind is Kind.WATCH and Hazard.LIVE not in self.told,
            "energised, wires off": kind in AT_WORK and bool(self.off),
            "power after it was left off, its frame not measured": kind in AT_WORK and self.left_loose,
            "energised uncovered, frame unsure": kind in AT_WORK and inside and not self.bonded,
            "run uncovered as if covered": kind is Kind.RUN and inside,
            "watched without the caution": kind is Kind.WATCH and Hazard.MOVING not in self.told,
            "a cover closed over a charge": kind is Kind.CLOSE and self.charged and self._both_ends(),
            "covers moved while live": kind in (Kind.OPEN, Kind.CLOSE) and self.live,
            "run open though it stops when open": kind in AT_WORK and stopped,
            "a reading at work on a machine that is off": kind in AT_WORK - {Kind.ENERGISE} and self.on != self.feeds,
            "a plug pulled behind a machine that is on": kind is Kind.SUPPLY and bool(self.plug) and self.live,
            "the slots read with the machine before them": kind is Kind.SUPPLY and not self.plug <= self.open,
            "hands beside gas pipe under gas": self.gas_on and self._by_pipe(doing),
            "gas pipe opened under gas, or live": kind is Kind.OPEN_PIPE and (self.gas_on or self.live),
            "gas pipe opened or a bay of it, no caution": self._gassy(doing) and Hazard.GAS not in self.told,
            "gas into an open pipe": kind is Kind.GAS_ON and self.apart,
            "energised with a leak possible": kind in AT_WORK and (self.apart or self.untested),
            "a cover over a joint that was not tested": kind is Kind.CLOSE and (self.apart or self.untested),
            "a leak test that tests nothing": kind is Kind.LEAK_TEST and (self.apart or not self.gas_on),
            "a bay before the one in front": kind is Kind.OPEN and doing.at != "" and not self._front_open(doing.at),
        }
        yield from (f"{name}: {kind} {doing.at}" for name, broken in rules.items() if broken)

    def _opens(self, doing: Doing, bays: Collection[str]) -> bool:
        return doing.kind is Kind.OPEN and doing.at in bays

    def _unsaid(self, hazard: Hazard) -> bool:
        """Whether it is there now and was not shown."""
        there = {Hazard.HOT: self.hot, Hazard.CHARGE: self.charged}[hazard]
        return there and hazard not in self.told

    def _wired(self, end: str, contacts: bool) -> set[str]:
        """What copper joins to a terminal of the machine: its wires, and where wanted its contacts as well."""
        house = {part.name for part in self.machine.parts.values() if part.house}
        pairs = [wire.ends for wire in self.machine.wires]
        pairs += [e.ends for e in self.machine.elements.values() if contacts and isinstance(e, primitives.Contact)]
        pairs = [pair for pair in pairs if not house & {t.split(".")[0] for t in pair}]
        found, more = set[str](), {end}
        while more:
            found |= more
            more = {t for pair in pairs if found & set(pair) for t in pair} - found
        return {t for t in found if "~" not in t}

    def _both_ends(self) -> bool:
        """Whether both ends of a capacitor are in reach, at what wires join to them."""
        bays = {t: self.machine.parts[t.split(".")[0]].bay for both in self.ends for end in both for t in end}
        return any(all(self.open & {bays[t] for t in end} for end in both) for both in self.ends)

    def _by_charge(self) -> bool:
        """Whether hands go where one end of a capacitor is, or have both in reach wherever they go."""
        return bool(self.places & self.open & self.storing) or self._both_ends()

    def _by_heat(self, doing: Doing) -> bool:
        """Whether a hand goes to a bay that gets hot: at the terminal, to twins that change places, else where the step
        itself is."""
        if doing.kind is Kind.TURN:
            return self._bay_of(self.machine.controls[doing.at]) in self.warm
        if doing.kind is Kind.EXCHANGE:
            return bool({self.machine.parts[name].bay for name in self._twins(doing)} & self.warm)
        part = self.machine.parts.get(doing.at.removeprefix("joint ").split(".")[0]) if "." in doing.at else None
        return bool(({part.bay} if part else self.places) & self.warm)

    def _carried(self, repair: Repair, refused: Collection[object]) -> Iterator[str]:
        """The whole appliance is carried by two, who were told; where it is wired in it was opened there."""
        if not repair.name.endswith("replace the whole appliance"):
            return
        if refusals.NoHelper() in refused:
            yield f"carried alone: {repair.name}"
        if Hazard.HEAVY not in self.told:
            yield f"carried without the caution: {repair.name}"
        if not self.fed <= self.open:
            yield f"carried off with its supply on: {repair.name}"

    def _by_pipe(self, doing: Doing) -> bool:
        """Whether a cover comes off gas pipe, or hands, dead leads or a close eye go to a bay of it: at the terminal,
        the control or the twins, else where the step itself is."""
        pipes = set(self.machine.gas.bays) if self.machine.gas else set[str]()
        inside = doing.kind in HANDS or (doing.kind is Kind.LOOK and bool(self.open))
        if doing.kind is Kind.OPEN:
            return doing.at in pipes
        if doing.kind is Kind.TURN:
            return self._bay_of(self.machine.controls[doing.at]) in pipes
        part = self.machine.parts.get(doing.at.split(".")[0])
        at = {part.bay} if part else {self.machine.parts[name].bay for name in self._twins(doing)} or self.places
        return inside and bool(at & pipes)

    def _gassy(self, doing: Doing) -> bool:
        bays = self.machine.gas.bays if self.machine.gas else ()
        return doing.kind is Kind.OPEN_PIPE or (doing.kind is Kind.OPEN and doing.at in bays)

    def _under_gas(self, repair: Repair) -> Iterator[str]:
        """A repair of a gas part wants its pipe apart."""
        gas = self.machine.gas
        if gas is None:
            return
        wires = repair.name.endswith(("put the wires right", "take the jumper off"))
        if repair.subject in gas.parts and not wires and not self.apart:
            yield f"a gas part taken out with its pipe joined: {repair.name}"

    def _cold(self, step: Step) -> Iterator[str]:
        """A run in which it should heat wants the gas on, and so does what is read at work, set as it heats."""
        gas = self.machine.gas
        if gas is None:
            return
        if step.kind == "symptom":
            symptom = self.machine.symptoms[step.at]
            heats = any(model.part_of(name) in gas.parts for name in (*symptom.of, *symptom.through))
            if heats and not self.gas_on:
                yield f"run for heat with the gas off: {step.at}"
            seen = step.condition if self.machine.warmths and not self.gas_on else None
            if seen and self._heats(seen) and dict(seen.setting)[WARMTH] != self.machine.warmths[0]:
                yield f"seen as warm as gas makes it, with the gas off: {step.at}"
        at = step.condition if step.kind == "reading" else None
        if at and not cut_off(self.machine, at) and not self.gas_on and self._heats(at):
            yield f"read at work, set to heat, with the gas off: {step.places}"

    def _seen_hot(self, step: Step | Repair | None, doing: Doing) -> Iterator[str]:
        """What gets hot is opened to see into it before it has cooled."""
        seen = isinstance(step, Step) and step.kind == "symptom"
        if seen and self.hot and self._opens(doing, self.warm):
            yield f"opened hot to see into it: {doing.at}"

    def _gone(self, step: Step, doings: tuple[Doing, ...]) -> Iterator[str]:
        """What is read dead, at a warmth of a run, once all has cooled for longer than that takes by the file."""
        at, waited = step.condition, Kind.COOL in {doing.kind for doing in doings}
        if not (waited and at and at.isolated and self.machine.warmths):
            return
        rest, hot = self.machine.warmths[0], max(part.cools for part in self.machine.parts.values())
        cold = self.machine.comes_to.get(rest)
        gone = cold is not None and cold <= max(hot, 10.0 if self.machine.gas else 0.0)
        if gone and dict(at.setting)[WARMTH] not in (rest, *(bay.leaves for bay in self.machine.bays.values())):
            yield f"read at a warmth that is gone: {step.places}"

    def _fumes(self, step: Step) -> Iterator[str]:
        """Gas burns with a duct off: never where its bay could be closed, nowhere without the warning."""
        at, ducts = step.condition, {one.name for one in self.machine.parts.values() if one.type == "air path"}
        if at is None or cut_off(self.machine, at) or not (self.gas_on and self._heats(at)):
            return
        off = {bay for bay in self.open if ducts & set(self.machine.bays[bay].frees)}
        if off and Hazard.FUMES not in self.told:
            yield f"burns with its duct off, no warning: {sorted(off)}"
        yield from (f"burns with a duct off that could be on: {bay}" for bay in sorted(off - self.places))

    def _heats(self, at: Condition) -> bool:
        """Whether the controls stand as where it is seen that gas burns."""
        gas, own = self.machine.gas, set(self.machine.controls) - self.machine.house_controls
        for symptom in self.machine.symptoms.values():
            parts = {name.split(".")[0] for name in (*symptom.of, *symptom.through)}
            if gas and parts & set(gas.parts) and symptom.kind not in STAYS:
                met = dict(usual(self.machine).setting) | dict(symptom.setting)
                if all(position == met[control] for control, position in at.setting if control in own):
                    return True
        return False

    def _front_open(self, bay: str) -> bool:
        return self.machine.bays[bay].behind in {"outside", *self.open}

    def _last_proof(self) -> Kind | None:
        return next((k for k in reversed(self.since) if k in (Kind.PROVE_METER, Kind.PROVE_DEAD)), None)

    def _proved_dead(self) -> bool:
        """Live, dead, live: the meter proven, dead tested for against a proved earth, the meter proven again; dead
        tested for once what is wired in lies bare, if it does."""
        proofs = [(n, k) for n, k in enumerate(self.since) if k in (Kind.PROVE_METER, Kind.PROVE_DEAD)]
        wanted = [Kind.PROVE_METER, Kind.PROVE_DEAD, Kind.PROVE_METER]
        return self.earth and any(
            [k for _, k in proofs[i : i + 3]] == wanted and proofs[i + 1][0] >= self.laid_bare
            for i in range(len(proofs))
        )

    def _then(self, doing: Doing) -> None:
        kind = doing.kind
        off_already = kind is Kind.ISOLATE and doing.step.feed not in self.on  # nothing is switched by that
        if kind in (Kind.ISOLATE, Kind.ENERGISE) and not off_already:
            self.on = self.on | {doing.step.feed} if kind is Kind.ENERGISE else self.on - {doing.step.feed}
            self.since, self.laid_bare = [], 0
            self.told = {Hazard.LIVE} & self.told if kind is Kind.ENERGISE and self.open else set()
            self.charged |= self.live and self.stores
        self.since.append(kind)
        if kind is Kind.SUPPLY and self.plug:  # the breaker was switched on for it, and nobody has seen it off
            self.on, self.since, self.laid_bare, self.told = set(self.feeds), [], 0, set()
        if doing.step.hazard:
            self.told.add(doing.step.hazard)
        self.earth |= kind is Kind.PROVE_EARTH
        self.charged &= kind is not Kind.DISCHARGE
        self.hot = bool(self.warm) if kind in AT_WORK else self.hot and kind is not Kind.COOL
        self.just_ran = kind in AT_WORK or (self.just_ran and kind is not Kind.COOL)
        loosens = (Kind.OPEN, Kind.LIFT, Kind.EXCHANGE, Kind.REPAIR)
        self.bonded = kind is Kind.PROVE_BOND or (self.bonded and kind not in loosens)
        self.loosened = (self.loosened or (kind is Kind.OPEN and bool(self.machine.frame))) and not self.bonded
        self.left_loose &= kind is not Kind.PROVE_BOND
        self.exchanged ^= self._twins(doing)
        self._gas(kind)
        self._places(doing)

    def _gas(self, kind: Kind) -> None:
        if kind in (Kind.GAS_ON, Kind.GAS_OFF):
            self.gas_on = kind is Kind.GAS_ON
        if kind in (Kind.OPEN_PIPE, Kind.JOIN_PIPE):
            self.apart = kind is Kind.OPEN_PIPE
        self.untested = (self.untested or kind is Kind.OPEN_PIPE) and kind is not Kind.LEAK_TEST

    def _places(self, doing: Doing) -> None:
        if doing.kind is Kind.OPEN:
            self.charged |= self.stores and doing.at in self.storing and not self.own & self.open
            self.open.add(doing.at)
            self.laid_bare = len(self.since) if doing.at in self.fed else self.laid_bare
        if doing.kind is Kind.CLOSE:
            self.open = self.open - {doing.at} if doing.at else set()
        if doing.kind is Kind.LIFT:
            self.off.add(doing.at)
        if doing.kind is Kind.REFIT:
            self.off = self.off - {doing.at} if doing.at else set()

    def _other_than(self, step: Step, done: Kind) -> Iterator[str]:
        """The last thing done, but for what was lifted for it and goes back, must be the step that was advised, in the
        power that it was advised for."""
        meter = step.probe.meter if step.probe else step.kind
        by_hand = step.kind == "symptom" and self.machine.symptoms[step.at].kind == "hand"
        seen = {Kind.MOVE} if by_hand else {Kind.RUN, Kind.WATCH} if step.condition else {Kind.LOOK}
        fits = {
            "ohms": {Kind.OHMS, Kind.PROVOKE}, "capacitance": {Kind.OHMS}, "amps": {Kind.AMPS},
            "volts": {Kind.VOLTS, Kind.SUPPLY}, "low-impedance volts": {Kind.VOLTS, Kind.SUPPLY},
            "look": {Kind.LOOK}, "symptom": seen,
            "question": {Kind.ASK},
        }  # fmt: skip
        if done not in fits[meter]:
            yield f"another step than advised: {done} for {meter}"
        if done is Kind.LOOK and step.kind == "symptom" and self.machine.symptoms[step.at].kind not in STAYS:
            yield f"looked for without power though it shows at work only: {step.at}"
        if step.condition and set(step.condition.exchange) != self.exchanged:
            yield f"other parts exchanged than the step says: {sorted(self.exchanged)}"
        if step.condition and set(step.condition.lift) != self.off:
            yield f"other wires off than the step says: {sorted(self.off)}"


def of_sessions(sessions: Sessions, seed: int, count: int) -> tuple[set[str], set[Kind]]:
    """The dangers found in so many random sessions of a machine, and the kinds of thing done in them."""
    found, kinds = set[str](), set[Kind]()
    for dangers, done in _read(sessions, seed, count):
        found |= dangers
        kinds |= done
    return found, kinds


def is_found(sessions: Sessions, seed: int, count: int, says: str = "") -> bool:
    """Whether some danger, that says this, is found in so many; the sessions end there."""
    return any(says in danger for dangers, _ in _read(sessions, seed, count) for danger in dangers)


def _read(sessions: Sessions, seed: int, count: int) -> Iterator[tuple[set[str], set[Kind]]]:
    machine = sessions.asked.bench.machine
    for number in range(count):
        watcher = Watcher(machine, safely.facts(machine).capacitor)
        for state, step, done in sessions.session(np.random.default_rng([seed, number])):
            yield set(watcher.reads(step, done.doings, state.refused)), {doing.kind for doing in done.doings}
