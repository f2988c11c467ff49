"""Steps of random sessions on the machines of the library, read by a watcher that keeps its own account."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import takewhile
from pathlib import Path

import numpy as np
import pytest

from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading
from halfsplit.modes import listing
from halfsplit.modes.fault import Repair
from halfsplit.plan import cock, safely, steps, taken
from halfsplit.plan.ahead import Ahead
from halfsplit.plan.steps import Step
from halfsplit.rehearse import random_steps
from halfsplit.rehearse.proved_steps import ProofRuns
from halfsplit.rehearse.random_steps import Sessions
from halfsplit.service import naming
from halfsplit.service import proof_run as told
from halfsplit.work import handling, places, refusals, safety
from halfsplit.work.hazards import CAUTIONS, PROVING_DEAD, Hazard, Kind, Pipe
from halfsplit.work.state import JobState
from tests.depth import tried
from tests.rehearse import led_steps
from tests.rehearse.benches import adviser
from tests.rehearse.watcher import Watcher, is_found, of_sessions

GAS = str(Path(__file__).parents[1] / "gas" / "gas-air-heater.yaml")
MACHINES = ["vented-dryer", "water-heater", "refrigerator", GAS]
COUNT = tried(100, 200)


@cache
def sessions(name: str) -> Sessions:
    """The random sessions of a machine."""
    return Sessions(adviser(name))


def watched(name: str, count: int) -> tuple[set[str], set[Kind]]:
    """The dangers found in so many sessions, and the kinds of thing done in them."""
    return of_sessions(sessions(name), seed=7, count=count)


def sees(name: str, says: str = "") -> bool:
    """Whether the watcher finds a danger in these sessions, that says this."""
    return is_found(sessions(name), 7, COUNT, says)


@pytest.mark.parametrize("name", MACHINES)
def test_no_random_session_is_unsafe(name: str) -> None:
    """Blind choice, refused steps, bays that will not open, no clamp, nobody to help: nothing that could hurt."""
    found, kinds = watched(name, COUNT)
    assert not found
    assert {Kind.OHMS, Kind.VOLTS, Kind.LOOK, Kind.LIFT, Kind.REFIT, Kind.OPEN, Kind.PROVE_BOND, Kind.REPAIR} <= kinds
    assert {Kind.RUN, Kind.ASK} <= kinds


@pytest.mark.parametrize(
    ("kind", "dropped"),
    [
        (Kind.OHMS, {"power": "off"}),
        (Kind.VOLTS, {"meter": False}),
        (Kind.OPEN, {"power": ""}),
        (Kind.PROVE_DEAD, {"meter": False}),
        (Kind.WATCH, {"cautions": frozenset({Hazard.LIVE})}),
        (Kind.LIFT, {"power": ""}),
        (Kind.MOVE, {"power": "off"}),
    ],
)
def test_the_watcher_sees_a_need_that_is_dropped(
    kind: Kind, dropped: dict[str, object], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The watcher is not blind: with any one need left out it finds a danger on the dryer."""
    monkeypatch.setitem(safety.NEEDS, kind, safety.NEEDS[kind]._replace(**dropped))  # type: ignore[arg-type]
    assert sees("vented-dryer")


