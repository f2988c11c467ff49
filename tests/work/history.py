"""An independent checker of steps: what is physically so, what was done and shown since, what could hurt somebody.

Knows the kinds of step and nothing of needs, nor of the automaton's state: its table of what each kind must not meet
was written by hand from what the step does to a person.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from halfsplit.work.hazards import Hazard, Kind, Pipe
from halfsplit.work.safety import Facts, Step


class World(NamedTuple):
    """What is physically so, and what was done since: the checker's own account."""

    facts: Facts
    live: frozenset[int]
    charge: bool
    hot: bool
    valve_open: bool
    pipe_open: bool = False
    leak_unknown: bool = False
    covers_off: bool = False
    wire_off: bool = False
    meter_on: bool = False
    ground_sure: bool = False
    left_off: bool = False
    """Hands were in it, its power was left off, and its frame's bond has not been measured since."""
    told: frozenset[Hazard] = frozenset()
    """Cautions shown since the power of any feed was last changed."""
    proofs: str = ""
    """Since then, in order: m meter proven, d tested for dead against a proved earth, every feed off, x otherwise."""
    dead: bool = False
    earth_proved: bool = False
    stopped: int = 0
    """The gravest stop so far, by `GRAVITY`."""


def world(facts: Facts, left_off: bool = False) -> World:
    """A machine as it is found; `left_off`: by who had hands in it."""
    feeds = frozenset(range(facts.feeds))
    return World(facts, feeds, facts.capacitor, facts.heats, facts.gas, left_off=left_off)


IS_SO: dict[str, Callable[[World], bool]] = {
    "a feed is live": lambda at: bool(at.live),
    "not proved dead": lambda at: bool(at.live) or not at.dead,
    "a feed is off": lambda at: len(at.live) < at.facts.feeds,
    "the meter is not proven": lambda at: not at.proofs.endswith("m"),
    "the earth is not proved": lambda at: not at.earth_proved,
    "a wire is off": lambda at: at.wire_off,
    "the meter is clipped on": lambda at: at.meter_on,
    "the meter is not clipped on": lambda at: not at.meter_on,
    "covers are off": lambda at: at.covers_off,
    "covers are on": lambda at: not at.covers_off,
    "covers are off, the frame unsure": lambda at: at.covers_off and not at.ground_sure,
    "left off, the frame unsure": lambda at: at.left_off,
    "a leak is possible": lambda at: at.pipe_open or at.leak_unknown,
    "the cock is open": lambda at: at.valve_open,
    "the cock is shut": lambda at: not at.valve_open,
    "the pipe is open": lambda at: at.pipe_open,
    "the pipe is joined": lambda at: not at.pipe_open,
    "live, not told": lambda at: Hazard.LIVE not in at.told,
    "moving, not told": lambda at: Hazard.MOVING not in at.told,
    "gas, not told": lambda at: Hazard.GAS not in at.told,
    "sharp, not told": lambda at: Hazard.SHARP not in at.told,
    "fumes, not told": lambda at: Hazard.FUMES not in at.told,
    "heavy, not told": lambda at: Hazard.HEAVY not in at.told,
    "hot, not told": lambda at: at.hot and Hazard.HOT not in at.told,
    "charge, not told": lambda at: at.charge and Hazard.CHARGE not in at.told,
    "stored charge": lambda at: at.charge,
    "hot parts": lambda at: at.hot,
}
"""What may be so in a world. No one of these reads two cautions."""

AT_WORK = ("a wire is off", "the meter is clipped on", "a leak is possible")
UNSURE = ("covers are off, the frame unsure", "left off, the frame unsure")
MEASURED = (*AT_WORK, *UNSURE, "a feed is off", "the meter is not proven", "live, not told")
HANDS = {
    Kind.LIFT, Kind.REFIT, Kind.EXCHANGE, Kind.TURN, Kind.CLIP, Kind.UNCLIP, Kind.OHMS, Kind.REPAIR, Kind.LOOK,
    Kind.PROVOKE, Kind.MOVE,
}  # fmt: skip
"""Hands go into the machine for it: a look and a provoking only where they are inside."""

