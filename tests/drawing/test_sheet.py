"""What a sheet refuses, and what the drawing makes of odd but lawful sheets."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

from halfsplit import errors
from halfsplit.drawing import check, circuit, wiring
from halfsplit.drawing.sheet import Element, Lead, Net, Rail, Sheet, State, Wire, checked, problems
from halfsplit.drawing.symbols import table
from tests.drawing import samples


def _small(*elements: Element, extra: tuple[Net, ...] = ()) -> Sheet:
    nets = (
        Net("L1", ("a.1", "b.1"), rail=Rail.L1),
        Net("x", ("a.2", "c.1")),
        Net("N", ("c.2", "b.2"), rail=Rail.N),
        *extra,
    )
    return Sheet("Small", nets, elements)


LOAD = Element("a", "e", "heater", "a.1", "a.2")
REST = Element("c", "e", "lamp", "c.1", "c.2")


def test_every_problem_is_told_at_once() -> None:
    """A double name, an unknown terminal, a wire between nets and a wrong colour are all in one message."""
    wires = (Wire("a.1", "a.2", ("RD",)), Wire("a.1", "b.1", ("PURPLE",)))
    wrong = replace(_small(LOAD, LOAD), wires=wires, leads=(Lead("green", "z.9", "somewhere"),))
    found = problems(wrong)
    for part in ("a/e", "z.9", "two nets", "PURPLE", "green"):
        assert any(part in text for text in found), part
    with pytest.raises(errors.WrongUse, match="cannot be drawn") as raised:
        checked(wrong)
    assert all(text in str(raised.value) for text in found)


def test_both_ends_on_one_net_are_drawn() -> None:
    """A part that is bridged by its own net is drawn and reads back."""
    shorted = Net("y", ("d.1", "d.2", "e.1"))
    sheet = _small(
        LOAD, REST, Element("d", "e", "motor", "d.1", "d.2"), Element("e", "e", "fuse", "e.1", "b.2"), extra=(shorted,)
    )
    for picture in (wiring.across(sheet), wiring.down(sheet)):
        assert check.findings(picture.svg, sheet) == []


def test_one_terminal_in_two_elements_is_drawn_twice_on_one_net() -> None:
    """A timer's common stands at each of its contacts, on the same net."""
    reading = check.read(wiring.across(samples.dryer()).svg)
    places = [point for terminal, point in reading.terminals if terminal == "timer.A"]
    assert len(places) == 3


def test_an_empty_sheet_is_drawn() -> None:
    """Nothing wired is no error."""
    assert "<svg" in wiring.across(Sheet("Nothing", ())).svg


def test_a_part_apart_from_the_house_is_drawn() -> None:
    """A loop that no rail feeds is drawn beside the rest."""
    loop = (Net("p", ("s.1", "t.1")), Net("q", ("s.2", "t.2")))
    sheet = _small(
        LOAD, REST, Element("s", "e", "ntc", "s.1", "s.2"), Element("t", "e", "resistor", "t.1", "t.2"), extra=loop
    )
    assert check.findings(wiring.across(sheet).svg, sheet) == []


DRAW = """
import hashlib, sys
sys.path.insert(0, sys.argv[1])
from halfsplit.drawing import wiring
from tests.drawing import netlists, samples
sheets = [samples.live_dryer(), samples.refrigerator(), netlists.netlist(37)[0]]
text = "".join(draw(sheet).svg for sheet in sheets for draw in (wiring.across, wiring.down))
print(hashlib.sha256(text.encode()).hexdigest())
"""


