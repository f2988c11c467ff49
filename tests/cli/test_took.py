"""`took` in the guide: kept with the step that was answered last, in what is given out, and learnt from by `pace`."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from halfsplit.cli import curing, timing
from halfsplit.evidence import finding as f
from halfsplit.work.pace import KINDS
from tests.cli.typed import type_in
from tests.cli.words import Ended, run

Capture = pytest.CaptureFixture[str]
Guide = Callable[..., Ended]
"""The guide through a water heater, with these words and these lines typed; not asked to think further."""
TOLD = ("1 no", "")
"""Its owner has no hot water, and says no more."""


@pytest.fixture
def guide(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> Guide:
    """Runs the guide."""

    def runs(typed: tuple[str, ...], *words: str) -> Ended:
        type_in(monkeypatch, typed)
        return run(capsys, "guide", "water-heater", "--no-further", *(words or ("--own", "--json")))

    return runs


def flat(text: str) -> str:
    """A talk on one line."""
    return " ".join(text.split())


def times(ended: Ended) -> list[str | None]:
    """What each finding that was given out says of its time."""
    return [next(iter(one.values())).get("took") for one in ended.data["findings"]]


def learnt(capsys: Capture, place: Path, findings: object) -> Any:
    """The pace of a job's findings, kept in a file as they were given out."""
    place.write_text(json.dumps(findings), encoding="utf-8")
    return run(capsys, "pace", "water-heater", str(place), "--json").data


def test_pace_learns_from_a_talk(guide: Guide, capsys: Capture, tmp_path: Path) -> None:
    """Two steps that took long, and one of which nothing was said: the minutes of what they were made of grow."""
    ended = guide((*TOLD, "0.1", "took 40 min", "12.5", "took 90 s", "stop"))
    assert times(ended) == [None, "40 min", "1.5 min"]
    found = learnt(capsys, tmp_path / "timed.yaml", ended.data["findings"])
    assert found["records"] == 2
    assert all(found["pace"][kind]["factor"] > 1.1 for kind in ("bays", "reading"))
    silent = learnt(capsys, tmp_path / "silent.yaml", guide((*TOLD, "0.1", "12.5", "stop")).data["findings"])
    assert silent["records"] == 0
    assert {silent["pace"][kind]["factor"] for kind in KINDS} == {1.0}


def test_it_changes_nothing_but_the_time(guide: Guide) -> None:
    """The step that is shown is not shown anew, what follows is what follows without; what was typed last counts."""
    plain = guide((*TOLD, "0.1", "12.5", "stop"))
    timed = guide((*TOLD, "0.1", "took 2", "TOOK 4,5", "12.5", "stop"))
    assert timed.err.count("NEXT") == plain.err.count("NEXT")
    assert times(timed) == [None, "4.5 min", None]
    given = timed.data
    assert given["findings"][1]["reading"].pop("took") == "4.5 min"
    assert given == plain.data
    assert "- ohms, limit.1 to upper element.1: 0.1 Ω; took 4.5 min" in flat(timed.err)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (("took 3",), timing.TOLD),
        (("0.1", "took"), "Type how long it took, as in took 3 min."),
        (("0.1", "took soon"), "'soon' is no time that a step takes. Write it as in 3 min, 40 s or 1.5 h"),
        (("0.1", "took -2"), "'-2 min' is no time that a step takes."),
        (("0.1", "took 0"), "A step takes more than no time."),
        (("0.1", "took 25 h"), "at most a day"),
        (("0.1", "took 3 ohm"), "'3 ohm' is no time that a step takes."),
        (("0.1; 12.5", "took 3"), timing.AT_ONCE),
        (("0.1; 12.5", "undo", "took 3"), timing.AT_ONCE),
        (("0.1", "undo", "took 3"), timing.TOLD),
        (("took3",), "If you meant the word took, type took."),
    ],
)  # fmt: skip
def test_what_is_no_time_of_a_step_is_told_and_not_kept(guide: Guide, typed: tuple[str, ...], says: str) -> None:
    """Each in one sentence, by the rules of a findings file."""
    ended = guide((*TOLD, *typed, "stop"))
    assert says in flat(ended.err)
    assert set(times(ended)) == {None}


def test_without_any_finding_it_is_told_that_no_step_was_answered(guide: Guide) -> None:
    """Nothing was told, nothing done."""
    ended = guide(("", "took 3", "stop"))
    assert timing.NOTHING.format(since="this talk began") in flat(ended.err)
    assert ended.data["findings"] == []


