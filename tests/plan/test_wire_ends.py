"""Readings along a wire with the wires of one end off: which are kept, what they part, and that they are taken."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.plan import steps, wire_ends
from halfsplit.rehearse import play, trials
from tests.rehearse.benches import NAMES, adviser, bench

IN_A_ROW = ("timer.motor to thermal fuse.1", "thermal fuse.2 to belt switch.1", "belt switch.2 to motor.line")
"""Wires of the dryer that lead through whole parts to the motor, by its wiring."""


def added(name: str) -> list[steps.Step]:
    """The steps of a machine's table that only telling wires apart has put there."""
    made = adviser(name)
    usual = set(steps.steps(made.bench.machine))
    along = set(wire_ends.steps_of(made.bench.machine, [wire.name for wire in made.bench.machine.wires]))
    return [step for step in made.table.steps if step in along - usual]


@pytest.mark.parametrize("name", NAMES)
def test_they_are_few_and_stand_last(name: str) -> None:
    """The table hardly grows: they are kept only where nothing else tells different repairs apart."""
    found = added(name)
    assert 0 < len(found) <= 12
    assert list(adviser(name).table.steps[-len(found) :]) == found


def test_wires_in_a_row_and_the_motor_that_they_lead_to_are_told_apart() -> None:
    """A short to the frame in any of them reads the same as long as all are joined."""
    alike, singles = adviser("vented-dryer").table.alike, bench("vented-dryer").singles
    names = [f"wire {wire}: chafed to frame" for wire in IN_A_ROW] + ["motor: winding to frame"]
    numbers = {fault.name: number for number, fault in enumerate(singles.faults)}
    of = [{int(alike[row]) for row, v in enumerate(singles.variants) if v.faults == (numbers[n],)} for n in names]
    assert all(a.isdisjoint(b) for a, b in combinations(of, 2))


def test_what_parts_only_one_repair_s_faults_is_not_kept() -> None:
    """Of three steps the first parts nothing, the second faults of one repair, the third repairs."""
    repair_of, same = np.array([0, 0, 1, 1]), np.array([5, 5, 5, 5])
    codes = np.array([[1, 1, 1, 1], [0, 1, 0, 1], [0, 0, 1, 1], [0, 0, 1, 1]], np.int8)
    assert wire_ends.parting(repair_of, same, codes) == [2]


def test_the_right_wire_is_found() -> None:
    """Rehearsed on the dryer: the wire in the middle of the row is told from its neighbours, and changed first."""
    asked = adviser("vented-dryer")
    fault = f"wire {IN_A_ROW[1]}: chafed to frame"
    truth, told = trials.Rehearsal(asked, trials.Asked(asked.bench.machine, 1, fault=fault)).hidden(
        np.random.default_rng(1)
    )
    job = play.Job(asked, truth, told, play.as_advised(asked))
    played = job.play()
    asked.bench.forget()
    assert ("belt switch.1",) in [x.condition.lift for x in job.findings if isinstance(x, f.Reading)]
    assert played.right_first
