"""The tool that writes the page of rehearsals: a machine's section in place of its old one, the others kept."""

from __future__ import annotations

from pathlib import Path

from tools import write_rehearsals as tool


def test_a_section_takes_the_place_of_the_old_one() -> None:
    """First at the end of the page, then where it stands."""
    page = tool.written(tool.written("# Page\n", "a", "old a\n"), "b", "b\n")
    again = tool.written(page, "a", "new a\n")
    assert again == page.replace("old a", "new a")
    assert again.index("new a") < again.index("b: begin")


def test_a_machine_is_rehearsed_and_written(tmp_path: Path) -> None:
    """Five jobs under each truth: the command, both columns, and the figures of all jobs."""
    page = tmp_path / "rehearsals.md"
    page.write_text("# Page\n", encoding="utf-8")
    tool.main(["water-heater", "--trials", "5", "--workers", "1", "--seed", "1"], page)
    text = page.read_text(encoding="utf-8")
    assert "write_rehearsals.py water-heater --trials 5 --workers 1 --seed 1" in text
    assert "| jobs | 5 | 5 |" in text
    assert "| first repair right (95 % interval) |" in text
    assert text.startswith("# Page\n")
    assert text.endswith("<!-- water-heater: end -->\n")
