"""A breaker is not tried for oneself before ohms from the line conductors to the frame were read, dead, and not low."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from halfsplit.evidence import finding as f
from halfsplit.operate import condition as conditions
from halfsplit.plan import fitting, insulated, powering
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser, bench

WHAT = "breaker trips"
EARTH = {"vented-dryer": "receptacle.prong PE", "refrigerator": "receptacle.prong PE", "water-heater": "jacket.metal"}
LINES = {
    "vented-dryer": ("receptacle.prong L1", "receptacle.prong L2"),
    "refrigerator": ("receptacle.prong L",),
    "water-heater": ("limit.1", "limit.3"),
}
"""The line conductors where they are reached, by the machine files."""
SETTING = {"vented-dryer": {"cycle": "timed", "heat": "high"}}
each_machine = pytest.mark.parametrize("name", sorted(LINES))


def step(name: str, what: str = WHAT) -> Step:
    """The step in which it is seen for oneself."""
    return next(one for one in adviser(name).table.steps if one.kind == "symptom" and one.at == what)


def readings(name: str, value: float | None = None, given: dict[str, str] | None = None) -> list[f.Reading]:
    """Ohms from each line conductor to the frame, dead, set as used unless given otherwise."""
    at = conditions.condition(bench(name).machine, SETTING.get(name, {}) if given is None else given, isolated=True)
    return [f.Reading(Probe("ohms", line, EARTH[name]), at, value) for line in LINES[name]]


def fits(name: str, findings: Sequence[f.Finding]) -> bool:
    """Whether the breaker may be tried after these findings."""
    return fitting.fits(adviser(name), findings, step(name))


@each_machine
def test_ohms_to_the_frame_come_first(name: str) -> None:
    """Each line conductor, over range or so many megohms; never on the owner's word alone, never after a low one."""
    told: list[f.Finding] = [f.Perceived(WHAT, True)]
    assert not fits(name, [])
    assert not fits(name, told)
    assert fits(name, [*told, *readings(name)])
    assert fits(name, [*told, *readings(name, 4e6)])
    assert not fits(name, [*told, *readings(name, 40.0)])
    assert not fits(name, [*told, *readings(name), readings(name, 3e4)[0]])
    for left in range(len(LINES[name])):
        some = readings(name)
        del some[left]
        assert not fits(name, [*told, *some])


@each_machine
def test_nothing_but_such_ohms_will_do(name: str) -> None:
    """Not live, not with a wire off, not between conductors, not what was read before hands were in it."""
    made = readings(name)
    for live, lift in ((True, ()), (False, (LINES[name][0],))):
        assert not fits(
            name, [replace(x, condition=replace(x.condition, isolated=not live, lift=lift)) for x in made]
        )
    assert not fits(name, [replace(x, probe=replace(x.probe, meter="volts")) for x in made])
    assert not fits(name, [replace(x, probe=replace(x.probe, black=LINES[name][-1])) for x in made])
    assert not fits(name, [*made, f.Tried(next(iter(bench(name).repairs)), False)])


@each_machine
def test_after_a_trip_that_was_told_nothing_is_run(name: str) -> None:
    """Whatever it is: dead steps and questions alone, until those ohms were read."""
    asked, told = adviser(name), list[f.Finding]([f.Perceived(WHAT, True, by="owner")])
    powered = [one for one in asked.table.steps if powering.powered(bench(name).machine, one)]
    assert powered
    assert not any(fitting.fits(asked, told, one) for one in powered[::9])
    assert any(fitting.fits(asked, [*told, *readings(name)], one) for one in powered[::9])
    assert any(fitting.fits(asked, told, one) for one in asked.table.steps[::9] if one not in powered)


def test_an_open_switch_hides_a_short() -> None:
    """With the timer off the leads see hardly more than its wires, whatever is shorted behind it."""
    assert not fits("vented-dryer", readings("vented-dryer", given={}))


