"""The sheets of the library's machines that the tests of drawing share: every machine in every named setting."""

from __future__ import annotations

from functools import cache

from halfsplit.drawing.sheet import Sheet
from halfsplit.machine import library
from halfsplit.service import asking, machines, sheets, standing

REST = ""


def cases() -> list[tuple[str, str]]:
    """Every machine at rest and in each of its named settings."""
    return [(name, setting) for name in library.names() for setting in (REST, *machines.load(name).settings)]


@cache
def stands(name: str, setting: str = REST, isolated: bool = False, fault: str = "") -> standing.Standing:
    """A machine of the library as it stands."""
    machine = machines.load(name)
    at = asking.condition(machine, [setting] if setting else [], isolated, ())
    return standing.standing(machine, at, [fault] if fault else [])


def sheet(name: str, setting: str = REST, house: bool | None = None, isolated: bool = False, fault: str = "") -> Sheet:
    """Its sheet."""
    return sheets.sheet(stands(name, setting, isolated, fault), house)
