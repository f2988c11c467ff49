"""`draw`: the pictures beside the wiring: a switch's contact chart, the bays, the terminals of one part.

Knows machines and what the pictures take; nothing of how they are drawn. They show the machine file, not a condition.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any
from xml.etree import ElementTree

from halfsplit.drawing import fixtures
from halfsplit.drawing.pictures import bays as bay_picture
from halfsplit.drawing.pictures import chart as chart_picture
from halfsplit.drawing.pictures import face as face_picture
from halfsplit.errors import WrongUse, did_you_mean
from halfsplit.machine import model, primitives
from halfsplit.operate.condition import Condition
from halfsplit.quantity.display import duration
from halfsplit.service import drawing, tasks
from halfsplit.work.hazards import gravest_first

AS_LISTED = "as the machine file lists them, not as they lie on the part"
FACE_WIDTH = 340.0
"""Cavities stand in one row up to this width, px: with margins a phone's."""


def _picture(svg: str) -> dict[str, Any]:
    """A picture with its size in px."""
    root = ElementTree.fromstring(svg)
    return {"svg": svg, "width": float(root.get("width", "0")), "height": float(root.get("height", "0"))}


# ---- the contact chart ------------------------------------------------------------------------------------


def chart(machine: model.Machine, part: str, at: Condition | None = None) -> dict[str, Any]:
    """The contact chart of a part that a hand sets, and what it says; with a condition, the position is marked.

    Raises WrongUse for a part that has no contacts set by hand, with the nearest that has.

    >>> from halfsplit.service import machines
    >>> chart(machines.load("vented-dryer"), "door switch")["contacts"][0]
    {'contact': 'C–NO', 'closed': ['shut']}
    """
    closing = {name: rows for name in machine.parts if (rows := _closing(machine, name))}
    if part not in closing:
        _unknown(machine, part, closing, "contacts that a hand sets")
    (_, first), *_ = closing[part]
    positions = machine.controls[first.control].positions
    rows = [(contact, when) for contact, when in closing[part] if when.control == first.control]
    states = tuple(_row(machine, contact, when, positions) for contact, when in rows)
    chosen = positions.index(at.position(first.control)) if at else None
    title = machine.parts[part].title or part
    made = _picture(chart_picture.drawn(chart_picture.Chart(f"{title}: contacts", positions, states, chosen)))
    closed = [[p for p, shut in zip(positions, state.closed, strict=True) if shut] for state in states]
    contacts = [{"contact": s.terminals, "closed": c} for s, c in zip(states, closed, strict=True)]
    stands = positions[chosen] if chosen is not None else None
    return made | {"control": first.control, "positions": list(positions), "stands": stands, "contacts": contacts}


def _row(
    machine: model.Machine, contact: primitives.Contact, when: primitives.ByControl, positions: tuple[str, ...]
) -> chart_picture.Contact:
    name = "–".join(end.partition(".")[2] for end in contact.ends)
    closed = tuple(position in when.positions for position in positions)
    return chart_picture.Contact(name, _feeds(machine, contact.ends[1]), closed)


def _closing(machine: model.Machine, part: str) -> list[tuple[primitives.Contact, primitives.ByControl]]:
    """The contacts of a part of the machine that a control moves, each with its rule."""
    if machine.parts[part].house:
        return []
    own = [e for e in machine.elements.values() if isinstance(e, primitives.Contact) and e.part == part]
    return [(e, when) for e in own for when in e.when if isinstance(when, primitives.ByControl)]


def _feeds(machine: model.Machine, terminal: str) -> str:
    """Where the wires of a terminal lead."""
    far = (model.part_of(end) for _, end in _wires(machine, terminal))
    parts = dict.fromkeys(machine.parts[name].title or name for name in far)
    return "to " + ", ".join(parts) if parts else ""


def _unknown(machine: model.Machine, part: str, able: Mapping[str, object], what: str) -> None:
    if part in machine.parts:
        raise WrongUse(f"Part {part!r} has no {what}.", did_you_mean(part, able))
    raise WrongUse(f"No part {part!r}.", did_you_mean(part, able))


# ---- bays -------------------------------------------------------------------------------------------------


