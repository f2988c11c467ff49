"""What comes before a breaker is seen to trip for oneself: ohms from the line conductors to the frame, dead, not low.

Nobody powers up a machine that may be shorted to its frame to see whether it is. Which shorts those ohms have to show
is computed from the machine: all that they show with the controls as they stand in use, and at rest, so that a reading
through a switch that is open does not do. Common practice, no source. Knows the predictor and the findings; chooses
nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.machine import model
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import leads, proof
from halfsplit.plan.steps import Step
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import Probe, Reading
from halfsplit.work import stopping

LEAST_OHMS = 1e6
"""Fewer from a line conductor to the frame are low; common practice, no source."""
LINE_VOLTS = 50.0
"""More against the frame has a line conductor; a neutral has hardly any. Common practice, no source."""
OHMS = ("ohms", "continuity")
SUSPECTED = 0.01
"""From this probability on a short to the frame keeps the power off where it cannot be read. Halfsplit's choice."""
JOINED = 1.0
"""Fewer ohms to the frame have the earth and what a strap bonds to it; common practice, no source."""


def wanted(machine: model.Machine, step: Step) -> bool:
    """Whether a step runs the machine to see whether something of the house trips. A question to the owner, of what
    they remember, does not; nor is it what a machine trips by itself, such as its motor's overload."""
    return step.kind == "symptom" and bool(machine.frame) and machine.house_trips(step.at)


def told_to_trip(machine: model.Machine, findings: Sequence[f.Finding]) -> bool:
    """Whether something of the house was said or seen to trip: then nothing is run before the ohms were read."""
    seen = (x.what for x in findings if isinstance(x, f.Perceived) and x.there)
    return bool(machine.frame) and any(machine.house_trips(what) for what in seen)


def measured(predictor: Predictor, findings: Sequence[f.Finding]) -> bool:
    """Whether these ohms were read since the last repair, from every line conductor, and show every short that they
    have to, and none was low."""
    found = _since_repair(findings)
    return not _any_low(predictor, found) and not _lacks(predictor, found).any()


def is_low(predictor: Predictor, findings: Sequence[f.Finding]) -> bool:
    """Whether something was read to lead to the frame since the last repair."""
    return _any_low(predictor, _since_repair(findings))


def unsafe(predictor: Predictor, findings: Sequence[f.Finding]) -> str:
    """The stop rule by which what was found keeps the power off a machine that is left as it is: something leads to its
    frame, or the breaker trips; "": nothing."""
    if is_low(predictor, findings):
        return stopping.NOT_SAFE
    return stopping.TRIPS if stopping.trips(predictor.machine, findings) else ""


def suspected(weighed: Weighed) -> bool:
    """Whether a short to the frame is among what is thought possible (`SUSPECTED`)."""
    return bool(weighed.posterior.probability @ shorts(weighed.predictor) >= SUSPECTED)


def calling(predictor: Predictor, findings: Sequence[f.Finding]) -> tuple[f.Finding, ...]:
    """What calls for these ohms before anything is run: that something of the house trips, and what was read to be low
    since the last repair."""
    trips = (x for x in findings if isinstance(x, f.Perceived) and told_to_trip(predictor.machine, [x]))
    low = (x for x in _since_repair(findings) if _any_low(predictor, [x]))
    return (*trips, *low)


def owed(predictor: Predictor, before: Sequence[f.Finding], findings: Sequence[f.Finding]) -> tuple[f.Finding, ...]:
    """What of that which was found `before` a repair calls for these ohms still: nothing once they are read and none is
    low, nor what trips where it was seen, set as it is used, to trip no more."""
    if measured(predictor, findings):
        return ()
    used, seen = conditions.usual(predictor.machine), [x for x in findings if isinstance(x, f.Perceived)]
    gone = {x.what for x in seen if x.by == "repairer" and not x.there and x.condition == used}
    return tuple(x for x in before if not isinstance(x, f.Perceived) or x.what not in gone)


def reads(predictor: Predictor, step: Step) -> bool:
    """Whether a step reads ohms to the frame where a healthy machine has none: low ones keep the power off."""
    return step.probe is not None and step.condition is not None and _to_frame(predictor, step.probe, step.condition)


def lacking(predictor: Predictor, findings: Sequence[f.Finding], offered: Iterable[Step]) -> list[Step]:
    """Of the steps offered the readings, set as used or at rest, that show most of what has not been shown yet; none
    where all was, or where one was low: that short is found before anything is run."""
    found = _since_repair(findings)
    if _any_low(predictor, found):
        return []
    lacks = _lacks(predictor, found)
    settings = _settings(predictor)
    plain = [(x, x.probe, x.condition) for x in offered if x.probe and x.condition in settings]
    adds = {step: int((lacks & _shows(predictor, probe, at)).sum()) for step, probe, at in plain if at}
    most = max(adds.values(), default=0)
    return [step for step, more in adds.items() if more == most > 0]


