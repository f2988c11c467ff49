"""Readings between any two terminals that a lead can reach and that no trusted step joins, in the same conditions.

There are tens of thousands of them, so they are kept as numbers, and a `Step` is made of one when it is wanted.
Knows the machine and its conditions; scores nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.machine import model
from halfsplit.operate.condition import WARMTH, Condition, live_settings
from halfsplit.plan.leads import own_parts, prongs, reachable, trusted_pairs
from halfsplit.plan.steps import Step, dead_settings, with_left
from halfsplit.predict.readings import Probe


@dataclass(frozen=True, eq=False)
class OddSteps:
    """Steps by number (N,): `at` indexes conditions, `red` and `black` terminals. Ohms where isolated, else volts."""

    conditions: tuple[Condition, ...]
    terminals: tuple[str, ...]
    at: Array
    red: Array
    black: Array

    def __len__(self) -> int:
        return len(self.at)

    def step(self, number: int) -> Step:
        """The step of a number."""
        at = self.conditions[self.at[number]]
        pair = self.terminals[self.red[number]], self.terminals[self.black[number]]
        return Step("reading", at, Probe(meter_in(at), *pair), places=pair, odd=True)

    def number_of(self, step: Step) -> int:
        """The number of a step among these. Raises KeyError where it is none of them."""
        places = {terminal: n for n, terminal in enumerate(self.terminals)}
        if step.condition in self.conditions and step.probe and set(step.places) <= set(places):
            at, (red, black) = self.conditions.index(step.condition), (places[end] for end in step.places)
            found = np.flatnonzero((self.at == at) & (self.red == red) & (self.black == black))
            if len(found) and self.step(int(found[0])) == step:
                return int(found[0])
        raise KeyError(step)

    def take(self, numbers: Array) -> OddSteps:
        """Some of them."""
        return OddSteps(self.conditions, self.terminals, self.at[numbers], self.red[numbers], self.black[numbers])


def meter_in(at: Condition) -> str:
    """The function of the meter that tells a whole pair from a broken one in a condition."""
    return "ohms" if at.isolated else "volts"


def odd_steps(machine: model.Machine) -> OddSteps:
    """All of them. The plug's prongs are reached with the plug out, so not under power; blades in a socket never."""
    inside = [t for part in own_parts(machine) for t in reachable(machine, part)]
    terminals = tuple(dict.fromkeys([*inside, *prongs(machine)]))
    place = {terminal: number for number, terminal in enumerate(terminals)}
    trusted = {frozenset(pair) for pair in trusted_pairs(machine)}
    every = [pair for pair in combinations(terminals, 2) if frozenset(pair) not in trusted]
    dead = np.array([[place[a], place[b]] for a, b in every], np.int16).reshape(-1, 2)
    live = dead[(dead < len(set(inside))).all(axis=1)]
    conditions = [Condition(s, isolated=True) for s in with_left(machine, dead_settings(machine))]
    conditions += [Condition(s) for s in with_left(machine, live_settings(machine))]
    behind = np.array([machine.warmth_behind((terminal,)) for terminal in terminals])
    pairs = [_reached(at, dead if at.isolated else live, behind) for at in conditions]
    at = np.repeat(np.arange(len(conditions), dtype=np.int16), [len(p) for p in pairs])
    red, black = np.concatenate(pairs).T
    return OddSteps(tuple(conditions), terminals, at, red, black)


def _reached(at: Condition, pairs: Array, behind: Array) -> Array:
    """Those of the pairs (N, 2) of terminals that are reached at a condition's warmth; behind: the one warmth at which
    each terminal is, "" where any will do."""
    wanted = behind[pairs]
    return np.asarray(pairs[((wanted == "") | (wanted == dict(at.setting).get(WARMTH, ""))).all(axis=1)])
