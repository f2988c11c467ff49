"""The words of safety: kinds of step, hazards with their cautions, and when to stop. Data only; decides nothing.

Signal words of ANSI Z535; the sentences are this program's own.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from typing import NamedTuple

from halfsplit.machine import cautions


class Kind(StrEnum):
    """The kinds of step."""

    CAUTION = "caution"
    ISOLATE = "isolate"
    ENERGISE = "energise"
    PROVE_METER = "prove the meter"
    PROVE_EARTH = "prove the earth"
    PROVE_DEAD = "prove dead"
    PROVE_BOND = "prove the frame bonded"
    DISCHARGE = "discharge"
    COOL = "let it cool"
    OPEN = "open"
    CLOSE = "close"
    GAS_OFF = "gas off"
    GAS_ON = "gas on"
    OPEN_PIPE = "open the gas pipe"
    JOIN_PIPE = "join the gas pipe"
    LEAK_TEST = "leak test"
    LIFT = "lift"
    REFIT = "refit"
    EXCHANGE = "exchange"
    TURN = "turn a control inside"
    CLIP = "clip the meter on"
    UNCLIP = "take the meter off"
    OHMS = "ohms"
    VOLTS = "volts"
    AMPS = "amps"
    LOOK = "look"
    MOVE = "turn it round by hand"
    RUN = "run"
    WATCH = "watch it run"
    SUPPLY = "volts at the supply"
    PROVOKE = "provoke"
    REPAIR = "repair"
    ASK = "ask the owner"
    STOP = "stop"


class Pipe(StrEnum):
    """What a step has to do with the gas pipe of a machine."""

    AWAY = ""
    BESIDE = "beside gas pipe"
    APART = "the gas pipe comes apart"
    LIT = "it should burn gas"


GAS_SAID: dict[Kind, str] = {
    Kind.GAS_OFF: "Shut the gas cock ({cock}).",
    Kind.JOIN_PIPE: "Join the gas pipe.",
    Kind.GAS_ON: "Open the gas cock ({cock}), nothing lit.",
    Kind.LEAK_TEST: "Brush leak solution on every joint that was apart and on those beside it: no bubble grows. "
    "If one does, shut the cock and stop.",
}
"""What is done about the gas, in the order in which it is done, with the place of the cock.

