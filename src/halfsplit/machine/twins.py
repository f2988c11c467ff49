"""Twins: two parts that plug in and are alike, so that each can stand where the other one stood.

Found from the machine, never named. Knows the model and renames what belongs to a part; solves nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import fields, is_dataclass, replace
from itertools import combinations
from typing import Any, TypeVar

from halfsplit.errors import WrongUse, did_you_mean
from halfsplit.machine import model, primitives

Exchange = tuple[()] | tuple[str, str]
"""Two twins that stand in each other's places, in the order of the file; or none."""
Thing = TypeVar("Thing")


def twins(machine: model.Machine) -> tuple[tuple[str, str], ...]:
    """Every two parts that plug in and are of one type and one set of values, in the order of the file.

    Of one type, with elements and devices that differ by nothing but the part's own name: parts that feel different
    places, or that hands set by different controls, are no twins.

    >>> from halfsplit.machine import loading
    >>> twins(loading.load("coil-cooktop"))[0]
    ('left front burner', 'right rear burner')
    """
    plugged = [part for part in machine.parts.values() if part.lifts > 0 and not part.house]
    return tuple((a.name, b.name) for a, b in combinations(plugged, 2) if _alike(machine, a, b))


def _alike(machine: model.Machine, a: model.Part, b: model.Part) -> bool:
    same = a.type == b.type and a.terminals == b.terminals
    return same and set(exchanged(_own(machine, a), a.name, b.name)) == set(_own(machine, b))


def _own(machine: model.Machine, part: model.Part) -> tuple[object, ...]:
    """What a part is made of and how it fails, whatever its faults' rates."""
    made = (thing for things in (machine.elements, machine.devices) for thing in things.values())
    ways = (replace(mode, rate=0.0) for mode in part.modes)
    return (*(thing for thing in made if thing.part == part.name), *ways)


def known(machine: model.Machine, named: tuple[str, ...]) -> Exchange:
    """Two parts as an exchange of twins, in the order of the file; none where nothing is named.

    Raises WrongUse for parts that are no twins.
    """
    if not named:
        return ()
    found = twins(machine)
    pair = next((pair for pair in found if set(pair) == set(named) and len(named) == 2), None)
    if pair is None:
        told = " and ".join(repr(name) for name in named)
        pairs = [f"{a} and {b}" for a, b in found]
        remedy = did_you_mean(" and ".join(named), pairs) if pairs else "This machine has no twins."
        raise WrongUse(f"{told} are no two parts that plug in and are alike.", remedy)
    return pair


# ---- names -------------------------------------------------------------------------------------------------


def exchanged(thing: Thing, a: str, b: str) -> Thing:
    """A thing of the model with the names of two parts, and of all that belongs to them, exchanged.

    >>> exchanged(("burner.1", "rear burner.1", "burner"), "burner", "rear burner")
    ('rear burner.1', 'burner.1', 'rear burner')
    """
    found: Any = thing
    if isinstance(found, str):
        return _renamed(found, a, b)  # type: ignore[return-value]
    if isinstance(found, tuple):
        return tuple(exchanged(one, a, b) for one in found)  # type: ignore[return-value]
    if isinstance(found, primitives.Value):
        return replace(found, shared=_renamed(found.shared, a, b))  # type: ignore[return-value]
    if is_dataclass(found) and not isinstance(found, type):
        new = {field.name: exchanged(getattr(found, field.name), a, b) for field in fields(found)}
        return replace(found, **new)  # type: ignore[return-value]
    return thing


def _renamed(name: str, a: str, b: str) -> str:
    part, stop, own = name.partition(".")
    return {a: b, b: a}.get(part, part) + stop + own


def rewired(machine: model.Machine, a: str, b: str) -> model.Machine:
    """The machine with two parts' wires exchanged, terminal by terminal: each part stands where the other one stood.

    What the file says of other parts and of the house follows to the other terminals; the parts keep their names, their
    elements and their faults.
    """
    elements = {
        name: element if element.part in (a, b) else replace(element, ends=exchanged(element.ends, a, b))
        for name, element in machine.elements.items()
    }
    wires = tuple(replace(wire, ends=exchanged(wire.ends, a, b)) for wire in machine.wires)
    return replace(machine, elements=elements, wires=wires)


def sockets(machine: model.Machine, name: str) -> Iterator[str]:
    """The other parts that a part plugs into: those with an element that ends at one of its terminals."""
    own = {f"{name}.{terminal}" for terminal in machine.parts[name].terminals}
    found = (e.part for e in machine.elements.values() if e.part != name and own.intersection(e.ends))
    yield from dict.fromkeys(found)


def held(machine: model.Machine, name: str) -> tuple[str, ...]:
    """The terminals of other parts that sit in a part: what plugs in comes out before its socket is replaced or
    looked at.

    >>> from halfsplit.machine import loading
    >>> held(loading.load("coil-cooktop"), "left front receptacle")
    ('left front burner.1', 'left front burner.2')
    """
    gripped = machine.gripped.items()
    return tuple(t for t, grips in gripped if any(machine.elements[grip].part == name for grip in grips))


def pulled(machine: model.Machine, terminals: Iterable[str]) -> tuple[str, ...]:
    """The parts that plug in which are lifted out where these terminals are off; a part comes out with all of its own.

    >>> from halfsplit.machine import loading
    >>> pulled(loading.load("coil-cooktop"), ["left front burner.1", "left front burner.2", "left front receptacle.1"])
    ('left front burner',)
    """
    return tuple(dict.fromkeys(model.part_of(terminal) for terminal in terminals if terminal in machine.gripped))
