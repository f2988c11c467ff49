"""What the expansion of one machine looks names up in: controls, places, bays, parts, terminals.

Knows the file, the supply system and the part types; a name that is not there becomes a problem with a remedy.
A name whose own entry is broken is passed over in silence: it has its problem already.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from halfsplit.errors import did_you_mean
from halfsplit.machine import tree
from halfsplit.machine.complaints import Complaints
from halfsplit.machine.format import MachineFile
from halfsplit.machine.model import Control, is_inner
from halfsplit.machine.part_types import PartType
from halfsplit.machine.supplies import SupplySystem

__all__ = ["OUTSIDE", "WARMTH", "Scope"]

OUTSIDE = "outside"
WARMTH = "warmth"


@dataclass
class Scope:
    """The names of one machine, and its complaints."""

    file: MachineFile
    complaints: Complaints
    types: Mapping[str, PartType]
    supply: SupplySystem | None
    broken: frozenset[str] = frozenset()
    controls: dict[str, Control] = field(default_factory=dict)
    terminals: dict[str, tuple[str, ...]] = field(default_factory=dict)
    mechanical: set[str] = field(default_factory=set)
    frame: str = ""

    def known(self, name: str, names: Iterable[str], what: str, path: tree.Path, owner: str = "") -> bool:
        """Whether a name is one of those (of the `owner`, if any); if not, and it is not broken, that is a problem."""
        names = list(names)
        if name in names:
            return True
        if name not in self.broken:
            begin = f"'{owner}' has no" if owner else "There is no"
            self.complaints.add(path, f"{begin} {what} '{name[:60]}'.", did_you_mean(name, names))
        return False

    def control(self, name: str, path: tree.Path) -> bool:
        """Whether a control exists."""
        return self.known(name, self.controls, "control", path)

    def position(self, control: str, position: str, path: tree.Path) -> bool:
        """Whether a control has a position."""
        if not self.control(control, path):
            return False
        return self.known(position, self.controls[control].positions, "position", path, owner=control)

    def place(self, name: str, path: tree.Path) -> bool:
        """Whether the file gives temperatures for a place."""
        return self.known(name, self.file.temperatures, "place", path, owner="temperatures")

    def bay(self, name: str, path: tree.Path) -> bool:
        """Whether a bay exists."""
        return self.known(name, [OUTSIDE, *self.file.bays, *(self.supply.bays if self.supply else ())], "bay", path)

    def part(self, name: str, path: tree.Path) -> bool:
        """Whether a part exists."""
        return self.known(name, self.terminals, "part", path)

    def terminal(self, name: str, path: tree.Path, shift: int = 0) -> bool:
        """Whether `part.terminal` exists and a lead can reach it."""
        part, dot, terminal = name.partition(".")
        if part in self.broken:
            return False
        if not dot:
            return self._say(path, f"'{name[:60]}' is no terminal.", "Write it as part.terminal.", shift)
        if part not in self.terminals:
            return self._say(path, f"There is no part '{part[:60]}'.", did_you_mean(part, self.terminals), shift)
        outer = [t for t in self.terminals[part] if not is_inner(t)]
        if terminal in outer:
            return True
        near = did_you_mean(terminal, outer) if outer else "It has none."
        return self._say(path, f"'{part}' has no terminal '{terminal[:60]}'.", near, shift)

    def _say(self, path: tree.Path, message: str, remedy: str, shift: int) -> bool:
        self.complaints.add(path, message, remedy, shift)
        return False

    @property
    def _warmths(self) -> set[str]:
        return {name for place in self.file.temperatures.values() for name in place}

    def warmth(self, name: str, path: tree.Path) -> bool:
        """Whether the file gives temperatures for a warmth."""
        return self.known(name, self._warmths, "warmth", path, owner="temperatures")

    def setting(self, given: Mapping[str, str], path: tree.Path) -> tuple[tuple[str, str], ...]:
        """A setting whose controls and positions exist; `warmth` names one of the temperatures."""
        kept = []
        for control, position in given.items():
            here = (*path, control)
            if control in self.broken and control not in self.controls:
                continue  # the control has its problem already
            if control == WARMTH and WARMTH not in self.controls:
                good = self.warmth(position, here)
            else:
                known = self.known(control, [*self.controls, *([WARMTH] if self._warmths else [])], "control", here)
                good = known and self.position(control, position, here)
            if good:
                kept.append((control, position))
        return tuple(kept)
