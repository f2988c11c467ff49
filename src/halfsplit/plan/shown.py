"""What a step may show, as outcomes that a person can tell apart, each with the finding that it is.

The only place that parts outcomes, for whoever leads, prints or plans. Knows the posterior and the predictions; chooses
nothing. Outcomes of a reading are ranges on the meter's display that do not overlap, over range, and "unsteady" where a
lead would float; of continuity a beep or none; what lies in none of them is *something else*. A reading is taken as
made without a slip; what comes and goes shows the healthy machine while it does not act.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence import finding as f
from halfsplit.evidence import unexplained, weigh
from halfsplit.evidence.weighing import Weighed
from halfsplit.operate import condition as conditions
from halfsplit.plan import owner
from halfsplit.plan.steps import Step
from halfsplit.predict.moments import Way, mixed
from halfsplit.predict.readings import Reading
from halfsplit.quantity import normal

LIKELY = (3e-3, 1e-3, 1e-4)
"""A less likely outcome than the first counts as something else, and a less likely possible cause makes no range of its
own; the others are tried while there would be fewer than two outcomes. Halfsplit's choice, no source."""
APART = 2.0
"""Ranges are begun anew where the spreads of so many standard deviations each way do not touch, unless said otherwise:
so they differ to the eye."""
REACH = 3.0
"""A range reaches so many standard deviations beyond the readings that it stands for."""
WIDEST = 0.6
"""A range wider than this, in units of x, is divided: a third to two thirds more than its lower end."""
GHOSTLY = 0.5
"""Deviation, in units of x, from which a reading tells nothing but that a lead floats."""


@dataclass(frozen=True)
class Outcome:
    """One outcome. kind: word | range | over | unsteady; `low` and `high` as the meter shows them, in SI.

    `finding` says that it was found, a range as a range; `probability` is given the findings so far, `jointly` (S,)
    that of each variant together with this outcome: what the file does not say has its share in the first only.
    """

    kind: str
    finding: f.Finding
    probability: float
    jointly: Array = field(compare=False, repr=False)
    low: float = 0.0
    high: float = 0.0

    def holds(self, found: f.Finding) -> bool:
        """Whether what was found is this outcome; of several that do, the first in the list is meant."""
        match found, self.finding:
            case f.Reading(), f.Reading() if self.kind == "word":
                return found.beeps == self.finding.beeps
            case f.Reading(), f.Reading():
                over = found.value is None
                if found.spans:
                    return found.spans == self.finding.spans
                return over == (self.kind == "over") and (over or self.low <= float(found.value or 0.0) <= self.high)
            case f.Look(), f.Look():
                return found.sees == self.finding.sees
            case f.Perceived(), f.Perceived():
                return found.there == self.finding.there
        return False


def outcomes(weighed: Weighed, step: Step, apart: float = APART) -> tuple[Outcome, ...]:
    """The outcomes of a step, likeliest first, unsteady last; what they leave of 1 is the chance of something else.

    `apart`: the standard deviations each way that part ranges; above 0.
    """
    likely: list[Outcome] = []
    for least in LIKELY:
        if len(likely) < 2:
            likely = [one for one in _all(weighed, step, least, apart) if one.probability >= least]
    return tuple(sorted(likely, key=lambda one: (one.kind == "unsteady", -one.probability)))


def _all(weighed: Weighed, step: Step, least: float, apart: float) -> Iterator[Outcome]:
    if step.probe is None or step.probe.meter == "continuity":
        return _words(weighed, step)
    return _readings(weighed, step, least, apart)


# ---- looks, symptoms, beeps --------------------------------------------------------------------------------


def _words(weighed: Weighed, step: Step) -> Iterator[Outcome]:
    findings, table = _in_words(weighed, step)
    jointly = weighed.posterior.probability[:, None] * table
    chances = jointly.sum(axis=0) + weighed.unexplained * _of_the_unknown(weighed, table)
    for finding, chance, joint in zip(findings, chances.tolist(), jointly.T, strict=True):
        yield Outcome("word", finding, chance, joint)


