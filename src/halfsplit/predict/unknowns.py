"""The unknowns that readings share: line volts, part tolerances, the meter's gains, the leads.

Each is scaled to unit variance, so that a reading's Jacobian says how far one standard deviation moves it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from halfsplit.circuit import assembly
from halfsplit.circuit.network import Array
from halfsplit.machine import primitives

METER_UNKNOWNS = ("leads", "gain volts", "gain ohms", "gain amps")


@dataclass(frozen=True)
class Unknowns:
    """names; and for the T part and line unknowns the branches (rows) they scale, each with its relative deviation.

    relative is (T, branches): relative change of a branch's impedance per standard deviation; volts is
    (T, branches): the same for its emf.
    """

    names: tuple[str, ...]
    relative: Array
    volts: Array

    @property
    def count(self) -> int:
        """How many there are, the meter's among them."""
        return len(self.names)

    @cached_property
    def numbers(self) -> dict[str, int]:
        """Name to row."""
        return {name: row for row, name in enumerate(self.names)}


def unknowns(built: assembly.Assembly) -> Unknowns:
    """The unknowns of a machine; values that name the same shared unknown move together."""
    spreads = [found for element in built.machine.elements.values() for found in _spread(element)]
    names = tuple(dict.fromkeys([*(name for name, *_ in spreads), *METER_UNKNOWNS]))
    numbers = {name: row for row, name in enumerate(names)}
    relative, volts = np.zeros((2, len(names), len(built.tail)))
    for name, element, is_volts, deviation in spreads:
        (volts if is_volts else relative)[numbers[name], built.branches[element]] = deviation
    return Unknowns(names, relative, volts)


def of_element(element: primitives.Element) -> str:
    """The name of the unknown that moves an element's own value; "" where none does.

    >>> of_element(primitives.Sensor("probe.bulb", "probe", ("probe.1", "probe.2"), "oven", ()))
    'probe.bulb'
    """
    return next((name for name, *_ in _spread(element)), "")


def _spread(element: primitives.Element) -> list[tuple[str, str, bool, float]]:
    value = getattr(element, "volts", None) or getattr(element, "ohms", None) or getattr(element, "farads", None)
    if isinstance(element, primitives.Sensor):
        return [(element.name, element.name, False, element.relative)]
    if not isinstance(value, primitives.Value) or value.relative_spread == 0 or isinstance(element, primitives.Contact):
        return []
    return [(value.shared or element.name, element.name, isinstance(element, primitives.Source), value.relative_spread)]
