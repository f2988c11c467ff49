"""Rules about contacts and controls that change nothing: wired past, wired to nothing, or marked wrongly."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from halfsplit.audit.survey import Survey
from halfsplit.circuit.network import Array
from halfsplit.machine import primitives, tree
from halfsplit.machine.rules.facts import Flaw
from halfsplit.operate.condition import Condition
from halfsplit.operate.effect import HEALTHY

__all__ = ["contact_bypassed", "contact_idle", "control_idle", "position_idle"]

CARRIES = 2e-4
"""Amps above which a contact carries something; an open wire picks up some millionths."""
_Row = tuple[str, tuple[int, ...], frozenset[str]]  # the other controls, volts of the loads, devices moved
ALIKE = 0.02
"""Share of the supply's volts by which two settings must differ."""


def contact_idle(survey: Survey) -> Iterator[Flaw]:
    """A contact changes nothing, whatever is set: it is never closed, or joins nothing that is fed. Not where the file
    calls one of its ends spare."""
    for contact in _without_effect(survey):
        if _most_amps(survey, contact) < CARRIES and not _is_spare(survey, contact):
            closed = any(contact.name in run.settled.state.closed for run in survey.runs)
            why = "no current ever passes it" if closed else "it is closed in no setting"
            message = f"The contact '{contact.name}' never changes anything: {why}."
            yield Flaw(_path(survey, contact), message, "Look at its marks and at where both of its wires go.")


def contact_bypassed(survey: Survey) -> Iterator[Flaw]:
    """A contact carries current and could as well stay open: something goes round it."""
    for contact in _without_effect(survey):
        if _most_amps(survey, contact) >= CARRIES:
            message = f"Opening the contact '{contact.name}' changes nothing: something goes round it."
            yield Flaw(_path(survey, contact), message, "Follow its wires: two of them end at the same place.")


def control_idle(survey: Survey) -> Iterator[Flaw]:
    """A control changes nothing, wherever it is set."""
    for name, control in survey.by_hand.items() if survey.complete else ():
        if len(_apart(survey, name)) < 2 and len(control.positions) > 1:
            message = f"Nothing changes, wherever '{name}' is set."
            yield Flaw(("controls", name), message, "Look at the wires of the contacts that it moves.")


def position_idle(survey: Survey) -> Iterator[Flaw]:
    """Two positions of a control do the very same in every setting of the others."""
    for name, control in survey.by_hand.items() if survey.complete else ():
        kinds = _apart(survey, name)
        if control.momentary or len(kinds) < 2:
            continue
        for alike in (group for group in kinds.values() if len(group) > 1):
            index = control.positions.index(alike[1])
            message = f"'{alike[1]}' of '{name}' does the same as '{alike[0]}'."
            remedy = "A mark of its contacts, or a wire, is wrong; if they only differ in time, make them one."
            yield Flaw(("controls", name, "positions", index), message, remedy)


# ---- what the rules ask -----------------------------------------------------------------------------------


def _most_amps(survey: Survey, contact: primitives.Contact) -> float:
    return float(survey.amps[:, survey.built.branches[contact.name]].max())


def _is_spare(survey: Survey, contact: primitives.Contact) -> bool:
    """Whether its part's entry says that no wire belongs on one of its ends (`spare`)."""
    spare = {f"{contact.part}.{terminal}" for terminal in survey.sheet.file.parts[contact.part].spare}
    return not spare.isdisjoint(contact.ends)


def _without_effect(survey: Survey) -> list[primitives.Contact]:
    """The contacts whose opening changes neither the volts of any load nor what runs."""
    left = list(survey.own_contacts)
    for at in _where_each_carries_most(survey, left):
        if not left:
            break
        effects = (HEALTHY, *(survey.opened(contact.name) for contact in left))
        seen = {m: (survey.across(volts), run.other) for m, run, volts, _ in survey.settle(at, effects)}
        left = [contact for i, contact in enumerate(left, 1) if _same(survey, seen[0], seen[i])]
    return left


def _where_each_carries_most(survey: Survey, contacts: list[primitives.Contact]) -> list[Condition]:
    """Named settings, and for each contact the one in which it carries most."""
    k = [survey.built.branches[contact.name] for contact in contacts]
    best = [survey.runs[row].condition for row in survey.amps[:, k].argmax(axis=0).tolist()]
    return list(dict.fromkeys([*survey.named, *best]))


def _same(survey: Survey, one: tuple[Array, frozenset[str]], two: tuple[Array, frozenset[str]]) -> bool:
    return one[1] == two[1] and bool((np.abs(one[0] - two[0]) < ALIKE * survey.supply_volts).all())


def _apart(survey: Survey, control: str) -> dict[tuple[_Row, ...], list[str]]:
    """What each position of a control makes of all settings of the others: outcome to the positions that give it."""
    rows: dict[str, list[_Row]] = {}
    for index, run in enumerate(survey.runs):
        others = str([item for item in run.condition.setting if item[0] != control])
        volts = tuple((survey.load_volts[index] / (ALIKE * survey.supply_volts)).round().astype(int).tolist())
        rows.setdefault(run.condition.position(control), []).append((others, volts, run.other))
    kinds: dict[tuple[_Row, ...], list[str]] = {}
    for position, outcomes in rows.items():
        kinds.setdefault(tuple(sorted(outcomes, key=_others)), []).append(position)
    return kinds


def _others(row: _Row) -> str:
    return row[0]


def _path(survey: Survey, contact: primitives.Contact) -> tree.Path:
    """The line of a chart that gives the contact, else its part."""
    return survey.chart_path(contact) or ("parts", contact.part)
