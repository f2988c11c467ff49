"""Opening a machine and putting it together again: bays behind bays.

Knows bays by name, what lies behind what, and which bays reach a place. Does not know parts, faults or plans.
What is open is free; a bay that is opened has to be closed once, so its closing is priced when it is opened.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from halfsplit import errors

OUTSIDE = "outside"


@dataclass(frozen=True)
class Fastener:
    """So many fasteners of one kind: 4 x T20; `where` they sit, for a person ("under the lint screen")."""

    count: int
    kind: str
    where: str = ""

    def __str__(self) -> str:
        return f"{self.count} x {self.kind} {self.where}".rstrip()


@dataclass(frozen=True)
class Bay:
    """A place that has to be opened. `opening`, `closing` [min, >= 0]; `reconnect`: ground screws, connectors and
    wires that come off when it is opened; `people`: how many it takes; `caution`: what may hurt."""

    name: str
    behind: str = OUTSIDE
    opening: float = 0.0
    closing: float = 0.0
    fasteners: tuple[Fastener, ...] = ()
    reconnect: tuple[str, ...] = ()
    people: int = 1
    caution: str = ""

    @property
    def photograph(self) -> bool:
        """Whether to take a photograph before it is opened: something comes off that must go back alike."""
        return bool(self.reconnect)


@dataclass(frozen=True)
class PutTogether:
    """How to close what is open: bays, the innermost first, and every fastener that must be used up."""

    bays: tuple[Bay, ...]
    fasteners: tuple[Fastener, ...]
    reconnect: tuple[str, ...]
    minutes: float
    people: int


class Access:
    """The bays of a machine and the places they reach.

    A place is reached through any one of its bays; a bay is itself a place. Raises errors.WrongUse naming every
    mistake: two bays of one name, a bay behind nothing known or behind itself, negative minutes.

    >>> dryer = Access([Bay("base", opening=2, closing=2), Bay("coil box", "base", 4, 5)])
    >>> [bay.name for bay in dryer.to_open(["coil box"])], dryer.minutes(["coil box"])
    (['base', 'coil box'], 13)
    >>> dryer.minutes(["coil box"], opened=["base"])
    9
    """

    def __init__(self, bays: Iterable[Bay], places: Mapping[str, Sequence[str]] | None = None) -> None:
        listed = list(bays)
        self.bays = {bay.name: bay for bay in listed}
        self.places = {OUTSIDE: (OUTSIDE,), **{bay: (bay,) for bay in self.bays}, **(places or {})}
        mistakes = list(_mistakes(listed, self.places))
        if mistakes:
            raise errors.WrongUse(" ".join(mistakes))

    @cached_property
    def fronts(self) -> dict[str, tuple[str, ...]]:
        """For every bay, the bays to open, outermost first, itself last."""
        return {name: _way_in(self.bays, name) for name in self.bays} | {OUTSIDE: ()}

    def to_open(self, places: Iterable[str], opened: Iterable[str] = ()) -> tuple[Bay, ...]:
        """The cheapest set of bays to open so that all places are reached, in the order of opening.

        Among equally cheap sets the one with fewer bays, then the first by name. Raises errors.WrongUse for an
        unknown place.
        """
        already = frozenset(opened)
        wanted = {self._ways(place) for place in places}
        ways = sorted(wanted, key=lambda way: (len(way), sorted(map(sorted, way))))
        best = self._cheapest(ways, already, frozenset(), None)
        return tuple(self.bays[name] for name in self._outermost_first(best or frozenset()))

    def minutes(self, places: Iterable[str], opened: Iterable[str] = ()) -> float:
        """What reaching these places costs [min], closing again included; nothing for what is open."""
        return sum(bay.opening + bay.closing for bay in self.to_open(places, opened))

    def put_together(self, opened: Sequence[str]) -> PutTogether:
        """How to close these bays, opened in this order: the last opened first, no bay before one behind it.

        Where the order given is none in which they can have been opened, a front counts as opened just before it.
        """
        wanted = set(opened)
        order = dict.fromkeys(front for name in opened for front in self.fronts[name] if front in wanted)
        bays = tuple(self.bays[name] for name in reversed(order))
        return PutTogether(
            bays,
            counted(fastener for bay in bays for fastener in bay.fasteners),
            tuple(thing for bay in bays for thing in bay.reconnect),
            sum(bay.closing for bay in bays),
            max((bay.people for bay in bays), default=1),
        )

    def _ways(self, place: str) -> frozenset[frozenset[str]]:
        """Each way to a place as the set of bays that must be open."""
        if place not in self.places:
            raise errors.WrongUse(f"No place '{place}'.", errors.did_you_mean(place, self.places))
        return frozenset(frozenset(self.fronts[bay]) for bay in self.places[place])

    def _cheapest(
        self, ways: Sequence[frozenset[frozenset[str]]], already: frozenset[str],
        taken: frozenset[str], best: frozenset[str] | None,
    ) -> frozenset[str] | None:  # fmt: skip
        """The cheapest set of bays that extends `taken` to all places, by depth-first search with a bound."""
        if best is not None and self._price(taken) >= self._price(best):
            return best
        if not ways:
            return taken
        for way in sorted(ways[0], key=lambda bays: self._price(bays - already - taken)):
            best = self._cheapest(ways[1:], already, taken | (way - already), best)
        return best

    def _price(self, names: frozenset[str]) -> tuple[float, int, list[str]]:
        total = sum(self.bays[name].opening + self.bays[name].closing for name in sorted(names))
        return total, len(names), sorted(names)

    def _outermost_first(self, names: Iterable[str]) -> list[str]:
        """Bays in an order in which they can be opened, finishing one way in before the next is begun."""
        return sorted(names, key=lambda name: self.fronts[name])


def counted(fasteners: Iterable[Fastener]) -> tuple[Fastener, ...]:
    """Fasteners added up by kind.

    >>> [str(f) for f in counted([Fastener(4, "T20"), Fastener(6, "PH2"), Fastener(2, "T20")])]
    ['6 x PH2', '6 x T20']
    """
    total: Counter[str] = Counter()
    for fastener in fasteners:
        total[fastener.kind] += fastener.count
    return tuple(Fastener(total[kind], kind) for kind in sorted(total))


def _way_in(bays: Mapping[str, Bay], name: str) -> tuple[str, ...]:
    way = [name]
    while bays[way[0]].behind != OUTSIDE:
        way.insert(0, bays[way[0]].behind)
    return tuple(way)


def _mistakes(listed: Sequence[Bay], places: Mapping[str, Sequence[str]]) -> Iterable[str]:
    known = {bay.name: bay for bay in listed}
    for name, times in Counter(bay.name for bay in listed).items():
        if times > 1:
            yield f"Bay '{name}' is there {times} times; give each bay its own name."
    for bay in known.values():
        if bay.behind != OUTSIDE and bay.behind not in known:
            yield f"Bay '{bay.name}' is behind '{bay.behind}', which is no bay; name a bay or 'outside'."
        elif _in_circle(known, bay.name):
            yield f"Bay '{bay.name}' is behind itself; say what is reached from outside."
        if bay.opening < 0 or bay.closing < 0:
            yield f"Bay '{bay.name}' has negative minutes; give zero or more."
    for place, ways in places.items():
        lost = [way for way in ways if way not in known and way != OUTSIDE]
        if lost or not ways:
            yield f"Place '{place}' is reached through no known bay; name its bays or 'outside'."


def _in_circle(bays: Mapping[str, Bay], name: str) -> bool:
    here, seen = name, set[str]()
    while here in bays and here not in seen:
        seen.add(here)
        here = bays[here].behind
    return here == name
