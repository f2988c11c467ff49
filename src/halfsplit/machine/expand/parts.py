"""The parts of one machine, of the file and of the house: their values, elements, devices and modes.

Two passes: first every part's values and terminals, so that all names are known; then what is made from them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from halfsplit.errors import WrongUse, did_you_mean
from halfsplit.machine import amounts, tree
from halfsplit.machine.expand.devices import devices_of
from halfsplit.machine.expand.elements import elements_of, terminals_of
from halfsplit.machine.expand.modes import Failing, modes_of, whole_weight
from halfsplit.machine.expand.scope import Scope
from halfsplit.machine.expand.values import Given, Values, read_values
from halfsplit.machine.format import PartEntry
from halfsplit.machine.model import Part
from halfsplit.machine.part_types import PartType
from halfsplit.machine.primitives import Device, Element

__all__ = ["Built", "Ready", "build", "given_of", "make_ready", "pattern"]


@dataclass(frozen=True)
class Ready:
    """A part whose values are read."""

    given: Given
    spec: PartType
    values: Values
    terminals: tuple[str, ...]
    entry: PartEntry | None


@dataclass
class Built:
    """What the parts come to."""

    parts: dict[str, Part] = field(default_factory=dict)
    elements: dict[str, Element] = field(default_factory=dict)
    devices: dict[str, Device] = field(default_factory=dict)
    mechanical: list[str] = field(default_factory=list)


def given_of(name: str, entry: PartEntry) -> Given:
    """A part of the machine file."""
    return Given(name, entry.type, entry.bay, entry.values, ("parts", name))


def make_ready(given: Given, entry: PartEntry | None, scope: Scope) -> Ready | None:
    """A part with its values read; None, with complaints, where that cannot be."""
    spec = scope.types.get(given.type)
    scope.bay(given.bay, (*given.path, "in"))
    if spec is None:
        remedy = did_you_mean(given.type, scope.types)
        scope.complaints.add((*given.path, "type"), f"There is no part type '{given.type[:60]}'.", remedy)
        return None
    values = read_values(given, spec, scope)
    if values is None:
        return None
    return Ready(given, spec, values, terminals_of(spec, values), entry)


def build(parts: Iterable[Ready], scope: Scope) -> Built:
    """The parts with their elements and devices."""
    built, ready = Built(), list(parts)
    for one in ready:
        try:
            _add(one, built, scope)
        except WrongUse as error:
            scope.complaints.refuse(one.given.path, error)
    for one in ready:
        _check_elements(one, built, scope)
    return built


def _add(ready: Ready, built: Built, scope: Scope) -> None:
    name = ready.given.name
    _check_terminals(ready, scope)
    elements = list(elements_of(name, ready.spec, ready.values))
    devices = list(devices_of(name, ready.spec, ready.values))
    built.elements.update({element.name: element for element in elements})
    built.devices.update({device.name: device for device in devices})
    built.parts[name] = _part(ready, scope)
    if ready.spec.mechanical:
        built.mechanical.append(name)


def _part(ready: Ready, scope: Scope) -> Part:
    entry, spec, given = ready.entry, ready.spec, ready.given
    failing = Failing(given.name, spec, ready.values, ready.terminals, scope.frame)
    whole, weights = _weights(ready, failing, scope)
    return Part(
        name=given.name,
        type=given.type,
        title=(entry.title if entry else None) or given.name,
        bay=given.bay,
        terminals=ready.terminals,
        modes=modes_of(failing, weights),
        price=entry.price[0] if entry and entry.price else amounts.money(spec.price)[0],
        minutes=spec.minutes if entry is None or entry.replace is None else entry.replace,
        rate=whole_weight(failing, whole, weights),
        symbol=spec.symbol,
        house=spec.house,
        fasteners=(entry.fasteners if entry else None) or "",
        caution=entry.caution.told if entry and entry.caution else "",
        cools=spec.cools_in if entry is None or entry.cools_in is None else entry.cools_in,
        lifts=spec.lifts_out if entry is None or entry.lifts_out is None else entry.lifts_out,
    )


def _weights(ready: Ready, failing: Failing, scope: Scope) -> tuple[float | None, dict[str, float]]:
    """The weight of the whole, or those of modes, as the file gives them."""
    fails = ready.entry.fails if ready.entry else None
    path = (*ready.given.path, "fails")
    if fails is None or isinstance(fails, str):
        return (None if fails is None else _weight(fails, path, scope)), {}
    names = [mode.name for mode in modes_of(failing, {})]
    weights = {}
    for name, text in fails.items():
        if scope.known(name, names, "mode", (*path, name), owner=ready.given.name):
            weights[name] = _weight(text, (*path, name), scope)
    return None, weights


def _weight(text: str, path: tree.Path, scope: Scope) -> float:
    try:
        weight = amounts.number(text)
    except WrongUse as error:
        scope.complaints.refuse(path, error)
        return 0.0
    if not 0 <= weight <= 1000:
        scope.complaints.add(path, f"The weight '{text}' is not from 0 to 1000.", "Common parts have 1 to 20.")
        return 0.0
    return weight


def _check_terminals(ready: Ready, scope: Scope) -> None:
    for value in _values_of_kind(ready, "terminals"):
        ends = ready.values[value]
        for index, terminal in enumerate(ends if isinstance(ends, tuple) else ()):
            scope.terminal(str(terminal), (*ready.given.where(value), index))
    for terminal in ready.entry.spare if ready.entry else ():
        scope.known(terminal, ready.terminals, "terminal", (*ready.given.path, "spare"), owner=ready.given.name)


def _check_elements(ready: Ready, built: Built, scope: Scope) -> None:
    for value in _values_of_kind(ready, "element"):
        element = ready.values[value]
        if isinstance(element, str) and element.split(".")[0] not in scope.broken:
            scope.known(element, built.elements, "element", ready.given.where(value))


def _values_of_kind(ready: Ready, kind: str) -> list[str]:
    return [name for name, spec in ready.spec.values.items() if spec.kind == kind]


def pattern(type_name: str, scope: Scope) -> Part:
    """The pattern part of every joint, or of every wire: what changes in its modes is called `self`."""
    spec = scope.types[type_name]
    failing = Failing("", spec, {}, (), scope.frame)
    modes, price = modes_of(failing, {}), amounts.money(spec.price)[0]
    return Part(type_name, type_name, type_name, "", (), modes, price, spec.minutes, spec.fails, spec.symbol)