That joints which were apart are tested with a noncorrosive leak-detecting fluid is asked for by NFPA 54 / ANSI Z223.1,
National Fuel Gas Code, 8.1.1.3 (as quoted by the plumbing codes that adopt it); the rest is common practice, no source.
Local codes say who may work on gas at all.
"""


DRAIN_SAID = (
    "Shut the water off ({cock}), open {tap} to let the pressure off, and drain it until the water stands below the "
    "{part}, a hose on the {drain}; it may scald."
)
DRAIN_OUT_SAID = (
    "Shut the water off ({cock}), open {tap} to let the pressure off, and drain it until nothing runs any more, a hose "
    "on the {drain}; it may scald. Then a tray under the {part} for what is left."
)
"""For the part through which it is drained: water does not come to stand below that; and where all of it goes."""
LET_OUT_SAID = (
    "Shut the water off ({cock}) and let out what stands in it through the {drain}, a hose or a tray there, until "
    "nothing runs any more{hot}. Then a tray under the {part} for what is left."
)
MAY_SCALD = "; it may scald"
FILL_SAID = "Shut the {drain}, hose off. Fill it: water on ({cock}), {tap} open until it runs free of air, then shut."
POUR_SAID = (
    "The {drain} as it was, tight. Water on ({cock}). Its own valve lets none in before the power: pour in by hand "
    "until water stands above what came out."
)
FED_DRY = "An element fed dry burns out."
DRIPS_SAID = "Full and under pressure, wipe round the {part} dry, wait 5 minutes and look again: no drip."
POURED_DRIPS_SAID = "Wipe round the {part} dry, wait 5 minutes and look again: no drip."
"""What is done about the water that stands in a machine: under the house's pressure, or let in through a valve of its
own (no `Water.tap`); of one that heats it besides. Common practice, no source."""

COOL_SAID = "Let it cool: {time} after it last ran."
DISCHARGE_SAID = (
    "Discharge {part}: hold a resistor of {ohms} across {one} and {other} for {seconds:.0f} s, touch neither; then the "
    "meter at DC volts across them: 0 V. If it shows more, hold the resistor on again."
)
"""What makes a hot or a charged place safe for hands; the numbers come from the machine (work/places)."""


class Hazard(StrEnum):
    """What may hurt. Its signal word is in `CAUTIONS`."""

    LIVE = "live"
    CHARGE = "charge"
    GAS = "gas"
    FUMES = "fumes"
    HOT = "hot"
    SHARP = "sharp"
    MOVING = "moving"
    HEAVY = "heavy"


CAUTIONS: dict[Hazard, tuple[str, str]] = {
    Hazard.LIVE: ("DANGER", "Live parts. One hand, no jewellery, touch nothing but the probes."),
    Hazard.CHARGE: ("WARNING", "A capacitor may hold a charge. Discharge it through a resistor and measure."),
    Hazard.GAS: (
        "WARNING",
        "Gas pipe. No flame, no spark; leaks are sought with leak solution. Local codes say who may open it.",
    ),
    Hazard.FUMES: (
        "WARNING",
        "Carbon monoxide: it burns gas with its duct off. In open air, or with door and window wide open, no "
        "longer than the step takes. Local codes say whether it may.",
    ),
    Hazard.HOT: ("CAUTION", "Hot parts. Touch none before it has cooled."),
    Hazard.SHARP: ("CAUTION", "Sharp edges. Wear gloves."),
    Hazard.MOVING: ("WARNING", "The machine may start by itself. Keep hands and clothes away."),
    Hazard.HEAVY: ("CAUTION", "Heavy. Lift with two people."),
}
"""Signal word (ANSI Z535) and what to do; the sentences are this program's own."""
PROVING_DEAD = (
    "DANGER",
    "Until it is proved dead take all of it for live: one hand, no jewellery, touch nothing but the probes.",
)
"""What is said of live parts where the machine is only isolated and proved dead, and not worked on live."""
SIGNAL_WORDS = cautions.WORDS
"""Gravest first, as ANSI Z535 ranks them."""


def gravest_first(told: Iterable[str]) -> tuple[str, ...]:
    """Cautions that begin with their signal words, each once, the gravest first; the order is kept else.

    >>> gravest_first(["CAUTION: sharp edges", "DANGER: 240 V behind it", "CAUTION: sharp edges"])
    ('DANGER: 240 V behind it', 'CAUTION: sharp edges')
    """
    return tuple(sorted(dict.fromkeys(told), key=lambda one: SIGNAL_WORDS.index(one.split(":")[0])))


class Stop(NamedTuple):
    """When to stop: what to say, and the kinds of step that may still be done.

    `tag`: what stands on the tag at the breaker, which stays off when the machine is left; "" where the power comes
    back. `judged`: the power comes back only where the person judges the machine safe to use as it is. `untouched`:
    nobody goes to the machine, not even to put it together. `plug_stays`: nobody touches its plug or receptacle; the
    breaker isolates it, and what stands open before the receptacle stays so.
    """

    say: str
    still: frozenset[Kind]
    tag: str = ""
    judged: bool = False
    untouched: bool = False
    plug_stays: bool = False


MAKING_SAFE = frozenset({
    Kind.CAUTION, Kind.ISOLATE, Kind.PROVE_METER, Kind.PROVE_EARTH, Kind.PROVE_DEAD, Kind.PROVE_BOND,
    Kind.DISCHARGE, Kind.COOL, Kind.GAS_OFF, Kind.JOIN_PIPE, Kind.GAS_ON, Kind.LEAK_TEST,
    Kind.UNCLIP, Kind.REFIT, Kind.TURN, Kind.CLOSE,
})  # fmt: skip

