"""A pace file is read as it was written; every mistake has its place and what to do; nothing breaks the reader."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import BadInput
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading
from halfsplit.machine.handwork import Handwork
from halfsplit.service.leaving import costs
from halfsplit.work import pace_file
from halfsplit.work.pace import KINDS, Factor, Pace, Record, estimated, paced
from halfsplit.work.prices import price_together

HEAD = "format: halfsplit pace 1\n"


@given(st.lists(st.tuples(st.sampled_from(sorted(KINDS)), st.floats(0.2, 60)), max_size=12))
def test_what_is_written_is_read(taken: list[tuple[str, float]]) -> None:
    """Factors to four digits, counts exactly; a file of no records is the file's pace exactly."""
    made = estimated([Record({kind: 3.0}, took) for kind, took in taken])
    found = pace_file.read(pace_file.written(made, len(taken)), "shop.yaml")
    assert [found.of(kind) for kind in KINDS] == pytest.approx([made.of(kind) for kind in KINDS], rel=1e-3)
    assert {kind: one.records for kind, one in found.factors.items()} == {
        kind: one.records for kind, one in made.factors.items()
    }
    assert taken or all(found.of(kind) == 1.0 for kind in KINDS)


def test_a_hand_may_write_one_factor() -> None:
    """What is left out is 1."""
    found = pace_file.read(HEAD + "pace: {bays: {factor: 1.5}}", "shop.yaml")
    assert found == Pace({"bays": Factor(1.5, 1.5, 1.5)})
    assert found.of("look") == 1.0


def test_an_hour_costs_what_the_shop_says() -> None:
    """Written and read; left out it is the usual rate; a paced machine has it, so that parts weigh less to it."""
    made = replace(estimated([]), hourly=60.0)
    assert pace_file.read(pace_file.written(made, 0), "shop.yaml").hourly == 60.0
    assert pace_file.read(HEAD + "hourly: 60", "shop.yaml") == Pace({}, hourly=60.0)
    assert pace_file.read(HEAD + "pace: {}", "shop.yaml").hourly == Handwork().hourly
    heater = paced(loading.load("water-heater"), Pace({}, hourly=45.0))
    assert heater.handwork == replace(Handwork(), hourly=45.0)
    element = Bench(heater).repairs["replace upper element"]
    assert price_together([element], 45.0).part == pytest.approx(2 * price_together([element], 90.0).part)
    at_ninety, at_forty_five = (costs(Bench(paced(heater, Pace({}, hourly=h))), [element.name]) for h in (90.0, 45.0))
    assert at_ninety - element.price == pytest.approx(2 * (at_forty_five - element.price))


@pytest.mark.parametrize(
    ("text", "line", "says", "remedy"),
    [
        ("- bays", 1, "has keys", "format"),
        ("pace: {bays: {factor: 1}}", 1, "format that is known", "halfsplit pace 1"),
        ("format: halfsplit pace 9\npace: {}", 1, "format that is known", "halfsplit pace 1"),
        (HEAD, 1, "under `pace`", "factor"),
        (HEAD + "pace: 1.4", 2, "under `pace`", "factor"),
        (HEAD + "pace: {bay: {factor: 1}}", 2, "no kind of work 'bay'", "'bays'"),
        (HEAD + "pace: {bays: 1.4}", 2, "with its name", "{factor: 1.2}"),
        (HEAD + "pace: {bays: {low: 1}}", 2, "no factor", "{factor: 1.2}"),
        (HEAD + "pace: {bays: {factr: 1}}", 2, "no field 'factr'", "'factor'"),
        (HEAD + "pace: {bays: {factor: fast}}", 2, "no number", "1.2"),
        (HEAD + "pace: {bays: {factor: 140}}", 2, "cannot be", "1 is the file's pace"),
        (HEAD + "pace: {bays: {factor: -1}}", 2, "cannot be", "1 is the file's pace"),
        (HEAD + "pace: {bays: {factor: 1, low: 2, high: 3}}", 2, "does not lie", "low and high"),
        (HEAD + "pace: {bays: {factor: 1, records: -3}}", 2, "no number of steps", "12"),
        (HEAD + "pace: {bays: {factor: 1, records: 2.5}}", 2, "no number of steps", "12"),
        (HEAD + "scater: 1\npace: {}", 2, "no key 'scater'", "'scatter'"),
        (HEAD + "scatter: 0\npace: {}", 2, "cannot be", "0.4"),
        (HEAD + "hourly: 0\npace: {}", 2, "An hour cannot cost 0", "as in 90"),
        (HEAD + "hourly: dear\npace: {}", 2, "no number", "1.2"),
        (HEAD + "hourly: [1]\npace: {}", 2, "more than one number", "1.2"),
    ],
)
def test_mistakes_are_told_with_place_and_remedy(text: str, line: int, says: str, remedy: str) -> None:
    """Every thing that can be wrong, with its line."""
    with pytest.raises(BadInput) as refused:
        pace_file.read(text, "shop.yaml")
    assert any(p.line == line and says in p.message and remedy in p.remedy for p in refused.value.problems), [
        str(p) for p in refused.value.problems
    ]


@given(st.text(alphabet="pace:{}factor bys\n123.-[]&*!'", max_size=80))
def test_any_text_is_read_or_refused(text: str) -> None:
    """Never anything else."""
    for one in (text, HEAD + text):
        try:
            pace_file.read(one, "x")
            told = None
        except BadInput as refused:
            told = refused.problems
        assert told is None or (told and all(problem.message for problem in told))
