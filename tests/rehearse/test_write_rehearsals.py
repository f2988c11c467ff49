"""The tool that writes the page of rehearsals: a machine's section in place of its old one, the others kept."""

from __future__ import annotations

from pathlib import Path

from tools import pages
from tools import write_rehearsals as tool


def test_a_machine_has_its_place_at_the_end_of_the_page_once() -> None:
    """Made where there is none."""
    page = tool.placed(tool.placed("# Page\n", "a"), "b")
    assert tool.placed(page, "a") == page
    assert page.index(pages.end("a")) < page.index(pages.begin("b"))


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
    assert text.endswith(f"{pages.end('water-heater')}\n")
