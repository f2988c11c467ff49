"""What several rules ask of a machine: which terminals hang together, what is earth.

Knows the model and the sheet; decides nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from halfsplit.machine import tree
from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.model import Machine, Wire, part_of
from halfsplit.machine.primitives import ByControl, Contact

__all__ = [
    "Flaw",
    "Nets",
    "Rule",
    "earth_terminals",
    "met_terminals",
    "own_parts",
    "own_wires",
    "rest_nets",
    "value_path",
]


@dataclass(frozen=True)
class Flaw:
    """What a rule has found: where in the file, what, and what to do; `shift` is within a wire's line."""

    path: tree.Path
    message: str
    remedy: str
    shift: int = 0


Rule = Callable[[Sheet], Iterator[Flaw]]


class Nets:
    """Terminals that hang together, by union of pairs.

    >>> nets = Nets([("a", "b"), ("b", "c")])
    >>> nets.same("a", "c"), nets.same("a", "d")
    (True, False)
    """

    def __init__(self, pairs: Iterable[tuple[str, str]] = ()) -> None:
        self._up: dict[str, str] = {}
        for first, second in pairs:
            self.join(first, second)

    def root(self, terminal: str) -> str:
        """The terminal that stands for all that hang together with this one."""
        while (up := self._up.get(terminal, terminal)) != terminal:
            self._up[terminal] = self._up.get(up, up)
            terminal = up
        return terminal

    def join(self, first: str, second: str) -> bool:
        """Joins two; False where they hung together already."""
        one, other = self.root(first), self.root(second)
        self._up[one] = other
        return one != other

    def same(self, first: str, second: str) -> bool:
        """Whether two hang together."""
        return self.root(first) == self.root(second)


def own_parts(sheet: Sheet) -> list[str]:
    """The parts of the machine itself, without those of the house."""
    return [part.name for part in sheet.machine.parts.values() if not part.house]


def own_wires(sheet: Sheet) -> Iterator[tuple[Wire, tree.Path]]:
    """The wires that the file itself writes, with their paths."""
    for wire in sheet.machine.wires:
        path = sheet.paths[wire.name]
        if path[0] == "wires":
            yield wire, path


def met_terminals(machine: Machine) -> set[str]:
    """Every terminal that a wire, or an element between parts (a strap), ends at."""
    found = {end for wire in machine.wires for end in wire.ends}
    for element in machine.elements.values():
        found.update(end for end in element.ends if part_of(end) != element.part)
    return found


def rest_nets(machine: Machine) -> Nets:
    """What hangs together at rest through wires, the house's contacts and straps, with the machine plugged in."""
    nets = Nets(wire.ends for wire in machine.wires)
    for element in machine.elements.values():
        if isinstance(element, Contact) and _closed_at_rest(element, machine):
            nets.join(*element.ends)
    return nets


def _closed_at_rest(contact: Contact, machine: Machine) -> bool:
    strap = any(part_of(end) != contact.part for end in contact.ends)
    if not (strap or machine.parts[contact.part].house):
        return False
    return all(machine.controls[w.control].rest in w.positions for w in contact.when if isinstance(w, ByControl))


def earth_terminals(machine: Machine) -> set[str]:
    """Terminals that belong to protective earth: the frame, and those named PE."""
    named = {t for t in machine.terminals if t.rpartition(".")[2] in ("PE", "prong PE")}
    metal = {t for t in machine.terminals if machine.parts[part_of(t)].symbol in ("frame", "earth")}
    return named | metal | ({machine.frame} - {""})


def value_path(part: str, *names: str) -> tree.Path:
    """The path of a value of a part in the file."""
    return ("parts", part, *names)
