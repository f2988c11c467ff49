"""What is told of the checks that show that a repair holds: numbers that stand on the cards named."""

from __future__ import annotations

import re

import pytest

from halfsplit.service import proof_run
from tests.rehearse.benches import bench

CARDS = re.compile(r"([\d, toand]+) on card (\d+)")


@pytest.mark.parametrize(("name", "repair"), [
    ("vented-dryer", "replace timer shaft"), ("vented-dryer", "replace heater"), ("water-heater", "replace dip tube"),
    ("refrigerator", "replace terminator"), ("coil-cooktop", "replace left rear burner"),
])  # fmt: skip
def test_each_number_named_stands_on_its_card(name: str, repair: str) -> None:
    """And it takes less than the whole run."""
    own = bench(name)
    assert repair in own.repairs
    run = proof_run.of_repairs(own, [repair])
    told, _, minutes = run.holds.partition(": some ")
    named = CARDS.findall(told.removeprefix("Whether this repair holds is shown by "))
    assert named, run.holds
    for numbers, card in named:
        there = {check.number for check in run.run[int(card) - 1].checks}
        assert {int(n) for n in re.findall(r"\d+", numbers)} <= there
    assert int(minutes.split()[0]) < run.minutes
    assert run.head[1] == run.holds


def test_without_a_repair_nothing_is_told_of_it() -> None:
    """What is closed after a search alone has nothing that could hold."""
    assert proof_run.of_repairs(bench("vented-dryer"), []).holds == ""
