"""How a machine is left where the work ends: off at the breaker and tagged wherever a stop wants it so, never live."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.errors import Refused
from halfsplit.evidence import finding as f
from halfsplit.machine import library, loading, model
from halfsplit.machine.expand.symptoms import SMELL
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.plan import insulated
from halfsplit.predict.readings import Probe
from halfsplit.service import closing, guiding, proving, repairing
from halfsplit.work import stopping, together
from halfsplit.work.hazards import STOPS, Pipe
from halfsplit.work.refusals import NoMeter
from tests.rehearse.benches import guide

GAS = "tests/gas/gas-air-heater.yaml"
MACHINES = {name: loading.load(name) for name in (*library.names(), GAS)}
LIVE = {"fixed wiring": False, "sealed refrigerant system": True, "gas supply": False, "not reproduced": True,
        "tingling frame": False, "burnt receptacle": False, "water on the floor": False}  # fmt: skip
"""Whether the power comes back at each stop that leaves nothing to judge."""
each_machine = pytest.mark.parametrize("name", MACHINES)


def left(machine: model.Machine, rule: str, was: together.Undone) -> list[tuple[str, str]]:
    """The last tasks of a list, with where they are."""
    return [(one.kind, one.at) for one in together.closing(machine, was, rule).tasks]


@each_machine
@pytest.mark.parametrize("rule", STOPS)
def test_the_power_is_last_or_stays_off(name: str, rule: str) -> None:
    """Every stop on every machine, isolated with all open, and as it stands: power once more or a tag, never both."""
    machine = MACHINES[name]
    for was in (together.undone(machine, machine.bays), together.Undone(isolated=False)):
        found = left(machine, rule, was)
        kinds = {kind for kind, _ in found} & {"power", "judge", "tag"}
        if not STOPS[rule].tag:
            assert kinds == ({"judge" if STOPS[rule].judged else "power"} if was.isolated else set())
            continue
        assert kinds == {"tag"}
        assert found[-1] == ("tag", "breaker")
        assert machine.controls["breaker"].positions == ("on", "off")
    assert rule not in LIVE or LIVE[rule] == (not STOPS[rule].tag)


def test_the_gas_stays_shut_with_the_power() -> None:
    """Handed over to the gas supplier: the pipe is joined where it was apart, the cock not opened again."""
    machine = MACHINES[GAS]
    for pipe in Pipe:
        was = replace(together.undone(machine, ["burner box"]), pipe=pipe)
        kinds = [kind for kind, _ in left(machine, "gas supply", was)]
        assert ("gas off" if pipe in (Pipe.AWAY, Pipe.LIT) else "shut") in kinds
        assert not {"gas", "leak", "power"} & set(kinds)
        assert ("pipe" in kinds) == (pipe is Pipe.APART)


@each_machine
def test_a_repair_that_is_anothers_leaves_no_power_on_the_houses_wiring(name: str) -> None:
    """Every repair of every machine, as the printed plan has it: what an electrician repairs is left off and tagged."""
    guided = guiding.Guided(guide(name))
    machine = guided.machine
    trades = {one.by: one for one in listing.repairs(machine).values()}
    assert {"repairer", "electrician"} <= set(trades)
    for by, repair in trades.items():
        texts = closing.sentences(machine, repairing.work(guided, [repair]).closed)
        power = any(text.startswith("Power last") for text in texts)
        tagged = any("tag on it" in text for text in texts)
        assert (tagged, power and tagged) == (by in ("electrician", "utility", "gas supplier"), False)


def test_water_that_still_runs_leaves_the_breaker_off() -> None:
    """With the breaker off the search went on, and ended without a repair: nobody puts the power back."""
    machine = MACHINES["water-heater"]
    seen = stopping.breaker_off(machine)
    assert stopping.left([seen], "not worth it") == stopping.left([seen], "") == stopping.WATER
    assert stopping.left([seen], "fixed wiring") == "fixed wiring"
    assert stopping.left([], "not worth it") == "not worth it"
    made = closing.closing(machine, findings=[seen])
    assert made["tasks"][-1]["kind"] == "tag"


def test_the_list_of_a_file_of_findings_knows_the_stop() -> None:
    """What the findings show to be dangerous or another trade's stays off; a smell of gas leaves no list at all."""
    dryer = MACHINES["vented-dryer"]
    burnt: list[f.Finding] = [f.Look("receptacle", "burnt")]
    assert closing.closing(dryer, findings=burnt)["tasks"][-1]["kind"] == "tag"
    cold = loading.load("tests/hazards/small-refrigerator.yaml")
    wall = conditions.condition(cold, {"plug": "out"})
    low: list[f.Finding] = [f.Perceived("it is cold", False)]
    low += [f.Reading(Probe(meter, "receptacle.L", "receptacle.N"), wall, 100.0, step=0.1)
            for meter in ("volts", "low-impedance volts")]  # fmt: skip
    assert closing.closing(cold, findings=low)["tasks"][-1]["kind"] == "tag"
    belt: list[f.Finding] = [f.Perceived("drum turns", False), f.Look("belt", "broken")]
    assert closing.closing(dryer, findings=belt)["tasks"][-1]["kind"] == "power"
    with pytest.raises(Refused, match="Touch no switch"):
        closing.closing(MACHINES[GAS], findings=[f.Perceived(SMELL, True)])


