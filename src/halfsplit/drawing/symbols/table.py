"""The one table of symbols: every kind that an element of a sheet may have. May know: the symbols."""

from __future__ import annotations

from halfsplit import errors
from halfsplit.drawing.symbols import contacts, links, loads
from halfsplit.drawing.symbols.shapes import Symbol

_CONTACTS = {"make contact": (False, ""), "break contact": (True, ""), "overload": (True, "heat")}
_FIXED = {**loads.LOADS, **links.LINKS}
_OPEN = {"fuse": "blown fuse", "thermal cut-off": "open thermal cut-off", "breaker": "open breaker"}


def kinds() -> dict[str, str]:
    """Every kind and what it means, in words."""
    moving = {"make contact": "contact, open at rest", "break contact": "contact, closed at rest"}
    return {**moving, "overload": "thermal overload", **{kind: words for kind, (_, words) in _FIXED.items()}}


def actuators() -> dict[str, str]:
    """Everything that may move a contact and what it means, in words."""
    return {name: words for name, (_, words) in contacts.ACTUATORS.items()}


def symbol(kind: str, closed: bool | None = None, actuator: str = "") -> Symbol:
    """The symbol of a kind as it stands; ``closed`` None is at rest.

    >>> symbol("lamp").up
    12

    :raises halfsplit.errors.WrongUse: for a kind or an actuator that is not in the tables.
    """
    if actuator and actuator not in contacts.ACTUATORS:
        raise _unknown("actuator", actuator, contacts.ACTUATORS)
    if kind in _CONTACTS:
        breaks, own = _CONTACTS[kind]
        return contacts.contact(breaks, breaks if closed is None else closed, actuator or own)
    if kind not in _FIXED:
        raise _unknown("kind", kind, kinds())
    return _FIXED[_OPEN.get(kind, kind) if closed is False else kind][0]


def _unknown(what: str, name: str, known: dict[str, str] | dict[str, tuple[tuple[str, ...], str]]) -> errors.WrongUse:
    return errors.WrongUse(f"No symbol for the {what} '{name}'.", errors.did_you_mean(name, known))
