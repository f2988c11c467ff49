"""The safety automaton: what is known about the dangers of a machine, and which step may be done when.

Knows the kinds of step, what each needs and what each leaves. Does not know machine files, faults or plans: a
step that needs something unmet is refused, whoever asks, and `prepare` names the steps that meet it. Danger
is an order here, never a price.

Sources of the order: isolate, prove the meter on a known live source, test for dead, prove the meter again
(NFPA 70E 120.5, "live-dead-live"); dead on every feed and all pairs, to a proved earth, and once more where the
supply's own terminals are laid bare later (common practice, no source); signal words of ANSI Z535. That a machine with
covers off is energised only with its frame bonded, and that cautions are asked for once a power state, are rules of
this program. A machine is run covered, or watched beside open covers without hands in it; volts of the house at its
receptacle are live whatever the machine is. Where plug and receptacle lie behind a cover the plug is pulled, and put
back, with the breaker off: what is read in between is another power state.

Gas: turned on with the machine dead and nothing lit; shut before a cover over its pipe comes off, hands work beside
it, or it is opened; a joint that was apart is tested with leak solution while it can be seen, before a cover is
closed over it and before anything is energised (sources: hazards).
"""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum
from typing import Any, Literal, NamedTuple

from halfsplit import errors
from halfsplit.work.hazards import STOPS, Hazard, Kind, Pipe


class Gas(StrEnum):
    """Where the gas stands."""

    NONE = "none"
    ON = "on"
    OFF = "off"
    PERHAPS = "on or off"
    APART = "apart"
    JOINED = "joined, off"
    UNTESTED = "on, leaks not tested"


class Dead(StrEnum):
    """How far the proof has come that nothing is live."""

    UNKNOWN = "unknown"
    SEEN = "seen"
    PROVED = "proved"


class Facts(NamedTuple):
    """What kind of machine it is: its feeds (1 or more), and whether it stores charge, burns gas, gets hot."""

    feeds: int = 1
    capacitor: bool = False
    gas: bool = False
    heats: bool = False


class State(NamedTuple):
    """What is known. `live`: which feeds may be on; everything is taken as dangerous until it is shown not to be."""

    facts: Facts
    live: tuple[bool, ...]
    dead: Dead = Dead.UNKNOWN
    meter: bool = False
    earth: bool = False
    bonded: bool = False
    loose: bool = False
    """Its power was left off after hands were in it, and its frame's bond has not been measured since."""
    charged: bool = False
    hot: bool = False
    opened: bool = False
    lifted: bool = False
    clipped: bool = False
    gas: Gas = Gas.NONE
    cautions: frozenset[Hazard] = frozenset()
    stopped: str = ""


class Step(NamedTuple):
    """One step. `inside`: done where covers must be open (the power is brought back beside open ones, or to a closed
    machine). `feed`: which one is isolated or energised. `hazards`: what
    may hurt at its place: each wants its caution, and HOT and CHARGE are also gone before hands go there, or CHARGE
    before they close a cover over it. `reason`: of
    a stop, a key of `STOPS`. `hazard`: which caution is shown. `pipe`: what it has to do with gas pipe. `supply`: what
    is wired in lands in the bay that is opened. `charge`: a capacitor's charge may be met there, of which nothing that
    was discharged elsewhere tells. `cool`: what gets hot in the bay that is opened has cooled before."""

    kind: Kind
    inside: bool = False
    feed: int = 0
    hazards: frozenset[Hazard] = frozenset()
    reason: str = ""
    hazard: Hazard | None = None
    pipe: Pipe = Pipe.AWAY
    supply: bool = False
    charge: bool = False
    cool: bool = False


Power = Literal["", "on", "off", "dead"]
"""What is needed of the power: every feed on, none on, none on and proved so, or nothing."""
Covers = Literal["", "open", "closed"]
"""How covers must be, or nothing."""


class Needs(NamedTuple):
    """What a kind of step needs."""

    power: Power = ""
    meter: bool = False
    earth: bool = False
    discharged: bool = False
    cool: bool = False
    covers: Covers = ""
    refitted: bool = False
    unclipped: bool = False
    clipped: bool = False
    guarded: bool = False
    """Covers closed and its power not left off since, or the frame proved bonded."""
    gas: frozenset[Gas] = frozenset(Gas)
    cautions: frozenset[Hazard] = frozenset()


