"""Rules about how a machine comes apart: bays that cannot be reached, or that nobody needs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.expand.scope import OUTSIDE
from halfsplit.machine.model import Bay
from halfsplit.machine.rules.facts import Flaw

__all__ = ["bay_empty", "bay_in_a_ring", "frees_no_switch", "hands_at_nothing", "names_alike", "unplugs_from_behind"]


def _before(name: str, bays: Mapping[str, Bay]) -> list[str] | None:
    """The bays to open before one, nearest first; None where they go round in a ring."""
    found: list[str] = []
    while name != OUTSIDE:
        name = bays[name].behind
        if name in found:
            return None
        found.append(name)
    return found


def bay_in_a_ring(sheet: Sheet) -> Iterator[Flaw]:
    """Bays lie behind each other in a ring, so that none of them can be opened first."""
    bays = sheet.machine.bays
    for name in sheet.file.bays:
        if _before(name, bays) is None:
            message = f"'{name}' cannot be reached: following `behind` never comes to `outside`."
            yield Flaw(("bays", name, "behind"), message, "One of the bays on the way lies behind `outside`.")


def bay_empty(sheet: Sheet) -> Iterator[Flaw]:
    """Nothing lies in a bay, nor behind it: a part's `in:` names another one."""
    needed = {part.bay for part in sheet.machine.parts.values()} | {bay.behind for bay in sheet.machine.bays.values()}
    for name in sheet.file.bays:
        if name not in needed:
            message = f"Nothing lies in '{name}' or behind it."
            yield Flaw(("bays", name), message, "Mend a part's `in:`, or take the bay out.")


def unplugs_from_behind(sheet: Sheet) -> Iterator[Flaw]:
    """To open a bay, a part has to be unplugged that lies behind that bay itself."""
    bays = sheet.machine.bays
    for name, entry in sheet.file.bays.items():
        for index, part in enumerate(entry.unplugs):
            bay = sheet.machine.parts[part].bay
            if bay != OUTSIDE and name in (_before(bay, bays) or ()):
                message = f"'{part}' lies behind '{name}' and cannot be unplugged to open it."
                yield Flaw(("bays", name, "unplugs", index), message, "Name the connector that can be reached.")


def frees_no_switch(sheet: Sheet) -> Iterator[Flaw]:
    """A bay frees a control that has not two positions, springs back, or works no contact: how it then stands is not
    known."""
    for name, entry in sheet.file.bays.items():
        for index, what in enumerate(entry.frees):
            control = None if what in sheet.machine.parts else sheet.machine.controls.get(what)
            if control is None:
                continue
            known = len(control.positions) == 2 and not control.momentary and sheet.machine.worked_by(what)
            if not known:
                message = f"With '{name}' open nothing says how '{what}' stands."
                remedy = "Free a control of two positions that works a contact, or leave it out."
                yield Flaw(("bays", name, "frees", index), message, remedy)


def hands_at_nothing(sheet: Sheet) -> Iterator[Flaw]:
    """A control says how it stands while hands are at its part, but works no part's contacts."""
    for name, entry in sheet.file.controls.items():
        if entry.hands is not None and not sheet.machine.worked_by(name):
            message = f"'{name}' works no contact that hands could be at."
            yield Flaw(("controls", name, "hands"), message, "Leave `hands` out, or name the control at its switch.")


def names_alike(sheet: Sheet) -> Iterator[Flaw]:
    """Two parts, bays, places or controls have one name but for case, blanks and hyphens: one thing, written twice."""
    for section in ("parts", "bays", "temperatures", "controls", "symptoms"):
        seen: dict[str, str] = {}
        for name in getattr(sheet.file, section):
            bare = name.casefold().replace(" ", "").replace("-", "").replace("_", "")
            if bare in seen:
                message = f"'{name}' and '{seen[bare]}' read alike."
                yield Flaw((section, name), message, "If they are one, take one out; if two, say how they differ.")
            seen.setdefault(bare, name)
