"""A machine's networks, inverted as seldom as will do.

A state in which many faults are to be solved is inverted once. A state that only a few faults reach is taken as
edits of the nearest one that has been inverted already: a handful of contacts more or less.

Knows states and networks; not why a machine is in a state.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from halfsplit.circuit import assembly, fast
from halfsplit.circuit import network as nw
from halfsplit.circuit.network import Array
from halfsplit.operate.effect import Effect, edits

Kind = Literal["power", "meter"]

KEPT = 40
FEW = 24
"""Up to so many cases a near state's inverse is borrowed."""
NEAR = 6
"""It may differ by so many branches."""


@dataclass(frozen=True, eq=False)
class Ready:
    """A network ready to be solved under effects: an inverse, and the edits that lead from it to this network."""

    factored: fast.Factored
    before: nw.Edits
    network: nw.Network
    off: frozenset[int]
    """The nodes of the terminals whose wires are off."""

    def edits(self, effect: Effect) -> nw.Edits:
        """All edits of the inverse that make this network under an effect."""
        return self.before + edits(effect.operations, self.network, self.off)

    def distinct(self, effects: Sequence[Effect]) -> tuple[list[nw.Edits], Array]:
        """The distinct edit lists of these effects, and which of them each has."""
        numbers: dict[nw.Edits, int] = {}
        which = [numbers.setdefault(self.edits(effect), len(numbers)) for effect in effects]
        return list(numbers), np.array(which)

    def solve(self, effects: Sequence[Effect]) -> tuple[Array, Array]:
        """Volts (F, nodes) and amps (F, branches) under each effect."""
        made, which = self.distinct(effects)
        solved = self.factored.solve_many(made)
        return solved.v[which], solved.i[which]


class Networks:
    """The networks of one machine, and the inverses that are kept."""

    def __init__(self, built: assembly.Assembly) -> None:
        self.built = built
        self._kept: OrderedDict[tuple[Kind, assembly.State], fast.Factored] = OrderedDict()
        self._plain: OrderedDict[tuple[Kind, assembly.State], nw.Network] = OrderedDict()

    def ready(self, kind: Kind, state: assembly.State, cases: int) -> Ready:
        """The network of a state, for about so many cases."""
        key = (kind, state)
        if key not in self._kept and cases <= FEW:
            near = self._nearest(kind, state)
            if near is not None:
                return self._from(near, self._network(kind, state), self.built.off(state))
        return self._inverted(key)

    def _inverted(self, key: tuple[Kind, assembly.State]) -> Ready:
        if key not in self._kept:
            self._kept[key] = fast.Factored(self._network(*key))
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        self._kept.move_to_end(key)
        factored = self._kept[key]
        return Ready(factored, (), factored.network, self.built.off(key[1]))

    def _network(self, kind: Kind, state: assembly.State) -> nw.Network:
        key = (kind, state)
        if key not in self._plain:
            make = self.built.under_power if kind == "power" else self.built.to_a_meter
            self._plain[key] = make(state)
            while len(self._plain) > 4 * KEPT:
                self._plain.popitem(last=False)
        return self._plain[key]

    def _nearest(self, kind: Kind, state: assembly.State) -> fast.Factored | None:
        """The kept inverse that differs in fewest contacts and lifted wires, and in nothing else."""
        found: list[tuple[int, fast.Factored]] = []
        for (other_kind, other), factored in self._kept.items():
            if (other_kind, other.other, other.warmth) == (kind, state.other, state.warmth):
                apart = len(other.closed ^ state.closed) + len(other.lifted ^ state.lifted)
                if apart <= NEAR:
                    found.append((apart, factored))
        return min(found, key=lambda pair: pair[0])[1] if found else None

    def _from(self, factored: fast.Factored, wanted: nw.Network, off: frozenset[int]) -> Ready:
        apart = np.flatnonzero(factored.network.closed != wanted.closed).tolist()
        before = tuple(nw.Rebranch(k, bool(wanted.closed[k]), complex(wanted.impedance[k])) for k in apart)
        return Ready(factored, before, wanted, off)
