"""A repair among the findings: the list by which the machine is put together knows it, and so does the proof run."""

from __future__ import annotations

import pytest

from halfsplit.evidence import finding as f
from halfsplit.machine import loading, model
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.plan import steps
from halfsplit.predict.readings import Probe
from halfsplit.service import advising, closing, guiding, repairing
from halfsplit.work import handling, together
from halfsplit.work.state import with_fronts
from tests.depth import some
from tests.rehearse.benches import guide

MACHINES = {
    name: loading.load(name) for name in ("vented-dryer", "vented-dryer-3-wire", "water-heater", "refrigerator")
}
DRYER = MACHINES["vented-dryer"]


def of_kind(made: dict[str, object], kind: str) -> list[str]:
    """Where the tasks of one kind are, in order."""
    return [task["at"] for task in made["tasks"] if task["kind"] == kind]  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", MACHINES)
def test_every_repair_has_its_bays_closed_and_its_wires_gone_over(name: str) -> None:
    """Each repair of each machine alone: bays and fronts closed, inmost first, its wires back, isolated anew."""
    machine = MACHINES[name]
    for repair in listing.repairs(machine).values():
        made = closing.as_data(machine, together.closing(machine, together.undone(machine)))
        found = closing.closing(machine, findings=[f.Tried(repair.name, True)]) if _few(machine, repair.name) else made
        if found is made:
            continue
        hands = handling.hands_in(machine, repair)
        bays = with_fronts(machine, repair.bays) if hands else ()
        assert set(of_kind(found, "cover")) == set(bays) | set(filter(None, of_kind(found, "insulation")))
        assert set(of_kind(found, "wires")) >= set(handling.taken_off(machine, repair)) - set(_of_house(machine))
        assert found["repaired"] == [repair.name]
        read = any(task["kind"] == "insulation" for task in found["tasks"])  # of what is outside nothing else is done
        inside = of_kind(found, "cover") or handling.taken_off(machine, repair) or read
        assert (of_kind(found, "isolate") != []) == bool(inside)
    assert closing.closing(machine)["repaired"] == []


def _few(machine: model.Machine, name: str) -> bool:
    """A sample of the repairs: of parts, and each twentieth of the joints and wires."""
    names = [*listing.repairs(machine)]
    of_parts = some([name for name in names if name.startswith("replace ")], 4)
    return name in of_parts or names.index(name) % 20 == 0


def _of_house(machine: model.Machine) -> list[str]:
    return [t for t in machine.terminals if machine.parts[model.part_of(t)].house]


def test_the_proof_run_is_what_the_repaired_part_does() -> None:
    """Without any complaint told: the cut-off warms the air; the belt turns the drum."""
    warm = f"{DRYER.symptoms['air is warm'].question} It must be yes."
    for repair, said in (("replace cut-off", warm), ("replace belt", " drum turns: yes;")):
        made = closing.closing(DRYER, findings=[f.Tried(repair, True)])
        assert sum(said in one for one in made["proof"]) == 1


def test_the_frame_is_proved_off_the_supply_where_hands_were_in_the_machine() -> None:
    """Once, before the power; not where a handle of the house was switched."""
    for repair, once in (("replace cut-off", 1), ("breaker: switch fully off and on", 0)):
        made = closing.closing(DRYER, findings=[f.Tried(repair, True)])
        kinds = [task["kind"] for task in made["tasks"]]
        assert kinds.count("insulation") == once
        assert not once or kinds.index("insulation") < kinds.index("power")


def test_what_made_a_limit_trip_is_looked_for() -> None:
    """The limit of the water heater reset: water that scalds must not come again, and a cold tank gives hot water."""
    heater = MACHINES["water-heater"]
    scalds = f"{heater.symptoms['water scalds'].question} It must be no."
    resets = [one.name for one in listing.repairs(heater).values() if "find what made it trip" in one.name]
    assert resets
    for name in resets:
        proof = closing.closing(heater, findings=[f.Tried(name, True)])["proof"]
        for said in (scalds, f"{heater.symptoms['water gets hot'].question} It must be yes."):
            assert sum(said in one for one in proof) == 1


