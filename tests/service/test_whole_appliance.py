"""Where the whole appliance is replaced: what is wired in is opened and proved dead, its supply comes off, its pipes
apart, two people carry it. The rule is common practice, no source; here each machine of the library is asked for it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.evidence import finding as f
from halfsplit.machine import library, loading, model
from halfsplit.modes import listing
from halfsplit.plan import pricing, safely, taken, undoing
from halfsplit.service import guiding, repairing, tasks
from halfsplit.work import handling, refusals, together
from halfsplit.work.hazards import Hazard, Kind
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser

HEATER = loading.load("water-heater")
NAME = "tank: replace the whole appliance"
TANK = listing.repairs(HEATER)[NAME]
ELEMENT = listing.repairs(HEATER)["replace upper element"]


def work(name: str, refused: frozenset[object] = frozenset()) -> repairing.Work:
    """A repair of the water heater that its owner has left in use."""
    guided = guiding.Guided(adviser("water-heater"), (f.Perceived("water gets hot", True),), refused)
    return repairing.work(guided, [guided.bench.repairs[name]])


def test_it_is_opened_where_the_supply_lands_and_where_its_pipes_join() -> None:
    """The bays by the file alone: those of the terminals at which the supply is met, and those that hold water."""
    landed = {HEATER.parts[model.part_of(end)].bay for end in HEATER.supply.meets}
    wet = {name for name, bay in HEATER.bays.items() if bay.holds_water}
    assert set(TANK.bays) == (landed | wet) - {"outside"} == {"upper cover", "top fittings"}
    assert [one.name for one in listing.repairs(HEATER).values() if one.people > 1] == [NAME]


def test_the_supply_comes_off_proved_dead_and_photographed() -> None:
    """In that order, after the cover; and all of it goes back, the earth with its screw, before the power."""
    made = work(NAME)
    said = " | ".join(made.first)
    order = ("Isolate the machine (breaker off, locked)", "Open the upper cover", "Open the top fittings")
    places = [said.index(one) for one in (*order, "Prove it dead", "Photograph limit before its first wire comes off")]
    assert places == sorted(places)
    assert "until nothing runs any more" in said
    back = tasks.sentences(HEATER, made.closed.tasks)
    wires = [one.split(":")[0] for one in back if one.startswith("Wires back on ")]
    assert wires == ["Wires back on limit.3", "Wires back on limit.1"]
    kinds = [task.kind for task in made.closed.tasks]
    assert kinds.index("ground") < kinds.index("power")
    assert [(one.count, one.kind) for one in made.closed.fasteners] == [(2, "1/4 in hex"), (1, "union")]


def test_two_people_carry_it_and_are_told() -> None:
    """In the list, in the cautions, and to the automaton; one alone replaces an element."""
    whole, part = work(NAME), work("replace upper element")
    assert (whole.closed.people, part.closed.people) == (2, 1)
    heavy = "CAUTION: Heavy. Lift with two people."
    assert (heavy in whole.dangers, heavy in part.dangers) == (True, False)
    steps = [safely.repairing(HEATER, one, one.bays) for one in (TANK, ELEMENT)]
    assert [Hazard.HEAVY in one.hazards for one in steps] == [True, False]


def test_nobody_carries_it_alone() -> None:
    """With nobody to help it is handed over, whatever the covers; and the person is told why."""
    alone = frozenset[object]({refusals.NoHelper()})
    assert [pricing.handed_over(HEATER, JobState(refused=alone), one) for one in (TANK, ELEMENT)] == [True, False]
    assert not pricing.handed_over(HEATER, JobState(), TANK)
    assert repairing.ALONE in work(NAME, alone).first
    assert repairing.ALONE not in work("replace upper element", alone).first
    shut = frozenset[object]({refusals.CannotOpen("upper cover")})
    assert repairing.BARRED in work(NAME, shut).first


@pytest.mark.parametrize("name", library.names())
def test_no_wire_of_what_is_wired_in_comes_off_before_it_is_proved_dead(name: str) -> None:
    """Every repair of every machine with hands in it, from a machine in use: by what the automaton has done, and by
    the words; where a cover comes off or a wire does, dead is proved before."""
    machine = loading.load(name)
    for repair in listing.repairs(machine).values():
        if not handling.hands_in(machine, repair):
            continue
        state = JobState()
        after = taken.under_repair(machine, state, repair)
        done = [one.kind for one in safely.repaired(machine, safely.begin(machine), state, after, repair).doings]
        assert Kind.PROVE_DEAD in done[: done.index(Kind.REPAIR)]
        bare = handling.taken_off(machine, repair) or undoing.reached(machine, repair)
        if bare and machine.supply.hard_wired:  # of a plug that is out anybody sees that it is
            said = repairing.work(guiding.Guided(adviser(name), ()), [repair]).first
            assert any("rove it dead" in one for one in said), repair.name


def test_what_is_plugged_in_is_carried_off_with_nothing_opened() -> None:
    """Its plug is pulled; no wire comes off."""
    dryer = loading.load("vented-dryer")
    whole = replace(TANK, subject="cabinet", name="cabinet: replace the whole appliance", bays=("outside",))
    assert listing._whole(dryer, whole) == replace(whole, people=2)
    assert handling.taken_off(dryer, whole) == ()
    assert together.closing(dryer, undoing.after(dryer, (), [whole])).people == 2