GAS_SUPPLY = "gas supply"
"""The rule by which gas joints are another trade's."""
STOPS: dict[str, Stop] = {
    "tingling frame": Stop(
        "Switch it off at the breaker, touch no metal of it, and let nobody use it. An electrician or a licensed "
        "repairer finds what makes it live.",
        frozenset({Kind.ISOLATE}),
        "for an electrician",
        untouched=True,
    ),
    "smell of gas": Stop(
        "Touch no switch, plug or telephone, light nothing, do not look for the leak. Leave with everybody, and call "
        "the gas supplier's emergency line from outside. Go back when they say so; local codes say who repairs it.",
        frozenset(),
        untouched=True,
    ),
    GAS_SUPPLY: Stop(
        "It is not ours to do: gas joints are for the gas supplier, or whom local codes name. Put the machine together "
        "with the gas and the breaker off and tagged, and hand over.",
        MAKING_SAFE,
        "for the gas supplier",
    ),
    "burnt receptacle": Stop(
        "Switch it off at the breaker, and touch plug and receptacle no more: a plug that is out stays out. The "
        "receptacle is for an electrician. Put together what does not stand open before it, leave the breaker off and "
        "tagged, and hand over.",
        MAKING_SAFE,
        "for an electrician",
        plug_stays=True,
    ),
    "water on the floor": Stop(
        "Breaker first; never walk through water to the plug or the machine. Shut off the water that feeds it, if any "
        "does. Go on when the breaker is off and the floor is dry; if the panel stands in the wet, leave it to the "
        "utility.",
        frozenset({Kind.ISOLATE}),
        "not before the leak is mended and all is dry",
    ),
    "sealed refrigerant system": Stop(
        "It is not ours to do: only certified technicians may open it; local codes say who. Put the machine together "
        "and hand over.",
        MAKING_SAFE,
    ),
    "fixed wiring": Stop(
        "It is not ours to do: the house's wiring is for an electrician, the service for the utility; local codes say "
        "who. Put the machine together, leave its breaker off and tagged, and hand over.",
        MAKING_SAFE,
        "for an electrician",
    ),
    "not proved safe": Stop(
        "What leads to its frame, or was wrong before it ran, was not mended. Put the machine together, leave its "
        "breaker off and tagged, and tell the owner that it must not be used.",
        MAKING_SAFE,
        "not before it is mended and proved",
    ),
    "the breaker trips": Stop(
        "Its breaker trips, and what makes it trip was not mended. Put the machine together, leave its breaker off and "
        "tagged, and tell the owner that it must not be used.",
        MAKING_SAFE,
        "the breaker trips; not before what trips it is mended and proved",
    ),
    "the power stays off": Stop(
        "It was said that the power has to stay off. Put the machine together and leave its breaker off and tagged: it "
        "is not proved yet.",
        MAKING_SAFE,
        "not before whoever wants it off says so",
    ),
    "bond not measured": Stop(
        "This meter cannot measure the frame's bond and the insulation. Put the machine together and leave its breaker "
        "off and tagged: the power stays off until somebody with a meter that reads volts and ohms has measured them.",
        MAKING_SAFE,
        "not before its frame's bond and its insulation are measured",
    ),
    "cannot be proved dead": Stop(
        "This meter reads no volts, so nobody can prove the machine dead: put no hands in it. Come back with a meter "
        "that does, or hand it over.",
        MAKING_SAFE,
    ),
    "not worth it": Stop(
        "It costs more than its owner would spend. Put the machine together, leave it isolated where it is not safe to "
        "use, and tell the owner what was found and what it would cost.",
        MAKING_SAFE,
        judged=True,
    ),
    "not reproduced": Stop(
        "What was complained of does not show now. Put the machine together. Tell the owner that nothing was mended, "
        "and ask to have noted when it happens: in which setting, after how long, with what load. Come back for that.",
        MAKING_SAFE,
    ),
}
"""Stop rules. Common practice, no source, but for refrigerant (US: EPA section 608, from memory) and the smell of gas
(Pennsylvania Public Utility Commission, "Gas Emergencies": leave, no lights on or off, call from a safe distance)."""
