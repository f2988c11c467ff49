"""Where the charge of a capacitor may be met, and where it can be taken away: its terminals and all that is joined to
them.

Knows capacitors, wires, contacts and the bays of terminals; nothing of hands, and no machine as a whole.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass

from halfsplit.machine.primitives import Capacitor, Contact, Element

Pair = tuple[str, str]


@dataclass(frozen=True)
class Stored:
    """A capacitor, its bay, the bays that hold a terminal which wires, joints and contacts join to one of its ends (a
    contact however it stands), and what wires alone join to each end: terminal to bay, its own first."""

    capacitor: Capacitor
    bay: str
    met: frozenset[str]
    wired: tuple[Mapping[str, str], Mapping[str, str]]

    def across(self, opened: Collection[str]) -> Pair | None:
        """Where it is discharged with these bays open: at its own terminals where they lie open, else at two that wires
        join to its ends; None where neither can be reached."""
        one, other = (next((t for t, bay in ends.items() if bay in opened), None) for ends in self.wired)
        return (one, other) if one and other else None


def stored(elements: Iterable[Element], wires: Iterable[Pair], bay_of: Mapping[str, str]) -> Iterator[Stored]:
    """Each capacitor. `bay_of`: the bay of each terminal that a lead can reach, without those of the house, from which
    the machine is cut off whenever hands go in."""
    elements, wires = tuple(elements), tuple(wires)
    contacts = [element.ends for element in elements if isinstance(element, Contact)]
    house = frozenset(end for pair in wires for end in pair) - bay_of.keys()
    for element in elements:
        if isinstance(element, Capacitor):
            one, other = (tuple(_joined(end, wires, house)) for end in element.ends)
            all_of_it = (t for end in element.ends for t in _joined(end, (*wires, *contacts), house))
            met = frozenset(bay_of[t] for t in all_of_it if t in bay_of)
            by_wire = ({t: bay_of[t] for t in some if t in bay_of} for some in (one, other))
            yield Stored(element, bay_of.get(element.ends[0], ""), met, (next(by_wire), next(by_wire)))


def _joined(end: str, branches: Iterable[Pair], without: Collection[str]) -> Iterator[str]:
    """What branches join to an end, itself first; nothing beyond what is left out."""
    branches, met, waiting = tuple(branches), {end}, [end]
    while waiting:
        here = waiting.pop(0)
        yield here
        for pair in branches:
            if here in pair:
                found = set(pair) - met - set(without)
                met |= found
                waiting += sorted(found)
