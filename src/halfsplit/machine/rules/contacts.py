"""Rules about controls, charts and contacts: what a slip in reading a contact chart does."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.machine import tree
from halfsplit.machine.expand.elements import chart_ends
from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.model import Control
from halfsplit.machine.primitives import ByControl, Contact
from halfsplit.machine.rules.facts import Flaw

__all__ = [
    "chart_line_always_closed",
    "chart_line_doubled",
    "chart_line_never_closed",
    "chart_position_doubled",
    "control_unheard",
    "positions_alike",
    "same_setting_twice",
]


def _lines(sheet: Sheet) -> Iterator[tuple[tree.Path, str, tuple[str, ...], str]]:
    """Every line of every chart: its path, its contact, the positions, the control."""
    for name, entry in sheet.file.parts.items():
        for value, spec in sheet.types[entry.type].values.items():
            chart = entry.values.get(value)
            if spec.kind != "chart" or not isinstance(chart, dict):
                continue
            for key, positions in chart.items():
                element = sheet.machine.elements[f"{name}.{key}"]
                control = _control_of(element) if isinstance(element, Contact) else ""
                listed = (positions,) if isinstance(positions, str) else tuple(positions)
                yield ("parts", name, value, key), key, listed, control


def _control_of(contact: Contact) -> str:
    return next((when.control for when in contact.when if isinstance(when, ByControl)), "")


def chart_line_never_closed(sheet: Sheet) -> Iterator[Flaw]:
    """A line of a chart names no position: its marks were overlooked."""
    for path, key, positions, _ in _lines(sheet):
        if not positions:
            yield Flaw(path, f"Contact {key} is closed in no position.", "Look at its marks in the chart.")


def chart_line_always_closed(sheet: Sheet) -> Iterator[Flaw]:
    """A line of a chart names every position: then it switches nothing, and a mark is one too many."""
    for path, key, positions, control in _lines(sheet):
        if set(positions) == set(sheet.machine.controls[control].positions):
            message = f"Contact {key} is closed in every position of '{control}'."
            yield Flaw(path, message, "Look at its marks in the chart: in one of them it opens.")


def chart_position_doubled(sheet: Sheet) -> Iterator[Flaw]:
    """A line of a chart names one position twice: another one was meant."""
    for path, key, positions, _ in _lines(sheet):
        twice = sorted({p for p in positions if positions.count(p) > 1})
        if twice:
            yield Flaw(path, f"Contact {key} names '{twice[0]}' twice.", "One of them is another position.")


def chart_line_doubled(sheet: Sheet) -> Iterator[Flaw]:
    """A chart has two lines for one contact, as A-B and as B-A."""
    seen: dict[tuple[str, frozenset[str]], str] = {}
    for path, key, _, _ in _lines(sheet):
        contact = (str(path[1]), frozenset(chart_ends(key)))
        if contact in seen:
            yield Flaw(path, f"Contact {key} is the same as {seen[contact]}.", "Put their positions in one line.")
        seen.setdefault(contact, key)


def control_unheard(sheet: Sheet) -> Iterator[Flaw]:
    """No contact listens to a control: a part's `control:` was forgotten, or the control is not electrical."""
    heard = {when.control for when in _conditions(sheet)}
    for name in sheet.file.controls:
        if name not in heard:
            message = f"No contact listens to the control '{name}'."
            yield Flaw(("controls", name), message, f"Write `control: {name}` at the part it moves, or take it out.")


def _conditions(sheet: Sheet) -> Iterator[ByControl]:
    for element in sheet.machine.elements.values():
        if isinstance(element, Contact):
            yield from (when for when in element.when if isinstance(when, ByControl))


def positions_alike(sheet: Sheet) -> Iterator[Flaw]:
    """Two positions of a control close the very same contacts: a mark of one of them was overlooked."""
    for name in sheet.file.controls:
        control = sheet.machine.controls[name]
        if control.momentary or not any(when.control == name for when in _conditions(sheet)):
            continue
        seen: dict[frozenset[int], str] = {}
        for index, position in enumerate(control.positions):
            closed = _closed(sheet, control, position)
            if closed in seen:
                message = f"'{position}' of '{name}' closes the same contacts as '{seen[closed]}'."
                yield Flaw(("controls", name, "positions", index), message, "A contact of one of them is missing.")
            seen.setdefault(closed, position)


def _closed(sheet: Sheet, control: Control, position: str) -> frozenset[int]:
    conditions = [when for when in _conditions(sheet) if when.control == control.name]
    return frozenset(i for i, when in enumerate(conditions) if position in when.positions)


def same_setting_twice(sheet: Sheet) -> Iterator[Flaw]:
    """Two named settings say the same."""
    seen: dict[frozenset[tuple[str, str]], str] = {}
    for name, setting in sheet.machine.settings.items():
        same = frozenset(setting)
        if same in seen:
            message = f"The setting '{name}' is the same as '{seen[same]}'."
            yield Flaw(("settings", name), message, "Take one out, or mend it.")
        seen.setdefault(same, name)
