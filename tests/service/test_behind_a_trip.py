"""A limit that is set again by hand is not pressed in alone: what may have made it trip is named."""

from __future__ import annotations

from halfsplit.evidence import finding as f
from halfsplit.machine import library
from halfsplit.rehearse import consequences
from halfsplit.service import behind_a_trip, repairing
from halfsplit.service.guiding import Guided
from halfsplit.service.rehearsing import CONSEQUENCES
from tests.rehearse.benches import adviser, bench

HEATER = bench("water-heater")
PRESS = [one.repair for one in HEATER.faults if one.name == "limit: tripped"]


def test_what_the_rehearsals_take_for_its_causes_is_worked_out_from_the_file() -> None:
    """Each cause that is written down for rehearsals is named, computed from what still heats a tank that is hot."""
    pairs = consequences.read(library.read(CONSEQUENCES), str(CONSEQUENCES), HEATER.machine)
    (said,) = behind_a_trip.made_it_trip(HEATER, PRESS)
    causes = [cause.name for cause, made in pairs if made.name == "limit: tripped"]
    assert len(causes) > 2
    assert all(cause in said for cause in causes)


def test_nothing_more_is_named_where_a_cause_is_mended_with_it() -> None:
    """A new thermostat explains why it tripped."""
    new = [one.repair for one in HEATER.faults if one.name == "lower thermostat: stuck closed"]
    assert not list(behind_a_trip.made_it_trip(HEATER, [*PRESS, *new]))


def test_it_is_told_with_the_repair() -> None:
    """Before the work, where the button is pressed; not where the limit is replaced for a burnt pole."""
    job = Guided(adviser("water-heater"), (f.Perceived("water gets hot", False), f.Look("limit", "tripped")))
    assert any(one.startswith("What may have made it trip:") for one in repairing.work(job, PRESS).first)
    burnt = [one.repair for one in HEATER.faults if one.name == "limit: first pole burnt"]
    assert not any(one.startswith("What may") for one in repairing.work(job, burnt).first)


def test_what_is_set_again_by_itself_or_never_is_no_such_limit() -> None:
    """A dryer has none."""
    dryer = bench("vented-dryer")
    assert not list(behind_a_trip.made_it_trip(dryer, [one.repair for one in dryer.faults]))
