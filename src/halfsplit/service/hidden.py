"""A fault drawn and hidden in a machine, for practice: the rehearsal's truth, with a person who is never mistaken."""

from __future__ import annotations

import numpy as np

from halfsplit.errors import WrongUse
from halfsplit.evidence import finding as f
from halfsplit.plan.score import Adviser
from halfsplit.rehearse import play
from halfsplit.rehearse.truth import Truth, World

TRIES = 200


def draw(asked: Adviser, seed: int | None = None) -> tuple[Truth, list[f.Finding]]:
    """A machine with a fault drawn by rate, and what its owner tells. The fault is there all the time and shows.

    Raises WrongUse where no fault of the machine shows in any symptom.
    """
    bench, rng = asked.bench, np.random.default_rng(seed)
    lasting = [fault for fault in bench.faults if fault.acting >= 1]
    rates = np.array([fault.rate for fault in lasting])
    for _ in range(TRIES):
        fault = lasting[int(rng.choice(len(lasting), p=rates / rates.sum()))]
        weights = np.array([weight for weight, _ in fault.alternatives])
        _, changes = fault.alternatives[int(rng.choice(len(weights), p=weights / weights.sum()))]
        truth = Truth(bench.machine, fault, changes, rng, World(mistaken=0.0))
        told = play.complaint(asked, truth)
        if told:
            return truth, told
    raise WrongUse("No fault of this machine shows in a symptom.", "Choose another machine.")
