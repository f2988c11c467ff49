"""What a step is scored to tell against mutual information added up cell by cell, from the predictor alone."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from functools import lru_cache

import numpy as np
import pytest
from scipy.stats import norm

from halfsplit.circuit.network import Array
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.evidence.slips import SLIP
from halfsplit.evidence.weighing import Weighed
from halfsplit.operate.condition import usual
from halfsplit.plan.steps import Step
from tests.rehearse.benches import adviser, bench

NAME = "water-heater"
TOLD = "- symptom: {what: water gets hot, value: no}\n- symptom: {what: breaker trips, value: no}\n"
VOLTS = "- reading: {meter: volts, red: limit.1, black: limit.3, value: 238 V}\n"
GRID = 700
"""Cells of the line on which a reading's spread is added up."""


@lru_cache
def weighed(text: str) -> Weighed:
    """Findings on the water heater."""
    return bench(NAME).weigh(findings_file.read(text, "findings.yaml", bench(NAME).machine), with_pairs=False)


def by_force(found: Weighed, outcomes: Array) -> float:
    """Bits about the set of repairs, from a table (S, outcomes) of what each variant would show."""
    belief = found.posterior.probability / found.posterior.probability.sum()
    acting, repair_of = found.candidates.acting, found.candidates.repair_of
    joint: dict[int, Array] = defaultdict(lambda: np.zeros(outcomes.shape[1]))
    for s, p in enumerate(belief):
        joint[int(repair_of[s])] += p * (acting[s] * outcomes[s] + (1 - acting[s]) * outcomes[0])
    shown = sum(joint.values(), np.zeros(outcomes.shape[1]))
    each = [mass for row in joint.values() for mass in row]
    return _entropy(float(row.sum()) for row in joint.values()) + _entropy(shown) - _entropy(each)


def _entropy(masses: Iterable[float]) -> float:
    return -sum(p * math.log2(p) for p in masses if p > 0)


def _of_reading(found: Weighed, step: Step) -> Array:
    """(S, cells) of a reading by its exact mean and spread, over range last; a slip tells nothing."""
    assert step.probe is not None
    assert step.condition is not None
    slow = found.predictor.reading(step.probe, step.condition)
    spread = np.sqrt((slow.jacobian**2).sum(axis=1) + slow.noise**2)
    edges = np.linspace(slow.mean.min() - 1, slow.mean.max() + 1, GRID)
    below = norm.cdf(edges[None], slow.mean[:, None], spread[:, None])
    number = np.diff(below, axis=1, prepend=0.0, append=1.0) * (1 - slow.over[:, None])
    table = np.concatenate([number, slow.over[:, None]], axis=1)
    usual = found.posterior.probability @ table / found.posterior.probability.sum()
    return np.asarray((1 - SLIP) * table + SLIP * usual)


def _steps(kind: str) -> list[int]:
    return [k for k, step in enumerate(adviser(NAME).table.steps) if step.kind == kind]


@pytest.mark.parametrize("text", ["", TOLD, TOLD + VOLTS])
def test_bits_of_symptoms(text: str) -> None:
    """Each symptom, before and after something is known; unlikely variants are left out of the score."""
    found, asked = weighed(text), adviser(NAME)
    for k in _steps("symptom"):
        step = asked.table.steps[k]
        yes = found.predictor.symptom(step.at, step.condition or usual(found.predictor.machine), False)
        assert asked.bits(found, k) == pytest.approx(by_force(found, np.column_stack([1 - yes, yes])), abs=0.01)


def test_bits_of_looks() -> None:
    """A mark stays where it is although the fault comes and goes, and the table of looks is used as it is."""
    found, asked = weighed(TOLD), adviser(NAME)
    always = np.flatnonzero(found.candidates.acting >= 1)
    for k in _steps("look"):
        table = found.predictor.look(asked.table.steps[k].at, asked.table.steps[k].closely)[1]
        if (table[always] == table[0]).all():
            continue
        marked = {s for s in range(len(table)) if (table[s] != table[0]).any()}
        if marked <= set(always.tolist()):
            assert asked.bits(found, k) == pytest.approx(by_force(found, table), abs=0.01)


@pytest.mark.parametrize("text", [TOLD, TOLD + VOLTS])
def test_bits_of_readings(text: str) -> None:
    """Random readings: by a common spread and few bins hardly more or less than by the exact spread and many."""
    found, asked = weighed(text), adviser(NAME)
    drawn = np.random.default_rng(3).choice(_steps("reading"), 15, replace=False).tolist()
    apart = [asked.bits(found, k) - by_force(found, _of_reading(found, asked.table.steps[k])) for k in drawn]
    assert np.abs(apart).max() < 0.35
    assert np.abs(apart).mean() < 0.06


def test_coarse_bits_are_those_of_sure_codes() -> None:
    """The coarse score of every step is the mutual information of its codes and the repair."""
    found, asked = weighed(TOLD), adviser(NAME)
    coarse = asked.coarse(found)
    belief = found.posterior.probability / found.posterior.probability.sum()
    repair_of = found.candidates.repair_of
    for k in np.random.default_rng(5).choice(len(asked.table.steps), 40, replace=False).tolist():
        sure = np.eye(256)[asked.table.outcomes.codes[k].astype(int) + 128]
        used = sure[:, sure.any(axis=0)]
        joint = np.zeros((int(repair_of.max()) + 1, used.shape[1]))
        np.add.at(joint, repair_of, belief[:, None] * used)
        parts = (joint.sum(axis=1), joint.sum(axis=0), joint.ravel())
        repair, shown, both = (_entropy(part.tolist()) for part in parts)
        assert coarse[k] == pytest.approx(repair + shown - both, abs=1e-9)


@pytest.mark.parametrize("text", ["", TOLD, TOLD + VOLTS])
def test_bits_of_questions(text: str) -> None:
    """Each question: both answers are put among the findings, and all is weighed anew by the slow obvious way."""
    found, asked = weighed(text), adviser(NAME)
    owners = [k for k in _steps("question") if asked.table.steps[k].at not in text]
    assert len(owners) > 3
    repair_of = found.candidates.repair_of
    for k in owners:
        step = asked.table.steps[k]
        answers = [f.Perceived(step.at, there, step.met, "owner") for there in (False, True)]
        after = [bench(NAME).weigh([*found.findings, one], with_pairs=False).posterior for one in answers]
        masses = [one.probability * math.exp(one.log_evidence - found.posterior.log_evidence) for one in after]
        table = np.column_stack([np.bincount(repair_of, mass) for mass in masses])
        joint = table / table.sum()
        parts = (joint.sum(axis=1), joint.sum(axis=0), joint.ravel())
        repair, said, both = (_entropy(part.tolist()) for part in parts)
        assert asked.bits(found, k) == pytest.approx(repair + said - both, abs=0.01)
