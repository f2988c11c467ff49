"""A file of findings with repairs in it, written by hand, is played again as the guide leads; safe as it was."""

from __future__ import annotations

import pytest

from halfsplit.errors import BadInput
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.operate import condition as conditions
from halfsplit.plan import insulated, powering
from halfsplit.predict.readings import Probe
from halfsplit.service import advising, after_repair, diagnosing, replaying
from halfsplit.service.guiding import Guided
from halfsplit.work import stopping
from halfsplit.work.refusals import NoHelper, NoOwner, NoPower
from tests.rehearse.benches import NAMES, adviser, bench

HEATER, DRYER = bench("water-heater").machine, bench("vented-dryer").machine
UPPER, LOWER = "replace upper element", "replace lower element"
COLD, WET = f.Perceived("water gets hot", False), f.Perceived(stopping.WATER, True)
OFF = stopping.breaker_off(HEATER)
HOT = f.Perceived("water gets hot", True, conditions.usual(HEATER), "repairer")
FINE = f.Look("limit", f.FINE)
TRIPS = f.Perceived("breaker trips", True)
COLD_AIR = f.Perceived("air is warm", False)
VAIN = f.Tried("replace cut-off", False)


def played(*findings: f.Finding, name: str = "water-heater") -> Guided:
    """The diagnosis where these have led it."""
    return replaying.replayed(adviser(name), findings)


def rule(guided: Guided) -> str:
    """The rule of the stop that stands; "" where there is none."""
    return guided.advice.rule if guided.advice else ""


@pytest.mark.parametrize("name", NAMES)
def test_without_a_repair_all_findings_count(name: str) -> None:
    """On the very machine as it was: nothing is renewed, refused or left out, also where it was put together."""
    told = next(iter(bench(name).machine.symptoms))
    findings = (f.Perceived(told, False), f.Closed(True), f.Look(next(iter(bench(name).machine.parts)), f.FINE))
    guided = replaying.replayed(adviser(name), findings, {NoHelper()})
    assert guided.asked is adviser(name)
    assert guided.findings == findings
    assert guided.refused == {NoHelper()}
    assert guided.before_proof is None


def test_each_repair_renews_what_is_left() -> None:
    """As the guide goes on after each: the same findings count, on a bench with the same prior."""
    repairs = bench("water-heater").repairs
    once = after_repair.after(Guided(adviser("water-heater"), (COLD,)), [repairs[UPPER]], ())
    twice = after_repair.after(once.told(FINE), [repairs[LOWER]], (), ran=False)
    again = played(*twice.all_findings)
    assert again.findings == twice.findings
    assert again.all_findings == twice.all_findings
    assert again.bench.singles.prior == pytest.approx(twice.bench.singles.prior)
    assert not any("element: open" in name for one in again.ranked for name in one.faults)
    assert NoOwner() in again.refused


def test_repairs_in_one_go_are_one() -> None:
    """Told one below the other, alike; where one cured and the other did not they were made one after the other."""
    both = played(COLD, f.Tried(UPPER, False), f.Tried(LOWER, False), FINE)
    assert both.findings == (f.Tried(UPPER, False), FINE)
    assert both.made == {UPPER, LOWER}
    parted = played(COLD, f.Tried(UPPER, False), f.Tried(LOWER, True))
    assert parted.findings == (f.Tried(LOWER, True),)
    assert parted.made == {UPPER, LOWER}


def test_after_a_cure_nothing_is_wrong() -> None:
    """Nothing is known to be due then; unless something is told to be wrong since, or that not all is well."""
    cured = played(COLD, f.Tried(UPPER, True))
    assert cured.weighed.likeliest[0] == ()
    assert not diagnosing.diagnose(HEATER, (COLD, f.Tried(UPPER, True)))["enough"]["known"]
    assert cured.weighed.likeliest[1] > 0.8
    for found in ((f.Tried(UPPER, True, well=False), HOT), (f.Tried(UPPER, True), HOT, COLD)):
        wrong = played(COLD, *found)
        assert f.Tried(UPPER, True, well=False) in wrong.findings
        assert wrong.weighed.likeliest[0]
        said = [str(one["label"]) for one in wrong.reasons()]
        assert f"{UPPER}: cured, but not all is well" in said


def test_that_not_all_is_well_is_said_of_a_cure_only() -> None:
    """It is written, and read again; of a repair that did not cure it is refused, with its place."""
    told = f.Tried(UPPER, True, well=False)
    assert findings_file.written(told) == {"repair": {"made": UPPER, "cured": "yes", "well": "no"}}
    text = f"- repair: {{made: {UPPER}, cured: yes, well: no}}\n"
    assert diagnosing.read_findings(HEATER, text, "x") == [told]
    for cured in ("no", "untried"):
        with pytest.raises(BadInput, match="goes with 'cured: yes' alone"):
            diagnosing.read_findings(HEATER, text.replace("yes", cured), "x")
    assert diagnosing.read_findings(HEATER, text.replace(", well: no", ""), "x") == [f.Tried(UPPER, True)]


# ---- as safe as it was ------------------------------------------------------------------------------------


@pytest.mark.parametrize("cured", [True, False, None])
def test_what_ends_the_work_ends_it_whatever_was_repaired(cured: bool | None) -> None:
    """A burnt receptacle and a frame that tingles, told before the repair or two repairs ago."""
    for danger in (f.Look("receptacle", "burnt"), f.Perceived("cabinet tingles", True)):
        found = (danger, f.Tried("replace cut-off", cured))
        stop = stopping.reason(DRYER, found)
        assert stop
        assert rule(played(*found, name="vented-dryer")) == stop
        assert rule(played(*found, f.Tried("replace heater", cured), name="vented-dryer")) == stop


