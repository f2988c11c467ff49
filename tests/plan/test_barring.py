"""Steps that are asked about together, held to asking about each."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

import numpy as np
import pytest

from halfsplit.plan import barring
from halfsplit.rehearse import random_steps
from halfsplit.rehearse.random_steps import Sessions
from halfsplit.work import refusals
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser

SEEDS = 2
MACHINES = ["water-heater", "refrigerator", "tests/gas/glow-igniter-dryer.yaml"]
LACKING = frozenset(refusals.NoMeter(one) for one in ("ohms", "amps"))


@pytest.mark.parametrize("name", MACHINES)
def test_together_as_one_by_one(name: str) -> None:
    """In states of random sessions, with whatever a person cannot do: each step is barred as by itself."""
    sessions = Sessions(adviser(name))
    machine, offered = sessions.asked.bench.machine, sessions.asked.steps.usual
    together, some, barred = barring.Barring(machine, offered), np.arange(0, len(offered), 29), 0
    for seed in range(SEEDS):
        rng = np.random.default_rng([9, seed])
        lacks = frozenset(random_steps.drawn_refusals(machine, rng)) | {refusals.NoPower()}
        lacks |= LACKING if seed % 2 else frozenset()
        for state, _, _ in islice(sessions.session(rng), 0, 24, 6):
            asked = replace(state, refused=state.refused | lacks)
            alone = [barring.bars(machine, asked, offered[int(k)]) for k in some]
            assert np.array_equal(together.of(asked)[some], alone)
            barred += sum(alone)
    assert barred


def test_nothing_is_asked_where_single_steps_alone_were_refused() -> None:
    """A step that was set aside bars no other."""
    asked = adviser("water-heater")
    state = JobState(refused=frozenset(asked.steps.usual[:2]))
    assert not barring.Barring(asked.bench.machine, asked.steps.usual).of(state).any()
