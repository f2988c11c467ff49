"""Where the breaker goes off for water, all else stands as hands have left it, and the list puts it back."""

from __future__ import annotations

from halfsplit.evidence import finding as f
from halfsplit.operate import condition as conditions
from halfsplit.predict.readings import Probe
from halfsplit.service import closing, proving
from halfsplit.service.guiding import Guided
from tests.rehearse.benches import adviser

WET = f.Perceived("water on the floor", True, None, "repairer")


def off(*found: f.Finding) -> Guided:
    """The refrigerator once its breaker is off for the water that was seen after these findings."""
    return Guided(adviser("refrigerator")).told(*found, WET).breaker_off()


def test_a_timer_that_was_turned_stands_so_and_is_turned_back() -> None:
    """Left in defrost behind its cover, the food would thaw; and wires that are off are not taken to be on."""
    machine = adviser("refrigerator").bench.machine
    at = conditions.condition(machine, {"defrost": "defrost"}, isolated=True, lift=["defrost timer.4"])
    job = off(f.Reading(Probe("ohms", "defrost timer.4", "defrost timer.3"), at, None))
    now = job.standing.condition
    assert now is not None
    assert (now.position("defrost"), now.position("breaker"), now.lift) == ("defrost", "off", ("defrost timer.4",))
    told = " ".join(closing.sentences(job.machine, proving.left_as_it_is(job)))
    assert "defrost" in told
    assert "defrost timer.4" in told


def test_of_an_untouched_machine_all_is_at_rest() -> None:
    """As its owner left it, but for the breaker."""
    machine = adviser("refrigerator").bench.machine
    assert off().standing.condition == conditions.condition(machine, {"breaker": "off"})
