"""What is kept of a method is what it would answer anew: prices, beliefs and scores with an adviser that was asked
before are those of one that was not."""

from __future__ import annotations

import numpy as np

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading
from halfsplit.operate.condition import condition
from halfsplit.plan.setups import Setups
from halfsplit.predict.readings import Probe
from halfsplit.work.state import JobState
from tests.rehearse import benches

COOKTOP = loading.load("coil-cooktop")
COLD = f.Perceived("left front glows", False)
AT = condition(COOKTOP, isolated=True, lift=["left front burner.1", "left front burner.2"])
OPEN = f.Reading(Probe("ohms", "left front burner.1", "left front burner.2"), AT, None, text="OL")


def test_an_adviser_asked_before_answers_as_a_new_one() -> None:
    """In turn of two states of belief and two of the machine, there and back again."""
    bench = Bench(COOKTOP)
    before = Setups(bench, benches.adviser("coil-cooktop").table)
    opened = JobState(frozenset(bay for bay in list(COOKTOP.bays)[:1]))
    beliefs = [bench.weigh([COLD]), bench.weigh([COLD, OPEN])]
    for weighed, state in [
        (beliefs[0], JobState()),
        (beliefs[1], JobState()),
        (beliefs[1], opened),
        (beliefs[0], opened),
    ]:
        new = Setups(bench, before.table)
        np.testing.assert_array_equal(before.on_singles(weighed), new.on_singles(weighed))
        every = slice(len(before.table.steps))
        np.testing.assert_array_equal(
            before.prices(weighed, state).extra(every), new.prices(weighed, state).extra(every)
        )
        one, other = (asked.next_steps(weighed, state, 5) for asked in (before, new))
        assert [(s.step, s.bits, s.extra) for s in one] == [(s.step, s.bits, s.extra) for s in other]
        assert one