def test_a_step_after_the_repair_closes_what_it_runs_with() -> None:
    """Run after the repair, seen by the repairer: what stops the machine is closed already; the fronts are left."""
    at = conditions.usual(DRYER)
    seen = f.Perceived("air is warm", True, at, "repairer")
    stops = [name for name, bay in DRYER.bays.items() if not bay.runs]
    made = closing.closing(DRYER, findings=[f.Tried("replace cut-off", True), seen])
    assert not set(stops) & set(of_kind(made, "cover"))
    assert of_kind(made, "wires") == []
    before = closing.closing(DRYER, findings=[seen, f.Tried("replace cut-off", True)])
    assert set(of_kind(before, "cover")) == {"top", "drum space", "drum housing"}


def test_a_tried_machine_is_closed_and_live_again() -> None:
    """After a repair that did not cure, the next work inside isolates, opens and proves dead anew; what was opened for
    the first repair is not closed once more."""
    probe = Probe("ohms", "heater.common", "heater.front")
    dead = conditions.condition(DRYER, (), isolated=True, lift=["heater.common"])
    findings = (
        f.Perceived("air is warm", False),
        f.Reading(probe, dead, 15.0, text="15"),
        f.Tried("replace cut-off", False),
    )
    asked = guide("vented-dryer")
    bench = asked.bench
    state = advising.standing(asked, findings)
    assert not state.isolated
    assert state.open_bays == frozenset()
    guided = guiding.Guided(asked, findings)
    work = repairing.work(guided, [bench.repairs["replace heater"]])
    assert work.first[0].startswith("Isolate the machine")
    bays = with_fronts(DRYER, bench.repairs["replace heater"].bays)
    opened = [one.split(" (")[0] for one in work.first if one.startswith("Open the")]
    assert opened == [f"Open the {bay}" for bay in bays]
    assert any(danger.startswith("DANGER: Until it is proved dead") for danger in work.dangers)
    closed = guiding.put_together(guided, [bench.repairs["replace heater"]])
    assert [task.at for task in closed.tasks if task.kind == "cover"] == list(reversed(bays))
    switch = guiding.put_together(guided, [bench.repairs["replace door switch"]])
    assert [task.at for task in switch.tasks if task.kind == "cover"] == ["top"]


def test_a_repair_that_the_machine_does_not_know_is_passed_over() -> None:
    """A finding made by other means than a file: its bays are not known, and nothing breaks."""
    made = closing.closing(DRYER, findings=[f.Tried("replace everything", False)])
    assert made["repaired"] == []


@pytest.mark.parametrize("name", ["vented-dryer", "vented-dryer-3-wire"])
def test_the_duct_goes_back_on_before_the_dryer_is_pushed_home(name: str) -> None:
    """Told at opening, and once in the list, before the back is closed: with the rear cover, too."""
    machine = MACHINES[name]
    assert "duct" in machine.bays["back"].fasteners
    for bay in ("back", "rear cover"):
        made = closing.as_data(machine, together.closing(machine, together.undone(machine, [bay])))
        said = [task["text"] for task in made["tasks"]]
        assert said.count("Vent duct back on its outlet.") == 1
        assert said.index("Vent duct back on its outlet.") < said.index("Close the back.")
        assert not any("outlet" in str(one["kind"]) for one in made["fasteners"])


def test_no_lead_is_at_the_drum_lamp_with_the_top_shut() -> None:
    """Its connector lies behind the top, where the front's connectors are pulled."""
    at = [step for step in steps.dead_steps(DRYER) if "drum lamp.1" in step.places or "drum lamp.2" in step.places]
    assert at
    assert all("top" in steps.bays_needed(DRYER, step) for step in at)
    assert "top" not in DRYER.hot_bays
