"""Blocks as text: marks, cells, frames and pages."""

from __future__ import annotations

from halfsplit.cli import as_text
from halfsplit.cli.lines import NESTED, Block, Line, ticked

LONG = " ".join(["word"] * 30)


def test_text_hangs_behind_its_mark() -> None:
    """Every row after the first begins under the first letter of the text."""
    _, block = as_text.text("T", [Block((ticked(LONG, " 7 "), Line(LONG, f"{NESTED} [ ]")))]).split("\n\n")
    rows = block.splitlines()
    assert [row[:8] for row in rows] == ["[ ]  7  ", " " * 8, " " * 8, "    [ ] ", " " * 8, " " * 8]
    assert all(row[8] == "w" for row in rows)
    assert max(map(len, rows)) <= as_text.WIDTH


def test_cells_stand_at_the_right_edge_of_a_frame_whatever_their_box() -> None:
    """A box of three digits keeps the frame straight, and a long outcome goes round the cells."""
    lines = [Line(text, "[ ]", ("    87 %", f"  go to {n:<3}")) for text, n in (("OL", 2), ("fine", 36), (LONG, 123))]
    rows = as_text.text("T", [Block((*lines,), "20 s", 1)]).splitlines()[2:]
    assert {len(row) for row in rows} == {as_text.WIDTH}
    assert len({row.index("go to") for row in rows if "go to" in row}) == 1
    assert rows[0].startswith("+--[ 1 ]-- 20 s ---")


def test_no_word_is_lost() -> None:
    """What does not fit beside the cells is broken into rows, not cut."""
    said = as_text.text("T", [Block((Line(LONG, NESTED, ("     19 %", "  60 USD")),), "PARTS")])
    assert said.split().count("word") == 30


def test_no_block_is_cut_by_a_page() -> None:
    """A block that does not fit begins a page, the title stands on the first."""
    blocks = [Block((Line("a line"),) * 25, f"HEAD {n}") for n in range(5)]
    sheets = as_text.pages("T", blocks).split("\f")
    assert [sheet.count("HEAD") for sheet in sheets] == [2, 2, 1]
    assert [sheet.count("a line") for sheet in sheets] == [50, 50, 25]
    assert sheets[0].startswith("T\n\nHEAD 0\n")
