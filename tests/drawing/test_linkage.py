"""Which contact belongs to which coil: a dashed line, or the terminals of the one said at the other."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from dataclasses import replace
from xml.etree import ElementTree

import networkx  # type: ignore[import-untyped]
import pytest

from halfsplit.drawing import check, circuit, wiring
from halfsplit.drawing.sheet import Element, Net, Sheet, checked
from tests.drawing import netlists
from tests.drawing.samples import relay, starter

WAYS = (wiring.across, wiring.down)
Drawn = Callable[[Sheet], wiring.Picture]


def _lined(picture: str, of: Sheet) -> networkx.Graph:
    """Elements that dashed lines join."""
    found: networkx.Graph = networkx.Graph()
    found.add_nodes_from(element.key for element in of.elements)
    for node in ElementTree.fromstring(picture).iter():
        if keys := node.get("data-link"):
            found.add_edge(*_split(keys, of))
    return found


def _split(keys: str, of: Sheet) -> tuple[str, str]:
    known = {element.key for element in of.elements}
    return next((keys[:i], keys[i + 1 :]) for i, sign in enumerate(keys) if sign == " " and keys[:i] in known)


def told(picture: str, of: Sheet, coil: Element, contact: Element) -> bool:
    """Whether lines join the two, or words at each name the terminals of the other."""
    if networkx.has_path(_lined(picture, of), coil.key, contact.key):
        return True
    words = " ".join("".join(n.itertext()) for n in ElementTree.fromstring(picture).iter() if n.tag.endswith("text"))
    by, what = ("–".join(end.partition(".")[2] for end in (e.start, e.end)) for e in (coil, contact))
    return f"moved by {by}" in words and re.search(f"moves (\\S+, )*{what}", words) is not None


@pytest.mark.parametrize("draw", WAYS)
@pytest.mark.parametrize("make", [relay, starter])
def test_a_coil_and_its_contacts_are_seen_to_belong_together(make: Callable[[], Sheet], draw: Drawn) -> None:
    """Whether they stand in line or not, and nothing covers anything."""
    of = make()
    picture = draw(of)
    (coil,) = (element for element in of.elements if element.kind == "coil")
    for contact in (element for element in of.elements if element.linked and element is not coil):
        assert told(picture.svg, of, coil, contact), contact.key
    assert check.findings(picture.svg, of) == []
    assert picture.crossings == 0


@pytest.mark.parametrize("draw", WAYS)
def test_a_line_is_drawn_where_one_can_be(draw: Drawn) -> None:
    """A starting relay has its coil beside its contact: the line runs from the one to the other."""
    assert 'data-link="starter/' in draw(starter()).svg
    assert "moved by" not in draw(starter()).svg


def test_a_circuit_names_the_coil_that_it_leaves_out() -> None:
    """The heater's circuit has the contact alone, and says what moves it; the relay's says what it moves."""
    assert "moved by A1–A2" in circuit.drawn(relay(), "heater").svg
    lines = [line for element in circuit.reduced(relay(), "switch").elements for line in element.lines]
    assert "moves 11–14, 21–24" in lines


def _random(seed: int) -> Sheet:
    """A random netlist of which one load is a coil and two contacts are its own."""
    plain, _ = netlists.netlist(seed, most=24)
    rng = random.Random(seed)
    contacts = [i for i, e in enumerate(plain.elements) if "contact" in e.kind]
    loads = [i for i, e in enumerate(plain.elements) if e.kind in ("heater", "motor", "lamp")]
    elements = list(plain.elements)
    for i in rng.sample(contacts, min(2, len(contacts))):
        elements[i] = replace(elements[i], linked="K", actuator="relay")
    for i in loads[:1]:
        elements[i] = replace(elements[i], kind="coil", linked="K", closed=None, actuator="")
    renamed = tuple(replace(e, start=_own(e.start), end=_own(e.end)) for e in elements)
    return checked(replace(plain, elements=renamed, nets=_nets(plain), wires=()))


def _own(terminal: str) -> str:
    """The terminal with a name that says its part, so that words are of one element only."""
    part, _, name = terminal.partition(".")
    return f"{part}.{part}-{name}" if part.startswith("P") else terminal


def _nets(of: Sheet) -> tuple[Net, ...]:
    return tuple(
        replace(net, terminals=tuple(map(_own, net.terminals)), feed=tuple(map(_own, net.feed))) for net in of.nets
    )


@pytest.mark.parametrize("draw", WAYS)
@pytest.mark.parametrize("seed", range(30))
def test_random_coils_are_seen_to_move_their_contacts(seed: int, draw: Drawn) -> None:
    """Wherever they stand, each coil and contact can be brought together by a reader."""
    of = _random(seed)
    coils = [element for element in of.elements if element.kind == "coil"]
    contacts = [element for element in of.elements if element.linked and element.kind != "coil"]
    picture = draw(of)
    assert all(told(picture.svg, of, coil, contact) for coil in coils for contact in contacts)
    assert check.findings(picture.svg, of) == []
