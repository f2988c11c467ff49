"""The canonical form says the same, loses no comment, and is its own canonical form."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.machine import formatting, library, loading, tree, wiring

NAMES = library.names()


def comments(text: str) -> list[str]:
    """All comments, without the blanks after them; no text of a library file holds their sign."""
    return sorted(line[line.index("# ") :].rstrip() for line in text.split("\n") if "# " in line)


@pytest.mark.parametrize("name", NAMES)
def test_canonical_form_is_canonical(name: str) -> None:
    """Formatting twice is formatting once."""
    once = formatting.canonical(library.text(name))
    assert formatting.canonical(once) == once


@pytest.mark.parametrize("name", NAMES)
def test_canonical_form_is_the_same_machine(name: str) -> None:
    """The machine is the same, but for the lines at which healthy readings stand."""
    before, after = loading.load(name), loading.load_text(formatting.canonical(library.text(name)), name)
    assert after.wires == before.wires
    assert after.parts == before.parts
    assert after.symptoms == before.symptoms
    assert [s.value for s in after.seen] == [s.value for s in before.seen]


@given(st.integers(0, 2**32))
@settings(max_examples=40)
def test_order_blanks_and_comments(seed: int) -> None:
    """Sections in any order, wires with any blanks, comments anywhere: all is said still, no comment is lost."""
    draw = random.Random(seed)
    text = shaken(library.text("water-heater"), draw)
    clean = formatting.canonical(text)
    assert comments(clean) == comments(text)
    assert said(clean) == said(text)
    assert formatting.canonical(clean) == clean
    assert not any(line != line.rstrip() for line in clean.split("\n"))


def shaken(text: str, draw: random.Random) -> str:
    """A file with its sections shuffled, comments strewn in and the blanks of its wires changed."""
    root = tree.compose(text, "x")
    lines = text.rstrip("\n").split("\n")
    starts = sorted(spot.line - 1 for spot in root.keys.values())
    blocks = [lines[a:b] for a, b in zip(starts, [*starts[1:], len(lines)], strict=True)]
    draw.shuffle(blocks)
    out: list[str] = []
    for number, block in enumerate(blocks):
        if draw.random() < 0.4:
            out.append(f"# above {number}")
        for line in block:
            wire = line.strip().startswith("- ") and len(wiring.fields(line.strip()[2:])) == 4
            out.append(line[:4] + line[4:].replace("  ", " " * draw.randint(2, 5)) if wire else line)
            if wire and draw.random() < 0.3:
                out[-1] += f"   # wire {len(out)}  "
    return "\n".join(out) + draw.choice(["", "\n", "\n\n\n"])


def said(text: str) -> tree.Plain:
    """What a file says, blanks in wires left out."""
    found = tree.plain(tree.compose(text, "x"))
    assert isinstance(found, dict)
    wires = found["wires"]
    assert isinstance(wires, list)
    return {**found, "wires": [" ".join(str(wire).split()) for wire in wires]}


def test_wires_stand_in_columns() -> None:
    """The second terminals of all wires begin in one column."""
    clean = formatting.canonical(library.text("refrigerator"))
    rows = [line for line in clean.split("\n") if "AWG" in line and line.startswith("  - ")]
    assert len({wiring.fields(row.strip()[2:])[3][1] for row in rows}) == 1


def test_windows_line_ends_go() -> None:
    """Line ends of another system, and the mark at the beginning, go."""
    assert formatting.canonical("\ufeffkind: fan\r\nmachine: Fan \r\n") == "machine: Fan\nkind: fan\n"


def test_text_that_would_change_is_left_alone() -> None:
    """Where a clean-up would change what is said (blanks in a block of text), the text stays."""
    text = "about: |\n  a  \n  b\nkind: fan\n"
    assert formatting.canonical(text) == text