# ---- left as it is ------------------------------------------------------------------------------------------


def begun(name: str) -> guiding.Guided:
    """A job at a machine."""
    return guiding.Guided(guide(name))


def opened(job: guiding.Guided) -> guiding.Guided:
    """With a part behind a cover read, dead, and nothing known by that."""
    known = job.machine
    part = next(p for p in known.parts.values() if len(p.terminals) == 2 and p.bay in known.bays and not p.house)
    red, black = (f"{part.name}.{terminal}" for terminal in part.terminals)
    return job.told(f.Reading(Probe("ohms", red, black), conditions.condition(known, isolated=True), 1.0, text="1"))


@pytest.mark.parametrize("name", ["coil-cooktop", "refrigerator", "water-heater"])
def test_a_machine_left_as_it_is_is_read_to_the_frame_before_its_power(name: str) -> None:
    """As after a repair: a lead to the frame is among what is suspected, and nobody has looked. Told alike in the talk
    and of the same findings in a file."""
    job = opened(begun(name))
    kinds = [task.kind for task in proving.left_as_it_is(job).tasks]
    assert kinds.count("insulation") == 1
    assert kinds.index("insulation") < kinds.index("power") == len(kinds) - 1
    told = closing.sentences(job.machine, proving.left_as_it_is(job))
    assert [task["text"] for task in closing.closing(job.machine, findings=job.findings)["tasks"]] == told


def test_what_was_opened_is_read_to_the_frame_whatever_was_found() -> None:
    """Of names alone: bays, wires."""
    made = closing.closing(MACHINES["vented-dryer"], ["drum housing"], ["heater.common"])
    kinds = [task["kind"] for task in made["tasks"]]
    assert kinds.index("cover") < kinds.index("insulation") < kinds.index("power")


def test_where_it_cannot_be_read_the_power_stays_off() -> None:
    """Without ohms, tagged; nor is its frame's bond measured then, whatever is suspected."""
    job = opened(begun("water-heater")).without(NoMeter("ohms"))
    assert insulated.suspected(job.weighed)
    assert proving.left_as_it_is(job).tasks[-1].kind == "tag"
    assert guiding.put_together(job, ()).tasks[-1].kind == "tag"


def test_a_machine_that_nobody_touched_has_nothing_read() -> None:
    """In use as it was: nothing brings its power back."""
    assert [task.kind for task in proving.left_as_it_is(begun("coil-cooktop")).tasks] == ["meter"]
