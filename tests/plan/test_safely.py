"""What kind of machine the safety automaton is told that it works on, from the machine's file and its supply."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.machine import library, loading, part_types, supplies
from halfsplit.plan import safely
from halfsplit.work import safety
from halfsplit.work.hazards import Kind


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


def test_nothing_in_a_machine_raises_the_volts() -> None:
    """Only parts of the house drive volts, so that no part of a machine has a side above its supply's."""
    types = part_types.table()
    driving = [one for one in types.values() if any(element.kind == "source" for element in one.elements.values())]
    assert driving
    assert all(one.house for one in driving)
