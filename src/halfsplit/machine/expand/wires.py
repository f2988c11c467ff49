"""The wires of one machine: their lines read, their terminals looked up, their names given.

Knows the scope; a wire is named `wire A.x to B.y`, with a number where there are several.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from halfsplit.errors import WrongUse
from halfsplit.machine import tree, wiring
from halfsplit.machine.expand.house import HouseWire
from halfsplit.machine.expand.scope import Scope
from halfsplit.machine.model import Wire

__all__ = ["Wired", "join"]


@dataclass
class Wired:
    """The wires, and for the rules what the model does not keep: how each was written and where."""

    wires: list[Wire] = field(default_factory=list)
    lines: dict[str, wiring.WireLine] = field(default_factory=dict)
    paths: dict[str, tree.Path] = field(default_factory=dict)
    times: dict[tuple[str, str], int] = field(default_factory=dict)


def join(house: Iterable[HouseWire], scope: Scope) -> Wired:
    """All wires, those of the house first."""
    wired = Wired()
    for wire in house:
        told = wiring.read_line(wire.text)
        if not _to_itself(told, ("supply", "meets"), scope):
            _add(told, ("supply", "system"), 0.0 if wire.fixed else 1.0, wired)
    for index, text in enumerate(scope.file.wires):
        path: tree.Path = ("wires", index)
        line = _read(text, path, scope)
        if line is not None:
            _add(line, path, 1.0, wired)
    return wired


def _read(text: str, path: tree.Path, scope: Scope) -> wiring.WireLine | None:
    try:
        line = wiring.read_line(text)
    except WrongUse as error:
        scope.complaints.refuse(path, error)
        return None
    shifts = line.columns[-2:]
    known = [scope.terminal(end, path, shift) for end, shift in zip(line.ends, shifts, strict=True)]
    return line if all(known) and not _to_itself(line, path, scope) else None


def _to_itself(line: wiring.WireLine, path: tree.Path, scope: Scope) -> bool:
    """Whether both ends of a wire were copied from one terminal, which no network can hold; that is a problem."""
    if line.ends[0] != line.ends[1]:
        return False
    scope.complaints.add(path, f"This wire goes from {line.ends[0]} to itself.", "Look where its other end goes.")
    return True


def _add(line: wiring.WireLine, path: tree.Path, rate: float, wired: Wired) -> None:
    number = wired.times[line.ends] = wired.times.get(line.ends, 0) + 1
    name = f"wire {line.ends[0]} to {line.ends[1]}" + (f" ({number})" if number > 1 else "")
    wired.wires.append(Wire(name, line.ends, line.colours, line.run.ohms, rate))
    wired.lines[name], wired.paths[name] = line, path
