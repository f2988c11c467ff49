"""The safety automaton, enumerated completely and judged by a checker that keeps a history of its own.

The enumeration and what it rests on; each need, and what else the automaton takes care of, left out in turn; then what
comes before a step.
"""

from __future__ import annotations

import itertools
from collections import deque
from collections.abc import Callable
from typing import Any

import pytest

from halfsplit import errors
from halfsplit.work import safety
from halfsplit.work.hazards import STOPS, Hazard, Kind, Pipe
from halfsplit.work.safety import Facts, Gas, Needs, State, Step
from tests.depth import some
from tests.work.enumeration import FOLLOWED, MACHINES, REASONS, Pair, Row, Rows, as_shown, every_step, found, reachable
from tests.work.history import BARRED, GRAVITY, IS_SO, so, watched_for, world

NONE = frozenset[Hazard]()
ALL = Facts(feeds=1, capacitor=True, gas=True, heats=True)
SOME = [
    Facts(feeds=1),
    Facts(feeds=1, capacitor=True),
    Facts(feeds=2, capacitor=True, heats=True),
    Facts(feeds=1, gas=True, heats=True),
]
"""Machines on which preparation is followed: it is a way through states that are all enumerated."""


# ---- every state and every step ---------------------------------------------------------------------------


@pytest.mark.parametrize(("feeds", "followed"), [*itertools.product((1, 2), FOLLOWED)])
def test_no_reachable_step_is_dangerous(feeds: int, followed: tuple[frozenset[Hazard], tuple[str, ...]]) -> None:
    """Every state of every kind of machine that can be reached and every step allowed in it: no danger."""
    cautions, stops = followed
    rows = Rows(cautions, stops, feeds)
    for facts in MACHINES:
        if facts.feeds == feeds:
            assert not {(danger, step) for danger, step, _ in found(facts, rows)}, facts


def test_nothing_is_safe_for_want_of_being_done() -> None:
    """Each step away from gas pipe is allowed somewhere, in a bay and not, beside each hazard; each reason stops."""
    for cautions, stops in FOLLOWED:
        steps, stopped, told = set[Step](), set[str](), NONE
        for pair, row in reachable(Facts(gas=True), Rows(cautions, stops, 1)):
            steps |= set(row.steps)
            stopped.add(pair.state.stopped)
            told |= pair.at.told & cautions
        assert {step for step in every_step(cautions, stops, 1) if step.pipe is Pipe.AWAY} <= steps
        assert stopped == {"", *stops}
        assert told == cautions


# ---- what the enumeration rests on ------------------------------------------------------------------------


def test_hazards_add_what_is_needed_one_by_one() -> None:
    """Beside several hazards a step needs what it needs beside each of them, to the automaton and to the checker."""
    for step in every_step(NONE, (), 1):
        single = {one: step._replace(hazards=frozenset({one})) for one in Hazard}
        counts = range(2, len(Hazard) + 1)
        for count, several in ((n, mixed) for n in counts for mixed in itertools.combinations(Hazard, n)):
            beside = step._replace(hazards=frozenset(several))
            assert safety.needs(beside) == _joined([safety.needs(single[one]) for one in several]), count
            assert watched_for(beside) == frozenset().union(*(watched_for(single[one]) for one in several))


def _joined(needs: list[Needs]) -> Needs:
    """What meets all of these, which differ by cautions, heat and charge alone."""
    return needs[0]._replace(
        discharged=any(one.discharged for one in needs),
        cool=any(one.cool for one in needs),
        cautions=NONE.union(*(one.cautions for one in needs)),
    )


def test_a_caution_more_takes_no_step_away_and_leaves_the_same() -> None:
    """With four cautions of each sort followed at once: no danger, and all of it lies within each one's enumeration."""
    facts, several = Facts(capacitor=True), frozenset({Hazard.LIVE, Hazard.CHARGE, Hazard.SHARP, Hazard.MOVING})
    rows = Rows(several, (), 1)
    assert not list(found(facts, rows))
    together = list(reachable(facts, rows))
    for one in several:
        alone_rows, others = Rows(frozenset({one}), (), 1), frozenset(Hazard) - {one}
        alone = {pair: set(row.steps) for pair, row in reachable(facts, alone_rows)}
        followed = set(alone_rows.steps)
        for pair, row in together:
            assert followed & set(row.steps) <= alone[as_shown(pair, others)]


