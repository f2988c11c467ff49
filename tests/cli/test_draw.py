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
        (("--chart", "timr"), "Did you mean 'timer'"),
        (("--chart", "motor"), "has no contacts that a hand sets"),
        (("--chart", "timer", "--set", "cycle=timd"), "Did you mean 'timed'"),
        (("--chart", "timer", "--down"), "--down is for the whole machine"),
        (("--chart", "timer", "--isolated", "--fault", "belt: broken"), "does not show --fault, --isolated"),
        (("--chart", "timer", "--bays"), "--chart and --bays are pictures of their own"),
        (("--face", "terminal blok"), "Did you mean 'terminal block'"),
        (("--face", "belt"), "has no terminals that wires meet"),
        (("--face", "timer", "--red", "timer.lin"), "Did you mean 'timer.line'"),
        (("--face", "timer", "--red", "motor.line"), "motor.line is not on part 'timer'"),
        (("--bays", "--lift", "heater.common"), "--bays does not show --lift"),
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


def test_a_contact_chart_marks_where_the_switch_stands(capsys: Capture) -> None:
    """`--chart` draws which contacts are closed where, and tells it; the setting is marked."""
    found = run(capsys, "draw", *HIGH, "--chart", "timer", "--json").data
    assert set(found) == {"svg", "width", "height", "control", "positions", "stands", "contacts"}
    assert (found["control"], found["stands"]) == ("cycle", "timed")
    closed = {row["contact"]: row["closed"] for row in found["contacts"]}
    assert "timed" in closed["line–motor"]
    assert "off" not in closed["line–motor"]
    assert run(capsys, "draw", *HIGH, "--chart", "timer").out == found["svg"]


@pytest.mark.parametrize("name", library.names())
def test_bays_are_drawn(name: str, capsys: Capture) -> None:
    """`--bays` draws every bay and tells what lies behind what."""
    found = run(capsys, "draw", name, "--bays", "--json").data
    assert set(found) == {"svg", "width", "height", "bays"}
    known = {bay["bay"] for bay in found["bays"]} | {"outside"}
    assert all(bay["behind"] in known for bay in found["bays"])
    assert all(f">{bay['bay']}<" in found["svg"] for bay in found["bays"])


@pytest.mark.parametrize("part", ["terminal block", "timer", "heat selector", "motor", "heater"])
def test_the_face_of_a_part_has_its_wires(part: str, capsys: Capture) -> None:
    """`--face` draws every terminal with the colours on it, fits a phone, and says that places are not known."""
    found = run(capsys, "draw", "vented-dryer", "--face", part, "--json").data
    assert found["width"] <= circuit.PHONE
    svg = ElementTree.fromstring(found["svg"])
    words = " ".join(" ".join(svg.itertext()).split())
    assert "not as they lie on the part" in words
    cavities = [node.get("data-terminal") for node in svg.iter() if node.get("class") == "cavity"]
    assert [f"{part}.{name}" for name in cavities] == [row["terminal"] for row in found["terminals"]]
    wires = [wire for row in found["terminals"] for wire in row["wires"]]
    assert wires
    assert all(wire["to"].replace(".", " ") in words for wire in wires)


def test_a_lead_is_marked_on_a_face(capsys: Capture) -> None:
    """The lead's place is framed in its colour and said in words."""
    found = run(capsys, "draw", "vented-dryer", "--face", "timer", "--red", "timer.line", "--json").data
    assert 'data-lead="red"' in found["svg"]
    assert "red lead here" in found["svg"]