def test_the_watcher_sees_a_supply_laid_bare_and_not_proved_dead(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a bay in which the supply lands counts as any other, hands go in that was proved dead elsewhere."""
    monkeypatch.setattr(places, "supply_lands", lambda machine, bay: False)
    assert sees("water-heater")


@pytest.mark.parametrize(
    "kinds",
    [
        (Kind.CLOSE,),
        (Kind.CLOSE, Kind.ENERGISE, Kind.RUN, Kind.WATCH, Kind.VOLTS, Kind.AMPS),
        (Kind.OPEN_PIPE,),
        (Kind.LEAK_TEST,),
    ],
)
def test_the_watcher_sees_a_need_of_gas_that_is_dropped(
    kinds: tuple[Kind, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With where the gas must stand left out, for one kind or all at work, a danger is found on the gas machine."""
    for kind in kinds:
        monkeypatch.setitem(safety.NEEDS, kind, safety.NEEDS[kind]._replace(gas=frozenset(safety.Gas)))
    if Kind.LEAK_TEST in kinds:
        monkeypatch.setattr(safety, "ONWARD", {**safety.ONWARD, safety.Gas.APART: Kind.LEAK_TEST})
    if Kind.OPEN_PIPE not in kinds:
        assert sees(GAS)
        return
    assert not watched(GAS, COUNT)[0]  # the cock was shut for the cover by then
    monkeypatch.setitem(safety.AT_PIPE, Pipe.BESIDE, frozenset(safety.Gas))
    assert sees(GAS, "gas pipe opened under gas")


@pytest.mark.parametrize("pipe", [Pipe.BESIDE, Pipe.APART, Pipe.LIT])
def test_the_watcher_sees_where_gas_is_forgotten(pipe: Pipe, monkeypatch: pytest.MonkeyPatch) -> None:
    """What a step has to do with gas left out: hands under gas, a joined pipe taken out, a run without gas."""
    monkeypatch.setitem(safety.AT_PIPE, pipe, frozenset(safety.Gas))
    assert sees(GAS)


def test_gas_is_shut_opened_and_tested_in_the_sessions() -> None:
    """Everything that can be done about gas is done in some session, the leak test after each opened pipe."""
    kinds = watched(GAS, COUNT)[1]
    assert {Kind.GAS_OFF, Kind.OPEN_PIPE, Kind.JOIN_PIPE, Kind.GAS_ON, Kind.LEAK_TEST, Kind.RUN} <= kinds


def test_the_watcher_sees_a_burner_box_opened_under_gas(monkeypatch: pytest.MonkeyPatch) -> None:
    """With the pipe minded at repairs alone, its cover comes off and leads go in with the cock open."""
    monkeypatch.setattr(cock, "beside", lambda machine, bays: Pipe.AWAY)
    found = watched(GAS, COUNT)[0]
    for what in ("open burner box", "ohms", "look", "lift gas valve.1"):
        assert any(danger.startswith(f"hands beside gas pipe under gas: {what}") for danger in found), what


@pytest.mark.parametrize("looks_ahead", [False, True])
def test_no_advised_session_is_unsafe_and_what_is_refused_is_planned_around(looks_ahead: bool) -> None:
    """The guide's sessions with hidden faults and refusals: nothing dangerous, nothing refused, and steps go on, to the
    proof run and past it where something is wrong still."""
    asked = adviser("water-heater")
    machine, made = asked.bench.machine, led_steps.Sessions(Ahead(asked) if looks_ahead else asked)
    steps, repairs, refused, proved, again = 0, 0, 0, 0, 0
    for number in range(10):
        watcher, repaired = Watcher(machine, safely.facts(machine).capacitor), False
        for state, step, done in made.session(np.random.default_rng([9, number])):
            assert not set(watcher.reads(step, done.doings, state.refused))
            steps, repairs = steps + isinstance(step, Step), repairs + isinstance(step, Repair)
            refused += bool(state.refused)
            again += repaired and isinstance(step, Repair)
            repaired |= isinstance(step, Repair)
            proved += repaired and isinstance(step, Step)
    assert steps > 10
    assert repairs > 3
    assert refused > 5
    assert proved > 10
    assert again > 0


def proof_run(name: str, refused: frozenset[object] = frozenset()) -> tuple[set[str], set[Kind]]:
    """The dangers found while it is put together and proved after the repairs of each fault, and the kinds of thing
    done; nothing was left open, nor was the power brought back before all was closed and the frame's bond measured."""
    bench = Bench(loading.load(name))
    machine, runs, found, kinds = bench.machine, ProofRuns(bench), set[str](), set[Kind]()
    for repair in dict.fromkeys(fault.repair for fault in bench.faults):
        if not handling.hands_in(machine, repair):
            continue
        watcher, state = Watcher(machine, safely.facts(machine).capacitor), JobState(refused=refused)
        under = taken.under_repair(machine, state, repair)
        made = safely.repaired(machine, safely.begin(machine), state, under, repair)
        found |= set(watcher.reads(repair, made.doings, refused))
        done = list(runs.after(under, made.state))
        found |= {one for at, step, made in done for one in watcher.reads(step, made.doings, at.refused)}
        in_order = [doing for _, _, made in done for doing in made.doings]
        kinds |= {doing.kind for doing in in_order}
        before = list(takewhile(lambda doing: doing.kind is not Kind.ENERGISE, in_order))
        if before != in_order:
            assert not still_open(under.open_bays, before), repair.name
            assert any(doing.kind is Kind.PROVE_BOND for doing in before) or not machine.supply.earth, repair.name
        assert not watcher.open, repair.name
    return found, kinds


def still_open(opened: frozenset[str], doings: list[safely.Doing]) -> set[str]:
    """The bays that stand open once all this is done."""
    found = set(opened)
    for doing in doings:
        found |= {doing.at} if doing.kind is Kind.OPEN else set()
        found -= {doing.at} if doing.kind is Kind.CLOSE else set()
    return found


@pytest.mark.parametrize("name", [*MACHINES, "coil-cooktop", "vented-dryer-3-wire"])
def test_the_proof_run_after_every_repair_is_safe(name: str) -> None:
    """Wires back, covers closed, the frame's bond proved before the power, and what is seen or clamped under it."""
    found, kinds = proof_run(name)
    assert not found
    assert {Kind.CLOSE, Kind.ENERGISE, Kind.RUN} <= kinds


def test_wires_go_back_before_the_proof_run() -> None:
    """A machine whose wires are off is put together before it runs."""
    bench = Bench(loading.load("coil-cooktop"))
    machine = bench.machine
    step = next(one for one in steps.steps(machine) if one.condition and one.condition.lift)
    watcher, state = Watcher(machine, safely.facts(machine).capacitor), JobState()
    then = taken.after(machine, state, step)
    made = safely.prepared(machine, safely.begin(machine), state, then, step)
    assert not set(watcher.reads(step, made.doings))
    assert watcher.off
    done = list(ProofRuns(bench).after(then, made.state))
    assert not {one for at, step, made in done for one in watcher.reads(step, made.doings, at.refused)}
    assert not watcher.off


@pytest.mark.parametrize("name", ["vented-dryer", "refrigerator", "water-heater", "coil-cooktop"])
def test_what_is_emitted_of_the_proof_run_is_what_is_told(name: str) -> None:
    """Step by step, and every caution that the automaton wants is in the words, at its step."""
    bench = Bench(loading.load(name))
    made = told.of_repairs(bench, [])
    emitted = list(ProofRuns(bench).after(JobState(), safely.begin(bench.machine), hands_in=False))
    walked = [(step, done) for _, step, done in emitted if step is not None]
    assert [check.step for check in made.checks] == [step for step, _ in walked]
    sentences = made.sentences()
    for check, (_, done) in zip(made.checks, walked, strict=True):
        wanted = {naming.told(bench.machine, one) for one in done.cautions}
        assert wanted <= set(check.cautions)
        assert wanted <= set(sentences)
    closed = {naming.told(bench.machine, one) for _, step, done in emitted if step is None for one in done.cautions}
    assert closed <= set(made.cautions) <= set(sentences)


def test_without_power_nothing_of_the_proof_run_wants_it() -> None:
    """Where the power stays off only ohms are read."""
    found, kinds = proof_run("vented-dryer", frozenset({refusals.NoPower()}))
    assert not found
    assert Kind.OHMS in kinds
    assert not {Kind.ENERGISE, Kind.RUN, Kind.WATCH, Kind.AMPS} & kinds


@pytest.mark.parametrize(
    ("kinds", "dropped"),
    [
        ((Kind.ENERGISE, Kind.AMPS, Kind.WATCH), {"guarded": False}),
        ((Kind.AMPS,), {"meter": False}),
        ((Kind.WATCH,), {"cautions": frozenset()}),
    ],
)
def test_the_watcher_sees_a_need_of_the_proof_run_that_is_dropped(
    kinds: tuple[Kind, ...], dropped: dict[str, object], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The watcher is not blind to the proof run: with a need left out it finds a danger there."""
    for kind in kinds:
        monkeypatch.setitem(safety.NEEDS, kind, safety.NEEDS[kind]._replace(**dropped))  # type: ignore[arg-type]
    assert proof_run("refrigerator" if kinds == (Kind.WATCH,) else "vented-dryer")[0]  # which alone is watched open


@pytest.mark.parametrize(
    ("refusal", "said"),
    [
        (refusals.CannotOpen("top"), "will not open"),
        (refusals.NoMeter("amps"), "without a clamp"),
        (refusals.NoHelper(), "takes two"),
        (refusals.NoOwner(), "owner is not there"),
    ],
)
def test_the_watcher_sees_what_was_refused(refusal: object, said: str) -> None:
    """Sessions that know of no refusal are read with one: it is found to be done all the same."""
    made = sessions("vented-dryer")
    plain = made.asked.bench.machine
    machine = replace(plain, bays={name: replace(bay, people=2) for name, bay in plain.bays.items()})

    def dangers() -> Iterator[str]:
        for number in range(COUNT):
            watcher = Watcher(machine, False)
            for _, step, done in made.session(np.random.default_rng([7, number])):
                yield from watcher.reads(step, done.doings, {refusal})

    assert any(said in danger for danger in dangers())


@pytest.mark.parametrize(
    ("left_out", "said"),
    [
        ("refused", "carried alone"),
        ("told", "carried without the caution"),
        ("opened", "carried off with its supply on"),
    ],
)
def test_the_watcher_sees_how_a_whole_appliance_is_carried(left_out: str, said: str) -> None:
    """By one who said that they have no helper, by two who were not told, or with its supply where it was."""
    machine, watcher = loading.load("water-heater"), Watcher(loading.load("water-heater"), False)
    tank = listing.repairs(machine)["tank: replace the whole appliance"]
    made = replace(tank, people=1) if left_out == "told" else tank
    made = replace(made, bays=("top fittings",)) if left_out == "opened" else made
    state = JobState()
    done = safely.repaired(machine, safely.begin(machine), state, taken.under_repair(machine, state, made), made)
    refused = {refusals.NoHelper()} if left_out == "refused" else set()
    assert [one for one in watcher.reads(made, done.doings, refused) if said in one] == [f"{said}: {tank.name}"]
    other = safely.repaired(machine, safely.begin(machine), state, taken.under_repair(machine, state, tank), tank)
    assert not list(Watcher(machine, False).reads(tank, other.doings))


@pytest.mark.parametrize("kind", [random_steps.Sessions, led_steps.Sessions])
def test_a_session_is_the_same_in_any_shard(kind: type[random_steps.Sessions | led_steps.Sessions]) -> None:
    """Played after others or by itself: the same steps, the same things done for them."""
    made = kind(adviser("water-heater"))
    among = [list(made.session(np.random.default_rng([3, number]))) for number in range(3)]
    assert list(made.session(np.random.default_rng([3, 2]))) == among[2]


def test_a_live_reading_shows_its_caution_in_its_power_state() -> None:
    """The caution for live work stands at the first live reading of a power state; where the machine is only proved
    dead, what is said of live parts holds until it is."""
    made, word = sessions("vented-dryer"), "{}: {}".format(*CAUTIONS[Hazard.LIVE])
    proving = "{}: {}".format(*PROVING_DEAD)
    live = {Kind.VOLTS, Kind.AMPS, Kind.WATCH, Kind.SUPPLY}
    asked = dead = 0
    for number in range(COUNT):
        told = False
        for _, _, done in made.session(np.random.default_rng([8, number])):
            told = word in done.cautions or (told and not done.kinds & {Kind.ISOLATE, Kind.ENERGISE})
            if done.kinds & live:
                assert told
                assert proving not in done.cautions
                asked += 1
            elif Kind.ENERGISE not in done.kinds:
                assert word not in done.cautions
                dead += proving in done.cautions
    assert asked > COUNT
    assert dead > COUNT


def test_the_watcher_takes_no_feed_for_switched_that_is_off_already() -> None:
    """Water is seen on the floor beside a machine that is open and proved dead: its breaker is off, and it stays dead.
    Once it was live in between, what was proved before says nothing."""
    made = Sessions(adviser("water-heater"))
    machine, off, on = made.asked.bench.machine, safety.Step(Kind.ISOLATE), safety.Step(Kind.ENERGISE, inside=True)
    look = next(step for step in made.asked.steps.usual if step.kind == "look" and step.at == "limit")
    begun = safely.begin(machine)
    first = safely.prepared(machine, begun, JobState(), taken.after(machine, JobState(), look), look)
    for switched, safe in (((off,), True), ((on, off), False)):
        watcher = Watcher(machine, safely.facts(machine).capacitor)
        assert not [*watcher.reads(look, first.doings)]
        found = [*watcher.reads(None, tuple(safely.Doing(one) for one in switched))]
        found += watcher.reads(look, (safely.Doing(safety.Step(Kind.LOOK, inside=True)),))
        assert any(one.startswith("a look inside what is not proved dead") for one in found) != safe