def _in_words(weighed: Weighed, step: Step) -> tuple[list[f.Finding], Array]:
    """The findings that a step can give, and (S, findings) the chance of each; marks stay, the rest comes and goes."""
    if step.kind == "look":
        values, marks = weighed.predictor.look(step.at, step.closely)
        return [f.Look(step.at, value, closely=step.closely) for value in values], np.asarray(marks)
    found: list[f.Finding]
    if step.perceived:
        by = "owner" if step.asks else "repairer"
        at = step.tells_of or conditions.usual(weighed.predictor.machine)
        yes = weighed.predictor.symptom(step.at, at, by == "owner")
        found = [f.Perceived(step.at, there, step.tells_of, by) for there in (True, False)]
    else:
        assert step.probe is not None
        assert step.condition is not None
        yes = 1 - weigh.silent(weighed.predictor.reading(step.probe, step.condition), weighed.predictor)
        words = ((True, "beeps"), (False, "silent"))
        found = [f.Reading(step.probe, step.condition, None, beeps, text=text) for beeps, text in words]
    shows = mixed(owner.ways(weighed, step), yes)
    return found, np.column_stack([shows, 1 - shows])


def _of_the_unknown(weighed: Weighed, table: Array) -> Array:
    """(values,) chances under what the file does not say, by the shares that evidence/unexplained gives."""
    known = weighed.posterior.probability
    usual = known @ table / known.sum()
    odd = unexplained.AS_HEALTHY * table[0] + unexplained.AS_ANY_CANDIDATE * usual
    return np.asarray(odd + unexplained.AS_ANYTHING / table.shape[1])


# ---- readings ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Spread:
    """The reading of a step under every variant in units of x, and the weight of what shows it.

    `probability` is that of the variants, `ways` how they may show; `weight` has the same by what the machine shows.
    """

    expected: Reading
    deviation: Array
    weight: Array
    probability: Array
    ways: Sequence[Way]

    def jointly(self, shows: Array) -> Array:
        """(S,) probability of each variant with what it shows with these chances while all of it acts."""
        return np.asarray(self.probability * mixed(self.ways, shows))

    def mass(self, low: float, high: float) -> float:
        """Probability of a number between two values of x."""
        return float(self.weight @ self.shows(low, high))

    def shows(self, low: float, high: float) -> Array:
        """(S,) chance that each shows a number between two values of x; none is below 0, so that 0 takes all below."""
        bottom = -np.inf if low <= 0 else low
        z = (np.array([[bottom], [high]]) - self.expected.mean) / self.deviation
        return np.asarray((1 - self.expected.over) * np.diff(normal.share_below(z), axis=0)[0])


def _readings(weighed: Weighed, step: Step, least: float, apart: float) -> Iterator[Outcome]:
    assert step.probe is not None
    assert step.condition is not None
    expected = weighed.predictor.reading(step.probe, step.condition)
    spread = _Spread(
        expected, expected.deviation, _weight(weighed, step),
        weighed.posterior.probability, owner.ways(weighed, step),
    )  # fmt: skip
    over = float(spread.weight @ expected.over)
    if over > 0:
        found = f.Reading(step.probe, step.condition, None, text="OL")
        yield Outcome("over", found, over, spread.jointly(expected.over))
    spans = _apart(spread, _groups(spread, least, apart))
    for low, high in spans:
        ends = (_shown(weighed, step, x, expected.scale) for x in (low, high))
        found = _within(weighed, step, expected.scale, [(low, high)])
        yield Outcome("range", found, spread.mass(low, high), spread.jointly(spread.shows(low, high)), *ends)
    yield from _unsteady(weighed, step, spread, spans, least)


def _weight(weighed: Weighed, step: Step) -> Array:
    """(S,) probability that the machine shows what each variant does; what is left of one has what does not act.

    Something that the file does not say mostly shows a healthy machine, or what some cause would.
    """
    posterior = weighed.posterior
    weight = np.zeros(len(posterior.probability))
    for chance, row in owner.ways(weighed, step):
        weight += np.bincount(row, posterior.probability * chance, minlength=len(weight))
    weight = weight * (1 + posterior.unexplained * unexplained.AS_ANY_CANDIDATE / posterior.probability.sum())
    weight[0] += posterior.unexplained * unexplained.AS_HEALTHY
    return np.asarray(weight)


