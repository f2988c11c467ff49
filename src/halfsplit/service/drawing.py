"""`draw`: a machine as it stands as a wiring picture; the contact chart of a switch; the bays.

Knows what a person asks for; settling, the sheet and its drawing are elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from halfsplit.drawing import circuit, wiring
from halfsplit.drawing.pictures import bays as bay_picture
from halfsplit.drawing.pictures import chart as chart_picture
from halfsplit.drawing.sheet import Sheet, State
from halfsplit.errors import WrongUse, did_you_mean
from halfsplit.machine import model
from halfsplit.operate.condition import Condition
from halfsplit.service import sheets, standing

WAYS = {"across": wiring.across, "down": wiring.down}


def draw(
    machine: model.Machine,
    at: Condition,
    fault_names: Sequence[str] = (),
    leads: Mapping[str, str] | None = None,
    part: str = "",
    way: str = "across",
) -> dict[str, Any]:
    """The whole machine across the page or down it, or the circuit of one part, with what is live and where current is.

    `leads`: colour to terminal. Sizes in px; `live` are terminals, `current` parts. Raises WrongUse with what is not
    known and the nearest names.
    """
    placed = {colour: terminal for colour, terminal in (leads or {}).items() if terminal}
    _known(machine, placed, part)
    stands = standing.standing(machine, at, fault_names)
    in_house = any(machine.parts[model.part_of(t)].house for t in placed.values())
    in_full = part or way == "down" or in_house
    found = sheets.sheet(stands, True if in_full else None, placed)
    if part:
        found = _about(found, part)
        picture = circuit.drawn(found, part)
    else:
        picture = WAYS[way](found)
    size = {"width": picture.width, "height": picture.height, "crossings": picture.crossings, "bends": picture.bends}
    return {"svg": picture.svg} | size | _told(found) | {"chatters": list(stands.chatters)}


def _known(machine: model.Machine, leads: Mapping[str, str], part: str) -> None:
    reached = [terminal for terminal in machine.terminals if model.HIDDEN not in terminal]
    problems = [f"No terminal {t!r}. {did_you_mean(t, reached)}" for t in leads.values() if t not in reached]
    if part and part not in machine.parts:
        wired = {model.part_of(terminal) for terminal in machine.terminals}
        problems.append(f"No part {part!r}. {did_you_mean(part, wired)}")
    if problems:
        raise WrongUse(" ".join(problems))


def _about(found: Sheet, part: str) -> Sheet:
    """The same sheet, once it is certain that the part has something to draw."""
    drawn = {element.part for element in found.elements}
    if part not in drawn:
        raise WrongUse(f"Part {part!r} has no wiring of its own.", did_you_mean(part, drawn))
    return found


def _told(found: Sheet) -> dict[str, list[str]]:
    live = [t for net in found.nets if net.state is State.LIVE for t in net.terminals if model.HIDDEN not in t]
    return {"live": sorted(live), "current": sorted({e.part for e in found.elements if e.current})}


# ---- beside the wiring ------------------------------------------------------------------------------------


def chart(machine: model.Machine, part: str, at: Condition | None = None) -> str:
    """The contact chart of a part that a hand sets, as SVG; with a condition, the position is marked.

    Raises WrongUse for a part that has no contacts set by hand.
    """
    closing = {name: rows for name in machine.parts if (rows := _closing(machine, name))}
    if part not in closing:
        raise WrongUse(f"No chart of {part!r}.", did_you_mean(part, closing))
    (_, first), *_ = closing[part]
    positions = machine.controls[first.control].positions
    states = tuple(
        chart_picture.Contact(
            "–".join(end.partition(".")[2] for end in contact.ends),
            _feeds(machine, contact.ends[1]),
            tuple(position in when.positions for position in positions),
        )
        for contact, when in closing[part]
        if when.control == first.control
    )
    chosen = positions.index(at.position(first.control)) if at else None
    title = machine.parts[part].title or part
    return chart_picture.drawn(chart_picture.Chart(f"{title}: contacts", positions, states, chosen))


def _closing(machine: model.Machine, part: str) -> list[tuple[model.Contact, model.ByControl]]:
    """The contacts of a part of the machine that a control moves, each with its rule."""
    if machine.parts[part].house:
        return []
    own = [e for e in machine.elements.values() if isinstance(e, model.Contact) and e.part == part]
    return [(e, when) for e in own for when in e.when if isinstance(when, model.ByControl)]


def _feeds(machine: model.Machine, terminal: str) -> str:
    """Where the wires of a terminal lead."""
    far = [b for wire in machine.wires for a, b in (wire.ends, wire.ends[::-1]) if a == terminal]
    parts = dict.fromkeys(machine.parts[model.part_of(end)].title or model.part_of(end) for end in far)
    return "to " + ", ".join(parts) if parts else ""


def bays(machine: model.Machine) -> str:
    """The bays of a machine and what is in them, each under the one it lies behind, as SVG."""
    return bay_picture.drawn(f"{machine.kind.capitalize()}: bays", list(_bays(machine)))


def _bays(machine: model.Machine) -> Iterator[bay_picture.Bay]:
    for bay in machine.bays.values():
        holds = tuple(part.title or part.name for part in machine.parts.values() if part.bay == bay.name)
        minutes = f"open {bay.open_minutes:g} min, close {bay.close_minutes:g} min"
        opening = ", ".join(filter(None, (bay.fasteners, minutes)))
        behind = "" if bay.behind == "outside" else bay.behind
        yield bay_picture.Bay(bay.name, behind, opening, holds, caution="; ".join(bay.cautions))
