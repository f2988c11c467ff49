"""The safety automaton, enumerated completely and judged by a checker that keeps a history of its own.

The checker knows nothing of needs or of the automaton's state: it is told only which steps were done, and keeps its
own account of what is physically live, charged, hot or leaking and of what has been shown to the person.
"""

from __future__ import annotations

import itertools
from collections import deque
from collections.abc import Iterator
from typing import Any, NamedTuple

import pytest

from halfsplit import errors
from halfsplit.work import safety
from halfsplit.work.hazards import STOPS, Hazard, Kind, Pipe
from halfsplit.work.safety import Facts, State, Step

MACHINES = [
    Facts(feeds=1),
    Facts(feeds=1, capacitor=True),
    Facts(feeds=2, capacitor=True, heats=True),
    Facts(feeds=1, gas=True, heats=True),
]
HANDS_INSIDE = {Kind.LIFT, Kind.REFIT, Kind.CLIP, Kind.OHMS, Kind.REPAIR, Kind.LOOK, Kind.PROVOKE}
READ_LIVE = {Kind.VOLTS, Kind.AMPS}
RUNNING = READ_LIVE | {Kind.ENERGISE, Kind.WATCH}


class World(NamedTuple):
    """What is physically so, and what was done since: the checker's own account."""

    live: frozenset[int]
    charge: bool
    pipe_open: bool = False
    leak_unknown: bool = False
    valve_open: bool = False
    hot: bool = False
    covers_off: bool = False
    wire_off: bool = False
    meter_on: bool = False
    ground_sure: bool = False
    told_live: bool = False
    told_gas: bool = False
    told_hot: bool = False
    told_charge: bool = False
    proofs: str = ""
    """Since the last change of power: m meter proven, d tested for dead against a proved earth, in order."""
    dead: bool = False
    earth_proved: bool = False
    stopped: bool = False


def world(facts: Facts) -> World:
    """A machine as it is found."""
    return World(frozenset(range(facts.feeds)), facts.capacitor, valve_open=facts.gas, hot=facts.heats)


def dangers(seen: World, step: Step) -> Iterator[str]:
    """What could hurt somebody if this step were done in this world."""
    known_dead = not seen.live and seen.dead
    touching = step.kind in HANDS_INSIDE and (step.inside or step.kind not in (Kind.LOOK, Kind.PROVOKE))
    gassy = seen.pipe_open or seen.leak_unknown
    rules = {
        "hands or ohms on a machine not proved dead": touching and not known_dead,
        "hands at stored charge": touching and Hazard.CHARGE in step.hazards and seen.charge,
        "hands on hot parts": touching and Hazard.HOT in step.hazards and seen.hot,
        "at hot parts without their caution": Hazard.HOT in step.hazards and seen.hot and not seen.told_hot,
        "waited for hot parts, not told why": step.kind is Kind.COOL and seen.hot and not seen.told_hot,
        "at stored charge without its caution": (
            (Hazard.CHARGE in step.hazards or step.kind is Kind.DISCHARGE) and seen.charge and not seen.told_charge
        ),
        "a live reading, meter unproven": step.kind in READ_LIVE | {Kind.SUPPLY} and not seen.proofs.endswith("m"),
        "a live reading without its caution": step.kind in READ_LIVE | {Kind.SUPPLY, Kind.WATCH} and not seen.told_live,
        "measuring the high-voltage side energised": step.high_voltage and bool(seen.live),
        "energising with a wire off": step.kind is Kind.ENERGISE and seen.wire_off,
        "energising with the meter clipped on": step.kind is Kind.ENERGISE and seen.meter_on,
        "energising uncovered, frame unsure": (
            step.kind in RUNNING and seen.covers_off and not seen.ground_sure
        ),
        "energising with a leak possible": step.kind in RUNNING | {Kind.RUN} and gassy,
        "opening the pipe under gas": step.kind is Kind.OPEN_PIPE and (seen.valve_open or bool(seen.live)),
        "gas into an open pipe": step.kind is Kind.GAS_ON and seen.pipe_open,
        "hands beside gas pipe under gas": step.pipe in (Pipe.BESIDE, Pipe.APART) and seen.valve_open,
        "a gas part taken out of a joined pipe": step.pipe is Pipe.APART and not seen.pipe_open,
        "hands at gas pipe without its caution": (
            (step.pipe in (Pipe.BESIDE, Pipe.APART) or step.kind in (Kind.OPEN_PIPE, Kind.LEAK_TEST))
            and not seen.told_gas
        ),
        "run for heat with the gas off": step.pipe is Pipe.LIT and not seen.valve_open,
        "a cover over a joint that was not tested": step.kind is Kind.CLOSE and gassy,
        "a leak test that tests nothing": step.kind is Kind.LEAK_TEST and (seen.pipe_open or not seen.valve_open),
        "leak solution on what is live": step.kind is Kind.LEAK_TEST and bool(seen.live),
        "covers moved while live": step.kind in (Kind.OPEN, Kind.CLOSE) and bool(seen.live),
        "running uncovered": step.kind is Kind.RUN and seen.covers_off,
        "going on after a stop": seen.stopped
        and step.kind in HANDS_INSIDE - {Kind.REFIT} | RUNNING | {Kind.SUPPLY},
    }
    return (name for name, broken in rules.items() if broken)


