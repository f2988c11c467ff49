"""What the owner is not asked, since it goes without saying by what was told already."""

from __future__ import annotations

import pytest

from halfsplit.evidence import finding as f
from halfsplit.plan import fitting, follows
from halfsplit.plan.steps import Step
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser

STILL = [f.Perceived("drum turns", False)]
"""Told of a dryer whose motor heats nothing unless it runs, as its file has it wired."""


def questions(name: str) -> dict[str, Step]:
    """The questions of a machine by symptom."""
    return {step.at: step for step in adviser(name).table.steps if step.asks}


@pytest.mark.parametrize(
    ("what", "asked"),
    [
        ("low heat is milder", False),
        ("air is warm", False),
        ("air flows at the vent", False),
        ("automatic passes when hot", False),
        ("motor hums", True),
        ("time passes", True),
        ("drum turns while start is held", True),
        ("breaker trips", True),
    ],
)
def test_of_a_drum_that_never_turns_no_heat_nor_air_is_asked(what: str, asked: bool) -> None:
    """What needs a running motor is not asked, nor which of two heats was milder; what tells why it stands still is."""
    question = questions("vented-dryer")[what]
    assert fitting.fits(adviser("vented-dryer"), STILL, question) is asked
    assert fitting.fits(adviser("vented-dryer"), [f.Perceived("buzzer sounds", True)], question)


def test_it_is_not_among_the_best_steps() -> None:
    """A small heater is fed though the motor stands still, so that its symptom carries bits; nobody could feel it."""
    made = adviser("vented-dryer")
    best = fitting.next_steps(made, made.bench.weigh(STILL), JobState(), 12)
    named = {one.step.at for one in best if one.step.asks}
    assert "time passes" in named
    assert named.isdisjoint({"low heat is milder", "air is warm", "air flows at the vent"})


def test_what_contradicts_itself_leaves_all_open() -> None:
    """Nothing follows where no single fault shows all that was told, nor where nothing was told."""
    predictor = adviser("vented-dryer").bench.predictor
    question = questions("vented-dryer")["air is warm"]
    assert question.met is not None
    for told in ([], [*STILL, f.Perceived("drum turns", True)]):
        assert follows.answer(predictor, told, question.at, question.met) is None
        assert follows.no_warmth(predictor, told) == ()
    assert follows.answer(predictor, STILL, question.at, question.met) is False
    assert [x.what for x in follows.no_warmth(predictor, STILL)] == ["air is warm"]


def test_who_sees_for_himself_needs_more_than_the_owner_s_word() -> None:
    """A knob that had stood at OFF is set right now; but who saw the drum stand still himself feels no heat either."""
    made = adviser("vented-dryer")
    step = next(one for one in made.table.steps if one.kind == "symptom" and one.at == "low heat is milder")
    assert fitting.fits(made, STILL, step)
    assert fitting.fits(made, [*STILL, f.Perceived("drum turns", True, by="repairer")], step)
    assert not fitting.fits(made, [*STILL, f.Perceived("drum turns", False, by="repairer")], step)


def test_water_that_never_gets_hot_does_not_last() -> None:
    """On the water heater too, from its own file."""
    made, asked = adviser("water-heater"), questions("water-heater")["hot water lasts"]
    assert not fitting.fits(made, [f.Perceived("water gets hot", False)], asked)
    assert fitting.fits(made, [f.Perceived("water gets hot", True)], asked)


def test_what_was_told_may_be_a_mistake_where_that_is_no_unlikely_reason() -> None:
    """Few faults keep a compressor running in the cold, so that who says so may well err: whether the food is cold is
    asked, though it is in all those faults."""
    asked = questions("refrigerator")["food is cold"]
    assert fitting.fits(adviser("refrigerator"), [f.Perceived("stops when cold", True)], asked)


@pytest.mark.parametrize(
    ("name", "told", "danger"),
    [
        ("vented-dryer", "drum turns", "cabinet tingles"),
        ("water-heater", "water gets hot", "jacket tingles"),
        ("water-heater", "water gets hot", "water on the floor"),
    ],
)
def test_what_is_dangerous_is_asked_all_the_same(name: str, told: str, danger: str) -> None:
    """A yes would stop the work, however sure the no may seem by what was told."""
    assert fitting.fits(adviser(name), [f.Perceived(told, False)], questions(name)[danger])


TURNS = [
    f.Perceived("air is warm", False),
    f.Perceived("drum turns", True),
    f.Perceived("air flows at the vent", False),
]
"""Told of a dryer: hardly one fault shows all of it, so that one of the three may be a mistake."""


def test_the_same_thing_in_another_setting_is_not_asked_again() -> None:
    """A drum that turns once START is let go turns while it is held: who erred about the one errs about the other."""
    asked = questions("vented-dryer")["drum turns while start is held"]
    assert not fitting.fits(adviser("vented-dryer"), TURNS, asked)


def test_but_what_does_not_follow_from_it_is() -> None:
    """A drum that stands still once START is let go may well turn while it is held; and what the repairer saw himself
    says nothing of what its owner believes."""
    asked = questions("vented-dryer")["drum turns while start is held"]
    assert fitting.fits(adviser("vented-dryer"), STILL, asked)
    himself = [TURNS[0], f.Perceived("drum turns", True, by="repairer"), TURNS[2]]
    assert fitting.fits(adviser("vented-dryer"), himself, asked)
