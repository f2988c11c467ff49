"""What each step would show under each single-fault variant, compiled once for a machine: codes, not densities.

Knows the steps and the predictor. The codes say which variants a step would hardly tell apart; the densities of
the few best steps are worked out later, by score.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from halfsplit.circuit import assembly
from halfsplit.circuit.network import Array
from halfsplit.evidence import outcome
from halfsplit.operate.condition import Condition
from halfsplit.operate.settle import Settled
from halfsplit.plan import steps
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import GHOST_SPREAD, SCALES

SPREAD = 0.05
"""Deviation in units of x by which readings are told apart when compiling: tolerance and meter together."""
BATCH = 400
FLOATING_CODE = 126


@dataclass(frozen=True, eq=False)
class Table:
    """The distinct steps of a machine and their codes (K, S), int8; equal codes, hardly to be told apart."""

    steps: tuple[steps.Step, ...]
    codes: outcome.Codes
    usual: Array


def compiled(predictor: Predictor, offered: Sequence[steps.Step]) -> Table:
    """The table of the steps that tell anything; of those that tell the same at the same places, the first."""
    kept: list[steps.Step] = []
    rows: list[outcome.Codes] = []
    seen: set[tuple[bytes, tuple[str, ...], bool, tuple[str, ...]]] = set()
    for some, codes in _coded(predictor, offered):
        for step, row in zip(some, codes, strict=True):
            lift = step.condition.lift if step.condition else ()
            key = (row.tobytes(), steps.bays_needed(predictor.machine, step), step.live, lift)
            if (row != row[0]).any() and key not in seen:
                seen.add(key)
                kept.append(step)
                rows.append(row)
    codes = np.array(rows, np.int8).reshape(len(rows), len(predictor.candidates.variants))
    return Table(tuple(kept), codes, codes[:, :1])


def _coded(predictor: Predictor, offered: Sequence[steps.Step]) -> Iterator[tuple[list[steps.Step], outcome.Codes]]:
    for (kind, at, _), group in groupby(offered, key=lambda s: (s.kind, s.condition, s.probe and s.probe.meter)):
        some = list(group)
        if kind != "reading" or at is None:
            yield some, np.array([_perceived_row(predictor, step) for step in some], np.int8)
        else:
            for start in range(0, len(some), BATCH):
                batch = some[start : start + BATCH]
                yield batch, _reading_rows(predictor, at, batch)


def _perceived_row(predictor: Predictor, step: steps.Step) -> outcome.Codes:
    if step.kind == "look":
        return predictor.look(step.at)[1].argmax(axis=1).astype(np.int8)
    assert step.condition is not None
    return (predictor.symptom(step.at, step.condition, False) * 4).round().astype(np.int8)


def _reading_rows(predictor: Predictor, at: Condition, batch: Sequence[steps.Step]) -> outcome.Codes:
    meter = batch[0].probe.meter if batch[0].probe else ""
    values, floats = _values(predictor, at, batch)
    top = predictor.readings.meter.over(meter)
    mean = np.arcsinh(np.minimum(values, top) / SCALES[meter])
    spread = np.where(floats, GHOST_SPREAD, SPREAD)
    return outcome.outcome_codes(mean, spread, (values > top).astype(float))


def _values(predictor: Predictor, at: Condition, batch: Sequence[steps.Step]) -> tuple[Array, Array]:
    """(K, S) values and where a lead floats."""
    size = (len(batch), len(predictor.candidates.variants))
    values, floats = np.zeros(size), np.zeros(size, bool)
    readings, effects = predictor.readings, predictor.found_effects
    built = predictor.operation.assembly
    meter = batch[0].probe.meter if batch[0].probe else ""
    probes = [step.probe for step in batch if step.probe]
    if meter == "amps":
        ks = [built.branches[assembly.joint_at(probe.red)] for probe in probes]
        for herd in readings.herds(at, effects):
            values[:, herd.members] = np.abs(herd.amps[:, ks]).T
        return values, floats
    pairs = np.array([[built.nodes[probe.red], built.nodes[probe.black]] for probe in probes])
    for herd in readings.herds(at, effects):
        if meter == "volts":
            values[:, herd.members], floats[:, herd.members] = _volts(built, herd, pairs)
        else:
            ready = readings.ready("meter", herd)
            made, which = ready.distinct([effects[m] for m in herd.members.tolist()])
            ohms = ready.factored.resistances(made, pairs, rough=True)
            values[:, herd.members] = ohms[which].T
    return values, floats


def _volts(built: assembly.Assembly, herd: Settled, pairs: Array) -> tuple[Array, Array]:
    a, b = herd.volts[:, pairs[:, 0]], herd.volts[:, pairs[:, 1]]
    near = 1e-5 * built.rated
    floats = (np.minimum(np.abs(a), np.abs(b)) < near) & herd.volts.any()
    return np.abs(a - b).T, floats.T