def then(seen: World, step: Step, facts: Facts) -> World:
    """The world after a step, by the checker's own account."""
    kind = step.kind
    if kind in (Kind.ISOLATE, Kind.ENERGISE):
        live = seen.live - {step.feed} if kind is Kind.ISOLATE else seen.live | {step.feed}
        changed = live != seen.live or kind is Kind.ENERGISE
        on = kind is Kind.ENERGISE
        return seen._replace(
            live=live, charge=facts.capacitor if on else seen.charge, hot=facts.heats if on else seen.hot,
            proofs="" if changed else seen.proofs,
            dead=seen.dead and not changed,
            told_live=on or (seen.told_live and not changed),
            told_gas=seen.told_gas and not changed,
            told_hot=seen.told_hot and not changed,
            told_charge=seen.told_charge and not changed,
        )  # fmt: skip
    marks = {Kind.PROVE_METER: "m", Kind.PROVE_DEAD: "d" if seen.earth_proved and not seen.live else "x"}
    simple: dict[Kind, dict[str, Any]] = {
        Kind.DISCHARGE: {"charge": False}, Kind.COOL: {"hot": False}, Kind.CLOSE: {"covers_off": False},
        Kind.OPEN: {"covers_off": True, "ground_sure": False}, Kind.REFIT: {"wire_off": False},
        Kind.LIFT: {"wire_off": True, "ground_sure": False}, Kind.REPAIR: {"ground_sure": False},
        Kind.CLIP: {"meter_on": True}, Kind.UNCLIP: {"meter_on": False},
        Kind.PROVE_BOND: {"ground_sure": True}, Kind.PROVE_EARTH: {"earth_proved": True},
        Kind.GAS_OFF: {"valve_open": False}, Kind.GAS_ON: {"valve_open": facts.gas},
        Kind.OPEN_PIPE: {"pipe_open": True, "leak_unknown": True}, Kind.JOIN_PIPE: {"pipe_open": False},
        Kind.LEAK_TEST: {"leak_unknown": False}, Kind.STOP: {"stopped": True},
        Kind.RUN: {"hot": facts.heats}, Kind.WATCH: {"hot": facts.heats},
        Kind.PROVOKE: {"hot": seen.hot if step.inside else facts.heats},
    }  # fmt: skip
    after = seen._replace(**simple.get(kind, {}))
    told = after.told_live or (kind is Kind.CAUTION and step.hazard is Hazard.LIVE)
    shown: dict[str, Any] = {TOLD[step.hazard]: True} if step.hazard in TOLD and kind is Kind.CAUTION else {}
    after = after._replace(**shown)
    proofs = (after.proofs + marks.get(kind, "")).replace("mm", "m")[-3:]
    return after._replace(proofs=proofs, dead=seen.dead or proofs == "mdm", told_live=told)


TOLD: dict[Hazard | None, str] = {Hazard.GAS: "told_gas", Hazard.HOT: "told_hot", Hazard.CHARGE: "told_charge"}
"""Where it is kept that a caution was shown."""