def test_a_stop_only_takes_away() -> None:
    """Whatever is allowed after a stop was allowed without it, and leaves the same; asked step by step, since rows rest
    on it."""
    rows = Rows(NONE, REASONS, 1)
    for (state, _), row in reachable(Facts(gas=True), rows):
        before = state._replace(stopped="")
        assert {step for step in rows.steps if safety.allowed(state, step)} == set(row.steps)
        assert set(row.steps) <= {step for step in rows.steps if safety.allowed(before, step)}
        for way in row.ways:
            if way.kind is not Kind.STOP:
                assert safety.after(state, way) == safety.after(before, way)._replace(stopped=state.stopped)


def test_reasons_after_which_the_same_may_be_done_are_one() -> None:
    """With every reason followed all lies within the enumeration of one of each, and the checker sees no difference."""
    alike = {reason: next(one for one in REASONS if STOPS[one].still == STOPS[reason].still) for reason in STOPS}
    assert {GRAVITY[reason] for reason in REASONS} == {*GRAVITY.values()}
    one, every = Rows(NONE, REASONS, 1), Rows(NONE, tuple(STOPS), 1)
    known = {pair: _kept(row) for pair, row in reachable(Facts(gas=True), one)}
    for (state, at), row in reachable(Facts(gas=True), every):
        assert _kept(row) == known[Pair(state._replace(stopped=alike.get(state.stopped, "")), at)]


def _kept(row: Row) -> tuple[set[Step], frozenset[Kind]]:
    """What is allowed, its stops apart."""
    return {step for step in row.steps if step.kind is not Kind.STOP}, row.kinds


def test_no_danger_reads_two_cautions() -> None:
    """Of what may be so in a world, each changes with one caution at most."""
    read: dict[str, set[Hazard]] = {name: set() for name in IS_SO}
    for capacitor, heats, told in itertools.product((False, True), (False, True), _subsets()):
        at = world(Facts(capacitor=capacitor, heats=heats))._replace(told=told)
        for one in Hazard:
            for name in so(at) ^ so(at._replace(told=told ^ {one})):
                read[name].add(one)
    assert {len(hazards) for hazards in read.values()} == {0, 1}
    assert frozenset().union(*read.values()) == set(Hazard)


def _subsets() -> list[frozenset[Hazard]]:
    """Every set of hazards."""
    return [frozenset(some) for count in range(len(Hazard) + 1) for some in itertools.combinations(Hazard, count)]


def test_reasons_to_stop_are_ranked() -> None:
    """Of any two reasons one lets no more be done than the other, and the checker ranks them alike."""
    for one, other in itertools.product(STOPS, STOPS):
        assert (GRAVITY[one] >= GRAVITY[other]) == (STOPS[one].still <= STOPS[other].still)


# ---- whatever is left out is found ------------------------------------------------------------------------

DROPPED = [
    (kind, field, value)
    for kind, wanted in safety.NEEDS.items()
    for field, value in Needs()._asdict().items()
    if field != "cautions" and getattr(wanted, field) != value
]
"""Each need of each kind but its cautions: the field, and how it stands where nothing is needed."""
UNTOLD = [(kind, hazard) for kind, wanted in safety.NEEDS.items() for hazard in sorted(wanted.cautions)]
LIVE_WORK = (Kind.VOLTS, Kind.AMPS, Kind.RUN, Kind.WATCH)
NOT_NEEDED_ALONE = {
    (Kind.JOIN_PIPE, "power"),
    (Kind.PROVOKE, "power"),
    (Kind.RUN, "refitted"),
    *itertools.product(LIVE_WORK, ("unclipped", "gas")),
}
"""Needs that another step on the way has as well. A pipe is opened with the power off, and nothing is energised while
it is; a meter is clipped on dead, and nothing is energised while it is on; who works under power has energised, which
wants clips and gas as well, and neither is touched under power; covers are closed only with all wires on. Wires and
the frame's bond each wants by itself: the breaker switched on for a receptacle behind a cover leaves a machine live
that nobody energised, and one that was left off may be live."""
TOLD_BEFORE = {
    (kind, Hazard.LIVE) for kind in (Kind.PROVE_EARTH, Kind.PROVE_DEAD, Kind.VOLTS, Kind.AMPS, Kind.SUPPLY)
}
"""Cautions that another step on the way has told: each of these wants a meter just proved, on what is live."""


