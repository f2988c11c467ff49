"""Two twins in each other's places: what every variant then shows, told from what other variants show without that.

Twins are alike, so that a machine in which they are exchanged differs from one in which they are not by nothing but
their own faults, and their own values within tolerance: with the faults f it shows, place by place, what the machine
with the faults pi(f) shows unexchanged, where pi hands each fault of one twin to the other. Faults of what they plug
into, of wires, joints and switches stay where they are. This is exact, since the twins' nominal values are equal;
a test compares it with the machine really rewired.

Knows candidates and the names of unknowns; solves nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.machine import model, twins
from halfsplit.modes.fault import Fault
from halfsplit.operate.effect import HEALTHY, Effect
from halfsplit.predict import unknowns
from halfsplit.predict.candidates import Candidates, Variant


def partners(machine: model.Machine, faults: Sequence[Fault], pair: tuple[str, str]) -> dict[int, int]:
    """Each fault of one twin itself: the same fault of the other; by their numbers.

    What an earlier hand did to the wires of a part is named after the part and stays at its place.
    """
    number = {(fault.subject, fault.mode): index for index, fault in enumerate(faults)}
    own = {(name, mode.name) for name in pair for mode in machine.parts[name].modes}
    return {number[key]: number[twins.exchanged(key, *pair)] for key in number if key in own}


def effects(machine: model.Machine, candidates: Candidates, pair: tuple[str, str]) -> tuple[Effect, ...]:
    """The effect of each variant, its faults handed over; the n-th size of a fault becomes the n-th of the other."""
    other = partners(machine, candidates.faults, pair)
    sizes = _sizes(candidates.variants)
    return tuple(_effect(variant, other, sizes) for variant in candidates.variants)


def _sizes(variants: Sequence[Variant]) -> dict[int, list[Variant]]:
    """Each single fault's variants, in order."""
    found: dict[int, list[Variant]] = {}
    for variant in variants:
        if len(variant.faults) == 1 and not variant.of:
            found.setdefault(variant.faults[0], []).append(variant)
    return found


def _effect(variant: Variant, other: Mapping[int, int], sizes: Mapping[int, Sequence[Variant]]) -> Effect:
    if other.keys().isdisjoint(variant.faults):
        return variant.effect
    whole = HEALTHY
    for one in variant.of or (variant,):
        (fault,) = one.faults
        handed = sizes[other[fault]][sizes[fault].index(one)] if fault in other else one
        whole = whole.with_(handed.effect)
    return whole


def shared(machine: model.Machine, names: Sequence[str], pair: tuple[str, str]) -> Array:
    """(T,) for each shared unknown of these names the number of the one that stands in its place.

    The twins' own values, too, change places.

    >>> from halfsplit.machine import loading
    >>> names = ["left front burner.$ohms", "leads", "right rear burner.$ohms"]
    >>> shared(loading.load("coil-cooktop"), names, ("left front burner", "right rear burner")).tolist()
    [2, 1, 0]
    """
    number = {name: index for index, name in enumerate(names)}
    found = np.arange(len(names))
    for element in machine.elements.values():
        own = unknowns.of_element(element)
        if element.part in pair and own:
            other = machine.elements[twins.exchanged(element.name, *pair)]
            found[number[own]] = number[unknowns.of_element(other)]
    return found
