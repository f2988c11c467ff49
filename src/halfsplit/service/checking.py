"""`check`: every problem of machine files, and the faults that a machine can have."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from halfsplit.audit import catalogue as behaviour
from halfsplit.audit.survey import Survey
from halfsplit.circuit.network import NetworkError
from halfsplit.errors import BadInput, Problem
from halfsplit.machine import library, loading
from halfsplit.machine.complaints import Complaints
from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.model import Machine
from halfsplit.machine.rules import catalogue as static
from halfsplit.modes import listing
from halfsplit.predict import healthy, mending
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
        machine, found = examine(file)
        problems += found
        readable &= machine is not None
    return Checked(tuple(problems), readable)


def examine(file: str) -> tuple[Machine | None, list[Problem]]:
    """The machine, if the file can be read, and all its problems: of its wiring, and of what it would do."""
    try:
        name, text, path = library.find(file)
        return examine_text(text, name, path)
    except BadInput as error:
        return None, list(error.problems)


def examine_text(text: str, name: str, path: Path | None = None) -> tuple[Machine | None, list[Problem]]:
    """The same for a text."""
    try:
        sheet, complaints = loading.read_with_complaints(text, name, path)
    except BadInput as error:
        return None, list(error.problems)
    with contextlib.suppress(BadInput):  # so many that it stops: they are all in the complaints
        static.apply(sheet, complaints)
        _run(sheet, complaints)
    return sheet.machine, sorted(complaints.problems)


def _run(sheet: Sheet, complaints: Complaints) -> None:
    """What the healthy machine would do; what nobody can solve is a problem of the file, and said so."""
    if static.spoiled(sheet):
        return  # said already; whatever is computed would be wrong by these volts
    survey = Survey(sheet)
    try:
        odd = behaviour.apply(survey, complaints) or healthy.apply(sheet, survey.operation, complaints)
        for flaw in mending.proposed(survey) if odd else ():
            complaints.add(flaw.path, flaw.message, flaw.remedy, flaw.shift)
    except NetworkError as error:
        complaints.add((), f"The wiring of this file cannot be computed: {error}.", "Mend the other problems first.")


def faults(file: str) -> dict[str, Any]:
    """Every single fault of a machine with its relative rate and the repair that cures it."""
    found = listing.faults(machines.load(file))
    return {"faults": [{"fault": f.name, "rate": f.rate, "repair": f.repair.name} for f in found]}
