"""What an owner can tell of a machine: nothing that only a tool or a cover brings about, and of defrosting, too."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.evidence.weighing import Bench
from halfsplit.machine import library, loading
from halfsplit.operate import condition as conditions
from halfsplit.plan import owner, steps

HIDDEN_FROM_OWNERS = {
    "refrigerator": {
        # the heater goes on after the thaw until the timer moves on, behind a wall that is thawed by then
        "terminator: stuck closed",
        "terminator: jumper left across contact",
        # the compressor hums on through a defrosting that no owner knows of, and the frost melts all the same
        "defrost timer: 1-4 welded",
    },
}
"""Faults that a symptom shows and no owner can tell, by machine, with the reason."""
MOVED = 0.5


def shown(bench: Bench, names: tuple[str, ...]) -> set[str]:
    """The single faults of which one of these symptoms, as an owner meets it, tells the healthy machine apart."""
    at = conditions.usual(bench.machine)
    yes = np.array([bench.predictor.symptom(name, at, True) for name in names])
    rows = np.flatnonzero((np.abs(yes - yes[:, :1]) > MOVED).any(axis=0))
    return {bench.faults[bench.singles.variants[s].faults[0]].name for s in rows.tolist() if s}


@pytest.mark.parametrize("name", library.names())
def test_what_a_symptom_shows_an_owner_can_tell(name: str) -> None:
    """Every fault that some symptom shows has one that its owner can tell, but for those listed with the reason."""
    bench = Bench(loading.load(name))
    every = tuple(bench.machine.symptoms)
    hidden = shown(bench, every) - shown(bench, owner.perceives(bench.machine))
    assert hidden == HIDDEN_FROM_OWNERS.get(name, set())


def test_no_repairer_waits_for_days() -> None:
    """What shows in days of use is asked, of the usual setting, and is no step of one's own."""
    fridge = loading.load("refrigerator")
    what = "keeps free of ice"
    (asked,) = (step for step in steps.questions(fridge) if step.at == what)
    assert asked.met == conditions.usual(fridge)
    assert what not in {step.at for step in steps.symptom_steps(fridge)}
