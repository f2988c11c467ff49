"""Tables of the documentation are put in their places, and every table that a tool writes has one."""

from __future__ import annotations

import sys
from pathlib import Path
from types import ModuleType

import pytest

from benchmarks import plan_gap, plan_latency, plan_on_paper, plan_regret
from halfsplit.machine import library
from tools import (
    judge_library,
    kept,
    machines,
    pages,
    watch_steps,
    write_plan_comparison,
    write_plan_pages,
    write_rehearsals,
    write_two_faults,
)
from tools.kept import Kept

PAGE = "a\n<!-- table x -->\n| k | v |\n| --- | --- |\n| 1 | one |\n| 2 | two |\n<!-- end x -->\nb\n"


def test_a_text_takes_the_place_of_the_old_one() -> None:
    """All else stays; a page without the place is refused, with what to write into it."""
    assert pages.put(PAGE, "x", "new\n") == "a\n<!-- table x -->\nnew\n<!-- end x -->\nb\n"
    with pytest.raises(ValueError, match="no place for y: write '<!-- table y -->' and '<!-- end y -->'"):
        pages.put(PAGE, "y", "new\n")


def test_a_row_takes_the_place_of_the_one_that_begins_alike(tmp_path: Path) -> None:
    """Others stay where they are; a new one comes last; of what is replaced whole nothing else stays."""
    place = tmp_path / "page.md"
    place.write_text(PAGE, encoding="utf-8")
    pages.write_rows(place, "x", ("k", "v"), 1, {("1",): ("uno",), ("3",): ("tre",)})
    assert pages.rows(place.read_text("utf-8"), "x", 1) == {("1",): ("uno",), ("2",): ("two",), ("3",): ("tre",)}
    pages.write_rows(place, "x", ("k", "v"), 1, {("1",): ("one",)}, whole=["1", "3"])
    assert pages.rows(place.read_text("utf-8"), "x", 1) == {("1",): ("one",), ("2",): ("two",)}
    pages.write_rows(place, "x", ("k", "v"), 1, {("3",): ("tre",)})
    assert place.read_text("utf-8") == PAGE.replace("two |\n", "two |\n| 3 | tre |\n")


@pytest.mark.parametrize(
    ("place", "names"),
    [
        (
            write_plan_comparison.PAGE,
            [*write_plan_comparison.MACHINES, "gap", write_plan_comparison.SAVING, write_plan_comparison.RESULT],
        ),
        (plan_gap.PAGE, ["gap"]),
        (plan_regret.PAGE, ["regret", "call-backs", "middling"]),
        (plan_latency.PAGE, ["latency"]),
        (plan_on_paper.PAGE, [plan_on_paper.TABLE]),
        (judge_library.PAGE, ["found"]),
        (write_two_faults.PAGE, ["two-faults", "missed"]),
        (watch_steps.PAGE, ["sessions"]),
        (write_rehearsals.PAGE, ["water-heater", "vented-dryer", "refrigerator"]),
    ],
    ids=["comparison", "gap", "regret", "latency", "on paper", "judges", "two faults", "sessions", "rehearsals"],
)
def test_every_table_has_its_place(place: Path, names: list[str]) -> None:
    """In the page that its tool writes."""
    page = place.read_text(encoding="utf-8")
    for name in names:
        assert pages.put(page, name, "rows\n") != page


def test_jobs_are_kept_and_what_was_half_written_is_dropped(tmp_path: Path) -> None:
    """A folder is made where there is none; a run that was killed in a line goes on after the line before."""
    made = Kept(tmp_path / "new", "dryer")
    for number in range(3):
        made.add([number, True])
    assert Kept(tmp_path / "new", "dryer").jobs == [[0, True], [1, True], [2, True]]
    place = tmp_path / "new" / "dryer.jsonl"
    place.write_text(place.read_text("utf-8")[:-4], encoding="utf-8")
    again = Kept(tmp_path / "new", "dryer")
    assert again.jobs == [[0, True], [1, True]]
    again.add([2, False])
    assert Kept(tmp_path / "new", "dryer").jobs == [[0, True], [1, True], [2, False]]


def test_jobs_of_other_code_are_not_mixed_in(tmp_path: Path) -> None:
    """Nor of another seed, nor of a file that does not say; each with the file and what to do. The commit alone is no
    hindrance, and the first line that is proposed lets the file be taken."""
    Kept(tmp_path, "dryer", seed=0).add([1])
    place = tmp_path / "dryer.jsonl"
    first, jobs = place.read_text("utf-8").splitlines(keepends=True)
    with pytest.raises(SystemExit, match=r"dryer.jsonl were played under .*seed 0; this run is .*seed 1. Give another"):
        Kept(tmp_path, "dryer", seed=1)
    place.write_text(first.replace(kept.LOADED["code"], "0123456789abcdef") + jobs, encoding="utf-8")
    with pytest.raises(SystemExit, match=r"played under code 0123456789abcdef, .*; this run is code"):
        Kept(tmp_path, "dryer", seed=0)
    place.write_text(first.replace(f'"{kept.LOADED["commit"]}"', '"other"') + jobs, encoding="utf-8")
    assert Kept(tmp_path, "dryer", seed=0).jobs == [[1]]
    place.write_text(jobs, encoding="utf-8")
    with pytest.raises(SystemExit, match="does not say under which code") as refused:
        Kept(tmp_path, "dryer", seed=0)
    place.write_text(str(refused.value).partition("first line be ")[2] + "\n" + jobs, encoding="utf-8")
    assert Kept(tmp_path, "dryer", seed=0).jobs == [[1]]


