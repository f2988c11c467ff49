"""`draw` by the outside contract: an SVG of the wiring, one JSON document, exit codes, the nearest names."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest

from halfsplit.drawing import circuit
from halfsplit.machine import library
from tests.cli.words import run

Capture = pytest.CaptureFixture[str]
FIELDS = {"svg", "width", "height", "crossings", "bends", "live", "current", "chatters"}
HIGH = ("vented-dryer", "--set", "high heat")


@pytest.mark.parametrize("name", library.names())
def test_a_machine_is_drawn(name: str, capsys: Capture) -> None:
    """Every machine of the library goes to stdout as one SVG, the same each time."""
    ended = run(capsys, "draw", name)
    assert (ended.code, ended.err) == (0, "")
    assert ElementTree.fromstring(ended.out).tag.endswith("svg")
    assert run(capsys, "draw", name).out == ended.out


def test_a_picture_goes_to_a_file(tmp_path: Path, capsys: Capture) -> None:
    """With -o the picture is written there and nothing is said."""
    place = tmp_path / "dryer.svg"
    ended = run(capsys, "draw", *HIGH, "--down", "-o", str(place))
    assert (ended.code, ended.out, ended.err) == (0, "", "")
    assert place.read_text(encoding="utf-8") == run(capsys, "draw", *HIGH, "--down").out


def test_the_document_says_what_is_live(capsys: Capture) -> None:
    """The JSON document has the picture, its size, the live terminals and the parts in which current flows."""
    found = run(capsys, "draw", *HIGH, "--json").data
    assert set(found) == FIELDS
    assert {"terminal block.L1", "terminal block.L2", "heater.common", "drum lamp.2"} <= set(found["live"])
    assert "terminal block.N" not in found["live"]
    assert {"heater", "motor", "timer"} <= set(found["current"])
    assert not {"buzzer", "drum lamp", "start switch"} & set(found["current"])


def test_a_fault_shows_where_the_voltage_stops(capsys: Capture) -> None:
    """With the thermal fuse open the motor's side of it is not live and the motor has no current."""
    found = run(capsys, "draw", *HIGH, "--fault", "thermal fuse: open", "--json").data
    assert "thermal fuse.1" in found["live"]
    assert not {"thermal fuse.2", "belt switch.1", "motor.line"} & set(found["live"])
    assert "motor" not in found["current"]
    assert "With the fault: thermal fuse: open." in found["svg"]


def test_isolated_leaves_only_the_wall_live(capsys: Capture) -> None:
    """Unplugged, only terminals before the plug are live."""
    live = run(capsys, "draw", *HIGH, "--isolated", "--json").data["live"]
    assert live
    assert {terminal.split(".")[0] for terminal in live} == {"service", "breaker", "receptacle"}
    assert not any("prong" in terminal for terminal in live)


def test_a_lifted_wire_is_drawn_off(capsys: Capture) -> None:
    """A wire that is taken off is drawn so, and carries nothing."""
    found = run(capsys, "draw", *HIGH, "--lift", "heater.common", "--json").data
    assert "taken off" in found["svg"]
    assert "heater" not in found["current"]


def test_lifting_what_has_no_wire_of_its_own_changes_nothing(capsys: Capture) -> None:
    """A terminal of the house where no wire can be taken off is no error."""
    whole = run(capsys, "draw", "water-heater").out
    assert run(capsys, "draw", "water-heater", "--lift", "service.N").out == whole


def test_a_circuit_fits_a_phone_and_has_its_leads(capsys: Capture) -> None:
    """The circuit of a part is at most 390 px wide, with breaker and receptacle, and flags in words."""
    leads = ("--red", "heater.common", "--black", "motor.heat 1")
    found = run(capsys, "draw", *HIGH, "--circuit", "heater", *leads, "--json").data
    assert found["width"] <= circuit.PHONE
    assert "red: heater, common" in found["svg"]
    assert "black: motor, heat 1" in found["svg"]
    assert 'data-part="breaker"' in found["svg"]
    assert 'data-part="drum lamp"' not in found["svg"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--circuit", "heatr"), "Did you mean 'heater'"),
        (("--circuit", "belt"), "has no wiring of its own"),
        (("--circuit", "heater", "--across"), "A circuit always flows down"),
        (("--red", "heater.comon"), "Did you mean 'heater.common'"),
        (("--fault", "cut-off: opn"), "Did you mean 'cut-off: open'"),
        (("--set", "heat=hihg"), "Did you mean 'high'"),
        (("-o", "no/such/folder/x.svg"), "cannot be written"),
    ],
)
def test_wrong_use_says_what_is_meant(words: tuple[str, ...], said: str, capsys: Capture) -> None:
    """Unknown names end with 2 and the nearest known ones."""
    ended = run(capsys, "draw", "vented-dryer", *words)
    assert (ended.code, ended.out) == (2, "")
    assert said in ended.err


def test_all_mistakes_at_once(capsys: Capture) -> None:
    """Two leads and a part that are unknown are told together."""
    words = ("--red", "heater.comon", "--black", "motor.lin", "--circuit", "heatr")
    err = run(capsys, "draw", "vented-dryer", *words).err
    assert all(name in err for name in ("'heater.comon'", "'motor.lin'", "'heatr'"))


def test_a_bad_file_ends_with_three(tmp_path: Path, capsys: Capture) -> None:
    """A machine file that cannot be used is told as by check."""
    place = tmp_path / "bad.yaml"
    place.write_text("format: halfsplit machine 1\n", encoding="utf-8")
    assert run(capsys, "draw", str(place)).code == 3
