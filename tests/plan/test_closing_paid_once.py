"""Closing is priced once, when a cover is opened, over random sessions."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.plan import pricing, taken
from halfsplit.plan.steps import Step
from halfsplit.rehearse.random_steps import Sessions
from tests.rehearse.benches import NAMES, adviser

COUNT = 60


@pytest.mark.parametrize("name", NAMES)
def test_a_step_pays_for_closing_what_it_opens_and_nothing_else(name: str) -> None:
    """Step after step, also where covers go on again for a run: the account is kept by what stands open."""
    asked, opened, shut = adviser(name), 0, 0
    machine, made = asked.bench.machine, Sessions(asked, repairs=0.0)
    for number in range(COUNT):
        for state, step, _ in made.session(np.random.default_rng([7, number])):
            assert isinstance(step, Step)
            after = taken.after(machine, state, step)
            new = after.open_bays - state.open_bays
            paid = pricing.cost_of(machine, state, step).closing
            assert paid == pytest.approx(sum(machine.bays[bay].close_minutes for bay in new))
            opened, shut = opened + len(new), shut + len(state.open_bays - after.open_bays)
    assert opened > COUNT
    assert shut > 0
