"""The faults of the library's machines: names, rates, what they change, and what repairs them."""

from __future__ import annotations

from math import fsum

import pytest

from halfsplit.circuit import assembly
from halfsplit.machine import library, loading, model
from halfsplit.modes import listing
from halfsplit.modes.fault import REPLACE_CORD, Fault
from halfsplit.operate import condition as conditions
from halfsplit.operate.effect import HEALTHY, effect
from halfsplit.plan import pricing
from halfsplit.work.state import JobState

MACHINES = {name: loading.load(name) for name in library.names()}
each_machine = pytest.mark.parametrize("name", sorted(MACHINES))


def found(name: str) -> dict[str, Fault]:
    """The faults of a machine under their names."""
    return listing.by_name(MACHINES[name])


@each_machine
def test_names_are_unique_and_rates_above_zero(name: str) -> None:
    """No two faults share a name, and none has no rate."""
    faults = listing.faults(MACHINES[name])
    assert len({fault.name for fault in faults}) == len(faults)
    assert all(fault.rate > 0 for fault in faults)


@each_machine
def test_a_new_wire_has_the_joints_at_its_ends_with_it(name: str) -> None:
    """Where no other wire lands: that joint's repair is within the wire's, by the names that the wire's own faults
    have; where two land, a new one of them leaves the other as it is."""
    machine, met = MACHINES[name], 0
    by_subject = {fault.subject: fault.repair for fault in listing.faults(machine)}
    for terminal, wires in model.wired_terminals(machine).items():
        joint = by_subject.get(f"joint {terminal}")
        if joint is None or joint.name == REPLACE_CORD:
            continue
        new = [by_subject[wire.name] for wire in wires if wire.name in by_subject]
        known = {one.name for one in new if one.by == joint.by}
        assert set(joint.within) == (known if len(wires) == 1 else set()), terminal
        met += len(joint.within)
        assert all(joint.is_done_by([one]) for one in (joint.name, *joint.within))
        assert not joint.is_done_by([f"replace {model.part_of(terminal)}"])
    assert met > 5


@each_machine
def test_weights_of_alternatives_sum_to_one(name: str) -> None:
    """The sizes of a fault that are not known beforehand share out its rate."""
    for fault in listing.faults(MACHINES[name]):
        assert fsum(weight for weight, _ in fault.alternatives) == pytest.approx(1.0), fault.name
        assert 0 < fault.acting <= 1


@each_machine
def test_rates_of_a_part_are_shared_among_its_modes(name: str) -> None:
    """The modes of a part's own table add up to what the file gives the part."""
    machine = MACHINES[name]
    for part in machine.parts.values():
        own = {f"{part.name}: {mode.name}" for mode in part.modes}
        rates = [fault.rate for fault in listing.faults(machine) if fault.name in own]
        if rates:
            assert fsum(rates) == pytest.approx(part.rate), part.name


@each_machine
def test_every_fault_does_something(name: str) -> None:
    """Each alternative of each fault changes the network, the behaviour or what the owner set."""
    built = assembly.Assembly(MACHINES[name])
    for fault in listing.faults(MACHINES[name]):
        for _, changes in fault.alternatives:
            assert fault.looks != "fine" or effect(built, changes) != HEALTHY, fault.name


@each_machine
def test_bays_of_repairs_are_the_machines(name: str) -> None:
    """A repair lies in bays that the file names, or outside."""
    machine = MACHINES[name]
    for fault in listing.faults(machine):
        assert set(fault.repair.bays) <= {*machine.bays, "outside"}, fault.name
        assert fault.repair.minutes >= 0
        assert fault.repair.price >= 0


@each_machine
def test_one_repair_name_is_one_repair(name: str) -> None:
    """Faults cured by the same name of a repair lie in the same bays."""
    places: dict[str, set[tuple[str, ...]]] = {}
    for fault in listing.faults(MACHINES[name]):
        places.setdefault(fault.repair.name, set()).add(fault.repair.bays)
    assert all(len(bays) == 1 for bays in places.values())


@each_machine
def test_hot_air_is_for_what_is_dry_and_far_from_what_may_burn(name: str) -> None:
    """No fault is brought out by hot air in water or in a bay whose caution keeps sparks away; elsewhere each still is
    of which its part type says so."""
    machine = MACHINES[name]
    burns = {bay for bay, one in machine.bays.items() if "sparks" in " ".join(map(str, one.cautions))}
    wet = set(machine.water.parts) if machine.water else set()
    warmed = {fault.name for fault in listing.faults(machine) if f"heat {fault.subject}" in fault.provoked}
    modes = [(part, mode) for part in machine.parts.values() for mode in part.modes if "heat" in mode.provoked]
    may = {f"{p.name}: {m.name}" for p, m in modes if p.name not in wet and p.bay not in burns and m.rate > 0}
    assert modes
    assert warmed == may
    assert {"water-heater": not warmed, "refrigerator": burns > {"machine room"}}.get(name, bool(warmed))