NEVER: dict[Kind, tuple[str, ...]] = {
    Kind.ENERGISE: (*AT_WORK, *UNSURE),
    Kind.PROVE_METER: ("the meter is clipped on", "live, not told"),
    Kind.PROVE_EARTH: ("the meter is clipped on", "the meter is not proven", "live, not told"),
    Kind.PROVE_DEAD: (
        "the meter is clipped on", "the meter is not proven", "the earth is not proved", "a feed is live",
        "live, not told",
    ),
    Kind.PROVE_BOND: ("the meter is clipped on", "not proved dead"),
    Kind.DISCHARGE: ("not proved dead", "covers are on", "charge, not told"),
    Kind.COOL: ("a feed is live", "hot, not told"),
    Kind.OPEN: ("a feed is live", "the meter is clipped on"),
    Kind.CLOSE: ("a feed is live", "a wire is off", "the meter is clipped on", "a leak is possible"),
    Kind.GAS_ON: ("not proved dead", "the pipe is open"),
    Kind.OPEN_PIPE: ("a feed is live", "the cock is open", "gas, not told"),
    Kind.JOIN_PIPE: ("a feed is live", "the pipe is joined"),
    Kind.LEAK_TEST: ("a feed is live", "the pipe is open", "the cock is shut", "gas, not told"),
    Kind.OHMS: ("the meter is clipped on",),
    Kind.EXCHANGE: ("the meter is clipped on",),
    Kind.MOVE: ("the meter is clipped on",),
    Kind.REPAIR: ("the meter is clipped on",),
    Kind.VOLTS: MEASURED,
    Kind.AMPS: MEASURED,
    Kind.WATCH: (*AT_WORK, *UNSURE, "a feed is off", "live, not told", "moving, not told"),
    Kind.RUN: (*AT_WORK, "a feed is off", "covers are off", "left off, the frame unsure"),
    Kind.SUPPLY: ("the meter is clipped on", "the meter is not proven", "live, not told"),
}  # fmt: skip
"""What must never be so when a kind of step is done, wherever it is done."""

BESIDE: dict[Hazard, str] = {hazard: f"{hazard}, not told" for hazard in Hazard}
"""What must never be so beside each hazard; hands must not meet stored charge or hot parts there either."""

AT_PIPE: dict[Pipe, tuple[str, ...]] = {
    Pipe.AWAY: (),
    Pipe.BESIDE: ("the cock is open", "gas, not told"),
    Pipe.APART: ("the cock is open", "the pipe is joined", "gas, not told"),
    Pipe.LIT: ("the cock is shut",),
}
"""What must never be so for what a step has to do with gas pipe."""

GRAVITY = {
    "tingling frame": 2, "smell of gas": 3, "gas supply": 1, "burnt receptacle": 1, "water on the floor": 2,
    "sealed refrigerant system": 1, "fixed wiring": 1, "not worth it": 1, "not proved safe": 1, "not reproduced": 1,
    "the power stays off": 1, "the breaker trips": 1, "bond not measured": 1, "cannot be proved dead": 1,
}  # fmt: skip
"""3: nothing at all is done any more. 2: power is taken off, nothing else. 1: it is made safe and put together."""

BARRED: tuple[frozenset[Kind], ...] = (
    frozenset(),
    frozenset({
        Kind.ENERGISE, Kind.OPEN, Kind.OPEN_PIPE, Kind.LIFT, Kind.EXCHANGE, Kind.CLIP, Kind.OHMS, Kind.VOLTS, Kind.AMPS,
        Kind.LOOK, Kind.MOVE, Kind.RUN, Kind.WATCH, Kind.SUPPLY, Kind.PROVOKE, Kind.REPAIR,
    }),
    frozenset(Kind) - {Kind.STOP, Kind.ISOLATE},
    frozenset(Kind) - {Kind.STOP},
)  # fmt: skip
"""What must not be done after a stop, by its gravity."""


DOES: dict[Kind, dict[str, Any]] = {
    Kind.DISCHARGE: {"charge": False},
    Kind.COOL: {"hot": False},
    Kind.OPEN: {"covers_off": True, "ground_sure": False},
    Kind.CLOSE: {"covers_off": False},
    Kind.LIFT: {"wire_off": True, "ground_sure": False},
    Kind.REFIT: {"wire_off": False},
    Kind.EXCHANGE: {"ground_sure": False},
    Kind.REPAIR: {"ground_sure": False},
    Kind.CLIP: {"meter_on": True},
    Kind.UNCLIP: {"meter_on": False},
    Kind.PROVE_BOND: {"ground_sure": True, "left_off": False},
    Kind.PROVE_EARTH: {"earth_proved": True},
    Kind.GAS_OFF: {"valve_open": False},
    Kind.OPEN_PIPE: {"pipe_open": True, "leak_unknown": True},
    Kind.JOIN_PIPE: {"pipe_open": False},
    Kind.LEAK_TEST: {"leak_unknown": False},
}
"""What a kind of step does to the machine, where that does not depend on what kind of machine it is."""


