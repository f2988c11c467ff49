"""What a survey runs through, and what it calls a load, against counts and volts worked out by hand."""

from __future__ import annotations

import pytest

from halfsplit.audit import catalogue, survey
from halfsplit.audit.survey import Survey
from halfsplit.machine import library, loading
from halfsplit.machine.complaints import Complaints
from halfsplit.machine.rules import catalogue as static


def read(name: str) -> Survey:
    """A machine of the library, ready to be run."""
    return Survey(loading.read_sheet(library.text(name), name))


@pytest.mark.parametrize(
    ("name", "count"), [("vented-dryer", 4 * 3 * 2 * 3 * 3), ("refrigerator", 24), ("water-heater", 3)]
)
def test_every_setting_is_run(name: str, count: int) -> None:
    """All positions of all controls of a hand, times the warmths: each once, the named ones among them."""
    found = read(name)
    assert len(found.conditions) == len(set(found.conditions)) == count
    assert set(found.named) <= set(found.conditions)


def test_loads_are_what_a_person_calls_loads() -> None:
    """The dryer's coils are two loads of two halves each, across both legs on high: 240 V less some drop."""
    dryer = read("vented-dryer")
    coils = {load.name: index for index, load in enumerate(dryer.loads) if load.part == "heater"}
    assert list(coils) == ["heater.front coil", "heater.rear coil"]
    assert all(len(dryer.loads[index].elements) == 2 for index in coils.values())
    most = dryer.load_volts.max(axis=0)[list(coils.values())]
    assert ((most > 0.95 * 240) & (most < 240)).all()


def test_rated_volts_come_from_file_or_type() -> None:
    """The lamp's volts stand in the file, the timer's and the motor's in their types, a heater has none."""
    rated = {load.name: load.rated for load in read("vented-dryer").loads}
    assert [rated[name] for name in ("drum lamp", "timer", "motor.run winding", "heater.front coil")] == [
        120,
        120,
        120,
        0,
    ]


def test_too_many_settings_are_tried_in_pairs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the product is too large fewer settings are run, all named ones among them, and a good file stays good."""
    monkeypatch.setattr(survey, "MOST_CONDITIONS", 150)
    dryer = read("vented-dryer")
    assert not dryer.complete
    assert set(dryer.named) <= set(dryer.conditions)
    assert 100 < len(dryer.conditions) < 216
    _, complaints = loading.read_with_complaints(library.text("vented-dryer"), "vented-dryer", None)
    assert not catalogue.apply(dryer, complaints)
    assert isinstance(complaints, Complaints)


def test_rules_have_names_of_their_own() -> None:
    """No rule of behaviour bears the name of a static one, and each says what it finds."""
    assert not set(catalogue.RULES) & set(static.RULES)
    assert all(rule.__doc__ and rule.__doc__.rstrip().endswith(".") for rule in catalogue.RULES.values())