def every_step(facts: Facts) -> list[Step]:
    """Every step that differs to the automaton."""
    plain = [Step(kind) for kind in Kind if kind not in (Kind.CAUTION, Kind.ISOLATE, Kind.ENERGISE, Kind.STOP)]
    inside = [Step(kind, inside=True) for kind in HANDS_INSIDE | READ_LIVE | {Kind.WATCH}]
    feeds = [Step(kind, feed=feed) for kind in (Kind.ISOLATE, Kind.ENERGISE) for feed in range(facts.feeds)]
    shown = [Step(Kind.CAUTION, hazard=hazard) for hazard in (Hazard.LIVE, Hazard.MOVING, *sorted(held(facts)))]
    high = [Step(kind, inside=True, high_voltage=True, hazards=held(facts)) for kind in (Kind.OHMS, Kind.VOLTS)]
    stops = [Step(Kind.STOP, reason=reason) for reason in ("tingling frame", "smell of gas", "fixed wiring")]
    return plain + inside + beside(facts) + feeds + shown + high + stops + (piped() if facts.gas else [])


def held(facts: Facts) -> frozenset[Hazard]:
    """What may hurt somewhere in the machine."""
    there = {Hazard.CHARGE: facts.capacitor, Hazard.HOT: facts.heats, Hazard.GAS: facts.gas}
    return frozenset(hazard for hazard, so in there.items() if so)


def beside(facts: Facts) -> list[Step]:
    """Every step done beside each thing that may hurt, and beside all of them: hands, leads, covers."""
    sets = {frozenset({hazard}) for hazard in held(facts)} | ({held(facts)} - {frozenset()})
    kinds = sorted(HANDS_INSIDE | READ_LIVE | {Kind.WATCH})
    hands = [Step(kind, inside=True, hazards=one) for kind in kinds for one in sorted(sets, key=sorted)]
    return hands + [Step(Kind.OPEN, hazards=one) for one in sorted(sets, key=sorted)]


def piped() -> list[Step]:
    """Every step that has to do with gas pipe: repairs at and beside it, hot air beside it, runs in which it burns."""
    hands = [Step(Kind.REPAIR, inside=True, pipe=pipe) for pipe in (Pipe.BESIDE, Pipe.APART)]
    lit = [Step(Kind.RUN, pipe=Pipe.LIT), Step(Kind.WATCH, inside=True, pipe=Pipe.LIT)]
    return [*hands, Step(Kind.PROVOKE, inside=True, pipe=Pipe.BESIDE), *lit]


def reachable(facts: Facts) -> Iterator[tuple[State, World]]:
    """Every pair of automaton state and world that any order of allowed steps can bring about."""
    begun = safety.begin(facts), world(facts)
    seen, waiting = {begun}, deque([begun])
    steps = every_step(facts)
    while waiting:
        state, at = waiting.popleft()
        yield state, at
        for step in steps:
            if safety.allowed(state, step):
                follows = safety.after(state, step), then(at, step, facts)
                if follows not in seen:
                    seen.add(follows)
                    waiting.append(follows)


@pytest.mark.parametrize("facts", MACHINES, ids=str)
def test_no_reachable_step_is_dangerous(facts: Facts) -> None:
    """Every state that can be reached and every step allowed in it: the checker finds no danger."""
    steps = every_step(facts)
    met, found = 0, set()
    for state, at in reachable(facts):
        met += 1
        for step in steps:
            if safety.allowed(state, step):
                found |= {(danger, step.kind) for danger in dangers(at, step)}
    assert not found
    assert met > 300


@pytest.mark.parametrize("facts", MACHINES, ids=str)
def test_preparation_leads_to_every_step(facts: Facts) -> None:
    """From every state that is not stopped, `prepare` gives allowed steps after which the step itself is allowed."""
    states = {state for state, _ in reachable(facts) if not state.stopped}
    for state, step in itertools.product(sorted(states), every_step(facts)):
        if _possible(facts, step):
            for one in safety.prepare(state, step):
                state = safety.after(state, one)
            assert safety.allowed(state, step)


