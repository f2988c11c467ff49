"""Two like things, compared: two loads of one type and value, two legs of the supply, each read the same way.

Found from the machine, never named. What a comparison tells beyond its two readings comes from what they share: the
meter's gain, its leads and the line's volts move both and not their difference, while each part's own tolerance moves
one of them. So the difference is coded with its own spread, from the same means and Jacobians as the evidence.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence import outcome
from halfsplit.machine import model, primitives
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.operate.effect import HEALTHY
from halfsplit.plan.leads import LARGEST_CONNECTOR, own_parts, slots
from halfsplit.plan.steps import Step
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import Probe, Reading

SAME = 0.01
"""Values are like ones that differ by no more than this, relatively; common practice, no source."""
COLD = 0.05
"""A lead shared by two legs lies below this share of the legs' volts against the frame."""

Pair = tuple[Step, Step]
_HEALTHY = (HEALTHY,)


class Compared(NamedTuple):
    """Pairs of places (C, 2) among the steps of a table; codes (C, S), means and spreads of the first's reading less
    the second's in units of x, `over` (C, S) where either is over range; `within` (C,) how far apart, relatively, two
    healthy ones lie at most (two standard deviations)."""

    pairs: Array
    codes: outcome.Codes
    mean: Array
    spread: Array
    over: Array
    within: Array

    def beside(self, place: int) -> Iterator[tuple[int, int]]:
        """The comparisons in which the step at a place is read: their numbers, and the place of the other one."""
        for number, (a, b) in enumerate(self.pairs.tolist()):
            if place in (a, b):
                yield number, b if place == a else a


# ---- loads ------------------------------------------------------------------------------------------------


class Section(NamedTuple):
    """A load between two terminals of one part that leads can reach, with its nominal ohms."""

    part: str
    ends: tuple[str, str]
    ohms: float


def sections(machine: model.Machine) -> Iterator[Section]:
    """The loads of the machine's own parts, each from end to end through the points inside that no lead reaches."""
    for part in own_parts(machine):
        loads = [e for e in machine.elements.values() if e.part == part.name and getattr(e, "load", False)]
        for start in part.reachable:
            for first in (e for e in loads if start in e.ends):
                end, ohms = _followed(loads, start, first)
                if end and part.terminals.index(_own(start)) < part.terminals.index(_own(end)):
                    yield Section(part.name, (start, end), ohms)


def _own(terminal: str) -> str:
    return terminal.split(".", 1)[1]


def _followed(loads: Sequence[primitives.Element], start: str, first: primitives.Element) -> tuple[str, float]:
    """Where a chain of loads comes out, and its ohms; "" where it branches or ends inside."""
    at, element, ohms = start, first, 0.0
    while True:
        at = next(end for end in element.ends if end != at)
        ohms += _ohms(element)
        if not model.is_inner(at):
            return at, ohms
        on = [e for e in loads if at in e.ends and e is not element]
        if len(on) != 1:
            return "", 0.0
        (element,) = on


def _ohms(element: primitives.Element) -> float:
    value = getattr(element, "ohms", None)
    return value.nominal if isinstance(value, primitives.Value) else 0.0


def of_loads(machine: model.Machine) -> list[Pair]:
    """Ohms across two like loads, the wires of an end of each off, so that nothing else lies beside either.

    None across what plugs in: lifted out, each is read by itself.
    """
    wired = {end for wire in machine.wires for end in wire.ends}
    wired_in = (s for s in sections(machine) if machine.gripped.keys().isdisjoint(s.ends))
    small = [s for s in wired_in if len(machine.parts[s.part].terminals) <= LARGEST_CONNECTOR + 2]
    rest, found = conditions.condition(machine).setting, []
    for a, b in combinations(small, 2):
        if machine.parts[a.part].type != machine.parts[b.part].type or not _same(a.ohms, b.ohms):
            continue
        off = tuple(sorted(t for t in (_own_end(a, b, wired), _own_end(b, a, wired)) if t))
        at = conditions.at_warmth(Condition(rest, True, off), machine.warmth_behind((a.part, b.part)))
        found.append((_ohms_step(a, at), _ohms_step(b, at)))
    return found


def _same(a: float, b: float) -> bool:
    return abs(a - b) <= SAME * max(a, b) and a > 0


