"""Findings against predictions: makes the arrays that the posterior weighs.

Knows findings and the predictor; holds the contexts of what was not stated and the slips of the hand.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from halfsplit.evidence import finding as f
from halfsplit.evidence import likelihood as lk
from halfsplit.evidence import posterior as ps
from halfsplit.evidence.likelihood import Array
from halfsplit.machine import model
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.predict.candidates import Candidates
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import Probe, Reading
from halfsplit.quantity import normal

NOT_LIFTED, PREFIX, NOT_SET = 0.4, 0.1, 0.2
"""Shares of the slips: wire not lifted; k for M and M for k; setting not made. Halfsplit's choice, no source."""
USUAL_CONTEXT = 0.6
"""Probability that an owner who says no setting speaks of the first one named in the file; no source."""
CURE_IS_SEEN = 0.97
"""How surely a repair that cures is seen to cure, and one that does not, not; common practice, no source."""


def weighable(candidates: Candidates) -> ps.Candidates:
    """The candidates as the posterior wants them."""
    return ps.Candidates(candidates.prior, 0, candidates.acting, candidates.parts)


def is_unstated(found: f.Finding, machine: model.Machine) -> bool:
    """Whether a symptom was told without the setting in which it was met, on which it may depend: not where a repairer
    saw what shows without power."""
    return isinstance(found, f.Perceived) and found.condition is None and not is_seen_unpowered(found, machine)


def is_seen_unpowered(found: f.Perceived, machine: model.Machine) -> bool:
    """Whether a repairer saw for himself what shows on the machine as it stands, in no setting."""
    return found.condition is None and found.by == "repairer" and machine.symptoms[found.what].unpowered


def item(found: tuple[f.Telling, ...], predictor: Predictor) -> ps.Item:
    """The arrays of one finding, or of all symptoms of unstated setting as one block."""
    first = found[0]
    match first:
        case f.Reading():
            return numeric(first, predictor)
        case f.Look():
            return _look(first, predictor)
        case f.Tried():
            return _tried(first, predictor)
    if is_unstated(first, predictor.machine):
        return block([x for x in found if isinstance(x, f.Perceived)], predictor)
    return _symptom(first, first.condition, predictor)


def block(unstated: Sequence[f.Perceived], predictor: Predictor) -> ps.Block:
    """Symptoms told without a setting, under the settings in which an owner may have met them."""
    contexts = [
        ps.Context(weight, tuple(_symptom(x, at, predictor) for x in unstated))
        for at, weight in usual_conditions(predictor)
    ]
    return ps.Block(tuple(contexts))


def usual_conditions(predictor: Predictor) -> list[tuple[Condition, float]]:
    """The first settings named in the file, at most four, with the probability that an owner means each."""
    machine = predictor.machine
    named = list(machine.settings.values())[: ps.MOST_CONTEXTS] or [()]
    rest = (1 - USUAL_CONTEXT) / max(len(named) - 1, 1)
    weights = [USUAL_CONTEXT, *[rest] * (len(named) - 1)]
    return [(conditions.condition(machine, s), w) for s, w in zip(named, weights, strict=True)]


def _symptom(found: f.Perceived, at: Condition | None, predictor: Predictor) -> lk.Perceived:
    """A symptom in a condition; None: as the machine stands, which decides what the usual condition would."""
    yes = predictor.symptom(found.what, at or conditions.usual(predictor.machine), found.by == "owner")
    table = np.column_stack([1 - yes, yes])
    if found.by == "repairer" and predictor.machine.symptoms[found.what].unpowered:
        at = None  # seen in a setting or in none it is the same puddle
    return lk.Perceived(setup(found.by, at), int(found.there), table, same_place=(found.what, at))


def setup(by: str, at: Condition | None) -> tuple[str, Condition | None]:
    """The set-up of what a person tells of a condition: owner and repairer met the machine at other times."""
    return by, at


def _look(found: f.Look, predictor: Predictor) -> lk.Perceived:
    """A mark stays, also of what comes and goes; what is not in the file leaves none that the file names, and where its
    candidate should have left one and did not, others show the same and leave none."""
    values, table = predictor.look(found.at, found.closely)
    value = values.index(found.sees) if found.sees in values else len(values) - 1
    setup, unlisted = ("look", found.at, found.closely), np.minimum(table, table[0])
    return lk.Perceived(setup, value, table, same_place=setup, acting=np.ones(len(table)), unlisted=unlisted)


