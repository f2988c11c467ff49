"""The cards of the library's machines are up to date, and say what the machines come to."""

from __future__ import annotations

from pathlib import Path

import pytest

from halfsplit.machine import library, loading
from halfsplit.modes import listing
from tools import write_cards

DUE = "run: .venv/bin/python tools/write_cards.py"


@pytest.fixture(scope="module")
def cards() -> dict[Path, str]:
    """Every card made anew."""
    return write_cards.outputs()


def test_cards_are_up_to_date(cards: dict[Path, str]) -> None:
    """Writing them again would change nothing, and none is left of a machine that is gone."""
    for path, text in cards.items():
        assert path.read_text("utf-8") == text, f"{path.name}: {DUE}"
    assert set(write_cards.FOLDER.glob("*.md")) == set(cards), DUE


@pytest.mark.parametrize("name", library.names())
def test_card_names_everything(name: str, cards: dict[Path, str]) -> None:
    """Each part, bay, symptom, named setting and fault of a part stands on the card."""
    text, machine = cards[write_cards.FOLDER / f"{name}.md"], loading.load(name)
    assert machine.title in cards[write_cards.FOLDER / "README.md"]
    own = [part.title for part in machine.parts.values() if not part.house]
    for word in (*machine.bays, *machine.symptoms, *machine.settings, *own):
        assert word in text
    faults = [fault for fault in listing.faults(machine) if fault.subject in machine.parts and not fault.earlier_hand]
    assert all(f"| {fault.name} |" in text for fault in faults)


def test_states_are_those_of_common_practice(cards: dict[Path, str]) -> None:
    """On HIGH both coils of the dryer see both legs, on LOW one coil does, and air only heats nothing."""
    rows = _table(cards[write_cards.FOLDER / "vented-dryer.md"], "| heater.")
    volts = {name: [int(cell.removesuffix(" V") or 0) for cell in cells] for name, cells in rows.items()}
    at_rest, high, low, air = ({name: row[column] for name, row in volts.items()} for column in range(4))
    assert all(0.95 * 240 < v <= 240 for v in high.values())
    assert sorted(v > 200 for v in low.values()) == [False, True]
    assert not any(at_rest.values())
    assert not any(air.values())


def test_two_lost_legs_are_not_told_apart_from_the_breaker(cards: dict[Path, str]) -> None:
    """A leg that the utility lost reads as a half-tripped breaker does: both stand in one row of the dryer's card."""
    text = cards[write_cards.FOLDER / "vented-dryer.md"]
    assert "| service: leg L1 lost; breaker: half-tripped, L1 dead |" in text


def _table(text: str, begins: str) -> dict[str, list[str]]:
    """The rows of a card that begin so: first cell to the others."""
    rows = [line for line in text.splitlines() if line.startswith(begins)]
    cells = ([cell.strip() for cell in row.strip("|").split("|")] for row in rows)
    return {first: rest for first, *rest in cells}
