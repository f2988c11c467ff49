"""A joint or contact of the supply that has grown resistive shows under load: whether the present readings load it."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from halfsplit.circuit.network import Array
from halfsplit.machine import model
from halfsplit.operate import condition as conditions
from halfsplit.predict.readings import Probe
from tests.rehearse.benches import NAMES, adviser, bench

each_machine = pytest.mark.parametrize("name", NAMES)
COUNTED = {"refrigerator": (12, 10, 3), "vented-dryer": (28, 10, 6), "water-heater": (12, 12, 10)}
"""Resistive places of the supply that somebody perceives, those that nobody does, and of these told by a live reading
or a comparison of the two legs."""
FEW_VOLTS = 20.0
"""The most is the dryer's: 1 ohm in the receptacle's L2 contact takes 19 of 236 V off."""


def resistive(name: str) -> Array:
    """The variants that add ohms in the house's current paths, or to a joint where the supply meets the machine."""
    machine, singles = bench(name).machine, bench(name).singles
    house = {part.name for part in machine.parts.values() if part.house}
    found = []
    for s, variant in enumerate(singles.variants[1:], 1):
        fault = singles.faults[variant.faults[0]]
        place = fault.subject.removeprefix("joint ")
        here = model.part_of(place) in house or (place in machine.supply.meets and place != machine.frame)
        number = s - next(row for row, one in enumerate(singles.variants) if one.faults == variant.faults)
        adds = any(change.kind == "added ohms" for change in fault.alternatives[number][1])
        if here and adds and not place.endswith("PE"):
            found.append(s)
    return np.array(found)


def perceived(name: str, rows: Array) -> Array:
    """(rows,) whether some symptom is other than on the healthy machine, in some setting that the file names."""
    machine, predictor = bench(name).machine, bench(name).predictor
    found = np.zeros(len(rows), bool)
    for symptom in machine.symptoms:
        for setting in machine.settings.values():
            yes = predictor.symptom(symptom, conditions.condition(machine, setting), False)
            found |= np.abs(yes[rows] - yes[0]) > 0.5
    return found


def told(name: str, rows: Array) -> tuple[Array, Array]:
    """(rows,) what some live reading of volts tells from healthy, and what some comparison of two legs does."""
    table = adviser(name).table
    live = [k for k, step in enumerate(table.steps) if step.live and step.probe and step.probe.meter == "volts"]
    legs = [n for n, (a, _) in enumerate(table.compared.pairs.tolist()) if table.steps[a].live]
    codes, differences = table.outcomes.codes[live], table.compared.codes[legs]
    return (codes[:, rows] != codes[:, :1]).any(axis=0), (differences[:, rows] != differences[:, :1]).any(axis=0)


@each_machine
def test_what_anybody_perceives_is_told_by_a_live_reading_of_the_machine_at_work(name: str) -> None:
    """Each resistive place of the supply that changes a symptom shows in volts: no load of another kind is needed."""
    rows = resistive(name)
    noticed, (read, _) = perceived(name, rows), told(name, rows)
    assert read[noticed].all()
    assert noticed.sum() == COUNTED[name][0]


@each_machine
def test_what_is_left_disturbs_nobody_and_takes_few_volts(name: str) -> None:
    """Comparing the legs tells more of the others; what nothing tells takes off at most FEW_VOLTS at work."""
    rows = resistive(name)
    noticed, (read, compared) = perceived(name, rows), told(name, rows)
    assert ((~noticed).sum(), ((read | compared) & ~noticed).sum()) == COUNTED[name][1:]
    silent, asked = rows[~noticed & ~read & ~compared], bench(name)
    live = [t for t in asked.machine.supply.meets if t != asked.machine.frame]
    for pair in combinations(live, 2):
        volts = asked.predictor.reading(Probe("volts", *pair), conditions.usual(asked.machine)).value
        assert np.abs(volts[silent] - volts[0]).max(initial=0.0) < FEW_VOLTS
