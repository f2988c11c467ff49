"""What proves a repair: what no repair explains is provoked, the frame proved off the supply, the rest seen."""

from __future__ import annotations

import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading
from halfsplit.operate.condition import condition
from halfsplit.predict.readings import Probe
from halfsplit.service import advising, closing, proving, repairing
from halfsplit.service.guiding import Guided

COOKTOP, HEATER = loading.load("coil-cooktop"), loading.load("water-heater")


def guided(*told: str) -> Guided:
    """Burners that do not glow, and the left front one open, lifted out."""
    asked = advising.adviser(Bench(COOKTOP))
    at = condition(COOKTOP, isolated=True, lift=["left front burner.1", "left front burner.2"])
    read = f.Reading(Probe("ohms", "left front burner.1", "left front burner.2"), at, None, text="OL")
    return Guided(asked, (*(f.Perceived(one, False) for one in told), read))


def new_burner(job: Guided) -> repairing.Work:
    """The left front burner is replaced."""
    return repairing.work(job, [job.bench.repairs["replace left front burner"]])


def test_the_frame_is_proved_off_each_prong_before_the_power() -> None:
    """In the closing list, once the cover is on and before the earth and the power; all is set back after it."""
    work = new_burner(guided("left front glows"))
    kinds = [task.kind for task in work.closed.tasks]
    assert kinds[-3:] == ["insulation", "earth", "power"]
    told = closing.sentence(loading.load("coil-cooktop"), work.closed.tasks[kinds.index("insulation")])
    assert "the plug's L1 prong and the plug's L2 prong and the plug's N prong" in told
    assert "to the plug's PE prong: OL each. Then set it back." in told
    assert work.before_closing == ()


def test_inside_it_is_done_while_the_cover_is_open_or_left() -> None:
    """A water heater has no plug: at the limit where that is uncovered; behind a shut cover nothing is asked."""
    asked = advising.adviser(Bench(HEATER))
    for part, bay in (("upper thermostat", "upper cover"), ("lower thermostat", "lower cover")):
        job = Guided(asked, (f.Perceived("water gets hot", False),))
        kinds = [task.kind for task in repairing.work(job, [asked.bench.repairs[f"replace {part}"]]).closed.tasks]
        assert ("insulation" in kinds) == (bay == HEATER.parts["limit"].bay)
        assert "insulation" not in kinds or kinds.index("insulation") < kinds.index("cover")


def test_a_complaint_that_no_repair_explains_is_provoked_before_it_is_closed() -> None:
    """The other burner that was complained of: where the leads go, what is shaken, and why."""
    why, *steps, back = new_burner(guided("left front glows", "right front glows")).before_closing
    assert back == "Plug the right front burner in again."
    assert why == "No repair explains what the owner said: Does the right front burner glow red on HIGH? no."
    assert steps
    assert all("red on right front" in one and "It must stay steady." in one for one in steps)
    assert any("Shake right front receptacle" in one for one in steps)


@pytest.mark.parametrize("name", ["vented-dryer", "refrigerator", "water-heater"])
def test_what_a_handle_brought_back_is_read_before_it_is_put_together(name: str) -> None:
    """At the wall, the volts of a healthy house; not where the machine is closed, nor where it is hard wired."""
    machine = loading.load(name)
    job = Guided(advising.adviser(Bench(machine)))
    repair = job.bench.repairs["breaker: switch fully off and on"]
    assert repairing.work(job, [repair]).before_closing == ()
    part = next(p for p in machine.parts.values() if len(p.terminals) == 2 and p.bay in machine.bays and not p.house)
    red, black = (f"{part.name}.{terminal}" for terminal in part.terminals)
    opened = job.told(f.Reading(Probe("ohms", red, black), condition(machine, isolated=True), 1.0, text="1"))
    work = repairing.work(opened, [repair])
    if machine.supply.hard_wired:
        assert work.before_closing == ()
        return
    (said,) = work.before_closing
    slots = ("L1 slot", "L2 slot", "240 V") if name == "vented-dryer" else ("L slot", "120 V")
    assert all(one in said for one in ("The receptacle stays live.", *slots))
    kinds = [task.kind for task in work.closed.tasks]
    assert kinds.index("provoke") < kinds.index("cover")
    assert any(one.startswith("DANGER") for one in work.acknowledge) or any("live" in one for one in work.acknowledge)


def test_what_another_trade_does_is_only_seen_to_work() -> None:
    """No hand of ours goes to the machine: no reading is asked for."""
    job = guided("left front glows")
    work = repairing.work(job, [job.bench.repairs["breaker: switch fully off and on"]])
    assert work.before_closing == ()
    assert "insulation" not in [task.kind for task in work.closed.tasks]
    assert all("It must be" in one for one in proving.sentences(job))