def _own_end(section: Section, other: Section, wired: set[str]) -> str:
    """A wired end that the other section does not have."""
    return next((end for end in section.ends if end in wired and end not in other.ends), "")


def _ohms_step(section: Section, at: Condition) -> Step:
    return Step("reading", at, Probe("ohms", *section.ends), places=section.ends)


# ---- legs -------------------------------------------------------------------------------------------------


def of_legs(predictor: Predictor, offered: Sequence[Step]) -> list[Pair]:
    """Volts of two legs against one lead that lies at earth, in one condition; the healthy machine shows the same.

    On a machine at work only in the cold: what a leg's joint takes off shows as well there as later.
    """
    machine = predictor.machine
    feeds = {*machine.supply.meets, *slots(machine)}
    together: dict[Condition, dict[frozenset[str], Step]] = {}
    for step in offered:
        if step.live and set(step.places) <= feeds and len(step.places) == 2 and _is_cold(machine, step):
            assert step.condition is not None
            together.setdefault(step.condition, {}).setdefault(frozenset(step.places), step)
    return [pair for at, some in together.items() for pair in _legs(predictor, at, list(some.values()))]


def _is_cold(machine: model.Machine, step: Step) -> bool:
    """Whether a step wants the machine at rest's warmth, or the file names none."""
    return not machine.warmths or (step.condition or conditions.rest(machine)).position(WARMTH) == machine.warmths[0]


def _legs(predictor: Predictor, at: Condition, some: Sequence[Step]) -> Iterator[Pair]:
    earth = predictor.machine.supply.earth
    ends = dict.fromkeys(place for step in some for place in step.places)
    probes = [Probe("volts", *step.places) for step in some] + [Probe("volts", end, earth) for end in ends]
    healthy = [float(one.value[0]) for one in predictor.readings.read_many(probes, at, _HEALTHY)]
    volts = dict(zip([*some, *ends], healthy, strict=True))
    for a, b in combinations(some, 2):
        shared = set(a.places) & set(b.places)
        if len(shared) == 1 and _same(volts[a], volts[b]) and volts[shared.pop()] < COLD * volts[a]:
            yield a, b


# ---- both -------------------------------------------------------------------------------------------------


def pairs(predictor: Predictor, offered: Sequence[Step]) -> list[Pair]:
    """All pairs among the steps offered."""
    known = set(offered)
    loads = [pair for pair in of_loads(predictor.machine) if set(pair) <= known]
    return [*loads, *of_legs(predictor, offered)]


def compared(predictor: Predictor, found: Sequence[Pair], place_of: dict[Step, int]) -> Compared:
    """What the differences of these pairs would show."""
    size = (len(found), len(predictor.candidates.variants))
    mean, spread, over = np.zeros(size), np.zeros(size), np.zeros(size, bool)
    predictor.read_ahead((s.probe, s.condition) for pair in found for s in pair if s.probe and s.condition)
    within = np.zeros(len(found))
    for number, pair in enumerate(found):
        a, b = (_reading(predictor, step) for step in pair)
        mean[number], over[number] = a.mean - b.mean, (a.over > 0.5) | (b.over > 0.5)
        spread[number] = apart(a, b)
        within[number] = 2 * spread[number, 0] * np.hypot(a.value[0], a.scale) / max(float(a.value[0]), a.scale)
    codes = outcome.outcome_codes(mean, spread, over.astype(float)) if found else np.zeros(size, np.int8)
    places = np.array([[place_of[a], place_of[b]] for a, b in found], np.intp).reshape(-1, 2)
    return Compared(places, codes, mean.astype(np.float32), spread.astype(np.float32), over, within)


def _reading(predictor: Predictor, step: Step) -> Reading:
    assert step.condition is not None
    assert step.probe is not None
    return predictor.reading(step.probe, step.condition)


def apart(a: Reading, b: Reading) -> Array:
    """(S,) standard deviation of the difference of two readings, in units of x: what they share drops out.

    Var(a - b) = |J_a - J_b|^2 + d_a^2 + d_b^2, J the Jacobians by shared unknowns, d each reading's own noise.
    """
    return np.asarray(np.sqrt(((a.jacobian - b.jacobian) ** 2).sum(axis=1) + a.noise**2 + b.noise**2))
