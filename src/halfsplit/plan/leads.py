"""Where the two leads of a meter go on a machine: terminals that they reach, and the pairs that a repairer trusts.

Across one part, along one wire, from a supply terminal to a point, to the frame, between the plug's prongs. Knows the
machine; nothing of conditions, nor of what would be read.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from halfsplit.machine import feeding, model

LARGEST_CONNECTOR = 6
"""Terminals of one part up to which every pair of them is tried; above, only pairs joined by an element."""


def reachable(machine: model.Machine, part: model.Part) -> list[str]:
    """The terminals of a part that a lead can reach where the part is: not those inside it, nor those in a socket."""
    return [terminal for terminal in part.reachable if terminal not in machine.gripped]


def blades(machine: model.Machine, part: str) -> tuple[str, ...]:
    """The terminals of a part that sit in a socket; leads reach them where the part is lifted out."""
    return tuple(terminal for terminal in machine.gripped if model.part_of(terminal) == part)


def own_parts(machine: model.Machine) -> list[model.Part]:
    """The machine's own parts; what the house has is reached only at the receptacle."""
    return [part for part in machine.parts.values() if not part.house]


def plug(machine: model.Machine) -> list[str]:
    """The plug's prongs, which are seen when it is out."""
    return [t for t in machine.terminals if machine.parts[model.part_of(t)].house and ".prong " in t]


def prongs(machine: model.Machine) -> list[str]:
    """The plug's prongs, where leads reach them on the isolated machine: not those of one that is isolated at the
    breaker, whose plug stays in."""
    return [] if feeding.at_breaker(machine) else plug(machine)


def slots(machine: model.Machine) -> list[str]:
    """The receptacle's slots, live, which leads reach when the plug is out."""
    return [t.replace("prong ", "") for t in plug(machine)]


def pairs_of_parts(machine: model.Machine) -> Iterator[tuple[str, str]]:
    """Pairs of terminals of one part: all of a small one, of a large one those that an element joins."""
    for part in own_parts(machine):
        yield from pairs_of(machine, part)


def pairs_of(machine: model.Machine, part: model.Part) -> Iterator[tuple[str, str]]:
    """The same of one part."""
    terminals = reachable(machine, part)
    if len(terminals) <= LARGEST_CONNECTOR:
        yield from combinations(terminals, 2)
    else:
        yield from _joined(machine, part, set(terminals))


def _joined(machine: model.Machine, part: model.Part, terminals: set[str]) -> Iterator[tuple[str, str]]:
    for element in machine.elements.values():
        if element.part == part.name and set(element.ends) <= terminals:
            yield element.ends


def pairs_along_wires(machine: model.Machine) -> Iterator[tuple[str, str]]:
    """The two ends of each wire."""
    for wire in machine.wires:
        if not any(machine.parts[model.part_of(end)].house for end in wire.ends):
            yield wire.ends


def pairs_from_supply(machine: model.Machine) -> Iterator[tuple[str, str]]:
    """From each terminal that the supply meets to every other terminal of the machine, and among themselves."""
    meets = [t for t in machine.supply.meets if t != machine.frame]
    for part in own_parts(machine):
        for terminal in reachable(machine, part):
            yield from ((meet, terminal) for meet in meets if meet != terminal)


def pairs_to_frame(machine: model.Machine) -> Iterator[tuple[str, str]]:
    """From the frame to every terminal of the machine's own parts."""
    for part in own_parts(machine) if machine.frame else ():
        yield from ((t, machine.frame) for t in reachable(machine, part) if t != machine.frame)


def trusted_pairs(machine: model.Machine) -> list[tuple[str, str]]:
    """Where a repairer trusts an ohms reading: each pair once, the plug's prongs last."""
    pairs = [*pairs_of_parts(machine), *pairs_along_wires(machine), *pairs_from_supply(machine)]
    found = list(dict.fromkeys([*pairs, *pairs_to_frame(machine)]))
    found += combinations(prongs(machine), 2)
    return found + [(prong, machine.frame) for prong in prongs(machine) if machine.frame]