def _possible(facts: Facts, step: Step) -> bool:
    gas = {Kind.GAS_ON, Kind.OPEN_PIPE, Kind.JOIN_PIPE, Kind.LEAK_TEST}
    return (facts.gas or step.kind not in gas) and not (step.high_voltage and step.kind is Kind.VOLTS)


def shortest(facts: Facts, wanted: Step) -> int:
    """Least number of allowed steps before a step is allowed, by breadth-first search from the start."""
    begun = safety.begin(facts)
    seen, waiting = {begun}, deque([(begun, 0)])
    while waiting:
        state, count = waiting.popleft()
        if safety.allowed(state, wanted):
            return count
        for step in every_step(facts):
            if safety.allowed(state, step) and step.kind is not Kind.STOP:
                follows = safety.after(state, step)
                if follows not in seen:
                    seen.add(follows)
                    waiting.append((follows, count + 1))
    raise AssertionError(f"{wanted} can never be done")


@pytest.mark.parametrize("facts", MACHINES, ids=str)
def test_preparation_is_the_shortest(facts: Facts) -> None:
    """From the start no shorter preparation exists than the one given, for any step."""
    begun = safety.begin(facts)
    longer = {
        step: (len(safety.prepare(begun, step)), shortest(facts, step))
        for step in every_step(facts)
        if _possible(facts, step) and len(safety.prepare(begun, step)) > shortest(facts, step)
    }
    assert not longer


@pytest.mark.parametrize("reason", STOPS)
def test_after_a_stop_only_what_makes_safe(reason: str) -> None:
    """After every stop readings, repairs and energising are refused with the reason; after gas, everything is."""
    state = safety.after(safety.begin(Facts(gas=True)), Step(Kind.STOP, reason=reason))
    for kind in (Kind.OHMS, Kind.VOLTS, Kind.REPAIR, Kind.ENERGISE, Kind.RUN):
        assert reason in safety.unmet(state, Step(kind))[0]
        with pytest.raises(errors.Refused):
            safety.prepare(state, Step(kind))
    assert safety.allowed(state, Step(Kind.ISOLATE)) == (reason != "smell of gas")


def test_high_voltage_is_never_read_energised() -> None:
    """A live reading on the high-voltage side cannot be prepared; the same side is read in ohms once it is dead."""
    begun = safety.begin(Facts(capacitor=True))
    with pytest.raises(errors.Refused, match="high-voltage"):
        safety.prepare(begun, Step(Kind.VOLTS, inside=True, high_voltage=True))
    stored = Step(Kind.OHMS, inside=True, high_voltage=True, hazards=frozenset({Hazard.CHARGE}))
    kinds = [step.kind for step in safety.prepare(begun, stored)]
    assert kinds.index(Kind.DISCHARGE) > kinds.index(Kind.PROVE_DEAD)


def test_a_refused_step_leaves_the_state() -> None:
    """`after` raises with the reasons and changes nothing."""
    begun = safety.begin(Facts())
    with pytest.raises(errors.Refused, match="proved dead"):
        safety.after(begun, Step(Kind.OHMS))
    assert begun == safety.begin(Facts())