def _tried(found: f.Tried, predictor: Predictor) -> lk.Perceived:
    """Of a repair that nobody tried nothing is known."""
    if found.cured is None:
        return lk.Perceived(("repair", found.repair), 0, np.ones((len(predictor.candidates.variants), 1)))
    candidates = predictor.candidates
    cures = [candidates.cured(g, [found.repair]) for g in range(len(candidates.groups))]
    yes = np.where(np.array(cures)[candidates.group_of], CURE_IS_SEEN, 1 - CURE_IS_SEEN)
    unlisted = np.tile([CURE_IS_SEEN, 1 - CURE_IS_SEEN], (len(yes), 1))
    return lk.Perceived(("repair", found.repair), int(found.proved), np.column_stack([1 - yes, yes]), unlisted=unlisted)


# ---- readings ---------------------------------------------------------------------------------------------


def numeric(found: f.Reading, predictor: Predictor) -> lk.Numeric:
    """A reading as arrays, with the slips that may have made it; of one that a plan foresees, its ranges."""
    expected = predictor.reading(found.probe, found.condition)
    beep = found.beeps is not None
    over = silent(expected, predictor) if beep else expected.over
    slips = () if beep else tuple(_slips(found, expected, predictor))
    taken = sum(slip.weight for slip in slips)
    return lk.Numeric(
        setup=found.condition,
        scale=expected.scale,
        mean=expected.mean,
        jacobian=expected.jacobian,
        noise=expected.noise,
        over=over,
        value=found.value if found.value is not None else 0.0,
        shown=shown(found),
        step=_step(found, expected.scale),
        alternatives=slips,
        flat=1 - taken,
        same_place=(found.probe, found.condition),
        acting=_brought_out(found.condition, predictor.candidates),
        spans=found.spans,
    )


def _brought_out(at: Condition, candidates: Candidates) -> Array | None:
    """The chances of acting while something is shaken or heated; no fault acts for sure that comes and goes."""
    return candidates.acting_when(at.provoke) if at.provoke else None


def shown(found: f.Reading) -> lk.Shown:
    """A number, over range, or the beeper."""
    if found.beeps:
        return lk.Shown.BEEP
    return lk.Shown.OVER if found.value is None else lk.Shown.NUMBER


def silent(expected: Reading, predictor: Predictor) -> Array:
    """Probability that the beeper stays silent: the ohms lie above its threshold (which differs by meter)."""
    threshold = np.arcsinh(predictor.readings.meter.beep_ohms / expected.scale)
    return np.asarray(normal.share_below((expected.mean - threshold) / np.hypot(expected.deviation, 0.4)))


def _step(found: f.Reading, scale: float) -> float:
    return found.step / float(np.hypot(found.value or 0.0, scale))


def readings(findings: Sequence[f.Finding], machine: model.Machine) -> Iterator[tuple[Probe, Condition]]:
    """Every prediction that the readings among these findings will be weighed against, slips included."""
    for found in findings:
        if isinstance(found, f.Reading):
            yield found.probe, found.condition
            yield from ((found.probe, at) for _, _, at in _other_conditions(found, machine))


def _other_conditions(found: f.Reading, machine: model.Machine) -> Iterator[tuple[str, float, Condition]]:
    """The conditions in which a reading may have been taken by a slip: its name, weight and where things stood."""
    if found.beeps is not None:
        return
    at = found.condition.still
    if at.lift:
        yield "wire not lifted", NOT_LIFTED, replace(at, lift=())
    rest = conditions.not_set(machine, at)
    if rest != at:
        yield "setting not made", NOT_SET, rest


def _slips(found: f.Reading, expected: Reading, predictor: Predictor) -> Iterator[lk.Slip]:
    for kind, weight, at in _other_conditions(found, predictor.machine):
        other = predictor.reading(found.probe, at)
        yield lk.Slip(kind, weight, other.mean, other.deviation, other.over)
    if found.probe.meter == "ohms":
        value, sd = expected.scale * np.sinh(expected.mean), expected.deviation
        for kind, factor in (("k for M", 1e3), ("M for k", 1e-3)):
            yield lk.Slip(kind, PREFIX, np.arcsinh(value * factor / expected.scale), sd, expected.over, alone=True)
