"""A machine whose breaker trips: left off at the breaker with a tag that says why; proved dead before it is read again.

Judge: what was told and seen of the breaker, by hand.
"""

from __future__ import annotations

import pytest

from halfsplit.evidence import finding as f
from halfsplit.machine import library, loading
from halfsplit.operate import condition as conditions
from halfsplit.service import closing, guiding, proof_cards, proving
from halfsplit.work import stopping
from halfsplit.work.hazards import STOPS
from tests.rehearse.benches import guide

DRYER = loading.load("vented-dryer")
USED, AIR = conditions.usual(DRYER), conditions.condition(DRYER, {"cycle": "timed", "heat": "air only"})
TRIPS, HOLDS = (f.Perceived("breaker trips", there, USED, "repairer") for there in (True, False))
COLD = f.Perceived("air is warm", False, USED, "repairer")
TAG = STOPS[stopping.TRIPS].tag


def tags(made: dict[str, object]) -> list[str]:
    """The sentences about a tag."""
    return [task["text"] for task in made["tasks"] if task["kind"] == "tag"]  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", library.names())
def test_it_is_left_off_with_the_reason_on_the_tag(name: str) -> None:
    """Told by its owner or seen: the list ends with the tag, and nothing under power is left to prove."""
    machine = loading.load(name)
    what = next(one for one in machine.symptoms if machine.house_trips(one))
    for found in (f.Perceived(what, True), f.Perceived(what, True, conditions.usual(machine), "repairer")):
        made = closing.closing(machine, findings=[found])
        assert made["tasks"][-1]["kind"] == "tag"
        assert TAG in made["tasks"][-1]["text"]
        assert made["proof"] == [proof_cards.NOT_PROVED]
        assert "repaired" not in made["proof"][0]  # nothing was


def test_who_stops_is_told_so() -> None:
    """In the guide, where nothing was undone, there was no list at all."""
    begun = guiding.Guided(guide("water-heater"))
    for told, tagged in ((f.Perceived("breaker trips", True), True), (f.Perceived("water gets hot", False), False)):
        kinds = [task.kind for task in proving.left_as_it_is(begun.told(told)).tasks]
        assert (kinds[-1] == "tag") == tagged == ("tag" in kinds)


@pytest.mark.parametrize(
    ("then", "off"),
    [
        ((f.Tried("replace cut-off", False),), True),
        ((f.Tried("replace heater", True),), False),
        ((HOLDS,), False),
        ((f.Perceived("breaker trips", False, USED, "owner"),), True),
        ((f.Perceived("breaker trips", False, AIR, "repairer"),), True),
        ((f.Tried("replace heater", True), TRIPS), True),
    ],
)
def test_until_it_is_mended_or_seen_to_hold(then: tuple[f.Finding, ...], off: bool) -> None:
    """A repair that cured, or the repairer who sees it hold as it is used; not in another setting, nor by word."""
    assert stopping.trips(DRYER, [TRIPS, *then]) == off


def test_what_trips_by_itself_in_the_machine_is_no_breaker() -> None:
    """A motor's own overload that acts keeps no power off."""
    fridge = loading.load("refrigerator")
    own = [name for name, one in fridge.symptoms.items() if one.kind == "trips" and not fridge.house_trips(name)]
    assert not any(stopping.trips(fridge, [f.Perceived(name, True)]) for name in own)


@pytest.mark.parametrize("seen", [COLD, TRIPS])
def test_a_machine_that_has_just_run_is_proved_dead_before_it_is_read(seen: f.Perceived) -> None:
    """Something is seen after the last repair: its list reads the prongs to the frame, isolated first."""
    made = closing.closing(DRYER, findings=[f.Tried("replace cut-off", True), seen])
    kinds = [task["kind"] for task in made["tasks"]]
    assert kinds.index("isolate") < kinds.index("insulation")
    assert "prove it dead" in made["tasks"][kinds.index("isolate")]["text"]
    assert kinds[-1] == ("tag" if seen is TRIPS else "power")