def _groups(spread: _Spread, least: float, apart: float) -> list[list[int]]:
    """Likely readings that cannot be told apart, by their size; wide ones divided."""
    steady = (spread.weight > least) & (spread.expected.over <= 0.5) & (spread.deviation <= GHOSTLY)
    mean, deviation = spread.expected.mean, spread.deviation
    made: list[list[int]] = []
    top = -np.inf
    for row in sorted(np.flatnonzero(steady).tolist(), key=lambda r: float(mean[r])):
        begins = mean[row] - apart * deviation[row] > top
        wide = bool(made) and mean[row] - mean[made[-1][0]] > WIDEST
        if begins or wide:
            made.append([])
        made[-1].append(row)
        top = max(top, float(mean[row] + apart * deviation[row]))
    return made


def _apart(spread: _Spread, groups: Sequence[list[int]]) -> list[tuple[float, float]]:
    """The range of each group in x: as far as it reaches, to the middle where the next one reaches too."""
    mean, deviation = spread.expected.mean, spread.deviation
    lows = [max(min(float(mean[r] - REACH * deviation[r]) for r in rows), 0.0) for rows in groups]
    highs = [max(float(mean[r] + REACH * deviation[r]) for r in rows) for rows in groups]
    for k in range(len(groups) - 1):
        if highs[k] > lows[k + 1]:
            last, first = max(float(mean[r]) for r in groups[k]), min(float(mean[r]) for r in groups[k + 1])
            highs[k] = lows[k + 1] = (last + first) / 2
    return [*zip(lows, highs, strict=True)]


def _shown(weighed: Weighed, step: Step, x: float, scale: float) -> float:
    """A value of x as the meter would show it, in SI."""
    assert step.probe is not None
    value = scale * float(np.sinh(x))
    shown = weighed.predictor.readings.meter.shown(step.probe.meter, value)[1]
    return value if shown is None else shown


def _within(weighed: Weighed, step: Step, scale: float, spans: Sequence[tuple[float, float]]) -> f.Reading:
    """The finding that a reading lies within spans of x."""
    assert step.probe is not None
    assert step.condition is not None
    meter = weighed.predictor.readings.meter
    ends = [(scale * float(np.sinh(low)), scale * float(np.sinh(high))) for low, high in spans]
    text = " or ".join(" to ".join(meter.shown(step.probe.meter, end)[0] for end in span) for span in ends)
    return f.Reading(step.probe, step.condition, ends[0][0], text=text, spans=tuple(ends))


def _unsteady(
    weighed: Weighed, step: Step, spread: _Spread, spans: Sequence[tuple[float, float]], least: float
) -> Iterator[Outcome]:
    """Readings of a lead that floats: where no steady reading is, up to the most that any cause would show."""
    ghosts = np.flatnonzero((spread.weight > least) & (spread.expected.over <= 0.5) & (spread.deviation > GHOSTLY))
    if not len(ghosts):
        return
    mean, deviation = spread.expected.mean[ghosts], spread.deviation[ghosts]
    top = float(spread.expected.mean.max()) + REACH * float(spread.deviation[int(spread.expected.mean.argmax())])
    low, high = max(float((mean - REACH * deviation).min()), 0.0), min(float((mean + REACH * deviation).max()), top)
    shows = spread.shows(low, high)
    for a, b in spans:
        if min(high, b) > max(low, a):
            shows = shows - spread.shows(max(low, a), min(high, b))
    finding = _within(weighed, step, spread.expected.scale, _gaps(low, high, spans))
    ends = (_shown(weighed, step, x, spread.expected.scale) for x in (low, high))
    chance = max(float(spread.weight @ shows), 0.0)
    yield Outcome("unsteady", finding, chance, spread.jointly(np.maximum(shows, 0.0)), *ends)


def _gaps(low: float, high: float, spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The parts of a range in which no other range lies; all of it where there are none."""
    edges = [low, *(min(max(x, low), high) for span in sorted(spans) for x in span), high]
    return [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b > a] or [(low, high)]