def test_what_the_house_has_is_an_electricians() -> None:
    """Joints of the house's own wiring are not mended by a repairer of appliances."""
    machine = MACHINES["water-heater"]
    house = {name for name, part in machine.parts.items() if part.house}
    joints = [f for f in listing.faults(machine) if f.subject.startswith("joint ")]
    inside = [f for f in joints if model.part_of(f.subject.removeprefix("joint ")) in house]
    assert inside
    assert {fault.repair.by for fault in inside} == {"electrician"}
    assert "repairer" in {fault.repair.by for fault in joints}


@each_machine
def test_cord_plug_and_prongs_are_one_repair_of_the_repairers(name: str) -> None:
    """Whatever fails in a wire of the cord, or where it meets a prong, a new cord cures it; the contacts of the
    receptacle, and where its cable lands, stay the electrician's. What is hard wired has none."""
    machine = MACHINES[name]
    of_cord = [f for f in listing.faults(machine) if "receptacle.prong" in f.subject]
    assert bool(of_cord) != machine.supply.hard_wired
    repairs = {f.repair for f in of_cord}
    assert len(repairs) == bool(of_cord)
    for repair in repairs:
        assert (repair.name, repair.by) == ("replace the cord", "repairer")
        assert set(repair.bays) == {machine.parts[model.part_of(t)].bay for t in machine.supply.meets}
    kinds = {f.subject.split()[0] for f in of_cord}
    assert kinds == ({"joint", "wire"} if of_cord else set())
    contacts = [f for f in listing.faults(machine) if f.subject in ("receptacle", "joint receptacle.L1")]
    assert {f.repair.by for f in contacts} <= {"electrician"}
    shaken = {way for f in of_cord if f.subject.startswith("joint") for way in f.provoked}
    assert {way for way in shaken if way.startswith("shake all")} <= {"shake all in outside"}


@each_machine
def test_a_breakers_handle_needs_no_cover_off(name: str) -> None:
    """Switched fully off and on at its handle; what is behind its cover is the electrician's or the utility's."""
    machine = MACHINES[name]
    switched = {f.repair for f in listing.faults(machine) if f.repair.name == "breaker: switch fully off and on"}
    assert [repair.bays for repair in switched] == [()]
    (repair,) = switched
    closed, dead = JobState(), JobState(condition=conditions.condition(machine, isolated=True))
    for state in (closed, dead):
        cost = pricing.repair_cost(machine, state, repair)
        assert (cost.opening, cost.closing) == (0.0, 0.0)
        assert cost.minutes == repair.minutes
    others = [f.repair for f in listing.faults(machine) if f.subject in ("breaker", "service") and f.repair != repair]
    assert all(one.bays == ("breaker panel",) and one.by != "repairer" for one in others)


def test_settings_are_the_owners_alone() -> None:
    """A control that stood elsewhere shows in what the owner told only; feed, door and START are no such controls."""
    stood = [fault for fault in listing.faults(MACHINES["vented-dryer"]) if fault.owner_only]
    assert {fault.subject for fault in stood} == {"cycle", "heat"}
    assert all(fault.repair.price == 0 for fault in stood)


def test_an_earlier_hands_mistakes() -> None:
    """Wires swapped where it matters, never at a plain element's two ends; jumpers across protectors."""
    faults = found("vented-dryer")
    jumpers = [fault for name, fault in faults.items() if ": jumper left across" in name]
    assert {fault.subject for fault in jumpers} >= {"high limit", "inlet thermostat", "control thermostat"}
    assert {fault.looks for fault in jumpers} == {"jumper"}
    assert faults["heater: wires at common and front swapped"].earlier_hand
    assert not any(fault.startswith("thermal fuse: wires") for fault in faults)


def test_only_what_an_owner_sets_and_leaves_stood_wrong() -> None:
    """Dials and selectors, and neither a cam turned inside the machine, nor a door, nor a strap."""
    stood = {
        name: {fault.subject for fault in listing.faults(MACHINES[name]) if fault.owner_only} for name in MACHINES
    }
    assert stood["refrigerator"] == {"cold dial"}
    assert stood["vented-dryer"] == {"cycle", "heat"}
    assert stood["coil-cooktop"] == {"left front", "right rear", "left rear", "right front"}
    assert stood["water-heater"] == set()


def test_nothing_is_looked_for_where_no_eye_sees_it() -> None:
    """Sediment behind a steel wall, and frost that melts before its cover is off, are no looks."""
    unseen = {("water-heater", "tank floor"), ("refrigerator", "sealed system")}
    for name, subject in unseen:
        looks = {fault.looks for fault in listing.faults(MACHINES[name]) if fault.subject == subject}
        assert looks == {"fine"}
    drain = found("refrigerator")["drain: clogged"]
    assert drain.looks == "clogged"
