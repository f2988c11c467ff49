"""What each step would show under each single-fault variant, compiled once for a machine.

Knows the steps and the predictor. Two views of the same outcomes: codes, which say what a step would hardly tell
apart, for scoring thousands of steps at once; and means with a common spread, for the few best.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

import numpy as np

from halfsplit.circuit import assembly
from halfsplit.circuit.network import Array
from halfsplit.evidence import outcome
from halfsplit.evidence.partition import Partition, partition
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import model
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.operate.effect import Effect
from halfsplit.operate.settle import Settled
from halfsplit.plan import alike, odd, steps, under_load, wire_ends
from halfsplit.plan.alike import Compared
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import GHOST_SPREAD, SCALES, Probe
from halfsplit.work import minutes
from halfsplit.work.state import OUTSIDE

RELATIVE_SPREAD = 0.035
"""Deviation of ln(reading) by which readings are told apart: tolerance, line and meter together."""
ABSOLUTE_SPREAD = {"ohms": 0.1, "volts": 0.4, "low-impedance volts": 0.4, "amps": 0.08, "capacitance": 1e-8}
"""Deviation near zero, in the unit of the reading: leads, digits."""
GHOST_APART = 0.2
"""Deviation by which a floating lead's reading is coded: a ghost is worth considering apart from the line's volts."""
ALIKE = 1e-3
"""Probability of yes by which a symptom shows otherwise with twins exchanged."""
BATCH, ODD_BATCH = 400, 900
"""So many steps are worked out at once."""


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


def joined(parts: Sequence[Outcomes]) -> Outcomes:
    """The outcomes of all parts, one after another."""
    names = ("codes", "mean", "spread", "over")
    return Outcomes(*(np.concatenate([getattr(part, name) for part in parts]) for name in names))


@dataclass(frozen=True, eq=False)
class Table:
    """The distinct steps of a machine: the trusted ones with their outcomes, and the odd ones.

    `partition` scores all of them, the trusted first. `alike` (S,): variants of one number no step tells apart.
    `compared`: what the differences of readings of two like things would show.
    """

    steps: tuple[steps.Step, ...]
    outcomes: Outcomes
    odd: odd.OddSteps
    partition: Partition
    alike: Array
    compared: Compared


def of_machine(bench: Bench) -> Table:
    """The table of all steps of a machine."""
    loads = (step for pair in alike.of_loads(bench.machine) for step in pair)
    usual = (step for step in steps.steps(bench.machine) if not _exchanged_for_nothing(bench.predictor, step))
    offered = tuple(dict.fromkeys((*usual, *loads, *under_load.steps_of(bench.predictor))))
    return compiled(bench.predictor, offered, odd.odd_steps(bench.machine), wires_off=True)


def _exchanged_for_nothing(predictor: Predictor, step: steps.Step) -> bool:
    """Whether a symptom would show under every variant just what it shows with the twins in their own places."""
    if step.kind != "symptom" or step.condition is None or not step.exchange:
        return False
    exchanged, own = (predictor.symptom(step.at, at, by_owner=False) for at in (step.condition, step.condition.own))
    return bool(np.allclose(exchanged, own, atol=ALIKE))


def compiled(
    predictor: Predictor, offered: Sequence[steps.Step], strange: odd.OddSteps, wires_off: bool = False
) -> Table:
    """The table of the steps that tell anything; of those that tell the same at the same places, the first.

    Readings of two like things are kept both, since their difference tells more than each. wires_off: with those along
    a wire that has an end off, where they tell apart what none of these steps does.
    """
    pairs = alike.pairs(predictor, offered)
    paired = {step for pair in pairs for step in pair}
    chosen = _Chosen(predictor.machine)
    kept: list[steps.Step] = []
    parts: list[Outcomes] = []
    for some, found in _outcomes(predictor, offered):
        rows = [row for row, step in enumerate(some) if chosen.new(found.codes[row], step) or step in paired]
        kept += [some[row] for row in rows]
        parts.append(found.take(rows))
    usual = joined(parts)
    numbers, codes = _odd_outcomes(predictor, strange, chosen)
    all_codes = np.concatenate([usual.codes, *codes])
    _, same = np.unique(np.ascontiguousarray(all_codes.T), axis=0, return_inverse=True)
    more = _with_wires_off(predictor, same) if wires_off else []
    kept += [step for step, _ in more]
    usual = joined([usual, *(found for _, found in more)])
    all_codes = np.concatenate([usual.codes, *codes])
    for _, found in more:
        same = wire_ends.alike_still(same, found.codes[0])
    parted = partition(all_codes, predictor.candidates.repair_of)
    compared = alike.compared(predictor, pairs, {step: k for k, step in enumerate(kept)})
    return Table(tuple(kept), usual, strange.take(numbers), parted, same, compared)


def _with_wires_off(predictor: Predictor, same: Array) -> list[tuple[steps.Step, Outcomes]]:
    """The readings along wires with an end off that part what is alike (S,) without them, with outcomes (1, S)."""
    wires = wire_ends.not_told_apart(predictor.candidates, same)
    offered = list(wire_ends.steps_of(predictor.machine, wires))
    if not offered:
        return []
    found = joined([some for _, some in _outcomes(predictor, offered)])
    chosen = wire_ends.parting(predictor.candidates.repair_of, same, found.codes)
    return [(offered[k], found.take([k])) for k in chosen]


class _Chosen:
    """Which steps tell something that none before them tells at the same places."""

    def __init__(self, machine: model.Machine) -> None:
        self.machine = machine
        self.bay = {t: machine.parts[model.part_of(t)].bay for t in machine.terminals}
        self._seen: set[tuple[bytes, frozenset[str], bool, tuple[str, ...], str]] = set()

    def new(self, codes: Array, step: steps.Step) -> bool:
        """Whether a step of these codes (S,) does."""
        at = step.condition
        more = (at.provoke, *at.exchange, *at.lift) if at else ()
        stands = ("as it stands",) if step.kind == "symptom" and at is None else ()
        again = (f"asks {step.at}",) if step.asks else ("closely",) if step.closely else ()
        more = (*more, *stands, *again, f"takes {minutes.running(self.machine, step.kind, step.at):g}")
        warm = at.position(WARMTH) if at and step.kind == "reading" and self.machine.warmths else ""
        return self._new(codes, frozenset(steps.bays_needed(self.machine, step)), step.live, more, warm)

    def new_odd(self, codes: Array, pair: tuple[str, str], at: Condition, made: Collection[str]) -> bool:
        """The same of an odd step, at whatever warmth; made: the bays into which hands go to make its condition."""
        bays = frozenset((*(self.bay[t] for t in pair), *made)) - {OUTSIDE}
        return self._new(codes, bays, not at.isolated, ("", "takes 0"))

    def _new(self, codes: Array, bays: frozenset[str], live: bool, more: tuple[str, ...], warm: str = "") -> bool:
        """more: what is provoked, which twins are exchanged, the terminals whose wires are off, whether it is seen
        without power, how long it runs, what is asked, or looked at once more: people err, and a second question or
        look tells something that the first does not. warm: the warmth at which it is read ("": any); a machine that
        stands at one comes to another by a wait only.
        """
        key = (codes.tobytes(), bays, live, more, warm)
        if key in self._seen or (codes == codes[0]).all():
            return False
        self._seen |= {key, (*key[:-1], "")}
        return True


def _odd_outcomes(predictor: Predictor, strange: odd.OddSteps, chosen: _Chosen) -> tuple[Array, list[outcome.Codes]]:
    """The numbers of the odd steps that are new, and their codes."""
    numbers: list[int] = []
    codes: list[outcome.Codes] = []
    for start, end in _batches(strange):
        at = strange.conditions[strange.at[start]]
        pairs = [(strange.terminals[strange.red[n]], strange.terminals[strange.black[n]]) for n in range(start, end)]
        found = _readings(predictor, at, [Probe(odd.meter_in(at), *pair) for pair in pairs]).codes
        made = steps.bays_to_make(predictor.machine, at)
        rows = [row for row, pair in enumerate(pairs) if chosen.new_odd(found[row], pair, at, made)]
        numbers += [start + row for row in rows]
        codes.append(found[rows])
    return np.array(numbers, np.intp), codes


def _batches(strange: odd.OddSteps) -> Iterator[tuple[int, int]]:
    """Runs of one condition, none longer than ODD_BATCH."""
    edges = np.searchsorted(strange.at, np.arange(len(strange.conditions) + 1)).tolist()
    for first, end in pairwise(edges):
        yield from ((start, min(start + ODD_BATCH, end)) for start in range(first, end, ODD_BATCH))


def outcomes_of(predictor: Predictor, *readings: steps.Step) -> Outcomes:
    """The outcomes of readings of one function in one condition, worked out now.

    What the table keeps of an odd step is its codes' partition.
    """
    at = readings[0].condition
    assert at is not None
    return _readings(predictor, at, [step.probe for step in readings if step.probe])


def _outcomes(predictor: Predictor, offered: Sequence[steps.Step]) -> Iterator[tuple[list[steps.Step], Outcomes]]:
    for (kind, at, _), group in groupby(offered, key=_together):
        some = list(group)
        if kind != "reading" or at is None:
            yield some, _perceived(predictor, some)
        else:
            for start in range(0, len(some), BATCH):
                batch = some[start : start + BATCH]
                yield batch, _readings(predictor, at, [step.probe for step in batch if step.probe])


def _together(step: steps.Step) -> tuple[str, Condition | None, str]:
    """What steps have in common that are worked out at once."""
    return step.kind, step.condition and step.condition.still, step.probe.meter if step.probe else ""


def _perceived(predictor: Predictor, some: Sequence[steps.Step]) -> Outcomes:
    """Looks by their likeliest value, symptoms by quarters of their probability, whoever tells of them; means are of
    symptoms only."""
    codes, yes = [], []
    for step in some:
        if step.kind == "look":
            codes.append(predictor.look(step.at, step.closely)[1].argmax(axis=1).astype(np.int8))
            yes.append(np.zeros(len(codes[-1])))
        else:
            at = step.tells_of or conditions.usual(predictor.machine)
            yes.append(predictor.symptom(step.at, at, step.asks))
            codes.append((yes[-1] * 4).round().astype(np.int8))
    mean = np.array(yes, np.float32)
    return Outcomes(np.array(codes, np.int8), mean, np.zeros_like(mean), np.zeros(mean.shape, bool))


def _readings(predictor: Predictor, at: Condition, probes: Sequence[Probe]) -> Outcomes:
    meter = probes[0].meter
    values, floats = _values(predictor, at, probes)
    top, scale = predictor.readings.meter.over(meter), SCALES[meter]
    capped = np.minimum(values, top)
    own = ABSOLUTE_SPREAD[meter] ** 2 + (RELATIVE_SPREAD * capped) ** 2
    spread = np.sqrt(own / (capped**2 + scale**2) + np.where(floats, GHOST_SPREAD, 0.0) ** 2)
    over = values > top
    mean = np.arcsinh(capped / scale)
    codes = outcome.outcome_codes(mean, np.where(floats, GHOST_APART, spread), over.astype(float))
    return Outcomes(codes, mean.astype(np.float32), spread.astype(np.float32), over)


def _values(predictor: Predictor, at: Condition, probes: Sequence[Probe]) -> tuple[Array, Array]:
    """(K, S) values and where a lead floats."""
    meter, size = probes[0].meter, (len(probes), len(predictor.candidates.variants))
    values, floats = np.zeros(size), np.zeros(size, bool)
    built = predictor.operation.assembly
    effects, herds = predictor.effects_in(at), predictor.herds(at)
    if meter == "amps":
        ks = [built.branches[assembly.joint_at(probe.red)] for probe in probes]
        for herd in herds:
            values[:, herd.members] = np.abs(herd.amps[:, ks]).T
        return values, floats
    if meter == "capacitance":
        return np.array([predictor.readings.farads(probe, effects) for probe in probes]), floats
    pairs = np.array([[built.nodes[probe.red], built.nodes[probe.black]] for probe in probes])
    for herd in herds:
        if meter == "volts":
            values[:, herd.members], floats[:, herd.members] = _volts(built, herd, pairs)
        elif meter == "low-impedance volts":
            volts, floating = _volts(built, herd, pairs)
            values[:, herd.members] = np.where(floating, 0.0, volts)
        else:
            values[:, herd.members] = _ohms(predictor, herd, effects, pairs)
    return values, floats


def _volts(built: assembly.Assembly, herd: Settled, pairs: Array) -> tuple[Array, Array]:
    a, b = herd.volts[:, pairs[:, 0]], herd.volts[:, pairs[:, 1]]
    near = 1e-5 * built.rated
    floats = (np.minimum(np.abs(a), np.abs(b)) < near) & herd.volts.any()
    return np.abs(a - b).T, floats.T


def _ohms(predictor: Predictor, herd: Settled, effects: Sequence[Effect], pairs: Array) -> Array:
    readings = predictor.readings
    ready = readings.ready("meter", herd)
    made, which = ready.distinct([effects[m] for m in herd.members.tolist()])
    ohms = ready.factored.resistances(made, pairs, rough=True)
    return np.asarray(ohms[which].T + readings.meter.lead_ohms)
