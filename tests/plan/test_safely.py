"""What kind of machine the safety automaton is told that it works on, from the machine's file and its supply."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.machine import library, loading, model, part_types, supplies, twins
from halfsplit.operate import condition as conditions
from halfsplit.plan import barring, pricing, safely, steps, taken
from halfsplit.plan.steps import Step
from halfsplit.service.wording import sentence
from halfsplit.work import refusals, safety
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState
from tests.rehearse.benches import bench


def test_each_supply_of_the_table_has_one_feed() -> None:
    """One control cuts each supply off, so that each machine has one feed; the table's own positions say which."""
    for name, system in supplies.table().items():
        assert len(system.isolates) == 1, name
        for control, position in system.isolates.items():
            assert position in (system.controls[control].positions or ())[1:], name


@pytest.mark.parametrize("name", library.names())
def test_the_feeds_of_a_machine_are_those_of_its_supply(name: str) -> None:
    """As many as its supply names controls that cut it off."""
    machine = loading.load(name)
    assert safely.facts(machine).feeds == len(supplies.table()[machine.supply.system].isolates)


def test_a_machine_with_two_feeds_has_both_taken_off() -> None:
    """Where a supply names two controls, both feeds are off before dead is tested for."""
    plain = loading.load("water-heater")
    machine = replace(plain, supply=replace(plain.supply, isolates=(("plug", "out"), ("breaker", "off"))))
    begun = safely.begin(machine)
    assert begun.live == (True, True)
    done = safety.prepare(begun, safety.Step(Kind.OHMS))
    assert [step.feed for step in done if step.kind is Kind.ISOLATE] == [0, 1]
    assert [step.kind for step in done].index(Kind.PROVE_DEAD) > 1


def test_what_sits_in_a_socket_comes_out_for_a_look_at_it() -> None:
    """Dead and cold, and goes back: lifted before the look and put back after it, at every socket that holds a part.
    Its minutes out and in are in the price, and who cannot lift it looks at something else."""
    machine, met = loading.load("coil-cooktop"), 0
    for name in machine.parts:
        look = Step("look", at=name, places=(name,))
        parts, terminals = steps.lifted_out(machine, look), twins.held(machine, name)
        assert set(parts) == {model.part_of(terminal) for terminal in terminals}
        if not parts:
            continue
        met += 1
        before = JobState(condition=conditions.usual(machine))
        after = taken.after(machine, before, look)
        kinds = [one.kind for one in safely.prepared(machine, safely.begin(machine), before, after, look).doings]
        assert kinds.count(Kind.LIFT) == kinds.count(Kind.REFIT) == len(terminals)
        assert kinds.index(Kind.PROVE_DEAD) < kinds.index(Kind.COOL) < kinds.index(Kind.LIFT) < kinds.index(Kind.LOOK)
        assert kinds.index(Kind.LOOK) < kinds.index(Kind.REFIT)
        lifts = sum(2 * machine.parts[part].lifts for part in parts)
        assert pricing.hands_at(machine, before, look) == pytest.approx(machine.handwork.look + lifts)
        refused = JobState(refused=frozenset({refusals.CannotLift(parts[0])}))
        assert barring.bars(machine, refused, look)
    assert met == 4


def test_the_twin_that_sits_there_is_named() -> None:
    """While two burners stand in each other's places a look at one's socket lifts the other, by its own name."""
    predictor = bench("coil-cooktop").predictor
    machine = predictor.machine
    look = Step("look", at="left front receptacle", places=("left front receptacle",))
    pair = ("left front burner", "right rear burner")
    for exchange, there in (((), pair[0]), (pair, pair[1])):
        state = JobState(frozenset({"top"}), conditions.condition(machine, (), True, exchange=exchange))
        told = sentence(predictor, state, look, ("top",))
        assert f"Lift the {there} out. Look at left front receptacle" in told
        assert told.endswith(f"Plug the {there} in again.")


def test_nothing_in_a_machine_raises_the_volts() -> None:
    """Only parts of the house drive volts, so that no part of a machine has a side above its supply's."""
    types = part_types.table()
    driving = [one for one in types.values() if any(element.kind == "source" for element in one.elements.values())]
    assert driving
    assert all(one.house for one in driving)
