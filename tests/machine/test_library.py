"""The machines of the library: they load without a problem, and all names in the model lead somewhere."""

from __future__ import annotations

import pickle
import re

import pytest

from halfsplit.machine import library, loading
from halfsplit.machine.expand.modes import KINDS
from halfsplit.machine.model import Machine
from halfsplit.machine.primitives import ByControl, ByDevice, Contact, Impedance, Motor, Overcurrent, Relay, Winding

NAMES = library.names()


@pytest.fixture(scope="module", params=NAMES)
def machine(request: pytest.FixtureRequest) -> Machine:
    """Each machine of the library."""
    return loading.load(request.param)


@pytest.mark.parametrize("name", NAMES)
def test_library_file_has_no_problems(name: str) -> None:
    """Neither the loader nor a static rule finds anything wrong."""
    found, problems = loading.examine(name)
    assert problems == []
    assert found is not None


def test_every_end_is_a_terminal(machine: Machine) -> None:
    """Elements and wires end at terminals of parts."""
    terminals = set(machine.terminals)
    ends = {end for thing in (*machine.elements.values(), *machine.wires) for end in thing.ends}
    assert ends <= terminals
    assert {machine.frame} - {""} <= terminals
    assert {machine.supply.earth, *machine.supply.feeds, *machine.supply.meets} <= terminals


def test_every_contact_listens_to_something(machine: Machine) -> None:
    """What closes a contact are positions of controls and states of devices that exist."""
    for element in machine.elements.values():
        for when in element.when if isinstance(element, Contact) else ():
            if isinstance(when, ByControl):
                assert when.positions <= set(machine.controls[when.control].positions)
            if isinstance(when, ByDevice):
                assert when.device in machine.devices


def test_every_device_has_its_elements(machine: Machine) -> None:
    """Devices name elements of the machine, and elements devices."""
    for device in machine.devices.values():
        if isinstance(device, Motor):
            assert {device.main, device.auxiliary} - {""} <= set(machine.elements)
        elif isinstance(device, Relay):
            assert device.coil in machine.elements
        elif isinstance(device, Overcurrent):
            assert device.element in machine.elements
    for element in machine.elements.values():
        if isinstance(element, Impedance):
            assert element.device == "" or element.device in machine.devices
        if isinstance(element, Winding):
            assert isinstance(machine.devices[element.motor], Motor)


def test_every_mode_changes_something_that_is_there(machine: Machine) -> None:
    """Changes name elements, devices, terminals or mechanical parts, by their kind; alternatives sum to one."""
    terminals = set(machine.terminals)
    there = {
        "bridged": terminals, "swapped": terminals, "shifted": set(machine.devices), "halted": set(machine.devices),
        "failed": set(machine.mechanical), "stands": {*machine.controls, *machine.devices},
    }  # fmt: skip
    for part in machine.parts.values():
        for mode in part.modes:
            assert sum(weight for weight, _ in mode.alternatives) == pytest.approx(1)
            for change in (c for _, changes in mode.alternatives for c in changes):
                assert change.kind in KINDS
                assert change.what in there.get(change.kind, set(machine.elements)), (part.name, mode.name, change)
                assert change.kind != "bridged" or change.to in terminals


def test_patterns_of_joint_and_wire_change_themselves(machine: Machine) -> None:
    """The modes of every joint and every wire change `self`."""
    for pattern in (machine.joint, machine.wire):
        assert pattern is not None
        assert {c.what for m in pattern.modes for _, changes in m.alternatives for c in changes} == {"self"}


def test_every_bay_leads_outside(machine: Machine) -> None:
    """Every part lies outside or in a bay, and from each bay the way leads outside."""
    for part in machine.parts.values():
        bay, steps = part.bay, 0
        while bay != "outside":
            bay, steps = machine.bays[bay].behind, steps + 1
            assert steps <= len(machine.bays)


def test_machine_can_be_sent_to_another_process(machine: Machine) -> None:
    """A machine comes back the same from a pickle."""
    assert pickle.loads(pickle.dumps(machine)) == machine


def test_halves_of_one_heater_share_one_unknown() -> None:
    """The two halves of a coil carry the name of the one value they come from."""
    elements = loading.load("vented-dryer").elements
    halves = [e for n, e in elements.items() if n.startswith("heater.front coil") and isinstance(e, Impedance)]
    assert len(halves) == 2
    assert len({h.ohms.shared for h in halves}) == 1
    assert sum(h.ohms.nominal for h in halves) == pytest.approx(21.5)


def test_weights_given_by_mode_become_rates() -> None:
    """Weights that a file gives by mode are the rates of these modes, and their sum that of the part."""
    heater = loading.load("refrigerator").parts["defrost heater"]
    assert {m.name: m.rate for m in heater.modes} == {"open": 11, "to frame": 0.7, "opens when hot": 0.5}
    assert heater.rate == pytest.approx(12.2)


TIME = re.compile(r"\b(hours?|minutes?|usual time|too early|later|as it used to)\b|\bsoon\b(?! as)")
"""Words by which the name of a symptom, or its question, says that it is not seen in passing."""


@pytest.mark.parametrize(
    ("text", "waits"),
    [
        ("Does it start again after half an hour?", True),
        ("Does the cycle end far too early?", True),
        ("turns lukewarm soon", True),
        ("Does the drum start as soon as a cycle is chosen?", False),
        ("Does it hum for some seconds and stop?", False),
    ],
)
def test_words_of_time_are_known(text: str, waits: bool) -> None:
    """The judge of the next test: what names a time, and what only has its letters."""
    assert bool(TIME.search(text)) == waits


def test_what_names_a_time_takes_it(machine: Machine) -> None:
    """A symptom that cannot be seen in a minute says for how long the machine has to run."""
    waits = {name for name, one in machine.symptoms.items() if TIME.search(name) or TIME.search(one.question)}
    takes = {name for name, one in machine.symptoms.items() if one.takes > machine.handwork.perceive}
    assert waits <= takes
    assert takes