def unsafe(cautions: frozenset[Hazard] = NONE, facts: Facts = ALL, stops: tuple[str, ...] = ()) -> bool:
    """Whether a danger can be reached; on the machine that has everything it is looked for on smaller ones first."""
    rows, machines = Rows(cautions, stops, facts.feeds), [Facts(), Facts(gas=True), ALL] if facts is ALL else [facts]
    return any(next(found(one, rows), None) is not None for one in machines)


FOLLOWING = {"discharged": frozenset({Hazard.CHARGE}), "cool": frozenset({Hazard.HOT})}
"""What has to be followed for a need that matters only beside a hazard."""


@pytest.mark.parametrize(("kind", "field", "value"), DROPPED)
def test_a_need_that_is_left_out_is_found(kind: Kind, field: str, value: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """With any one need of any kind left out a danger can be reached, but where another need holds it too."""
    monkeypatch.setitem(safety.NEEDS, kind, safety.NEEDS[kind]._replace(**{field: value}))
    assert unsafe(FOLLOWING.get(field, NONE)) != ((kind, field) in NOT_NEEDED_ALONE)


@pytest.mark.parametrize("kind", [kind for kind, wanted in safety.NEEDS.items() if wanted.power == "dead"])
def test_isolated_without_proof_is_found(kind: Kind, monkeypatch: pytest.MonkeyPatch) -> None:
    """What needs the machine proved dead is dangerous where it is only isolated."""
    monkeypatch.setitem(safety.NEEDS, kind, safety.NEEDS[kind]._replace(power="off"))
    assert unsafe() != ((kind, "power") in NOT_NEEDED_ALONE)


@pytest.mark.parametrize(("kind", "hazard"), UNTOLD)
def test_a_caution_that_is_left_out_is_found(kind: Kind, hazard: Hazard, monkeypatch: pytest.MonkeyPatch) -> None:
    """With any one caution of any kind left out a danger can be reached, but where another step has told it."""
    cautions = safety.NEEDS[kind].cautions - {hazard}
    monkeypatch.setitem(safety.NEEDS, kind, safety.NEEDS[kind]._replace(cautions=cautions))
    assert unsafe(frozenset({hazard})) != ((kind, hazard) in TOLD_BEFORE)


@pytest.mark.parametrize("hazard", Hazard)
def test_a_hazard_that_is_not_told_at_its_place_is_found(hazard: Hazard, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a step's own hazard wants no caution any more, sharp and heavy too, a danger can be reached."""
    full = safety.needs

    def needs(step: Step) -> Needs:
        wanted = full(step)
        return wanted._replace(cautions=wanted.cautions - (step.hazards & {hazard}))

    monkeypatch.setattr(safety, "needs", needs)
    assert unsafe(frozenset({hazard}))


@pytest.mark.parametrize("pipe", [Pipe.BESIDE, Pipe.APART, Pipe.LIT])
def test_gas_that_is_forgotten_is_found(pipe: Pipe, monkeypatch: pytest.MonkeyPatch) -> None:
    """With where the gas must stand left out for what a step has to do with its pipe, a danger can be reached."""
    monkeypatch.setitem(safety.AT_PIPE, pipe, frozenset(Gas))
    assert unsafe()


WORSE = [
    (kind, field)
    for kind, left in safety.LEAVES.items()
    for field in left
    if (kind, field) not in {
        (Kind.PROVE_EARTH, "earth"), (Kind.PROVE_DEAD, "dead"), (Kind.PROVE_BOND, "bonded"), (Kind.PROVE_BOND, "loose"),
        (Kind.DISCHARGE, "charged"), (Kind.COOL, "hot"), (Kind.CLOSE, "opened"), (Kind.REFIT, "lifted"),
        (Kind.UNCLIP, "clipped"), (Kind.JOIN_PIPE, "gas"), (Kind.LEAK_TEST, "gas"),
    }
]  # fmt: skip
"""What a step leaves that makes the machine more dangerous: forgetting the rest makes it safer to the automaton."""


@pytest.mark.parametrize(("kind", "field"), WORSE)
def test_what_a_step_leaves_is_not_forgotten(kind: Kind, field: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """An automaton that forgets what a step has made worse lets a danger be reached."""
    left = {name: value for name, value in safety.LEAVES[kind].items() if name != field}
    monkeypatch.setitem(safety.LEAVES, kind, left)
    assert unsafe()


def _changed(name: str, **to: Any) -> Callable[..., State]:
    """A function of the automaton whose state is changed afterwards."""
    full: Callable[..., State] = getattr(safety, name)
    return lambda *given: full(*given)._replace(**to)


@pytest.mark.parametrize(
    ("name", "to", "cautions"),
    [
        ("begin", {"charged": False}, {Hazard.CHARGE}),
        ("begin", {"hot": False}, {Hazard.HOT}),
        ("begin", {"gas": Gas.OFF}, ()),
        ("begin", {"live": (True, False)}, ()),
        ("begin", {"live": (False, True)}, ()),
        ("_energised", {"charged": False}, {Hazard.CHARGE}),
        ("_energised", {"hot": False}, {Hazard.HOT}),
        ("_energised", {"live": (True, True)}, ()),
        ("_energised", {"cautions": frozenset(Hazard)}, {Hazard.SHARP}),
        ("_energised", {"meter": True}, ()),
        ("_isolated", {"live": (False, False)}, ()),
        ("_isolated", {"cautions": frozenset(Hazard)}, {Hazard.HEAVY}),
        ("_isolated", {"meter": True}, ()),
        ("_isolated", {"dead": safety.Dead.PROVED}, ()),
    ],
)
def test_power_that_is_taken_too_lightly_is_found(
    name: str, to: dict[str, Any], cautions: set[Hazard], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A danger overlooked in how a machine with two feeds is found, switched on or off: it can be reached."""
    monkeypatch.setattr(safety, name, _changed(name, **to))
    assert unsafe(frozenset(cautions), ALL._replace(feeds=2))


@pytest.mark.parametrize("reason", STOPS)
def test_a_stop_that_lets_more_be_done_is_found(reason: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Any kind of step more after any stop, of those that the checker bars, can be reached; but telling a caution,
    which hurts nobody and is taken as told here."""
    for kind in BARRED[GRAVITY[reason]] - {Kind.CAUTION}:
        with monkeypatch.context() as patch:
            patch.setitem(STOPS, reason, STOPS[reason]._replace(still=STOPS[reason].still | {kind}))
            assert unsafe(facts=Facts(gas=True), stops=(reason,)), kind


def test_a_graver_stop_that_is_taken_back_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """Were the last reason to stop the one that counts, the smell of gas could be talked away."""
    monkeypatch.setattr(safety, "_stricter", lambda one, other: other)
    assert unsafe(facts=Facts(), stops=REASONS)


# ---- what comes before a step -----------------------------------------------------------------------------


@pytest.mark.parametrize("facts", SOME, ids=str)
def test_preparation_leads_to_every_step(facts: Facts) -> None:
    """From states that are not stopped, deep from every one, `prepare` gives allowed steps after which the step itself
    is allowed."""
    cautions = frozenset({Hazard.LIVE})
    states = some([*{pair.state: None for pair, _ in reachable(facts, Rows(cautions, (), facts.feeds))}], 100)
    steps = {(safety.needs(step), step.inside): step for step in every_step(frozenset(Hazard), (), facts.feeds)}
    for state, step in itertools.product(states, steps.values()):
        if _possible(facts, step):
            for one in safety.prepare(state, step):
                state = safety.after(state, one)
            assert safety.allowed(state, step)


def _possible(facts: Facts, step: Step) -> bool:
    """Whether some state has the gas as the step needs it: none has a pipe open and its gas burning."""
    there = {gas for gas in Gas if (gas is not Gas.NONE) == facts.gas}
    return bool(safety.needs(step).gas & there)


@pytest.mark.parametrize(
    ("facts", "cautions"),
    [
        (SOME[0], {Hazard.LIVE, Hazard.MOVING, Hazard.SHARP}),
        (SOME[1], {Hazard.LIVE, Hazard.CHARGE}),
        (SOME[2], {Hazard.CHARGE, Hazard.HOT}),
        (SOME[3], {Hazard.GAS, Hazard.HOT}),
    ],
)
def test_preparation_is_the_shortest(facts: Facts, cautions: set[Hazard]) -> None:
    """From the start no shorter preparation exists than the one given, for any step, cautions not followed apart."""
    rows = Rows(frozenset(cautions), (), facts.feeds)
    begun = safety.begin(facts)
    least = _least(begun, rows)
    for step in rows.steps:
        if _possible(facts, step):
            told = [one for one in safety.prepare(begun, step) if one.hazard is None or one.hazard in cautions]
            assert len(told) == least[step], step


def _least(begun: State, rows: Rows) -> dict[Step, int]:
    """The least number of allowed steps before each step is allowed, by breadth-first search from the start; nobody
    reads a receptacle behind a cover to have the machine under power, though it is taken for live after that."""
    begun = begun._replace(cautions=rows.shown)
    least: dict[Step, int] = {}
    seen, waiting = {begun}, deque([(begun, 0)])
    while waiting:
        state, count = waiting.popleft()
        row = rows.row(state)
        for step in row.steps:
            least.setdefault(step, count)
        for way in row.ways:
            if way.kind is Kind.SUPPLY and way.inside:
                continue
            left = safety.after(state, way)
            left = left._replace(cautions=left.cautions | rows.shown)
            if left not in seen:
                seen.add(left)
                waiting.append((left, count + 1))
    return least


@pytest.mark.parametrize("reason", STOPS)
def test_after_a_stop_only_what_makes_safe(reason: str) -> None:
    """After every stop readings, repairs and energising are refused with the reason; after gas, everything is."""
    state = safety.after(safety.begin(Facts(gas=True)), Step(Kind.STOP, reason=reason))
    for kind in (Kind.OHMS, Kind.VOLTS, Kind.REPAIR, Kind.ENERGISE, Kind.RUN):
        assert reason in safety.unmet(state, Step(kind))[0]
        with pytest.raises(errors.Refused):
            safety.prepare(state, Step(kind))
    assert safety.allowed(state, Step(Kind.ISOLATE)) == (reason != "smell of gas")


def test_a_graver_stop_is_not_taken_back() -> None:
    """After the smell of gas a machine is not put together for being not worth it; the other way round gas counts."""
    gas, worth = Step(Kind.STOP, reason="smell of gas"), Step(Kind.STOP, reason="not worth it")
    for order in ((gas, worth), (worth, gas)):
        state = safety.begin(Facts())
        for step in order:
            state = safety.after(state, step)
        assert state.stopped == "smell of gas"


def test_two_feeds_are_both_taken_off_and_put_on() -> None:
    """Ohms in a machine with two feeds want both off before it is proved dead; a run wants both on again."""
    state, steps = safety.begin(Facts(feeds=2)), []
    for step in (Step(Kind.OHMS, inside=True), Step(Kind.RUN)):
        for one in (*safety.prepare(state, step), step):
            state = safety.after(state, one)
            steps.append((one.kind, one.feed))
    isolated = [steps.index((Kind.ISOLATE, feed)) for feed in (0, 1)]
    assert max(isolated) < steps.index((Kind.PROVE_DEAD, 0)) < steps.index((Kind.OHMS, 0))
    assert max(steps.index((Kind.ENERGISE, feed)) for feed in (0, 1)) < steps.index((Kind.RUN, 0))


def test_a_refused_step_leaves_the_state() -> None:
    """`after` raises with the reasons and changes nothing."""
    begun = safety.begin(Facts())
    with pytest.raises(errors.Refused, match="proved dead"):
        safety.after(begun, Step(Kind.OHMS))
    assert begun == safety.begin(Facts())


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
    assert Kind.CAUTION in [one.kind for one in safety.prepare(state, step)]
