"""`like`: a machine that is like another, one level deep, with problems placed in the file that holds them."""

from __future__ import annotations

from pathlib import Path

import pytest

from halfsplit.errors import BadInput
from halfsplit.machine import library, loading

HEAD = "format: halfsplit machine 1\nmachine: Another tank\nlike: water-heater\n"


def problems(text: str) -> list[str]:
    """What is wrong with a text, as a person sees it."""
    return [str(p) for p in loading.examine_text(text, "other")[1]]


def test_nothing_but_like_is_the_same_machine() -> None:
    """Parts, wires, symptoms and bays are those of the other machine."""
    one, other = loading.load_text(HEAD, "other"), loading.load("water-heater")
    assert (one.parts, one.wires, one.symptoms, one.bays) == (other.parts, other.wires, other.symptoms, other.bays)
    assert one.title == "Another tank"


def test_entry_replaces_the_old_one_whole() -> None:
    """A part that is written again has only what is written now; its wires and neighbours stay."""
    text = HEAD + "parts:\n  upper element: {type: heater, ohms: 10.7 ohm ± 5 %, in: upper cover}\n"
    machine = loading.load_text(text, "other")
    assert machine.parts["upper element"].price != loading.load("water-heater").parts["upper element"].price
    assert len(machine.parts) == len(loading.load("water-heater").parts)


def test_entry_is_removed_and_so_are_wires() -> None:
    """`none` takes a part out, `without` its wires, and new wires are added."""
    text = (
        HEAD
        + "parts:\n  lower thermostat: none\nwithout:\n"
        + "  - upper thermostat.next  lower thermostat.1\n  - lower thermostat.2  lower element.1\n"
        + "wires:\n  - BU  10 AWG 1 m  upper thermostat.next  lower element.1\n"
        + "temperatures:\n  bottom of tank: none\nsettings:\n  top is hot: none\n  all hot: {warmth: hot tank}\n"
    )
    machine = loading.load_text(text, "other")
    assert "lower thermostat" not in machine.parts
    assert len(machine.wires) == len(loading.load("water-heater").wires) - 1


def test_wire_left_hanging_is_blamed_in_the_file_that_holds_it() -> None:
    """A wire of the other machine that goes to a removed part is a problem of that file's line."""
    found = problems(HEAD + "parts:\n  lower thermostat: none\n")
    line = 1 + library.text("water-heater").split("\n").index(
        "  - BU  10 AWG 0.8 m  upper thermostat.next  lower thermostat.1"
    )
    assert any(p.startswith(f"water-heater:{line}:") and "lower thermostat" in p for p in found)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            "like: water-heatr\n",
            "other:1:7: There is no machine 'water-heatr' in the library. Did you mean 'water-heater'",
        ),
        ("like: vented-dryer-3-wire\n", "other:1:7: 'vented-dryer-3-wire' is itself like another machine."),
        ("like: ../water-heater\n", "other:1:7: There is no machine"),
        (HEAD + "parts:\n  no such part: none\n", "other:5:17: There is no 'no such part' to remove."),
        (HEAD + "without:\n  - a.1  b.2\n", "other:5:5: There is no such wire to leave out."),
        (HEAD + "without:\n  - {a.1: b.2}\n", "other:5:5: There is no such wire to leave out."),
        (
            HEAD + "without: limit.2  upper thermostat.C\n",
            "other:4:10: 'without' must be a list of wires. Write `without: [A.1  B.2]`.",
        ),
        (HEAD + "without: {limit.2: upper thermostat.C}\n", "other:4:10: 'without' must be a list of wires."),
        (
            library.text("water-heater").replace("wires:\n", "without: [limit.2  upper thermostat.C]\nwires:\n"),
            f"other:{library.text('water-heater').splitlines().index('wires:') + 1}:1: 'without' leaves out wires of "
            "the machine under `like`, and there is no `like`. Take it out, or name that machine: `like: vented-dryer`",
        ),
        (HEAD + "without: []\nwires: BK  limit.2  limit.3\n", "other:5:8: 'wires' must be a list."),
    ],
)
def test_wrong_likeness_is_refused(text: str, says: str) -> None:
    """What cannot be taken over, or taken away, is said with its place."""
    assert any(p.startswith(says) for p in problems(text))


def test_file_beside_is_found(tmp_path: Path) -> None:
    """A machine may be like one in the same folder; its file is named in problems."""
    (tmp_path / "base.yaml").write_text(library.text("water-heater"), "utf-8")
    own = tmp_path / "own.yaml"
    own.write_text(HEAD.replace("like: water-heater", "like: base"), "utf-8")
    assert loading.load(own).title == "Another tank"
    assert loading.load(own).name == "own"


def test_file_that_is_not_there(tmp_path: Path) -> None:
    """A file that cannot be read is a problem of that file, not a traceback."""
    with pytest.raises(BadInput, match="cannot be read"):
        loading.load(tmp_path / "nothing.yaml")
    with pytest.raises(BadInput, match="cannot be read"):
        loading.load(tmp_path)
