"""Supplies that ordinary machines have: wired in at 120 V, a plug of two legs without neutral, an oven wired in."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading, model
from halfsplit.operate import condition as conditions
from halfsplit.plan import proof, safely
from halfsplit.plan.score import Adviser
from halfsplit.predict.readings import Probe
from halfsplit.rehearse.random_steps import Sessions
from halfsplit.service import isolating
from halfsplit.work import earthing
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState
from tests.rehearse.watcher import of_sessions

HERE = Path(__file__).parent
PLUG_OVEN = (HERE / "built-in-oven.yaml").read_text("utf-8").replace("  in: out of the niche\n", "", 1)
WIRED = "120/240 V split phase, hard wired, 4 wires"
WIRED_OVEN = PLUG_OVEN.replace("120/240 V split phase, 4 wires", WIRED).replace("  cord: 8 AWG 1.2 m\n", "")
TEXTS = {
    "120 V, hard wired": (HERE / "wired-dishwasher.yaml").read_text("utf-8"),
    "240 V, plug without neutral": (HERE / "room-heater.yaml").read_text("utf-8"),
    WIRED: WIRED_OVEN,
}


@cache
def machine(system: str) -> model.Machine:
    """A small machine with such a supply."""
    found, problems = loading.examine_text(TEXTS[system], "x")
    assert found is not None
    assert not problems
    return found


@cache
def bench(system: str) -> Bench:
    """Its bench."""
    return Bench(machine(system))


def volts(system: str, red: str, black: str, *faults: str) -> float:
    """Low-impedance volts between two terminals at rest, of a healthy machine or under one fault."""
    known = bench(system).predictor
    read = known.reading(Probe("low-impedance volts", red, black), conditions.rest(machine(system)))
    names = [f"{one.subject}: {one.mode}" for one in known.candidates.faults]
    wanted = [names.index(fault) for fault in faults]
    row = next((n for n, one in enumerate(known.candidates.variants) if list(one.faults) == wanted), 0)
    return float(read.value[row])


@pytest.mark.parametrize("system", TEXTS)
def test_each_file_says_its_supply(system: str) -> None:
    """Found without a problem, isolated by one control, proved dead at each conductor."""
    supply = machine(system).supply
    assert supply.system == system
    assert len(supply.isolates) == 1
    assert len(supply.meets) == len(supply.feeds) + 1  # the earth


@pytest.mark.parametrize(
    ("system", "block", "pairs"),
    [
        ("120 V, hard wired", "wire box", {"L N": 120, "L PE": 120, "N PE": 0}),
        ("240 V, plug without neutral", "cord clamp", {"L1 L2": 240, "L1 PE": 120, "L2 PE": 120}),
        (WIRED, "terminal block", {"L1 L2": 240, "L1 N": 120, "L2 N": 120, "L1 PE": 120, "N PE": 0}),
    ],
)
def test_volts_between_the_conductors(system: str, block: str, pairs: dict[str, float]) -> None:
    """As common practice has them between each pair, where they land; earth is read at the frame."""
    for pair, shown in pairs.items():
        red, black = (machine(system).frame if end == "PE" else f"{block}.{end}" for end in pair.split())
        assert volts(system, red, black) == pytest.approx(shown, abs=2), pair


def test_volts_between_the_slots_without_a_neutral() -> None:
    """The receptacle's own three, with the plug out: each pair is a reading that is offered, and what a healthy house
    shows."""
    at = conditions.condition(machine("240 V, plug without neutral"), {"plug": "out"})
    steps = [one for one in Adviser(bench("240 V, plug without neutral")).table.steps if one.condition == at]
    shown = {
        one.places: bench("240 V, plug without neutral").predictor.healthy_reading(one.probe, at).value[0]
        for one in steps
        if one.probe
    }
    slots = {"L1": "receptacle.L1", "L2": "receptacle.L2", "PE": "receptacle.PE"}
    assert shown[slots["L1"], slots["L2"]] == pytest.approx(240, abs=2)
    assert shown[slots["L1"], slots["PE"]] == pytest.approx(120, abs=2)
    assert shown[slots["L2"], slots["PE"]] == pytest.approx(120, abs=2)


@pytest.mark.parametrize(
    ("system", "fault", "red", "black"),
    [
        ("120 V, hard wired", "breaker: tripped", "wire box.L", "wire box.N"),
        ("240 V, plug without neutral", "breaker: half-tripped, L2 dead", "cord clamp.L1", "cord clamp.L2"),
        (WIRED, "breaker: half-tripped, L1 dead", "terminal block.L1", "terminal block.N"),
    ],
)
def test_a_pole_that_is_off_takes_the_volts_away(system: str, fault: str, red: str, black: str) -> None:
    """Where the conductors land, against the other one."""
    assert volts(system, red, black, fault) < 0.1 * volts(system, red, black)


@pytest.mark.parametrize("system", ["120 V, hard wired", WIRED])
def test_what_is_wired_in_is_locked_off_and_proved_dead_where_it_lands(system: str) -> None:
    """At every conductor, the neutral among them, and at the earth conductor of the cable."""
    known = machine(system)
    bay = known.parts[model.part_of(known.supply.feeds[0])].bay
    assert isolating.isolate(known, [bay]) == "Isolate the machine (breaker off, locked)."
    told = " ".join(isolating.proved_dead(known, [bay]))
    assert all(terminal in told for terminal in (*known.supply.feeds, known.frame, "the earth conductor of the cable"))


def test_without_a_neutral_the_plug_is_pulled() -> None:
    """And the frame's bond is read at the earth contact of the plug."""
    known = machine("240 V, plug without neutral")
    assert "(plug out)" in isolating.isolate(known)
    assert earthing.reached_at(known, ["back"]) == "the earth contact of the plug"


@pytest.mark.parametrize(
    ("system", "read"),
    [
        ("120 V, hard wired", {"wire box.L"}),  # its neutral is joined to the earth in the house
        ("240 V, plug without neutral", {"receptacle.prong L1", "receptacle.prong L2"}),
        (WIRED, {"terminal block.L1", "terminal block.L2"}),
    ],
)
def test_the_proof_run_reads_each_line_conductor_to_the_frame(system: str, read: set[str]) -> None:
    """Before the power, dead: OL on a healthy machine; the clamp goes round what carries a load."""
    known = machine(system)
    opened = JobState(open_bays=frozenset(known.bays))
    steps = proof.insulation(bench(system), opened)
    assert {one.places[0] for one in steps} == read
    clamped = {
        one.places[0] for at in proof.runs(bench(system).predictor) for one in proof.loads(bench(system), opened, at)
    }
    assert clamped >= {end for end in known.supply.feeds if not end.endswith(".N")}


@pytest.mark.parametrize("system", TEXTS)
def test_nothing_unsafe_is_done_in_random_sessions(system: str) -> None:
    """Read by the watcher, from the first caution to the reading itself."""
    found, kinds = of_sessions(Sessions(Adviser(bench(system))), seed=5, count=80)
    assert not found
    assert {Kind.ISOLATE, Kind.PROVE_DEAD, Kind.PROVE_BOND, Kind.OPEN, Kind.OHMS, Kind.VOLTS, Kind.REPAIR} <= kinds
    assert (Kind.SUPPLY in kinds) == (not machine(system).supply.hard_wired)
    assert safely.facts(machine(system)).feeds == 1