def test_bytes_do_not_depend_on_the_order_of_sets() -> None:
    """Two runs whose sets iterate in different orders draw the same bytes."""
    root = str(Path(__file__).resolve().parents[2])
    digests = {
        subprocess.run(
            [sys.executable, "-c", DRAW, root],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(digests) == 1


def test_words_are_escaped() -> None:
    """Signs that XML keeps for itself come back as they were written."""
    odd = "a < b & \"c\" > 'd'"
    sheet = _small(replace(LOAD, title=odd, lines=(odd,)), REST)
    texts = ["".join(node.itertext()) for node in ElementTree.fromstring(wiring.across(sheet).svg).iter()]
    assert " ".join(texts).count("b &") >= 2


def test_live_and_doubtful_nets_have_their_marks() -> None:
    """Every live net has a hatched band, every net not proven dead a dashed edge, no other net any."""
    sheet = samples.live_dryer()
    root = ElementTree.fromstring(wiring.across(sheet).svg)
    bands = {
        n.get("data-net"): n.get("data-state")
        for n in root.iter()
        if n.get("class") == "band" and n.get("data-net") != "legend"
    }
    wanted = {net.name: net.state.value for net in sheet.nets if net.state in (State.LIVE, State.NOT_PROVEN)}
    drawn = {node.get("data-net") for node in root.iter() if "wire" in node.get("class", "").split()}
    assert bands == {net: state for net, state in wanted.items() if net in drawn}


def test_current_runs_unbroken_from_rail_to_rail() -> None:
    """At every point of the wires where a thick piece ends, another thick piece, a terminal or a head goes on."""
    sheet = samples.live_dryer()
    root = ElementTree.fromstring(wiring.across(sheet).svg)
    thick = [n for n in root.iter() if "current" in n.get("class", "").split()]
    assert thick
    ends: dict[tuple[float, float], int] = {}
    for node in thick:
        for point in check._points(node.get("d", "")):
            ends[point] = ends.get(point, 0) + 1
    rings = {point for _, point in check.read(wiring.across(sheet).svg).terminals}
    assert [point for point, count in ends.items() if count == 1 and point not in rings] == []


def test_leads_have_flags_with_words() -> None:
    """Each lead has its colour's name and its place in words, and its line ends at the terminal."""
    sheet = samples.live_dryer()
    picture = wiring.across(sheet)
    root = ElementTree.fromstring(picture.svg)
    rings = check.read(picture.svg).terminals
    marks = [node for node in root.iter() if node.get("class") == "lead-mark"]
    assert [node.get("data-lead") for node in marks] == ["red", "black"]
    for node, lead in zip(marks, sheet.leads, strict=True):
        assert f"{lead.colour}: {lead.words}" in "".join(node.itertext())
        path = next(child.get("d", "") for child in node if "lead" in child.get("class", "").split())
        end = check._points(path)[-1]
        assert any(end == pytest.approx(point, abs=0.02) for name, point in rings if name == lead.terminal)


def test_an_unknown_kind_is_named() -> None:
    """A kind that no symbol is known for gives the nearest known one."""
    with pytest.raises(errors.WrongUse, match="heater"):
        wiring.across(_small(replace(LOAD, kind="heatr"), REST))


@pytest.mark.parametrize("kind", sorted(table.kinds()))
def test_every_kind_of_symbol_reads_back(kind: str) -> None:
    """Each symbol is drawn both ways, open and closed, without touching its words."""
    for closed in (None, True, False):
        sheet = _small(replace(LOAD, kind=kind, closed=closed, lines=("a label",)), REST)
        assert check.findings(wiring.across(sheet).svg, sheet) == []
        assert check.findings(wiring.down(sheet).svg, sheet) == []


@pytest.mark.parametrize("actuator", sorted(table.actuators()))
def test_every_actuator_changes_the_symbol(actuator: str) -> None:
    """A contact with an actuator differs from one without."""
    assert table.symbol("make contact", True, actuator) != table.symbol("make contact", True)


def test_open_and_closed_differ() -> None:
    """The state of a contact or fuse can be seen."""
    for kind in ("make contact", "break contact", "fuse", "thermal cut-off", "overload"):
        assert table.symbol(kind, True) != table.symbol(kind, False)


def test_a_circuit_names_what_goes_on() -> None:
    """Terminals that are joined to the circuit but not drawn are in its notes."""
    reduced = circuit.reduced(samples.dryer(), "heater")
    assert any("bias 1" in note for note in reduced.notes)
    assert {element.part for element in reduced.elements} >= {"heater", "timer", "cycling", "limit", "cut-off", "motor"}
    assert not {"buzzer", "drum lamp", "bias"} & {element.part for element in reduced.elements}


def test_a_circuit_of_an_unknown_part_is_refused() -> None:
    """The message offers a known part."""
    with pytest.raises(errors.WrongUse, match="heater"):
        circuit.drawn(samples.dryer(), "heatr")
