"""Rules about gas: a machine that burns it and does not say so, and gas where no bay is said to hold it."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.expand.scope import OUTSIDE
from halfsplit.machine.expand.symptoms import SMELL
from halfsplit.machine.rules.facts import Flaw

__all__ = ["gas_bay_not_named", "gas_by_another_name", "gas_not_said"]


def gas_not_said(sheet: Sheet) -> Iterator[Flaw]:
    """A part is called after gas, and the file does not say that the machine burns gas, nor where it is shut off."""
    if sheet.machine.gas is not None:
        return
    for name, part in sheet.machine.parts.items():
        if "gas" in {*name.casefold().split(), *part.type.split()}:
            remedy = "Write where it is shut off: `gas: {cock: ..., bays: [...], parts: [...]}`."
            yield Flaw(("parts", name), f"'{name}' is of gas, and the file has no `gas`.", remedy)


def gas_bay_not_named(sheet: Sheet) -> Iterator[Flaw]:
    """A part that gas flows through lies in a bay that is not among the bays of `gas`: hands would work under gas."""
    gas = sheet.machine.gas
    for index, name in enumerate(gas.parts if gas else ()):
        bay = sheet.machine.parts[name].bay
        if gas and bay not in (OUTSIDE, *gas.bays):
            message = f"'{name}' lies in '{bay}', which is not among the bays of `gas`."
            yield Flaw(("gas", "parts", index), message, f"Add {bay} to `bays` of `gas`.")


def gas_by_another_name(sheet: Sheet) -> Iterator[Flaw]:
    """A leak of gas is written as a symptom: the smell of gas is asked for already."""
    for name, symptom in sheet.machine.symptoms.items():
        if symptom.kind == "smells" and name != SMELL:
            message = f"'{name}' is a smell of gas, and '{SMELL}' comes with `gas`."
            yield Flaw(("symptoms", name), message, "Take this symptom out.")
