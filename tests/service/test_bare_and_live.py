"""What is bare is not left alone with the power on, and nothing is measured where nothing is bare."""

from __future__ import annotations

from halfsplit.machine import loading
from halfsplit.plan import safely, taken
from halfsplit.plan.steps import bays_needed
from halfsplit.service import isolating, repairing, wording
from halfsplit.service.guiding import Guided
from halfsplit.work.hazards import STOPS
from halfsplit.work.state import JobState
from tests.service.test_dead_there_too import behind_covers


def test_the_meter_is_proved_before_the_power_comes_back_beside_open_covers() -> None:
    """Two steps in a row, the second read live with the machine open."""
    asked, offered = behind_covers("water-heater")
    machine, found = asked.bench.machine, 0
    for first in offered:
        for second in (one for one in offered if one.live):
            between = taken.after(machine, JobState(), first)
            safe = safely.prepared(machine, safely.begin(machine), JobState(), between, first).state
            after = taken.after(machine, between, second)
            kinds = safely.prepared(machine, safe, between, after, second).kinds
            told = wording.sentence(asked.bench.predictor, between, second, bays_needed(machine, second), kinds)
            if after.open_bays and wording.METER_FIRST in told and "bring the power back" in told:
                assert told.index(wording.METER_FIRST) < told.index("ring the power back"), told
                assert told.count(wording.METER_FIRST) == 1
                found += 1
    assert found


def test_a_closed_machine_that_is_wired_in_is_not_measured() -> None:
    """Where no cover is open or opened nothing is bare to measure at; a plug that is out is proved as ever."""
    heater = loading.load("water-heater")
    assert isolating.isolate(heater, bare=False) == (
        "Isolate the machine (breaker off, locked and tagged); closed, nothing of it is bare: it is proved "
        "dead where the first cover comes off."
    )
    known = "all that lies bare, the frame and an earth outside the machine that you have proved, each pair"
    assert known in isolating.isolate(heater)
    (there,) = isolating.proved_dead(heater, ["upper cover"])
    assert there.endswith("limit.1, limit.3, jacket.metal and the earth conductor of the cable, each pair.")
    assert "before and after" in isolating.isolate(loading.load("vented-dryer"), bare=False)


def test_a_tingling_frame_is_not_said_to_be_the_supplys() -> None:
    """The machine itself may make its frame live: the stop names who finds it, and no cause."""
    said = STOPS["tingling frame"].say
    assert "supply" not in said
    assert "electrician or a licensed repairer" in said


def test_what_lets_the_water_out_is_not_drained_to_below_itself() -> None:
    """Water stands below an element once it is drained, never below the valve through which it runs out."""
    asked, _ = behind_covers("water-heater")
    guided = Guided(asked)
    valve, element = (
        " ".join(repairing.work(guided, [asked.bench.repairs[name]]).first)
        for name in ("replace drain valve", "replace lower element")
    )
    assert "until nothing runs any more" in valve
    assert "stands below" not in valve
    assert "stands below the lower element" in element
    assert "it is proved dead where the first cover comes off" in valve or "Isolate" not in valve
