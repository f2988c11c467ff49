"""Where the machine's whole current passes on its way from the house: breaker, cable, receptacle and cord.

Found from the machine's wires and the house's contacts, never named. Knows the model; solves nothing.
"""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.machine import model, primitives


def path(machine: model.Machine) -> frozenset[str]:
    """The terminals between the service and where its live conductors and neutral meet the machine, both included.

    The earth is none of them, and neither are the machine's own wires, through which only a part of it goes.

    >>> from halfsplit.machine import loading
    >>> sorted(path(loading.load("water-heater")))[:4]
    ['breaker.line L1', 'breaker.line L2', 'breaker.load L1', 'breaker.load L2']
    """
    links: dict[str, set[str]] = {}
    for a, b in _links(machine):
        links.setdefault(a, set()).add(b)
        links.setdefault(b, set()).add(a)
    found, waiting = set(machine.supply.feeds), list(machine.supply.feeds)
    while waiting:
        new = links.get(waiting.pop(), set()) - found
        found |= new
        waiting += new
    return frozenset(found)


def cord_ends(machine: model.Machine) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Where the cord's wires end: at the prongs of its plug, and in the machine.

    >>> from halfsplit.machine import loading
    >>> cord_ends(loading.load("vented-dryer-3-wire"))[1]
    ('terminal block.L1', 'terminal block.L2', 'terminal block.N')
    """
    ends = [end for wire in machine.cord for end in wire.ends]
    prongs = tuple(end for end in ends if machine.parts[model.part_of(end)].house)
    return prongs, tuple(end for end in ends if end not in prongs)


def at_breaker(machine: model.Machine) -> bool:
    """Whether a machine is isolated at its breaker, so that nobody sees that it is: it is wired in, or its plug lies
    behind it.

    >>> from halfsplit.machine import loading
    >>> [at_breaker(loading.load(name)) for name in ("vented-dryer", "water-heater")]
    [False, True]
    """
    return model.PLUG not in dict(machine.supply.isolates)


def plug_bay(machine: model.Machine) -> str:
    """The bay in which the plug and its receptacle lie; "" where they lie outside, or the machine is wired in.

    >>> from halfsplit.machine import loading
    >>> plug_bay(loading.load("vented-dryer"))
    ''
    """
    bays = (machine.parts[model.part_of(prong)].bay for prong in cord_ends(machine)[0])
    return next((bay for bay in bays if bay in machine.bays), "")


def landing_bay(machine: model.Machine) -> str:
    """The bay in which the supply's conductors land, its earth with them; "outside" where they land in none.

    >>> from halfsplit.machine import loading
    >>> [landing_bay(loading.load(name)) for name in ("vented-dryer", "water-heater")]
    ['rear cover', 'upper cover']
    """
    ends = (end for end in machine.supply.meets if end != machine.frame)
    return next((machine.parts[model.part_of(end)].bay for end in ends), "outside")


def _links(machine: model.Machine) -> Iterator[tuple[str, str]]:
    """What the house joins: wires of which an end is the house's, and contacts of what is no source."""
    house = {part.name for part in machine.parts.values() if part.house}
    sources = {e.part for e in machine.elements.values() if isinstance(e, primitives.Source)}
    yield from (wire.ends for wire in machine.wires if house & {model.part_of(end) for end in wire.ends})
    for element in machine.elements.values():
        if isinstance(element, primitives.Contact) and element.part in house - sources:
            yield element.ends