def test_what_is_remembered_and_what_resets_itself_want_none() -> None:
    """A question to the owner, and a motor's overload."""
    asked = adviser("vented-dryer")
    question = next(one for one in asked.table.steps if one.asks and one.at == WHAT)
    assert fitting.fits(asked, [], question)
    assert fitting.fits(asked, [], step("vented-dryer", "motor stops and restarts later"))


@each_machine
def test_the_complaint_to_be_seen_first_leads_to_those_ohms(name: str) -> None:
    """Reading by reading until all are made, then to the breaker; after a low one to neither."""
    asked, findings = adviser(name), list[f.Finding]([f.Perceived(WHAT, True)])
    for _ in LINES[name]:
        one = fitting.first_seen(asked, asked.bench.weigh(findings, with_pairs=False), JobState())
        assert one is not None
        assert one.probe is not None
        assert one.condition is not None
        assert (one.probe.meter, one.condition.isolated) == ("ohms", True)
        findings.append(f.Reading(one.probe, one.condition))
    assert insulated.measured(asked.bench.predictor, findings)
    assert not insulated.lacking(asked.bench.predictor, findings, asked.table.steps)
    last = findings[-1]
    assert isinstance(last, f.Reading)
    assert not insulated.lacking(asked.bench.predictor, [replace(last, value=12.0)], asked.table.steps)


@pytest.mark.parametrize("name", ["vented-dryer-3-wire", "coil-cooktop"])
def test_steps_of_the_table_are_enough(name: str) -> None:
    """Also where the neutral is bonded to the frame, so that set as used a healthy motor reads low."""
    asked, found = adviser(name), list[f.Finding]()
    while some := insulated.lacking(asked.bench.predictor, found, asked.table.steps):
        assert some[0].probe is not None
        assert some[0].condition is not None
        found.append(f.Reading(some[0].probe, some[0].condition))
    assert len(found) == 2
    assert insulated.measured(asked.bench.predictor, found)


@pytest.mark.parametrize(
    ("name", "red", "lift", "ohms"),
    [
        ("refrigerator", "defrost timer.1", [], 0.5),
        ("vented-dryer", "heater.common", [], 3.0),
        ("vented-dryer", "receptacle.prong N", [], 0.9),
        ("water-heater", "upper element.1", ["upper element.1", "upper element.2"], 13.0),
    ],
)
def test_whatever_leads_to_the_frame_keeps_the_power_off(name: str, red: str, lift: list[str], ohms: float) -> None:
    """At any place, and of a part whose wires are off; over range it does not, nor does what a healthy machine
    joins to its frame; after a repair it is read anew."""
    machine, predictor = bench(name).machine, bench(name).predictor
    at = conditions.condition(machine, isolated=True, lift=lift)
    frame = EARTH[name] if red.startswith("receptacle") else machine.frame
    probe = Probe("ohms", red, frame)
    assert insulated.is_low(predictor, [f.Reading(probe, at, ohms)])
    assert insulated.reads(predictor, Step("reading", at, probe))
    assert not insulated.is_low(predictor, [f.Reading(probe, at, None)])
    assert not insulated.is_low(predictor, [f.Reading(probe, at, ohms), f.Tried("clean it", cured=True)])
    wired = (end for wire in machine.wires if machine.frame in wire.ends for end in wire.ends)
    joined = Probe("ohms", machine.frame, next(end for end in wired if end != machine.frame))
    assert not insulated.is_low(predictor, [f.Reading(joined, at, 0.2)])


def test_a_capacitance_is_no_short() -> None:
    """Nor is a live reading: microfarads and volts are small numbers too."""
    machine, predictor = bench("vented-dryer").machine, bench("vented-dryer").predictor
    dead, live = conditions.condition(machine, isolated=True), conditions.rest(machine)
    for meter, at in (("capacitance", dead), ("volts", live)):
        assert not insulated.is_low(predictor, [f.Reading(Probe(meter, "heater.common", machine.frame), at, 1e-5)])