def watched_for(step: Step) -> frozenset[str]:
    """What must not be so when this step is done: names of `IS_SO`."""
    hands = step.kind in HANDS and (step.inside or step.kind not in (Kind.LOOK, Kind.PROVOKE))
    kind = Kind.RUN if step.kind is Kind.PROVOKE and not step.inside else step.kind
    found = {*NEVER.get(kind, ()), *AT_PIPE[step.pipe], *(BESIDE[hazard] for hazard in step.hazards)}
    if hands:
        found |= {"not proved dead"}
        found |= {"stored charge"} if Hazard.CHARGE in step.hazards else set()
        found |= {"hot parts"} if Hazard.HOT in step.hazards else set()
    if step.kind is Kind.CLOSE and Hazard.CHARGE in step.hazards:
        found |= {"stored charge"}
    if step.kind is Kind.OPEN and step.cool:
        found |= {"hot parts"}
    if step.kind is Kind.PROVOKE and step.inside:
        found |= {"the meter is not clipped on"}
    if step.kind is Kind.SUPPLY and step.inside:  # hands pull the plug there
        found |= {"a feed is live", "a leak is possible"}
    if step.kind is Kind.ENERGISE:
        found |= {"live, not told"} if step.inside else {"covers are off"}
    if step.inside:
        found |= {"covers are on"}
    return frozenset(found)


def so(at: World) -> frozenset[str]:
    """All that is so in a world: names of `IS_SO`."""
    return frozenset(name for name, holds in IS_SO.items() if holds(at))


def dangers(at: World, step: Step) -> list[str]:
    """What could hurt somebody, or prove nothing, if this step were done in this world."""
    found = sorted(watched_for(step) & so(at))
    return [*found, "going on after a stop"] if step.kind in BARRED[at.stopped] else found


def then(at: World, step: Step) -> World:
    """The world after a step, by the checker's own account."""
    if step.kind in (Kind.ISOLATE, Kind.ENERGISE):
        return _switched(at, step)
    if step.kind is Kind.CAUTION and step.hazard:
        return at._replace(told=at.told | {step.hazard})
    if step.kind is Kind.SUPPLY and step.inside:  # the breaker was switched on, and perhaps not off again
        return at._replace(live=frozenset(range(at.facts.feeds)), proofs="", dead=False, told=frozenset())
    if step.kind is Kind.STOP:
        return at._replace(stopped=max(at.stopped, GRAVITY[step.reason]))
    if step.kind in (Kind.PROVE_METER, Kind.PROVE_DEAD):
        good = "d" if at.earth_proved and not at.live else "x"
        proofs = (at.proofs + ("m" if step.kind is Kind.PROVE_METER else good)).replace("mm", "m")[-3:]
        return at._replace(proofs=proofs, dead=at.dead or proofs == "mdm")
    if step.kind in (Kind.RUN, Kind.WATCH) or (step.kind is Kind.PROVOKE and not step.inside):
        return at._replace(hot=at.facts.heats)
    if step.kind is Kind.OPEN:
        at = at._replace(charge=at.charge or (step.charge and at.facts.capacitor))
    if step.kind is Kind.OPEN and step.supply:
        return at._replace(covers_off=True, ground_sure=False, dead=False, proofs=at.proofs[-1:].replace("d", ""))
    if step.kind is Kind.GAS_ON:
        return at._replace(valve_open=at.facts.gas)
    return at._replace(**DOES[step.kind]) if step.kind in DOES else at


def _switched(at: World, step: Step) -> World:
    """Whoever switches on beside open covers has just read of what is live; whatever else was shown was of another
    state of power."""
    on = step.kind is Kind.ENERGISE
    live = at.live | {step.feed} if on else at.live - {step.feed}
    if live == at.live and not on:
        return at
    charge, hot = (at.facts.capacitor, at.facts.heats) if on else (at.charge, at.hot)
    told = frozenset({Hazard.LIVE}) if on and at.covers_off else frozenset()
    return at._replace(live=live, proofs="", dead=False, told=told, charge=charge, hot=hot)