def test_as_played_jobs_of_other_code_are_read_and_nothing_is_added(tmp_path: Path) -> None:
    """Whatever code, told; of the same seed only."""
    Kept(tmp_path, "dryer", seed=0).add([1])
    place = tmp_path / "dryer.jsonl"
    text = place.read_text("utf-8").replace(kept.LOADED["code"], "0123456789abcdef")
    place.write_text(text + "[2", encoding="utf-8")
    read = Kept(tmp_path, "dryer", as_played=True, seed=0)
    assert (read.jobs, read.under["code"]) == ([[1]], "0123456789abcdef")
    with pytest.raises(RuntimeError, match="nothing is added"):
        read.add([2])
    with pytest.raises(SystemExit, match="Give another folder"):
        Kept(tmp_path, "dryer", as_played=True, seed=1)
    assert place.read_text("utf-8") == text + "[2"


@pytest.mark.parametrize(
    ("tool", "command"),
    list(zip((write_plan_comparison, write_two_faults, plan_gap), write_plan_pages.AS_KEPT, strict=True)),
    ids=["comparison", "two faults", "gap"],
)
def test_the_pages_are_those_of_the_jobs_that_are_kept(
    tool: ModuleType, command: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The one command that writes the tables of the jobs in benchmarks/played would change nothing."""
    page = tmp_path / "page.md"
    page.write_text(tool.PAGE.read_text("utf-8"), encoding="utf-8")
    monkeypatch.setattr(tool, "PAGE", page)
    monkeypatch.setattr(sys, "argv", command)
    before = page.read_text("utf-8")
    tool.main()
    assert page.read_text("utf-8") == before
    assert any(kept.PLAYED.glob("*.jsonl"))


def test_the_plan_on_paper_is_written_of_the_machines_that_are_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its row in the page's place, with the commit of this code; the others stay as they were played."""
    page = tmp_path / "page.md"
    page.write_text(plan_on_paper.PAGE.read_text("utf-8"), encoding="utf-8")
    monkeypatch.setattr(plan_on_paper, "PAGE", page)
    monkeypatch.setattr(sys, "argv", ["plan_on_paper.py", "--write", "--jobs", "3", "--least", "20", "water-heater"])
    before = pages.rows(page.read_text("utf-8"), plan_on_paper.TABLE, 1)
    plan_on_paper.main()
    now = pages.rows(page.read_text("utf-8"), plan_on_paper.TABLE, 1)
    written = now.pop(("water-heater",))
    assert len(written) == len(plan_on_paper.HEAD) - 1
    assert (written[0], written[-1]) == ("3", kept.LOADED["commit"])
    assert now == {key: cells for key, cells in before.items() if key in now}
    assert set(before) == {(name,) for name in plan_on_paper.COMPLAINTS} == {(name,) for name in library.names()}


def test_a_plan_on_paper_of_a_machine_without_a_complaint_is_refused(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With a sentence that says what to do."""
    monkeypatch.setattr(sys, "argv", ["plan_on_paper.py", "toaster"])
    with pytest.raises(SystemExit):
        plan_on_paper.main()
    assert "no complaint stands here of toaster: add one to COMPLAINTS." in capsys.readouterr().err


def test_two_runs_do_not_write_to_one_file(tmp_path: Path) -> None:
    """The second to write ends, and leaves what the first has written; other machines have other files."""
    first, second = Kept(tmp_path, "dryer"), Kept(tmp_path, "dryer")
    first.add(1)
    with pytest.raises(SystemExit, match=r"Another run writes to .*dryer.jsonl"):
        second.add(2)
    Kept(tmp_path, "heater").add(3)
    first.add(4)
    assert (Kept(tmp_path, "dryer").jobs, Kept(tmp_path, "heater").jobs) == ([1, 4], [3])


def test_code_is_what_jobs_come_out_of(tmp_path: Path) -> None:
    """Another planner or another machine is other code, a face or a note is not; names count, and no order of files."""
    for name in ("plan/a.py", "machines/m.yaml", "cli/c.py", "plan/notes.txt"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text("x", encoding="utf-8")
    first, seen = kept.code(tmp_path), set()
    for name, other in (("plan/a.py", True), ("machines/m.yaml", True), ("cli/c.py", False), ("plan/notes.txt", False)):
        (tmp_path / name).write_text("y", encoding="utf-8")
        assert (kept.code(tmp_path) != first) == other
        seen.add(kept.code(tmp_path))
        (tmp_path / name).write_text("x", encoding="utf-8")
    assert kept.code(tmp_path) == first
    (tmp_path / "plan/a.py").rename(tmp_path / "plan/b.py")
    assert len({*seen, kept.code(tmp_path)}) == 4


@pytest.mark.parametrize("quick", [True, False])
def test_one_command_runs_every_tool_of_the_plan(quick: bool) -> None:
    """Each exists, and is told to write."""
    run = [command[0] for command in write_plan_pages.commands(None, quick)]
    assert all((write_plan_pages.ROOT / name).exists() for name in run)
    assert len(set(run)) == 8


def test_pages_list_every_machine_of_the_library_once() -> None:
    """In one order, that of the rows that stand there; what writes them has no list of its own."""
    assert sorted(machines.in_order()) == list(library.names())
    for tool in (write_plan_comparison, write_two_faults, plan_gap):
        assert machines.in_order() == tool.MACHINES
