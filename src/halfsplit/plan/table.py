"""What each step would show under each single-fault variant, compiled once for a machine.

Knows the steps and the predictor. Two views of the same outcomes: codes, which say what a step would hardly tell
apart, for scoring thousands of steps at once; and means with a common spread, for the few best.
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

RELATIVE_SPREAD = 0.035
"""Deviation of ln(reading) by which readings are told apart: tolerance, line and meter together."""
ABSOLUTE_SPREAD = {"ohms": 0.1, "volts": 0.4, "low-impedance volts": 0.4, "amps": 0.08}
"""Deviation near zero, in the unit of the reading: leads, digits."""
GHOST_APART = 0.2
"""Deviation by which a floating lead's reading is coded: a ghost is worth considering apart from the line's volts."""
BATCH = 400


@dataclass(frozen=True, eq=False)
class Outcomes:
    """(K, S) codes; means (float32, in units of x, or the probability of yes), spreads and probability of over."""

    codes: outcome.Codes
    mean: Array
    spread: Array
    over: Array

    def take(self, rows: Sequence[int]) -> Outcomes:
        """The same for some steps only."""
        return Outcomes(self.codes[rows], self.mean[rows], self.spread[rows], self.over[rows])


@dataclass(frozen=True, eq=False)
class Table:
    """The distinct steps of a machine and their outcomes."""

    steps: tuple[steps.Step, ...]
    outcomes: Outcomes


def compiled(predictor: Predictor, offered: Sequence[steps.Step]) -> Table:
    """The table of the steps that tell anything; of those that tell the same at the same places, the first."""
    kept: list[steps.Step] = []
    parts: list[Outcomes] = []
    seen: set[tuple[bytes, tuple[str, ...], bool, tuple[str, ...]]] = set()
    for some, found in _outcomes(predictor, offered):
        rows = []
        for row, step in enumerate(some):
            lift = step.condition.lift if step.condition else ()
            key = (found.codes[row].tobytes(), steps.bays_needed(predictor.machine, step), step.live, lift)
            if (found.codes[row] != found.codes[row, 0]).any() and key not in seen:
                seen.add(key)
                rows.append(row)
        kept += [some[row] for row in rows]
        parts.append(found.take(rows))
    return Table(tuple(kept), _joined(parts))


def _joined(parts: Sequence[Outcomes]) -> Outcomes:
    return Outcomes(
        np.concatenate([p.codes for p in parts]),
        np.concatenate([p.mean for p in parts]),
        np.concatenate([p.spread for p in parts]),
        np.concatenate([p.over for p in parts]),
    )


def _outcomes(predictor: Predictor, offered: Sequence[steps.Step]) -> Iterator[tuple[list[steps.Step], Outcomes]]:
    for (kind, at, _), group in groupby(offered, key=lambda s: (s.kind, s.condition, s.probe and s.probe.meter)):
        some = list(group)
        if kind != "reading" or at is None:
            yield some, _perceived(predictor, some)
        else:
            for start in range(0, len(some), BATCH):
                batch = some[start : start + BATCH]
                yield batch, _readings(predictor, at, batch)


def _perceived(predictor: Predictor, some: Sequence[steps.Step]) -> Outcomes:
    """Looks by their likeliest value, symptoms by quarters of their probability; means are of symptoms only."""
    codes, yes = [], []
    for step in some:
        if step.kind == "look":
            codes.append(predictor.look(step.at)[1].argmax(axis=1).astype(np.int8))
            yes.append(np.zeros(len(codes[-1])))
        else:
            assert step.condition is not None
            yes.append(predictor.symptom(step.at, step.condition, False))
            codes.append((yes[-1] * 4).round().astype(np.int8))
    mean = np.array(yes, np.float32)
    return Outcomes(np.array(codes, np.int8), mean, np.zeros_like(mean), np.zeros(mean.shape, bool))


def _readings(predictor: Predictor, at: Condition, batch: Sequence[steps.Step]) -> Outcomes:
    meter = _meter(batch)
    values, floats = _values(predictor, at, batch)
    top, scale = predictor.readings.meter.over(meter), SCALES[meter]
    capped = np.minimum(values, top)
    own = ABSOLUTE_SPREAD[meter] ** 2 + (RELATIVE_SPREAD * capped) ** 2
    spread = np.sqrt(own / (capped**2 + scale**2) + np.where(floats, GHOST_SPREAD, 0.0) ** 2)
    over = values > top
    mean = np.arcsinh(capped / scale)
    codes = outcome.outcome_codes(mean, np.where(floats, GHOST_APART, spread), over.astype(float))
    return Outcomes(codes, mean.astype(np.float32), spread.astype(np.float32), over)


def _meter(batch: Sequence[steps.Step]) -> str:
    return batch[0].probe.meter if batch[0].probe else ""


def _values(predictor: Predictor, at: Condition, batch: Sequence[steps.Step]) -> tuple[Array, Array]:
    """(K, S) values and where a lead floats."""
    size = (len(batch), len(predictor.candidates.variants))
    values, floats = np.zeros(size), np.zeros(size, bool)
    built = predictor.operation.assembly
    probes = [step.probe for step in batch if step.probe]
    herds = predictor.readings.herds(at, predictor.found_effects)
    if _meter(batch) == "amps":
        ks = [built.branches[assembly.joint_at(probe.red)] for probe in probes]
        for herd in herds:
            values[:, herd.members] = np.abs(herd.amps[:, ks]).T
        return values, floats
    pairs = np.array([[built.nodes[probe.red], built.nodes[probe.black]] for probe in probes])
    for herd in herds:
        if _meter(batch) == "volts":
            values[:, herd.members], floats[:, herd.members] = _volts(built, herd, pairs)
        elif _meter(batch) == "low-impedance volts":
            volts, floating = _volts(built, herd, pairs)
            values[:, herd.members] = np.where(floating, 0.0, volts)
        else:
            values[:, herd.members] = _ohms(predictor, herd, pairs)
    return values, floats


def _volts(built: assembly.Assembly, herd: Settled, pairs: Array) -> tuple[Array, Array]:
    a, b = herd.volts[:, pairs[:, 0]], herd.volts[:, pairs[:, 1]]
    near = 1e-5 * built.rated
    floats = (np.minimum(np.abs(a), np.abs(b)) < near) & herd.volts.any()
    return np.abs(a - b).T, floats.T


def _ohms(predictor: Predictor, herd: Settled, pairs: Array) -> Array:
    readings = predictor.readings
    ready = readings.ready("meter", herd)
    made, which = ready.distinct([predictor.found_effects[m] for m in herd.members.tolist()])
    ohms = ready.factored.resistances(made, pairs, rough=True)
    return np.asarray(ohms[which].T + readings.meter.lead_ohms)
