"""Every setting of a machine under every single fault, each network of its own once, with our volts of all nodes.

Shared by the sampled tests and by the command that judges the whole library.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from halfsplit.circuit import assembly, network, spice
from halfsplit.machine import model
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.operate.effect import edits
from halfsplit.operate.settle import Operation
from halfsplit.plan import steps
from halfsplit.predict.candidates import Variant, singles
from tests.judges import batches

Key = tuple[assembly.State, network.Edits]


@dataclass(frozen=True)
class Case:
    """One settled network: the condition and the fault that led to it, its deck, our volts (nodes,)."""

    what: str
    deck: str
    volts: NDArray[np.complex128]


class Library:
    """One machine with its single faults, ready to be settled in any condition."""

    def __init__(self, machine: model.Machine) -> None:
        self.machine = machine
        self.operation = Operation(machine)
        self.built = self.operation.assembly
        self.faults = listing.faults(machine)
        self.variants: tuple[Variant, ...] = singles(self.built, self.faults).variants
        self.effects = tuple(variant.effect for variant in self.variants)
        self.names = list(self.built.nodes)
        self.labels = spice.node_labels(self.names)

    def all_conditions(self) -> list[conditions.Condition]:
        """The named settings in every warmth, every combination of the hand's controls, and the feed cut."""
        hands = {name: c.positions for name, c in steps.hand_controls(self.machine).items()}
        axes = hands | ({conditions.WARMTH: self.machine.warmths} if self.machine.warmths else {})
        found = [conditions.Condition(setting) for setting in conditions.live_settings(self.machine)]
        found += [
            conditions.condition(self.machine, zip(axes, chosen, strict=True)) for chosen in product(*axes.values())
        ]
        feeds = [control for name, control in self.machine.controls.items() if name in ("plug", "breaker")]
        cut = [{control.name: control.positions[1]} for control in feeds]
        found += [conditions.condition(self.machine, given) for given in cut]
        return list(dict.fromkeys(found))

    def cases(self, at: conditions.Condition, seen: set[Key]) -> Iterator[Case]:
        """The networks of one condition that are not in `seen`, which they are added to."""
        for herd in self.operation.settle(at, self.effects):
            settled = self.built.under_power(herd.state)
            for row, member in enumerate(herd.members.tolist()):
                made = edits(self.effects[member].operations, settled)
                if (herd.state, made) in seen:
                    continue
                seen.add((herd.state, made))
                what = f"{self.machine.name}, {at.setting}, {self.fault(member)}"
                deck = spice.deck(settled, made, self.names, self.machine.supply.hertz, what)
                yield Case(what, deck, herd.volts[row])

    def fault(self, variant: int) -> str:
        """The name of the fault of a variant."""
        return ", ".join(self.faults[index].name for index in self.variants[variant].faults) or "healthy"

    def errors(self, cases: Sequence[Case]) -> NDArray[np.float64]:
        """Per case, how far our volts are from the simulator's, as a share of its largest."""
        answers = batches.run([case.deck for case in cases], self.machine.supply.hertz)
        return np.array(
            [_apart(case.volts, answer.at(self.labels)) for case, answer in zip(cases, answers, strict=True)]
        )


def _apart(ours: NDArray[np.complex128], judge: NDArray[np.complex128]) -> float:
    return float(np.abs(ours - judge).max() / np.abs(judge).max())


def chunks(cases: Iterable[Case], size: int) -> Iterator[list[Case]]:
    """The cases in lists of at most `size`."""
    waiting: list[Case] = []
    for case in cases:
        waiting.append(case)
        if len(waiting) == size:
            yield waiting
            waiting = []
    if waiting:
        yield waiting
