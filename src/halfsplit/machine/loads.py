"""The loads of a machine as a person names them, and the volts that each is made for.

Knows the model; solves nothing.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import takewhile

from halfsplit.machine import model, primitives

__all__ = ["Load", "leg_volts", "loads_of", "made_for", "made_for_both_legs", "supply_volts", "watts"]

STRONG_WATTS = 1000.0
"""A heater that would give this much across both legs is made for both; common practice, no source."""


@dataclass(frozen=True)
class Load:
    """A load as a person names it: elements in series inside their part, between two terminals."""

    part: str
    name: str
    elements: tuple[str, ...]
    ends: tuple[str, str]
    rated: float
    """Volts that the file or the type gives it; 0 where none are given."""


def loads_of(machine: model.Machine) -> Iterator[Load]:
    """Every load of the machine's own parts, in the order of the file.

    >>> from halfsplit.machine import loading
    >>> [(load.name, load.rated) for load in loads_of(loading.load("coil-cooktop")) if "left front" in load.name]
    [('left front pilot', 120.0), ('left front burner', 0.0)]
    """
    met: dict[str, list[str]] = {}
    for element in machine.elements.values():
        for end in element.ends:
            met.setdefault(end, []).append(element.name)
    done: set[str] = set()
    for element in machine.elements.values():
        if element.name in done or machine.parts[element.part].house or not getattr(element, "load", False):
            continue
        names, ends = _chain(machine.elements, met, element)
        done.update(names)
        name = element.part if _alone(machine, element, names) else _together(names)
        yield Load(element.part, name, names, ends, _rated(machine, element))


def _rated(machine: model.Machine, element: primitives.Element) -> float:
    """The volts that the file or its part type gives a load; 0 where neither does."""
    if isinstance(element, primitives.Winding):
        motor = machine.devices[element.motor]
        return motor.rated if isinstance(motor, primitives.Motor) else 0.0
    return element.rated if isinstance(element, primitives.Impedance) else 0.0


def _alone(machine: model.Machine, element: primitives.Element, names: tuple[str, ...]) -> bool:
    """Whether these are all the loads of their part."""
    return {e.name for e in machine.elements.values() if e.part == element.part and getattr(e, "load", False)} <= {
        *names
    }


def _together(names: tuple[str, ...]) -> str:
    """What the names of a chain begin with, in whole words.

    >>> _together(("heater.front coil near half", "heater.front coil far half"))
    'heater.front coil'
    """
    words = [name.split(" ") for name in names]
    same = [w[0] for w in takewhile(lambda column: len(set(column)) == 1, zip(*words, strict=False))]
    return " ".join(same) or names[0]


def _chain(
    elements: Mapping[str, primitives.Element], met: Mapping[str, list[str]], first: primitives.Element
) -> tuple[tuple[str, ...], tuple[str, str]]:
    """The load elements in series with one through terminals that nothing else meets, and the ends of all."""
    names, ends = [first.name], list(first.ends)
    for side in (0, 1):
        while model.is_inner(ends[side]) and len(met[ends[side]]) == 2:
            (following,) = [name for name in met[ends[side]] if name not in names] or [""]
            if not following or not getattr(elements[following], "load", False):
                break
            a, b = elements[following].ends
            ends[side] = b if a == ends[side] else a
            names.append(following)
    return tuple(names), (ends[0], ends[1])


# ---- volts ------------------------------------------------------------------------------------------------


def made_for(machine: model.Machine, load: Load) -> float:
    """The volts that a load is made for: what is given; else both legs of the supply, or one of them.

    >>> from halfsplit.machine import loading
    >>> tank = loading.load("water-heater")
    >>> [made_for(tank, load) for load in loads_of(tank)]
    [240.0, 240.0]
    """
    if load.rated:
        return load.rated
    return supply_volts(machine) if made_for_both_legs(machine, load) else leg_volts(machine)


def made_for_both_legs(machine: model.Machine, load: Load) -> bool:
    """Whether a load of which no volts are told is a strong heater in a machine with two legs."""
    heater = machine.parts[load.part].symbol == "heater" and not load.rated
    two_legs = supply_volts(machine) > 1.5 * leg_volts(machine)
    return heater and two_legs and watts(machine, load, supply_volts(machine)) > STRONG_WATTS


def watts(machine: model.Machine, load: Load, volts: float) -> float:
    """What a load at rest takes across so many volts."""
    ohms = sum(_live(machine.elements[name]) for name in load.elements)
    return (volts**2 / ohms).real if ohms else 0.0


def _live(element: primitives.Element) -> complex:
    if isinstance(element, primitives.Impedance):
        return element.ohms.nominal * element.live
    return complex(element.ohms.nominal) if isinstance(element, primitives.Winding) else 0j


def leg_volts(machine: model.Machine) -> float:
    """The nominal volts of the supply's first leg to neutral."""
    return next(e.volts.nominal for e in machine.elements.values() if isinstance(e, primitives.Source))


def supply_volts(machine: model.Machine) -> float:
    """The highest nominal volts between any two of the supply's conductors.

    Two legs at 120 V, 180 degrees apart: 240 V; 120 degrees apart: 208 V.
    """
    legs = [e for e in machine.elements.values() if isinstance(e, primitives.Source)]
    phasors = [0j, *(cmath.rect(leg.volts.nominal, math.radians(leg.degrees)) for leg in legs)]
    return max(abs(one - other) for one in phasors for other in phasors)