def bays(machine: model.Machine) -> dict[str, Any]:
    """The bays of a machine and what is in them, each under the one it lies behind."""
    found = list(_bays(machine))
    made = _picture(bay_picture.drawn(f"{machine.kind.capitalize()}: bays", found))
    told = [{"bay": bay.name, "behind": bay.behind or "outside", "holds": list(bay.holds)} for bay in found]
    return made | {"bays": told}


def _bays(machine: model.Machine) -> Iterator[bay_picture.Bay]:
    for bay in machine.bays.values():
        holds = tuple(part.title or part.name for part in machine.parts.values() if part.bay == bay.name)
        minutes = f"open {duration(bay.open_minutes)}, close {duration(bay.close_minutes)}{tasks.taken_by(bay.people)}"
        opening = ", ".join(filter(None, (bay.fasteners, minutes)))
        behind = "" if bay.behind == "outside" else bay.behind
        cautions = gravest_first(one.told for one in bay.cautions)
        yield bay_picture.Bay(bay.name, behind, opening, holds, cautions=cautions)


# ---- the face of a part -----------------------------------------------------------------------------------


def face(machine: model.Machine, part: str, leads: Mapping[str, str] | None = None) -> dict[str, Any]:
    """The terminals of a part side by side, with the wires on each and where they go; ``leads``: colour to terminal.

    The machine file does not say where on the part its terminals lie: they stand in the order of the file.
    Raises WrongUse for a part without terminals that a wire meets, and for a lead that is not on the part.
    """
    placed = {terminal: colour for colour, terminal in (leads or {}).items() if terminal}
    drawing.known(machine, {colour: terminal for terminal, colour in placed.items()})
    able = {name: ends for name in machine.parts if (ends := _met(machine, name))}
    if part not in able:
        _unknown(machine, part, able, "terminals that wires meet")
    astray = [terminal for terminal in placed if model.part_of(terminal) != part]
    if astray:
        raise WrongUse(f"{', '.join(astray)} is not on part {part!r}.", f"It has {', '.join(able[part])}.")
    cells = [_cavity(machine, terminal, placed.get(terminal, "")) for terminal in able[part]]
    title = f"{machine.parts[part].title or part}: terminals"
    seen = face_picture.Face(title, tuple(_placed(cells)), AS_LISTED, latch=False)
    told = [{"terminal": terminal, "wires": _told(machine, terminal)} for terminal in able[part]]
    return _picture(face_picture.drawn(seen)) | {"terminals": told}


def _met(machine: model.Machine, part: str) -> list[str]:
    """The terminals of a part, if a wire meets any of them."""
    shown = list(machine.parts[part].reachable)
    return shown if any(True for terminal in shown for _ in _wires(machine, terminal)) else []


def _wires(machine: model.Machine, terminal: str) -> Iterator[tuple[model.Wire, str]]:
    """The wires on a terminal, each with its far end."""
    for wire in machine.wires:
        yield from ((wire, far) for near, far in (wire.ends, wire.ends[::-1]) if near == terminal)


def _told(machine: model.Machine, terminal: str) -> list[dict[str, Any]]:
    return [{"colours": list(wire.colours), "to": far} for wire, far in _wires(machine, terminal)]


def _cavity(machine: model.Machine, terminal: str, lead: str) -> face_picture.Cavity:
    found = list(_wires(machine, terminal))
    colours = tuple(wire.colours or ("BK",) for wire, _ in found)
    goes_to = ", ".join(fixtures.feed_name(far) for _, far in found)
    return face_picture.Cavity(terminal.partition(".")[2], 0, 0, colours, f"to {goes_to}" if goes_to else "", lead)


def _placed(cells: list[face_picture.Cavity]) -> Iterator[face_picture.Cavity]:
    """Cavities in rows that fit a phone, all rows but the last with as many."""
    wide = max(face_picture.CELL, *(face_picture.cell_width(cell) for cell in cells))
    columns = max(1, int(FACE_WIDTH // wide))
    for number, cell in enumerate(cells):
        yield face_picture.Cavity(cell.name, number // columns, number % columns, cell.wires, cell.goes_to, cell.lead)