@pytest.mark.parametrize(
    ("kind", "dropped", "facts"),
    [
        (Kind.OHMS, {"power": "off"}, MACHINES[1]),
        (Kind.OHMS, {"discharged": False}, MACHINES[1]),
        (Kind.VOLTS, {"meter": False}, MACHINES[1]),
        (Kind.ENERGISE, {"refitted": False}, MACHINES[1]),
        (Kind.ENERGISE, {"unclipped": False}, MACHINES[1]),
        (Kind.ENERGISE, {"guarded": False}, MACHINES[1]),
        (Kind.ENERGISE, {"gas": frozenset(safety.Gas)}, MACHINES[3]),
        (Kind.OPEN_PIPE, {"gas": frozenset(safety.Gas)}, MACHINES[3]),
        (Kind.CLOSE, {"gas": frozenset(safety.Gas)}, MACHINES[3]),
        (Kind.LEAK_TEST, {"gas": frozenset(safety.Gas)}, MACHINES[3]),
        (Kind.LEAK_TEST, {"power": ""}, MACHINES[3]),
        (Kind.LEAK_TEST, {"cautions": frozenset()}, MACHINES[3]),
        (Kind.REPAIR, {"cool": False}, MACHINES[3]),
        (Kind.OHMS, {"cool": False}, MACHINES[3]),
        (Kind.LIFT, {"discharged": False}, MACHINES[1]),
        (Kind.COOL, {"cautions": frozenset()}, MACHINES[3]),
        (Kind.DISCHARGE, {"cautions": frozenset()}, MACHINES[1]),
        (Kind.OPEN, {"power": ""}, MACHINES[1]),
        (Kind.PROVE_DEAD, {"earth": False}, MACHINES[1]),
        (Kind.PROVE_DEAD, {"meter": False}, MACHINES[1]),
        (Kind.RUN, {"covers": ""}, MACHINES[1]),
        (Kind.SUPPLY, {"meter": False}, MACHINES[1]),
        (Kind.WATCH, {"cautions": frozenset()}, MACHINES[1]),
    ],
)
def test_the_checker_sees_a_need_that_is_dropped(
    kind: Kind, dropped: dict[str, Any], facts: Facts, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The checker is not blind: with any one need of these left out it finds a danger that can be reached."""
    monkeypatch.setitem(safety.NEEDS, kind, safety.NEEDS[kind]._replace(**dropped))
    steps = every_step(facts)
    assert any(
        safety.allowed(state, step) and any(dangers(at, step)) for state, at in reachable(facts) for step in steps
    )


@pytest.mark.parametrize("pipe", [Pipe.BESIDE, Pipe.APART, Pipe.LIT])
def test_the_checker_sees_where_gas_is_forgotten(pipe: Pipe, monkeypatch: pytest.MonkeyPatch) -> None:
    """With where the gas must stand left out for what a step has to do with its pipe, a danger can be reached."""
    monkeypatch.setitem(safety.AT_PIPE, pipe, frozenset(safety.Gas))
    facts = MACHINES[3]
    assert any(safety.allowed(s, step) and any(dangers(at, step)) for s, at in reachable(facts) for step in piped())


def test_a_gas_part_is_repaired_between_shut_cock_and_leak_test() -> None:
    """From a machine as it is found to a run in which it burns: all that is done about gas, in this order."""
    state, kinds = safety.begin(Facts(gas=True)), []
    for step in (Step(Kind.REPAIR, inside=True, pipe=Pipe.APART), Step(Kind.RUN, pipe=Pipe.LIT)):
        for one in (*safety.prepare(state, step), step):
            state = safety.after(state, one)
            kinds.append(one.kind)
    about = {Kind.GAS_OFF, Kind.OPEN_PIPE, Kind.REPAIR, Kind.JOIN_PIPE, Kind.GAS_ON, Kind.LEAK_TEST, Kind.CLOSE}
    assert [kind for kind in kinds if kind in about | {Kind.ENERGISE, Kind.RUN}] == [
        Kind.GAS_OFF, Kind.OPEN_PIPE, Kind.REPAIR,
        Kind.JOIN_PIPE, Kind.GAS_ON, Kind.LEAK_TEST, Kind.CLOSE, Kind.ENERGISE, Kind.RUN,
    ]  # fmt: skip


def test_a_machine_without_gas_never_burns() -> None:
    """Nothing prepares a machine that burns no gas for a step at a gas pipe."""
    for pipe in (Pipe.BESIDE, Pipe.APART, Pipe.LIT):
        with pytest.raises(errors.Refused):
            safety.prepare(safety.begin(Facts()), Step(Kind.REPAIR, pipe=pipe))


def test_cautions_are_asked_for_once_a_power_state() -> None:
    """A second live reading needs no second caution; after isolating and energising it is asked for again."""
    state = safety.begin(Facts())
    step = Step(Kind.VOLTS)
    for one in safety.prepare(state, step):
        state = safety.after(state, one)
    state = safety.after(state, step)
    assert safety.prepare(state, step) == ()
    state = safety.after(state, Step(Kind.ISOLATE))
    assert safety.prepare(state, step)[0].kind is Kind.CAUTION
