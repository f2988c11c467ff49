"""A healthy machine run through all its settings once: the volts and amps that the rules of this room look at.

Knows the sheet and operate; decides nothing. House controls (plug, breaker) and straps stay as they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, product
from math import prod

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.machine import model, primitives, tree
from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.loads import Load, supply_volts
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.operate.effect import HEALTHY, Effect, Operation
from halfsplit.operate.settle import Operation as Running
from halfsplit.operate.settle import Settled

MOST_CONDITIONS = 600
"""A machine with more settings than this is tried in pairs of controls moved from its named ones."""
FED = 0.08
"""Share of a leg's volts from which a load counts as fed; far above what an open wire picks up."""


@dataclass(frozen=True)
class Run:
    """One condition when all is still, nothing failed."""

    condition: Condition
    settled: Settled

    @property
    def other(self) -> frozenset[str]:
        """The devices in their other state."""
        return self.settled.other


class Survey:
    """All runs of one sheet; what is asked for twice is kept."""

    def __init__(self, sheet: Sheet, operation: Running | None = None) -> None:
        self.sheet, self.machine = sheet, sheet.machine
        self.operation = operation or Running(sheet.machine)
        self.built = self.operation.assembly

    @cached_property
    def runs(self) -> tuple[Run, ...]:
        """The healthy machine in every condition."""
        return tuple(Run(at, self.operation.settle(at, (HEALTHY,))[0]) for at in self.conditions)

    def run_of(self, at: Condition) -> Run:
        """The run of one condition, kept or made now."""
        if at not in self._by_condition:
            self._by_condition[at] = Run(at, self.operation.settle(at, (HEALTHY,))[0])
        return self._by_condition[at]

    @cached_property
    def _by_condition(self) -> dict[Condition, Run]:
        return {run.condition: run for run in self.runs}

    @cached_property
    def conditions(self) -> tuple[Condition, ...]:
        """The product of all that a hand sets and of how warm it is; where that is too much, pairs from named ones."""
        given = self._product() if self.complete else self._pairs()
        every = (conditions.condition(self.machine, one) for one in given)
        return tuple(dict.fromkeys([*every, *self.named]))

    @property
    def complete(self) -> bool:
        """Whether the whole product of settings is tried."""
        return prod(len(places) for places in self._known.values()) <= MOST_CONDITIONS

    @cached_property
    def _known(self) -> dict[str, tuple[str, ...]]:
        """What is set, the warmth included, with its positions."""
        moved = {*self.by_hand, conditions.WARMTH}
        return {name: places for name, places in conditions.positions(self.machine).items() if name in moved}

    def _product(self) -> Iterator[dict[str, str]]:
        yield from (dict(zip(self._known, chosen, strict=True)) for chosen in product(*self._known.values()))

    def _pairs(self) -> Iterator[dict[str, str]]:
        """Each control set elsewhere from every named setting; then two at once, evenly thinned to so many."""
        bases = [dict(one.setting) for one in self.named]
        moves = [(name, place) for name, places in self._known.items() for place in places]
        yield from (base | {name: place} for name, place in moves for base in bases)
        both = [dict(two) for two in combinations(moves, 2) if two[0][0] != two[1][0]]
        pairs = list(dict.fromkeys(tuple((base | two).items()) for two in both for base in bases))
        yield from map(dict, pairs[:: len(pairs) // MOST_CONDITIONS + 1])

    @cached_property
    def named(self) -> tuple[Condition, ...]:
        """Rest, and the named settings."""
        given = [(), *self.machine.settings.values()]
        return tuple(conditions.condition(self.machine, one) for one in given)

    @cached_property
    def by_hand(self) -> dict[str, model.Control]:
        """The controls that move a contact of the machine itself; a strap's is not moved in use."""
        causes = [when for contact in self.own_contacts for when in contact.when]
        moved = {when.control for when in causes if isinstance(when, primitives.ByControl)}
        return {name: control for name, control in self.machine.controls.items() if name in moved}

    @cached_property
    def own_contacts(self) -> tuple[primitives.Contact, ...]:
        """The contacts of the machine's own parts, without its straps."""
        found = (e for e in self.machine.elements.values() if isinstance(e, primitives.Contact))
        return tuple(c for c in found if not self.machine.parts[c.part].house and not is_strap(c))

    # ---- loads --------------------------------------------------------------------------------------------

    @property
    def loads(self) -> tuple[Load, ...]:
        """Every load of the machine's own parts, in the order of the file."""
        return self.built.loads

    @cached_property
    def load_volts(self) -> Array:
        """(conditions, loads) volts across each load."""
        return np.array([self.across(run.settled.volts[0]) for run in self.runs])

    def across(self, volts: Array) -> Array:
        """(..., loads) from volts of all nodes (..., nodes)."""
        a = [self.built.nodes[load.ends[0]] for load in self.loads]
        b = [self.built.nodes[load.ends[1]] for load in self.loads]
        return np.asarray(np.abs(volts[..., a] - volts[..., b]))

    @cached_property
    def amps(self) -> Array:
        """(conditions, branches) amperes."""
        return np.asarray(np.abs(np.array([run.settled.amps[0] for run in self.runs])))

    @cached_property
    def supply_volts(self) -> float:
        """The highest nominal volts between two of the supply's conductors."""
        return supply_volts(self.machine)

    @property
    def fed_volts(self) -> float:
        """Volts across a load from which it counts as fed."""
        return FED * self.leg_volts

    @property
    def leg_volts(self) -> float:
        """The nominal volts of one leg to neutral."""
        return self.built.rated

    def chart_path(self, contact: primitives.Contact) -> tree.Path:
        """The line of a chart that gives a contact; () where none does."""
        own = contact.name.partition(".")[2]
        entry = self.sheet.file.parts[contact.part]
        for value, spec in self.sheet.types[entry.type].values.items():
            chart = entry.values.get(value)
            if spec.kind == "chart" and isinstance(chart, dict) and own in chart:
                return ("parts", contact.part, value, own)
        return ()

    # ---- under changes ------------------------------------------------------------------------------------

    def opened(self, name: str) -> Effect:
        """The machine with one branch open."""
        return Effect((Operation("open", self.built.branches[name]),))

    @cached_property
    def held(self) -> tuple[tuple[Run, Array], ...]:
        """The runs in which something trips, as they would be if nothing did, with the amps of the branches."""
        trips = frozenset(d.name for d in self.machine.devices.values() if isinstance(d, primitives.Overcurrent))
        at = [run.condition for run in self.runs if run.other & trips]
        again = (one for condition in at for one in self.settle(condition, (Effect(halted=trips),)))
        return tuple((run, np.abs(amps)) for _, run, _, amps in again)

    def settle(self, at: Condition, effects: Sequence[Effect]) -> Iterator[tuple[int, Run, Array, Array]]:
        """Index of the effect, run, volts (nodes) and amps (branches) of each."""
        for herd in self.operation.settle(at, effects):
            for row, member in enumerate(herd.members.tolist()):
                yield member, Run(at, herd), herd.volts[row], herd.amps[row]

    # ---- words --------------------------------------------------------------------------------------------

    def words(self, at: Condition) -> str:
        """A condition as its own words: the controls of a hand, and the warmth where it is not at rest."""
        told = [f"{n} {p}" for n, p in at.setting if n in self.by_hand]
        warm = [f"{p}" for n, p in at.setting if n == conditions.WARMTH and p != self.machine.warmths[0]]
        return ", ".join([*told, *warm]) or "at rest"


def is_strap(contact: primitives.Contact) -> bool:
    """Whether a contact joins terminals of other parts."""
    return any(model.part_of(end) != contact.part for end in contact.ends)