WORKING_GAS = frozenset({Gas.NONE, Gas.ON, Gas.OFF, Gas.PERHAPS})
"""Nothing can leak: no pipe is apart, no joint untested."""
AT_PIPE: dict[Pipe, frozenset[Gas]] = {
    Pipe.AWAY: frozenset(Gas),
    Pipe.BESIDE: frozenset({Gas.OFF, Gas.JOINED, Gas.APART}),
    Pipe.APART: frozenset({Gas.APART}),
    Pipe.LIT: frozenset({Gas.ON}),
}
"""Where the gas must stand for what a step has to do with its pipe."""
LIVE = frozenset({Hazard.LIVE})
TOUCHING = Needs("dead", discharged=True, cool=True)
MEASURING = Needs("on", meter=True, refitted=True, unclipped=True, guarded=True, gas=WORKING_GAS, cautions=LIVE)

NEEDS: dict[Kind, Needs] = {
    Kind.CAUTION: Needs(),
    Kind.STOP: Needs(),
    Kind.ISOLATE: Needs(),
    Kind.ENERGISE: Needs(refitted=True, unclipped=True, guarded=True, gas=WORKING_GAS, cautions=LIVE),
    Kind.PROVE_METER: Needs(unclipped=True, cautions=LIVE),
    Kind.PROVE_EARTH: Needs(meter=True, unclipped=True, cautions=LIVE),
    Kind.PROVE_DEAD: Needs("off", meter=True, earth=True, unclipped=True, cautions=LIVE),
    Kind.PROVE_BOND: Needs("dead", unclipped=True),
    Kind.DISCHARGE: Needs("dead", covers="open", cautions=frozenset({Hazard.CHARGE})),
    Kind.COOL: Needs("off", cautions=frozenset({Hazard.HOT})),
    Kind.OPEN: Needs("off", unclipped=True),
    Kind.CLOSE: Needs("off", discharged=True, refitted=True, unclipped=True, gas=WORKING_GAS),
    Kind.GAS_OFF: Needs(),
    Kind.GAS_ON: Needs("dead", gas=frozenset({Gas.OFF, Gas.JOINED, Gas.ON, Gas.PERHAPS})),
    Kind.OPEN_PIPE: Needs("off", gas=frozenset({Gas.OFF, Gas.JOINED}), cautions=frozenset({Hazard.GAS})),
    Kind.JOIN_PIPE: Needs("off", gas=frozenset({Gas.APART})),
    Kind.LEAK_TEST: Needs("off", gas=frozenset({Gas.UNTESTED, Gas.ON}), cautions=frozenset({Hazard.GAS})),
    Kind.LIFT: TOUCHING,
    Kind.REFIT: TOUCHING,
    Kind.EXCHANGE: TOUCHING._replace(unclipped=True),
    Kind.TURN: TOUCHING,
    Kind.CLIP: TOUCHING,
    Kind.UNCLIP: TOUCHING,
    Kind.OHMS: Needs("dead", discharged=True, cool=True, unclipped=True),
    Kind.VOLTS: MEASURING,
    Kind.AMPS: MEASURING,
    Kind.LOOK: Needs(),
    Kind.MOVE: TOUCHING._replace(unclipped=True),
    Kind.RUN: Needs("on", refitted=True, unclipped=True, guarded=True, covers="closed", gas=WORKING_GAS),
    Kind.WATCH: MEASURING._replace(meter=False, cautions=frozenset({Hazard.LIVE, Hazard.MOVING})),
    Kind.SUPPLY: Needs(meter=True, unclipped=True, cautions=LIVE),
    Kind.PROVOKE: TOUCHING._replace(clipped=True),
    Kind.REPAIR: TOUCHING._replace(unclipped=True),
    Kind.ASK: Needs(),
}

