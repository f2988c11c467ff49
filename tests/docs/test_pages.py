"""Tables of the documentation are put in their places, and every table that a tool writes has one."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchmarks import plan_gap, plan_latency, plan_regret
from tools import judge_library, pages, watch_steps, write_plan_comparison, write_plan_pages, write_two_faults
from tools.kept import Kept

PAGE = "a\n<!-- table x -->\n| k | v |\n| --- | --- |\n| 1 | one |\n| 2 | two |\n<!-- end x -->\nb\n"


def test_a_text_takes_the_place_of_the_old_one() -> None:
    """All else stays; a page without the place is refused, with what to write into it."""
    assert pages.put(PAGE, "x", "new\n") == "a\n<!-- table x -->\nnew\n<!-- end x -->\nb\n"
    with pytest.raises(ValueError, match="no place for y: write '<!-- table y -->' and '<!-- end y -->'"):
        pages.put(PAGE, "y", "new\n")


def test_a_row_takes_the_place_of_the_one_that_begins_alike(tmp_path: Path) -> None:
    """Others stay where they are; a new one comes last."""
    place = tmp_path / "page.md"
    place.write_text(PAGE, encoding="utf-8")
    pages.write_rows(place, "x", ("k", "v"), 1, {("1",): ("uno",), ("3",): ("tre",)})
    assert pages.rows(place.read_text("utf-8"), "x", 1) == {("1",): ("uno",), ("2",): ("two",), ("3",): ("tre",)}
    pages.write_rows(place, "x", ("k", "v"), 1, {("1",): ("one",)})
    assert place.read_text("utf-8") == PAGE.replace("two |\n", "two |\n| 3 | tre |\n")


@pytest.mark.parametrize(
    ("place", "names"),
    [
        (write_plan_comparison.PAGE, [*write_plan_comparison.MACHINES, "gap"]),
        (plan_gap.PAGE, ["gap"]),
        (plan_regret.PAGE, ["regret", "stopping", "middling", "speed"]),
        (plan_latency.PAGE, ["latency"]),
        (judge_library.PAGE, ["found"]),
        (write_two_faults.PAGE, ["two-faults", "missed"]),
        (watch_steps.PAGE, ["sessions"]),
    ],
    ids=["comparison", "gap", "regret", "latency", "judges", "two faults", "sessions"],
)
def test_every_table_has_its_place(place: Path, names: list[str]) -> None:
    """In the page that its tool writes."""
    page = place.read_text(encoding="utf-8")
    for name in names:
        assert pages.put(page, name, "rows\n") != page


def test_jobs_are_kept_and_what_was_half_written_is_dropped(tmp_path: Path) -> None:
    """A folder is made where there is none; a run that was killed in a line goes on after the line before."""
    kept = Kept(tmp_path / "new", "dryer")
    for number in range(3):
        kept.add([number, True])
    assert Kept(tmp_path / "new", "dryer").jobs == [[0, True], [1, True], [2, True]]
    place = tmp_path / "new" / "dryer.jsonl"
    place.write_text(place.read_text("utf-8")[:-4], encoding="utf-8")
    again = Kept(tmp_path / "new", "dryer")
    assert again.jobs == [[0, True], [1, True]]
    again.add([2, False])
    assert Kept(tmp_path / "new", "dryer").jobs == [[0, True], [1, True], [2, False]]


@pytest.mark.parametrize("quick", [True, False])
def test_one_command_runs_every_tool_of_the_plan(quick: bool) -> None:
    """Each exists, and is told to write."""
    run = [command[0] for command in write_plan_pages.commands(None, quick)]
    assert all((write_plan_pages.ROOT / name).exists() for name in run)
    assert len(set(run)) == 6
