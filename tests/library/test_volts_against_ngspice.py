"""Volts of all nodes of the library's machines, judged by the circuit simulator: a sample of settings and faults.

`tools/judge_library.py` judges all of them.
"""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.machine import library, loading
from tests.library import sweep

SETTINGS, NETWORKS = 3, 100


def sample(machine: str, seed: int) -> tuple[sweep.Library, list[sweep.Case]]:
    """Some networks of some settings; each that only one fault leads to stands for itself."""
    rng = np.random.default_rng(seed)
    judged = sweep.Library(loading.load(machine))
    conditions, seen = judged.all_conditions(), set[sweep.Key]()
    chosen = rng.choice(len(conditions), min(SETTINGS, len(conditions)), replace=False)
    cases = [case for index in chosen for case in judged.cases(conditions[index], seen)]
    return judged, [cases[k] for k in rng.choice(len(cases), min(NETWORKS, len(cases)), replace=False)]


@pytest.mark.parametrize("machine", library.names())
def test_volts_agree(machine: str, ngspice: str) -> None:
    """Every node within 1e-6 of the largest volts of its network."""
    judged, cases = sample(machine, 2)
    errors = judged.errors(cases)
    assert errors.max() < 1e-6, cases[int(errors.argmax())].what


def test_the_judge_would_notice(ngspice: str) -> None:
    """One node ten microvolts in a volt off is found."""
    judged, cases = sample("water-heater", 3)
    wrong = cases[0].volts.copy()
    wrong[1] += 1e-5 * np.abs(wrong).max()
    assert judged.errors([sweep.Case("wrong", cases[0].deck, wrong)])[0] > 1e-6