LEAVES: dict[Kind, dict[str, Any]] = {
    Kind.PROVE_EARTH: {"earth": True},
    Kind.PROVE_DEAD: {"dead": Dead.SEEN, "meter": False},
    Kind.PROVE_BOND: {"bonded": True, "loose": False},
    Kind.DISCHARGE: {"charged": False},
    Kind.COOL: {"hot": False},
    Kind.OPEN: {"opened": True, "bonded": False},
    Kind.CLOSE: {"opened": False},
    Kind.OPEN_PIPE: {"gas": Gas.APART},
    Kind.JOIN_PIPE: {"gas": Gas.JOINED},
    Kind.LEAK_TEST: {"gas": Gas.ON},
    Kind.LIFT: {"lifted": True, "bonded": False},
    Kind.REFIT: {"lifted": False},
    Kind.EXCHANGE: {"bonded": False},
    Kind.CLIP: {"clipped": True},
    Kind.UNCLIP: {"clipped": False},
    Kind.REPAIR: {"bonded": False},
}
"""What a step leaves, where that does not depend on the state; the rest is in `after`."""


def begin(facts: Facts) -> State:
    """A machine as it is found: every feed may be live, everything may be charged, hot and under gas."""
    gas = Gas.ON if facts.gas else Gas.NONE
    return State(facts, (True,) * facts.feeds, charged=facts.capacitor, hot=facts.heats, gas=gas)


def needs(step: Step) -> Needs:
    """What a step needs: that of its kind, with its own cautions and place. Stored charge and heat matter where
    they are: at the plug's prongs the machine has been proved dead, and a cold bay may be reached into at once."""
    base = NEEDS[step.kind]
    if step.kind is Kind.LOOK and step.inside:
        base = TOUCHING
    if step.kind is Kind.SUPPLY and step.inside:
        base = base._replace(power="off", gas=WORKING_GAS)
    if step.kind is Kind.PROVOKE and not step.inside:
        base = NEEDS[Kind.RUN]
    if step.kind is Kind.ENERGISE and not step.inside:
        base = base._replace(covers="closed", cautions=base.cautions - LIVE)
    covers: Covers = "open" if step.inside and not base.covers else base.covers
    near = frozenset({Hazard.GAS} if step.pipe in (Pipe.BESIDE, Pipe.APART) else ())
    return base._replace(
        covers=covers,
        discharged=base.discharged and Hazard.CHARGE in step.hazards,
        cool=step.cool or (base.cool and Hazard.HOT in step.hazards),
        gas=base.gas & AT_PIPE[step.pipe],
        cautions=base.cautions | step.hazards | near,
    )


def unmet(state: State, step: Step) -> tuple[str, ...]:
    """Why a step may not be done now, as sentences; empty when it may.

    >>> unmet(begin(Facts()), Step(Kind.OHMS))[0]
    'Every feed must be isolated and proved dead.'
    """
    if not _may(state, step):
        return (f"Stopped: {state.stopped}. {STOPS[state.stopped].say}",)
    return tuple(SAID[need] for need in _lacking(state, needs(step)))


def allowed(state: State, step: Step) -> bool:
    """Whether a step may be done now."""
    return _may(state, step) and met(state, needs(step))


def met(state: State, wanted: Needs) -> bool:
    """Whether all of these needs are met.

    >>> met(begin(Facts()), NEEDS[Kind.OHMS]), met(begin(Facts()), NEEDS[Kind.ASK])
    (False, True)
    """
    return all(enough(state, wanted) for enough in ENOUGH.values())


def after(state: State, step: Step) -> State:
    """The state that a step leaves. Raises errors.Refused when it is not allowed; the state is as it was.

    >>> after(begin(Facts()), Step(Kind.ISOLATE)).live
    (False,)
    """
    reasons = unmet(state, step)
    if reasons:
        raise errors.Refused(f"Not now: {step.kind}.", " ".join(reasons))
    return _left(state, step)


def prepare(state: State, step: Step) -> tuple[Step, ...]:
    """The steps to do first, in order, so that a step becomes allowed; empty when it is.

    Raises errors.Refused when no preparation helps: the job was stopped, or it wants gas where none burns.

    >>> [str(step.kind) for step in prepare(begin(Facts()), Step(Kind.OHMS))]
    ['isolate', 'caution', 'prove the meter', 'prove the earth', 'prove dead', 'prove the meter']
    """
    found: list[Step] = []
    while not allowed(state, step):
        first = _remedy(state, step)
        before = prepare(state, first)
        for one in (*before, first):
            state = after(state, one)
            found.append(one)
    return tuple(found)


