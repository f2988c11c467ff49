"""A device that undoes what moved it: reported as chatter and ended; the simulator never comes to rest either."""

from __future__ import annotations

from halfsplit.circuit.assembly import joint_at
from halfsplit.machine import model
from halfsplit.operate.condition import condition
from halfsplit.operate.effect import HEALTHY, effect
from halfsplit.operate.settle import Operation
from tests.judges import sequence
from tests.operate import machines


def test_a_relay_that_cuts_its_own_coil_is_reported_and_ended() -> None:
    """The state that comes back is chatter of this one device."""
    machine = machines.buzzing()
    (herd,) = Operation(machine).settle(condition(machine), [HEALTHY])
    assert herd.chatters == {"relay.armature"}


def test_where_the_coil_is_not_fed_nothing_chatters() -> None:
    """The same relay with a wire off rests; healthy and faulty go separate ways in one call."""
    machine = machines.buzzing()
    operation = Operation(machine)
    off = effect(operation.assembly, [model.Change("opened", joint_at("house.L"))])
    herds = operation.settle(condition(machine), [HEALTHY, off])
    told = {int(member): herd.chatters for herd in herds for member in herd.members}
    assert told == {0: frozenset({"relay.armature"}), 1: frozenset()}


def test_a_relay_that_volts_do_not_pull_rests() -> None:
    """Its contact stays closed and its coil stays fed."""
    machine = machines.buzzing(pulls=150.0)
    (herd,) = Operation(machine).settle(condition(machine), [HEALTHY])
    assert not herd.chatters
    assert not herd.other


def test_the_simulator_hears_it_too(ngspice: str) -> None:
    """In the time domain the armature goes to and fro to the end; fed too little it never moves."""
    machine = machines.buzzing()
    course = sequence.run(machine, sequence.stages(machine, {}))
    assert course.moves("relay.armature") > 5
    weak = machines.buzzing(pulls=150.0)
    assert sequence.run(weak, sequence.stages(weak, {})).moves("relay.armature") == 0
