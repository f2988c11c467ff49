"""The compiled table of steps against the predictor, which takes one reading at a time the slow way."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from halfsplit.circuit.network import Array
from halfsplit.evidence import outcome
from halfsplit.operate import condition as conditions
from halfsplit.plan import alike, steps
from halfsplit.predict.readings import Reading
from tests.rehearse.benches import NAMES, adviser

READINGS = 50
"""So many readings a machine are judged, drawn anew for each but the same in every run."""
GHOST = 0.5
"""Own noise above this: a lead floats, and how far the meter pulls it down is not in the table."""

LOADS = "low-impedance volts"
"""The function of the meter that loads what it measures by more than a ten-thousandth."""

each_machine = pytest.mark.parametrize("name", NAMES)


@lru_cache
def drawn(name: str) -> list[tuple[int, Reading]]:
    """Random reading steps of a machine with what the predictor says of them."""
    asked = adviser(name)
    rows = [k for k, step in enumerate(asked.table.steps) if step.kind == "reading"]
    found = []
    for k in np.random.default_rng(7).choice(rows, READINGS, replace=False).tolist():
        step = asked.table.steps[k]
        assert step.probe is not None
        assert step.condition is not None
        found.append((k, asked.bench.predictor.reading(step.probe, step.condition)))
    return found


@each_machine
def test_over_range_is_the_same(name: str) -> None:
    """Every variant that reads over range, and no other."""
    over = adviser(name).table.outcomes.over
    for k, slow in drawn(name):
        assert (over[k] == np.isinf(slow.value)).all(), adviser(name).table.steps[k]


@each_machine
def test_means_agree(name: str) -> None:
    """Within half of the table's spread; where a lead floats, within three.

    Where the house has lost its earth all hangs on strays, and the meter's load, which the table leaves out, shows. At
    low impedance it shows through a joint that gives way (3 kilohms behind 100 ohms: 3 % of the volts): within one.
    """
    outcomes = adviser(name).table.outcomes
    for k, slow in drawn(name):
        apart = np.abs(outcomes.mean[k] - slow.mean) / outcomes.spread[k]
        shown = np.isfinite(slow.value)
        floats = slow.noise > GHOST
        step = adviser(name).table.steps[k]
        loads = step.probe is not None and step.probe.meter == LOADS
        assert (apart[shown & ~floats] < (1.0 if loads else 0.5)).all(), step
        assert (apart[shown & floats] < 3.0).all(), step


@each_machine
def test_codes_agree(name: str) -> None:
    """Codes made from the slow means part the variants alike, in every step where no lead floats."""
    outcomes, judged = adviser(name).table.outcomes, 0
    for k, slow in drawn(name):
        if (slow.noise < GHOST).all():
            over = np.isinf(slow.value)[None].astype(float)
            codes = outcome.outcome_codes(slow.mean[None], outcomes.spread[[k]].astype(float), over)
            assert (codes[0] == outcomes.codes[k]).all(), adviser(name).table.steps[k]
            judged += 1
    assert judged > READINGS / 3


@each_machine
def test_symptoms_and_looks_agree(name: str) -> None:
    """Every symptom's probability, and the likeliest thing to be seen at every place."""
    asked = adviser(name)
    predictor, outcomes = asked.bench.predictor, asked.table.outcomes
    for k, step in enumerate(asked.table.steps):
        if step.kind == "symptom":
            at = step.condition or conditions.usual(asked.bench.machine)
            yes = predictor.symptom(step.at, at, False)
            np.testing.assert_allclose(outcomes.mean[k], yes, atol=1e-6)
        elif step.kind == "look":
            assert (outcomes.codes[k] == predictor.look(step.at, step.closely)[1].argmax(axis=1)).all()


@each_machine
def test_every_step_tells_something_and_none_twice(name: str) -> None:
    """No step of the table shows the same under all variants, and no two the same at the same places.

    But for readings of two like things: both are kept, since their difference tells more than each; and for looks once
    more.
    """
    asked = adviser(name)
    codes: Array = asked.table.outcomes.codes
    assert (codes != codes[:, :1]).any(axis=1).all()
    paired = {step for pair in alike.pairs(asked.bench.predictor, asked.table.steps) for step in pair}
    keys = [
        (
            *(row.tobytes(), steps.bays_needed(asked.bench.machine, s), s.live),
            *((s.condition.lift, s.condition.provoke) if s.condition else (s.kind,)),
            s.at if s.kind == steps.QUESTION else "",
            s.closely,
            dict(s.condition.setting).get(conditions.WARMTH) if s.condition and s.kind == "reading" else "",
        )
        for row, s in zip(codes, asked.table.steps, strict=True)
        if s not in paired
    ]
    assert len(set(keys)) == len(keys) > 100