SAID = {
    "power on": "Every feed of the machine must be energised.",
    "power off": "Every feed must be isolated.",
    "power dead": "Every feed must be isolated and proved dead.",
    "meter": "The meter must be proven on a known live source.",
    "earth": "The earth that is measured against must be proved.",
    "discharged": "Capacitors must be discharged.",
    "cool": "Hot parts must have cooled.",
    "covers open": "The covers must be open.",
    "covers closed": "The covers must be closed.",
    "refitted": "Lifted wires must be refitted.",
    "unclipped": "The meter must be taken off.",
    "clipped": "The meter must be clipped on beforehand.",
    "guarded": "The covers must be closed, the power not left off since, or the frame proved bonded.",
    "gas": "The gas must be off, apart, or on and tested for leaks, as the step needs it.",
    "cautions": "The caution must have been shown and acknowledged.",
}


ENOUGH: dict[str, Callable[[State, Needs], bool]] = {
    "clipped": lambda state, wanted: state.clipped or not wanted.clipped,
    "unclipped": lambda state, wanted: not state.clipped or not wanted.unclipped,
    "refitted": lambda state, wanted: not state.lifted or not wanted.refitted,
    "covers open": lambda state, wanted: state.opened or wanted.covers != "open",
    "covers closed": lambda state, wanted: not state.opened or wanted.covers != "closed",
    "gas": lambda state, wanted: state.gas in wanted.gas,
    "guarded": lambda state, wanted: state.bonded or not wanted.guarded or not (state.opened or state.loose),
    "power on": lambda state, wanted: wanted.power != "on" or all(state.live),
    "power off": lambda state, wanted: wanted.power != "off" or not any(state.live),
    "power dead": lambda state, wanted: wanted.power != "dead" or _proved_dead(state),
    "cool": lambda state, wanted: not state.hot or not wanted.cool,
    "discharged": lambda state, wanted: not state.charged or not wanted.discharged,
    "meter": lambda state, wanted: state.meter or not wanted.meter,
    "earth": lambda state, wanted: state.earth or not wanted.earth,
    "cautions": lambda state, wanted: not _unsaid(state, wanted),
}
"""When each need is met, in the order in which they are best met."""


def _proved_dead(state: State) -> bool:
    return state.dead is Dead.PROVED and not any(state.live)


def _lacking(state: State, wanted: Needs) -> list[str]:
    """Names of the needs that are not met, in the order in which they are best met."""
    return [name for name, enough in ENOUGH.items() if not enough(state, wanted)]


def _unsaid(state: State, wanted: Needs) -> frozenset[Hazard]:
    """The cautions still to be shown; none of what is cold or discharged by now."""
    unsaid = wanted.cautions - state.cautions
    unsaid = unsaid if state.hot else unsaid - {Hazard.HOT}
    return unsaid if state.charged else unsaid - {Hazard.CHARGE}


def _remedy(state: State, step: Step) -> Step:
    """The step that meets the first need that is lacking."""
    lacking = _lacking(state, needs(step))
    if not lacking or not _may(state, step):
        raise errors.Refused(f"Not possible: {step.kind}.", " ".join(unmet(state, step)))
    need, wanted = lacking[0], needs(step)
    if need in REMEDIES:
        clips = need == "clipped"
        there, pipe = (step.hazards, step.pipe) if clips else (frozenset[Hazard](), Pipe.AWAY)
        return Step(REMEDIES[need], inside=step.inside and clips, hazards=there, pipe=pipe)
    if need == "guarded":
        return Step(Kind.CLOSE if state.opened and wanted.covers != "open" else Kind.PROVE_BOND)
    if need == "gas":
        return _gas_remedy(state, step)
    if need == "cautions":
        return Step(Kind.CAUTION, hazard=min(_unsaid(state, wanted)))
    return _power_remedy(state, need)


REMEDIES = {
    "clipped": Kind.CLIP,
    "unclipped": Kind.UNCLIP,
    "refitted": Kind.REFIT,
    "covers open": Kind.OPEN,
    "covers closed": Kind.CLOSE,
    "discharged": Kind.DISCHARGE,
    "cool": Kind.COOL,
    "meter": Kind.PROVE_METER,
    "earth": Kind.PROVE_EARTH,
}


def _power_remedy(state: State, need: str) -> Step:
    if need == "power on":
        return Step(Kind.ENERGISE, inside=state.opened, feed=state.live.index(False))
    if any(state.live):
        return Step(Kind.ISOLATE, feed=state.live.index(True))
    return Step(Kind.PROVE_METER if need == "power dead" and state.dead is Dead.SEEN else Kind.PROVE_DEAD)


