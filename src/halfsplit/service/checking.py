"""`check`: every problem of machine files, and the faults that a machine can have."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from halfsplit.errors import Problem
from halfsplit.machine import loading
from halfsplit.modes import listing
from halfsplit.service import machines


@dataclass(frozen=True)
class Checked:
    """The problems of some files, and whether each of them could be read at all."""

    problems: tuple[Problem, ...]
    readable: bool

    def as_data(self) -> dict[str, Any]:
        """As the contract has it."""
        return {"problems": [asdict(problem) for problem in self.problems]}


def check(files: Iterable[str]) -> Checked:
    """All problems of all files, in their order. Raises WrongUse where the library has no such machine."""
    problems: list[Problem] = []
    readable = True
    for file in files:
        machine, found = loading.examine(file)
        problems += found
        readable &= machine is not None
    return Checked(tuple(problems), readable)


def faults(file: str) -> dict[str, Any]:
    """Every single fault of a machine with its relative rate and the repair that cures it."""
    found = listing.faults(machines.load(file))
    return {"faults": [{"fault": f.name, "rate": f.rate, "repair": f.repair.name} for f in found]}
