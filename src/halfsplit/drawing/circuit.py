"""The circuit of one load: what lies between the rails and that load, for a narrow page at full text size.

Other loads are dropped; what stays is in the same biconnected block as the house, which joins all rails. What else is
joined to a net that stays is told by a small arrow and a note. May know: graph, blocks, the wiring picture.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from halfsplit import errors
from halfsplit.drawing import blocks, fixtures, graph, linkage, wiring
from halfsplit.drawing import sheet as sheets
from halfsplit.drawing.cells import Style, Way
from halfsplit.drawing.graph import Kind, Link
from halfsplit.drawing.sheet import Box, Element, Rail, Sheet

PHONE = 390.0
"""Width of a phone's page in px that a circuit should not exceed."""

_STYLES = (
    *(Style(Way.DOWN, label, margin=10.0) for label in (104.0, 88.0, 72.0, 60.0, 48.0)),
    Style(Way.DOWN, 40.0, margin=4.0, closer=4.0),
)
"""Labels are broken narrower until the circuit fits."""

_HOUSE = "<house>"


def _targets(sheet: Sheet, part: str) -> set[str]:
    own = [element for element in sheet.elements if element.part == part]
    if not own:
        known = (element.part for element in sheet.elements)
        raise errors.WrongUse(f"No part '{part}' is drawn.", errors.did_you_mean(part, known))
    return {element.key for element in own if element.load} or {element.key for element in own}


def _kept(sheet: Sheet, part: str) -> list[Element]:
    """Elements in the block of the targets and the house, or the targets alone where they have no way round."""
    targets = _targets(sheet, part)
    pool = [e for e in sheet.elements if e.key in targets or not (e.load and e.part != part)]
    net_of = sheet.net_of()
    links = [Link(Kind.ELEMENT, net_of[e.start], net_of[e.end], i) for i, e in enumerate(pool)]
    links = [link for link in links if link.a != link.b]
    pins = [Link(Kind.PIN, net_of[pin], graph.box_node(box.part)) for box in sheet.boxes for pin in box.pins]
    rails = [net.name for net in sheet.nets if net.rail and net.rail not in (Rail.PE, Rail.FRAME)]
    links += [*pins, *(Link(Kind.GUIDE, rail, _HOUSE) for rail in rails)]
    nodes = sorted({end for link in links for end in (link.a, link.b)})
    wanted: set[str] = set(targets)
    for block in blocks.blocks(nodes, links):
        keys = {pool[links[i].item].key for i in block if links[i].kind is Kind.ELEMENT}
        fed = any(links[i].kind is Kind.GUIDE for i in block)
        wanted |= keys if keys & targets and fed else set()
    return [element for element in sheet.elements if element.key in wanted]


def _onward(sheet: Sheet, kept: Iterable[Element], used: set[str]) -> list[tuple[str, str, tuple[str, ...]]]:
    """For each net that goes on: the terminal where the arrow stands, its letter, the terminals that are not drawn."""
    drawn = [terminal for element in kept for terminal in (element.end, element.start)]
    found: list[tuple[str, str, tuple[str, ...]]] = []
    for net in sheet.nets:
        here = [terminal for terminal in drawn if terminal in net.terminals]
        others = tuple(terminal for terminal in net.terminals if terminal not in used)
        if here and others and not net.rail:
            found.append((here[0], chr(ord("a") + len(found) % 26), others))
    return found


def reduced(sheet: Sheet, part: str) -> Sheet:
    """The sheet with only the circuit of one part.

    :raises halfsplit.errors.WrongUse: for a part that the sheet does not have, or a sheet with problems.
    """
    kept = _kept(sheets.checked(sheet), part)
    boxes = _boxes(sheet, kept)
    used = {terminal for element in kept for terminal in (element.start, element.end)}
    used |= {pin for box in boxes for pin in box.pins}
    nets = tuple(net for net in sheet.nets if used & set(net.terminals))
    known = {terminal for net in nets for terminal in net.terminals}
    onward = _onward(sheet, kept, used)
    notes = tuple(
        f"{letter}: goes on to {', '.join(fixtures.feed_name(t) for t in others)}" for _, letter, others in onward
    )
    return replace(
        sheet,
        title=_title(sheet, part),
        nets=nets,
        elements=tuple(linkage.said(sheet, kept)),
        wires=tuple(wire for wire in sheet.wires if wire.start in known and wire.end in known),
        boxes=boxes,
        frames=(),
        leads=tuple(lead for lead in sheet.leads if lead.terminal in known),
        notes=(*notes, *sheet.notes),
        onward=tuple((terminal, letter) for terminal, letter, _ in onward),
    )


def _boxes(sheet: Sheet, kept: Iterable[Element]) -> tuple[Box, ...]:
    """Boxes that an element of the circuit hangs on other than by a rail, with those pins and the pins on rails."""
    net_of = sheet.net_of()
    rails = {net.name for net in sheet.nets if net.rail}
    inner = {net_of[t] for e in kept for t in (e.start, e.end)} - rails
    found: list[Box] = []
    for box in sheet.boxes:
        if any(net_of[pin] in inner for pin in box.pins):
            found.append(replace(box, pins=tuple(pin for pin in box.pins if net_of[pin] in inner | rails)))
    return tuple(found)


def _title(sheet: Sheet, part: str) -> str:
    named = next(element for element in sheet.elements if element.part == part)
    return f"{named.title or part}: its circuit"


def drawn(sheet: Sheet, part: str) -> wiring.Picture:
    """The circuit of one part flowing down, with labels as wide as fit a phone; where none do, rungs in another order.

    :raises halfsplit.errors.WrongUse: as :func:`reduced`.
    """
    return wiring.within(reduced(sheet, part), _STYLES, PHONE)