def _gas_remedy(state: State, step: Step) -> Step:
    """One step nearer to where the gas must stand."""
    if state.gas is Gas.NONE:
        raise errors.Refused(f"Not possible: {step.kind}.", "The machine burns no gas.")
    wanted = needs(step).gas
    if wanted == {Gas.APART}:
        return Step(Kind.OPEN_PIPE, inside=step.inside)
    if state.gas is Gas.ON or (Gas.JOINED in wanted and state.gas in (Gas.UNTESTED, Gas.PERHAPS)):
        return Step(Kind.GAS_OFF)
    return Step(ONWARD.get(state.gas, Kind.GAS_ON))


ONWARD = {Gas.APART: Kind.JOIN_PIPE, Gas.UNTESTED: Kind.LEAK_TEST}
"""The step that brings the gas nearer to burning; where none stands here, the cock is opened."""


def _may(state: State, step: Step) -> bool:
    """Whether a stop, if there was one, still lets this kind of step be done."""
    return step.kind is Kind.STOP or not state.stopped or step.kind in STOPS[state.stopped].still


def _left(state: State, step: Step) -> State:
    if step.kind is Kind.ISOLATE:
        return _isolated(state, step.feed)
    if step.kind is Kind.ENERGISE:
        return _energised(state, step.feed)
    if step.kind is Kind.PROVE_METER:
        return state._replace(meter=True, dead=Dead.PROVED if state.dead is Dead.SEEN else state.dead)
    if step.kind is Kind.OPEN:  # bare now, and what was proved or discharged elsewhere says nothing of it
        dead, charged = Dead.UNKNOWN if step.supply else state.dead, state.charged or step.charge
        return state._replace(**LEAVES[Kind.OPEN], dead=dead, charged=charged and state.facts.capacitor)
    if step.kind in (Kind.GAS_ON, Kind.GAS_OFF):
        return state._replace(gas=TURNED[step.kind].get(state.gas, state.gas))
    if step.kind in (Kind.RUN, Kind.WATCH) or (step.kind is Kind.PROVOKE and not step.inside):
        return state._replace(hot=state.facts.heats)
    if step.kind is Kind.CAUTION and step.hazard:
        return state._replace(cautions=state.cautions | {step.hazard})
    if step.kind is Kind.SUPPLY and step.inside:  # the breaker was switched on for it: isolated anew before hands
        live = (True,) * state.facts.feeds
        return state._replace(live=live, dead=Dead.UNKNOWN, meter=False, cautions=frozenset())
    if step.kind is Kind.STOP:
        return state._replace(stopped=_stricter(state.stopped, step.reason))
    return state._replace(**LEAVES.get(step.kind, {}))


def _stricter(one: str, other: str) -> str:
    """Of two reasons to stop the one that lets less be done, the later of equals: none takes a graver one back."""
    return one if one and STOPS[one].still < STOPS[other].still else other


TURNED = {
    Kind.GAS_ON: {Gas.OFF: Gas.ON, Gas.PERHAPS: Gas.ON, Gas.JOINED: Gas.UNTESTED},
    Kind.GAS_OFF: {Gas.ON: Gas.OFF, Gas.PERHAPS: Gas.OFF, Gas.UNTESTED: Gas.JOINED},
}


def _isolated(state: State, feed: int) -> State:
    """A feed is off. The meter is to be proven anew and cautions are to be shown anew: another power state."""
    if not state.live[feed]:
        return state
    live = tuple(on and place != feed for place, on in enumerate(state.live))
    return state._replace(live=live, dead=Dead.UNKNOWN, meter=False, cautions=frozenset())


def _energised(state: State, feed: int) -> State:
    """A feed is on: nothing is dead, discharged or cool any more; beside open covers the live caution has just been
    shown, and of a closed machine it is wanted where a lead or a clamp comes to what is live."""
    live = tuple(on or place == feed for place, on in enumerate(state.live))
    facts = state.facts
    told = LIVE if state.opened else frozenset[Hazard]()
    return state._replace(
        live=live, dead=Dead.UNKNOWN, meter=False, charged=facts.capacitor, hot=facts.heats, cautions=told
    )
