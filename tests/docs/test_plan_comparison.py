"""The tool that sets ways of working side by side: a run that was cut goes on, and what is saved is told of pairs."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from halfsplit.rehearse.compare import Figures
from tests.rehearse.benches import adviser
from tools import write_plan_comparison as tool
from tools.kept import Kept
from tools.write_plan_comparison import GUIDE, MANY, ONE


def job(minutes: float, in_vain: float = 0.0) -> Figures:
    """One that took so long."""
    return Figures(minutes, True, 0, 3, 0, 0, in_vain)


def test_a_run_that_was_cut_goes_on_and_one_of_more_jobs_plays_the_rest(tmp_path: Path) -> None:
    """Three jobs in two runs, the first killed within a line, are those of one run; nothing is played twice."""
    asked, repaired_at_once = adviser("water-heater"), tool.Way(lambda weighed, state: None, 3)

    def played(folder: Path | None, count: int) -> list[Figures]:
        given = Namespace(kept=folder, as_kept=False, seed=0, workers=1)
        return tool.figures("water-heater", "front to back", repaired_at_once._replace(trials=count), asked, given)

    whole = played(None, 3)
    assert played(tmp_path, 2) == whole[:2]
    place = tmp_path / "water-heater.front-to-back.jsonl"
    before = place.read_text("utf-8")
    place.write_text(before[:-3], encoding="utf-8")
    assert played(tmp_path, 3) == whole
    assert len(place.read_text("utf-8").splitlines()) == 1 + 3
    assert place.read_text("utf-8").startswith(before)
    assert played(tmp_path, 1) == whole[:1]


def test_what_is_saved_is_told_of_the_jobs_that_both_have_played() -> None:
    """Worked by hand: an order that played two jobs of three; in vain counts in the second half alone."""
    played = {
        ONE: [job(30, 10), job(50), job(100)],
        MANY: [job(20), job(60)],
        "front to back": [job(70, 30), job(90, 10)],
    }
    rows = tool.savings("dryer", played, [10.0, 30.0, 1000.0])
    assert list(rows) == [("dryer", ONE, "front to back"), ("dryer", MANY, "front to back"), ("dryer", MANY, ONE)]
    jobs, minutes, of_that, share, ceiling, *in_all = rows["dryer", ONE, "front to back"]
    assert (jobs, minutes, of_that) == ("2", "40.0", "80.0")
    # a - b / 2: 30 - 35 and 50 - 45, so spread 50 ** 0.5, by 2 ** 0.5 jobs and 80 minutes: 0.0625, times 1.96
    assert share == "50.0 % ± 12.2"
    # a - b / 4: 10 - 17.5 and 30 - 22.5: 15 / 2 ** 0.5 / 2 ** 0.5 / 80 = 0.09375
    assert ceiling == "75.0 % ± 18.4"
    assert in_all[:2] == ["45.0", "100.0"]
    assert [one.split(" ±")[0] for one in in_all[2:]] == ["55.0 %", "80.0 %"]
    assert rows["dryer", MANY, ONE][1:4] == ("40.0", "40.0", "0.0 % ± 49.0")


def test_the_result_of_a_machine_is_one_row() -> None:
    """What one step ahead comes to, with what it saves; what was not played is left empty, and no column is lacking."""
    played = {ONE: [job(30), job(50)], "front to back": [job(60), job(100)], ONE + tool.OFF: [job(40)] * 4}
    cells = tool.result("dryer", played, tool.savings("dryer", played, [10.0, 30.0]))
    right = "100.0 % (34.2 to 100.0)"
    assert cells[:8] == ("2", "40.0", "50.0 % ± 0.0", "75.0 % ± 12.2", "", "", right, "0.0")
    assert cells[8:] == ("4", "100.0 % (51.0 to 100.0)", "0.0")
    less = tool.result("dryer", {ONE: played[ONE]}, {})
    assert less == ("2", "40.0", "", "", "", "", right, "0.0", "", "", "")
    assert len(less) + 1 == len(tool.RESULT_HEAD)


def test_a_way_that_has_played_nothing_has_no_row() -> None:
    """Nothing is told of it, the others stay; every row has all columns."""
    played = {ONE: [job(30)], MANY: [], "front to back": [job(60)]}
    rows = tool.savings("dryer", played, [10.0])
    assert list(rows) == [("dryer", ONE, "front to back")]
    assert all(len(key + cells) == len(tool.SAVING_HEAD) for key, cells in rows.items())
    assert rows["dryer", ONE, "front to back"][:4] == ("1", "30.0", "60.0", "50.0 % ± 0.0")


def test_both_orders_of_a_machine_are_compared() -> None:
    """Its own and not those of the like machine whose name is longer, by their names in words; one step ahead first."""
    given = Namespace(count=10, orders=4, off=0, taken=3)
    titles = tool.ways(adviser("vented-dryer"), "vented-dryer", given)
    assert (*titles,) == tool.titles("vented-dryer")[0]
    assert [(title, way.trials) for title, way in titles.items()] == [
        (ONE, 10), (MANY, 10), (GUIDE, 3), ("cheapest first", 4), ("front to back", 4)
    ]  # fmt: skip


def test_as_kept_nothing_is_left_to_play(tmp_path: Path) -> None:
    """Of the ways of a machine those that have jobs, over as many as are kept, and they are those jobs."""
    given = Namespace(count=10, orders=4, off=2, taken=0, kept=tmp_path, as_kept=True, seed=0, workers=1)
    for kept, count in (("one-step-ahead", 3), ("front-to-back", 1)):
        lines = Kept(tmp_path, f"water-heater.{kept}", seed=0)
        for _ in range(count):
            lines.add(job(30.0))
    played, least = tool.as_kept("water-heater", given)
    assert played == {ONE: [job(30.0)] * 3, "front to back": [job(30.0)]}
    assert least == []


def test_jobs_that_are_kept_are_not_played_again(tmp_path: Path) -> None:
    """Of a way those that are lacking are added; of the fault told for nothing as well, and none is reckoned twice."""
    given = Namespace(count=3, orders=1, off=0, taken=1, kept=tmp_path, as_kept=False, seed=0, workers=1)
    asked = adviser("water-heater")
    lines = Kept(tmp_path, "water-heater.one-step-ahead", seed=0)
    for _ in range(2):
        lines.add(job(30.0))
    ways = tool.ways(asked, "water-heater", given)
    played = tool.figures("water-heater", ONE, ways[ONE], asked, given)
    assert played[:2] == [job(30.0)] * 2
    assert len(played) == 3
    assert played[2].minutes != 30.0
    least = tool.known("water-heater", asked, given)
    given.count = 4
    assert tool.known("water-heater", asked, given)[:3] == least
    given.as_kept = True
    assert tool.as_kept("water-heater", given)[1][:3] == least