def _since_repair(findings: Sequence[f.Finding]) -> list[f.Reading]:
    """The readings made since hands were last in the machine for a repair."""
    repairs = [place for place, x in enumerate(findings) if isinstance(x, f.Tried)]
    return [x for x in findings[repairs[-1] + 1 if repairs else 0 :] if isinstance(x, f.Reading)]


def _any_low(predictor: Predictor, found: Iterable[f.Reading]) -> bool:
    """Whether one of these leads to the frame. To show that nothing does takes a line conductor with every wire on;
    that something does, any place, and wires may be off."""
    low = (x for x in found if x.value is not None and x.value < LEAST_OHMS)
    return any(_to_frame(predictor, x.probe, x.condition) for x in low)


def _to_frame(predictor: Predictor, probe: Probe, at: Condition) -> bool:
    """Whether dead ohms are between the frame, or what is joined to it, and what a healthy machine keeps off it."""
    if not predictor.machine.frame or probe.meter not in OHMS or not at.isolated:
        return False
    ends = (probe.red, probe.black)
    return any(_framed(predictor, end, at) for end in ends) and not _healthy_low(predictor, probe, at)


def _healthy_low(predictor: Predictor, probe: Probe, at: Condition) -> bool:
    return bool(_is_low(predictor.healthy_reading(replace(probe, meter="ohms"), at))[0])


# ---- what is shown ----------------------------------------------------------------------------------------


def _lacks(predictor: Predictor, found: Iterable[f.Reading]) -> Array:
    """(S + lines,) the variants whose short these readings do not show though they have to; then, line by line, whether
    none was made of it."""
    lacks = np.concatenate([shorts(predictor), np.ones(len(_lines(predictor)), bool)])
    for x in found:
        lacks &= ~_shows(predictor, x.probe, x.condition)
    return np.asarray(lacks)


def shorts(predictor: Predictor) -> Array:
    """(S,) the variants that ohms from a line conductor to the frame have to show, set as used or at rest."""
    frame, settings = predictor.machine.frame, _settings(predictor)
    low = [_low(predictor, Probe("ohms", line, frame), at) for at in settings for line in _lines(predictor)]
    return np.asarray(np.any(low, axis=0) if low else np.zeros(len(predictor.candidates.variants), bool))


def _settings(predictor: Predictor) -> tuple[Condition, Condition]:
    """Dead as used and dead at rest."""
    return proof.as_used(predictor.machine), conditions.condition(predictor.machine, isolated=True)


def _shows(predictor: Predictor, probe: Probe, at: Condition) -> Array:
    """(S + lines,) the variants whose short a reading shows, and the line conductors that it is of: nothing but for
    ohms to the frame, dead and with every wire on, that tell a short from a healthy machine."""
    nothing = np.zeros(len(predictor.candidates.variants) + len(_lines(predictor)), bool)
    if probe.meter != "ohms" or not at.isolated or at.lift or at.exchange:
        return nothing
    of = _lines_of(predictor, probe, at)
    low = _low(predictor, probe, at) if of.any() else nothing
    return np.concatenate([low, of]) if low.any() else nothing


def _low(predictor: Predictor, probe: Probe, at: Condition) -> Array:
    """(S,) the variants under which ohms are low; none where a healthy machine's are, too."""
    low = _is_low(predictor.reading(probe, at))
    return np.asarray(low if not low[0] else np.zeros_like(low))


def _is_low(shown: Reading) -> Array:
    return np.asarray((shown.over < 0.5) & (shown.value < LEAST_OHMS))


def _lines(predictor: Predictor) -> list[str]:
    """The terminals at which line conductors meet the machine, told by their volts on a healthy one."""
    rest, frame = conditions.rest(predictor.machine), predictor.machine.frame
    feeds = predictor.machine.supply.feeds
    volts = {t: predictor.healthy_reading(Probe("volts", t, frame), rest).value[0] for t in feeds}
    return [feed for feed, against_frame in volts.items() if against_frame > LINE_VOLTS]


def _lines_of(predictor: Predictor, probe: Probe, at: Condition) -> Array:
    """(lines,) which line conductor a reading to the frame is of, at the plug or where it meets the machine."""
    machine, ends = predictor.machine, {probe.red, probe.black}
    prongs = set(leads.prongs(machine))
    reached = prongs.union(machine.supply.feeds) & ends
    found = []
    for line in _lines(predictor):
        own = {line} | {t for wire in machine.wires if line in wire.ends for t in wire.ends if t in prongs}
        found.append(bool(reached & own) and all(_framed(predictor, t, at) for t in ends - own))
    return np.array(found, bool)


def _framed(predictor: Predictor, terminal: str, at: Condition) -> bool:
    """Whether a healthy machine has a terminal joined to its frame: the earth, and the neutral of an old cord."""
    machine = predictor.machine
    if terminal == machine.frame:
        return True
    of_supply = terminal in machine.supply.feeds or terminal in leads.prongs(machine)
    return of_supply and bool(predictor.healthy_reading(Probe("ohms", terminal, machine.frame), at).value[0] < JOINED)