def test_undo_takes_the_finding_back_as_ever(guide: Guide, capsys: Capture, tmp_path: Path) -> None:
    """A step that was taken back teaches no pace; done again it has a time of its own."""
    back = guide((*TOLD, "0.1", "took 30", "undo", "stop"))
    assert "Taken back: ohms, limit.1 to upper element.1: 0.1" in flat(back.err)
    assert times(back) == [None, None]
    assert learnt(capsys, tmp_path / "back.yaml", back.data["findings"])["records"] == 0
    assert times(guide((*TOLD, "0.1", "took 30", "undo", "0.2", "took 5", "stop"))) == [None, None, "5 min"]


def test_it_may_be_typed_where_cautions_are_read(guide: Guide) -> None:
    """They are still to be read after it."""
    ended = guide((*TOLD, "took 3", "ok", "0.1", "took 6", "stop"), "--own")
    told = flat(ended.out)
    assert told.index("[Enter or ok: read, and minded] >") < told.index(timing.TOLD) < told.index("NEXT")
    assert "The cautions come first" not in told
    assert "Noted. ohms, limit.1 to upper element.1: 0.1 Ω; took 6 min." in told


def test_at_a_repair_it_is_of_the_step_before(guide: Guide) -> None:
    """An open element is due: what is typed there is the reading's, and the repair has no time."""
    ended = guide((*TOLD, "0.1", "took 9 min", "OL", "took 40 s", "yes", "yes"))
    assert ended.data["cured"] == "replace upper element"
    assert times(ended) == [None, "9 min", "0.666667 min", None]
    assert curing.OF_REPAIR in flat(ended.err)


def test_at_a_repair_of_another_day_nothing_is_noted(guide: Guide, tmp_path: Path) -> None:
    """No step was answered in this talk: that alone is said."""
    place = tmp_path / "found.yaml"
    open_end = "{meter: ohms, red: upper element.1, black: upper element.2, lift: [upper element.1], value: OL}"
    place.write_text(f"- symptom: {{what: water gets hot, value: no}}\n- reading: {open_end}\n", "utf-8")
    ended = guide(("took 4", "stop"), "--found", str(place), "--json")
    assert "ENOUGH IS KNOWN" in ended.err
    assert timing.NOTHING.format(since="this talk began") in flat(ended.err)
    assert curing.OF_REPAIR not in flat(ended.err)


def test_after_a_repair_no_step_was_answered(guide: Guide) -> None:
    """A repair in vain is followed by a step; the time that is typed there is no step's."""
    ended = guide((*TOLD, "0.1", "OL", "no", "", "", "", "took 20", "stop"))
    assert timing.NOTHING.format(since="the repair") in flat(ended.err)
    assert set(times(ended)) == {None}


def test_what_was_timed_before_stays_so(guide: Guide, tmp_path: Path) -> None:
    """The job is gone on with from what was given out: each step keeps its time, and a new one has its own."""
    place = tmp_path / "found.yaml"
    place.write_text(json.dumps(guide((*TOLD, "0.1", "took 8", "stop")).data["findings"]), encoding="utf-8")
    ended = guide(("took 3", "12.5", "took 1", "stop"), "--found", str(place), "--json")
    assert timing.NOTHING.format(since="this talk began") in flat(ended.err)
    assert times(ended) == [None, "8 min", "1 min"]


def test_with_a_hidden_fault_no_step_takes_time(guide: Guide) -> None:
    """The machine answers by itself, at a step and at a repair, and it is said so."""
    ended = guide(("took 3", *[""] * 20), "--seed", "3", "--json")
    assert timing.NOT_YOURS in flat(ended.err)
    at_repair = guide(tuple(word for _ in range(30) for word in ("", "took 3")), "--seed", "3", "--json")
    assert at_repair.err.count("[Enter: repair it; or why] >   With a hidden fault") == 1
    assert set(times(ended)) == set(times(at_repair)) == {None}


def test_equal_findings_have_times_of_their_own() -> None:
    """The same reading made twice, equal in all: only the one that is timed has the time."""
    kept = timing.Times()
    first, again = f.Look("limit", "fine"), f.Look("limit", "fine")
    kept.answered([first])
    kept.note(first, "3")
    kept.answered([again])
    assert (kept.of(first).took, kept.of(again).took) == (3.0, None)
    assert kept.label(first) == "look at limit: fine; took 3 min"