def test_water_stands_until_it_is_seen_to_be_gone_or_cured() -> None:
    """A stop where the breaker is not known to be off, or the machine was in use since; no power while it is wet."""
    for found in ((WET, f.Tried(UPPER, None)), (WET, OFF, f.Tried(UPPER, False)), (WET, f.Tried(UPPER, False))):
        assert rule(played(COLD, *found)) == stopping.WATER
        assert rule(played(COLD, *found, f.Tried(LOWER, False))) == stopping.WATER
    untried = played(COLD, WET, OFF, f.Tried(UPPER, None))
    assert untried.always
    assert rule(untried) == ""
    gone = f.Perceived(stopping.WATER, False, None, "repairer")
    for dry in ((WET, OFF, f.Tried(UPPER, True)), (WET, OFF, f.Tried(UPPER, False), gone)):
        assert not played(COLD, *dry).always
    assert stopping.is_wet((WET, f.Tried(UPPER, None))) == bool(played(WET, f.Tried(UPPER, None)).always)


def test_no_power_after_an_untried_repair() -> None:
    """Until the next; also where it is said twice that it was put together."""
    assert stands(played(COLD, f.Tried(UPPER, None), f.Closed(False))) == (True, True)
    assert stands(played(COLD, f.Tried(UPPER, None), f.Closed(False), f.Closed(False))) == (True, True)
    assert stands(played(COLD, f.Tried(UPPER, None), f.Tried(LOWER, False))) == (False, False)


def test_it_is_closed_as_the_file_says() -> None:
    """With its power off after a repair that was tried, where that is said."""
    assert stands(played(COLD, f.Tried(UPPER, False), f.Closed(False))) == (True, False)
    assert stands(played(COLD, f.Tried(UPPER, False), f.Closed(True))) == (False, False)


def stands(guided: Guided) -> tuple[bool, bool]:
    """Whether the machine was left isolated, and whether nothing is done under power."""
    state = advising.standing(guided.asked, guided.findings, guided.not_now)
    return state.left_isolated, NoPower() in state.refused


def test_what_was_told_to_trip_is_not_run_before_the_frame_is_read() -> None:
    """After a repair in vain of which nobody says that it ran since or trips no more: dead steps only, until then."""
    barred = played(TRIPS, VAIN, name="vented-dryer")
    assert NoPower() in barred.not_now
    for step in advising.advise(barred.asked, barred.weighed, barred.not_now):
        assert not powering.wants_power(DRYER, step.step)
    seen = f.Perceived("breaker trips", False, conditions.usual(DRYER), "repairer")
    assert NoPower() in played(TRIPS, seen, VAIN, name="vented-dryer").not_now
    assert NoPower() not in played(TRIPS, VAIN, seen, name="vented-dryer").not_now
    unplugged = f.Perceived("breaker trips", False, conditions.rest(DRYER), "repairer")
    for since in (f.Closed(True), unplugged):
        assert NoPower() in played(TRIPS, VAIN, since, name="vented-dryer").not_now
    assert NoPower() not in played(f.Perceived("air is warm", False), VAIN, name="vented-dryer").not_now


def test_what_cured_without_making_all_well_leaves_the_floor_wet() -> None:
    """What is not well may be the water: it stands until it is seen to be gone, for whoever reads the file."""
    wet = f.Perceived("water on the floor", True, by="owner")
    for well in (True, False):
        told = (COLD, wet, f.Tried(UPPER, True, well=well))
        assert stopping.is_wet(played(*told).findings) != well
        assert stopping.is_wet(told) != well


def test_ohms_to_the_frame_let_it_be_run() -> None:
    """From each line at the plug, set as used: nothing low, so what was told to trip may be run."""
    read = _to_frame()
    assert len(read) > 1
    assert NoPower() not in played(TRIPS, VAIN, *read, name="vented-dryer").not_now
    assert NoPower() in played(TRIPS, VAIN, read[0], name="vented-dryer").not_now


def test_what_leads_to_the_frame_keeps_the_power_off_over_a_repair_in_vain() -> None:
    """Low ohms bar every step under power, from a file as in the guide, until they were read anew and are not low."""
    read = _to_frame()
    low = f.Reading(read[0].probe, read[0].condition, 20.0)
    for told in ((COLD_AIR, low), (COLD_AIR, low, VAIN), (COLD_AIR, low, VAIN, f.Closed(True))):
        barred = played(*told, name="vented-dryer")
        steps = advising.advise(barred.asked, barred.weighed, barred.not_now)
        assert steps
        assert not any(powering.wants_power(DRYER, one.step) for one in steps)
    assert NoPower() not in played(COLD_AIR, low, VAIN, *read, name="vented-dryer").not_now


def test_the_guide_owes_ohms_to_the_frame_after_a_repair_in_vain_too() -> None:
    """What was told to trip, and nobody looked at after the repair, is not run before."""
    begun = Guided(adviser("vented-dryer"), (TRIPS,))
    assert NoPower() not in begun.not_now
    led = after_repair.after(begun, [bench("vented-dryer").repairs[VAIN.repair]], ())
    assert NoPower() in led.not_now
    assert led.advice is not None
    assert not powering.wants_power(DRYER, led.advice.step)
    assert NoPower() not in led.told(*_to_frame()).not_now


def _to_frame() -> list[f.Reading]:
    """Over range from every prong to the earth, in every setting that counts."""
    predictor = bench("vented-dryer").predictor
    return [
        f.Reading(Probe("ohms", line, DRYER.frame), at, None, text="OL")
        for line in insulated._lines(predictor)
        for at in insulated._settings(predictor)
    ]
