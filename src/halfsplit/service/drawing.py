"""`draw`: a machine as it stands as a wiring picture.

Knows what a person asks for; settling, the sheet and its drawing are elsewhere.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from halfsplit.drawing import circuit, wiring
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
    known(machine, placed, part)
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


def known(machine: model.Machine, leads: Mapping[str, str], part: str = "") -> None:
    """Raises WrongUse with every terminal and the part that the machine does not have, and the nearest names."""
    reached = machine.reachable
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
    live = [t for net in found.nets if net.state is State.LIVE for t in net.terminals if not model.is_inner(t)]
    return {"live": sorted(live), "current": sorted({e.part for e in found.elements if e.current})}
