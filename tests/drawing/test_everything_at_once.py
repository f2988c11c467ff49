"""Random sheets with boxes, frames, linked contacts, states, current and leads, read back both ways."""

from __future__ import annotations

import random
from dataclasses import replace

import networkx  # type: ignore[import-untyped]
import pytest

from halfsplit.drawing import check, circuit, wiring
from halfsplit.drawing.sheet import Box, Element, Frame, Lead, Net, Rail, Sheet, State, Wire, checked
from tests.depth import tried
from tests.drawing import netlists, shut_in


def _boxes(rng: random.Random, nets: tuple[Net, ...]) -> tuple[list[Box], dict[str, list[str]]]:
    """Boxes, and their pins by the net that they are on."""
    pins: dict[str, list[str]] = {}
    boxes = []
    for number in range(rng.randint(0, 2)):
        names = [f"B{number}.{rng.choice(('J', 'long pin '))}{i}" for i in range(rng.randint(2, 7))]
        for name in names:
            pins.setdefault(rng.choice(nets[:12]).name, []).append(name)
        lines = ("seen from outside",) * rng.randint(0, 1)
        boxes.append(Box(f"B{number}", f"Board {number}", tuple(names), lines))
    return boxes, pins


def _frames(rng: random.Random) -> tuple[list[Net], list[Frame]]:
    if rng.random() < 0.4:
        return [], []
    ends = [f"F{i}.PE" for i in range(rng.randint(1, 4))]
    net = Net("PE", ("house.PE", *ends), rail=Rail.PE, feed=("house.PE",))
    return [net], [Frame(end[:2], end, rng.choice(("", "Motor frame"))) for end in ends]


def _element(rng: random.Random, element: Element) -> Element:
    group = rng.choice(("", "", "g1", "g2")) if "contact" in element.kind else ""
    return replace(element, linked=group, current=rng.random() < 0.4)


def full_sheet(seed: int) -> Sheet:
    """A random netlist with everything that a sheet may have."""
    plain, _ = netlists.netlist(seed, most=30)
    rng = random.Random(seed + 999)
    boxes, pins = _boxes(rng, plain.nets)
    earth, frames = _frames(rng)
    nets = [
        replace(net, terminals=(*net.terminals, *pins.get(net.name, ())), state=rng.choice(list(State)))
        for net in (*plain.nets, *earth)
    ]
    wires = [Wire(net.terminals[0], pin, ("GY",)) for net in nets for pin in pins.get(net.name, ())]
    elements = [_element(rng, element) for element in plain.elements]
    if frames and rng.random() < 0.7:
        leaks = [Element("leak", str(i), "resistor", frames[0].terminal, rng.choice(elements).end) for i in range(2)]
        elements += leaks[: rng.randint(1, 2)]
    leads = tuple(Lead(colour, rng.choice(elements).start, "somewhere here") for colour in ("red", "black"))
    return checked(
        replace(
            plain,
            nets=tuple(nets),
            elements=tuple(elements),
            wires=(*plain.wires, *wires),
            boxes=tuple(boxes),
            frames=tuple(frames),
            leads=leads,
        )
    )


def _planar(sheet: Sheet) -> bool:
    """Whether the nets with the boxes as nodes of their own have a planar picture."""
    graph = netlists.graph(sheet, with_house=False)
    net_of = sheet.net_of()
    graph.add_edges_from((net_of[pin], f"box {box.part}") for box in sheet.boxes for pin in box.pins)
    return bool(networkx.check_planarity(graph)[0])


@pytest.mark.parametrize("seed", range(tried(3, 36)))
def test_full_sheets_read_back(seed: int) -> None:
    """Both ways and as one circuit, nothing is wrong.

    But what cannot be planar may run behind a box, and a lead lie on words or a chip where no way is free.
    """
    sheet = full_sheet(seed)
    part = sheet.elements[0].part
    pictures = [
        (sheet, wiring.across(sheet).svg),
        (sheet, wiring.down(sheet).svg),
        (circuit.reduced(sheet, part), circuit.drawn(sheet, part).svg),
    ]
    for of, text in pictures:
        found = [finding for finding in check.findings(text, of) if _planar(sheet) or " runs " not in finding]
        shut = set(shut_in.unavoidable(text))
        assert [finding for finding in found if finding not in shut] == []
