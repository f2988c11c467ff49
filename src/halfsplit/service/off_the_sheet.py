"""What there is to go on with where the plan on paper leaves a job: the repairs that are left there, in their order.

For text, page and data alike. Knows the plan and the guided diagnosis; chooses nothing: the order is that in which
repairs are made where no further step is taken (`plan/fitting`), and the probabilities are of what is found there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, NamedTuple

from halfsplit.evidence import finding as f
from halfsplit.plan import fitting
from halfsplit.service import after_repair, following, meaning, repairing
from halfsplit.service.following import Plan
from halfsplit.service.guiding import Guided
from halfsplit.work import stopping

RARE = 0.25
"""What is found in so many times fewer jobs than a branch wants to be followed has no line of its own, but for what
ends the work. Halfsplit's choice."""
IN_VAIN = 0.001
"""Where repairs are made in vain in fewer jobs, nothing is worked out about what is left then: it takes a second each
time, and next to nothing that the file knows is left. Halfsplit's choice."""
LEAST = 0.05
"""A repair that cures less often is not named. Halfsplit's choice."""
MOST = 3
"""So many sets of repairs are named at most. Halfsplit's choice."""


class Way(NamedTuple):
    """A way off the sheet: from which box, for what was found, or after which repairs in vain (neither: nothing more on
    the sheet pays), how many jobs go it, and the diagnosis as it stands then."""

    box: int
    shows: str | None
    in_vain: tuple[str, ...]
    reached: float
    guided: Guided


def ways(root: Plan, least: float) -> Iterator[Way]:
    """The ways off a plan whose branches are followed from `least` on: outcomes that are not followed, though not the
    rare ones, repairs in vain, though not where that is rarer still, and where nothing more pays."""
    for box in root.walk():
        guided, names = box.due.told, box.due.repairs
        yield from _not_followed(box, least)
        vain = box.reached * (1 - box.due.cures)
        if names and vain >= IN_VAIN:
            yield Way(box.number, None, names, vain, in_vain(guided, names))
        elif not names and not box.ways and not following.ends(guided):
            yield Way(box.number, None, (), box.reached, guided)


def _not_followed(box: Plan, least: float) -> Iterator[Way]:
    guided, meter = box.due.told, box.due.weighed.predictor.readings.meter
    for way in box.ways:
        reached, then = box.reached * way.outcome.probability, guided.told(way.outcome.finding)
        if way.then is None and (reached >= RARE * least or _stop(then)):
            yield Way(box.number, meaning.shows(meter, way.outcome), (), reached, then)


def in_vain(guided: Guided, names: tuple[str, ...]) -> Guided:
    """The diagnosis after these repairs, where all that was wrong before is seen to be so still."""
    tried = [f.Tried(name, False) for name in names]
    return after_repair.told_so(guided, tried, after_repair.asked_back(guided, math.inf))


def left(way: Way) -> list[tuple[str, ...]]:
    """The sets of repairs that are left on a way off the sheet, in the order in which they are made, without those
    that hardly cure; none after what ends the work, nor where most likely nothing is wrong, but after a repair in
    vain: there something is."""
    if _stop(way.guided):
        return []
    weighed, made = way.guided.weighed, {*way.guided.made}
    wanted = {names for names in weighed.by_repair if weighed.cures(names) >= LEAST and made.isdisjoint(names)} - {()}
    at = way.guided.asked, weighed, way.guided.standing
    names, _ = fitting.first_of(*at, made) if way.in_vain else way.guided.made_first
    found: list[tuple[str, ...]] = []
    while names and wanted and len(found) < MOST:
        if names in wanted:
            wanted.remove(names)
            found.append(names)
        made.update(names)
        names, _ = fitting.first_of(*at, made)
    return found


def _stop(guided: Guided) -> str | None:
    return stopping.now(guided.machine, guided.findings)


# ---- as data -----------------------------------------------------------------------------------------------


def as_data(root: Plan, least: float) -> list[dict[str, Any]]:
    """All ways off the sheet, in the order of its boxes, each with what is left there."""
    return [_way(way) for way in ways(root, least)]


def _way(way: Way) -> dict[str, Any]:
    stop = _stop(way.guided)
    repairs = [_repairs(way.guided, names) for names in left(way)]
    return {
        "box": way.box,
        "shows": way.shows,
        "in_vain": " and ".join(way.in_vain) or None,
        "reached": way.reached,
        "stop": stopping.said(stop) if stop else None,
        "repairs": repairs,
        "all_else": max(1 - sum(one["probability"] for one in repairs), 0.0),
    }


def _repairs(guided: Guided, names: tuple[str, ...]) -> dict[str, Any]:
    """A set of repairs in short: minutes and cautions only of what we make."""
    repairs = [guided.weighed.candidates.repairs[name] for name in names]
    why = repairing.why_barred(guided, repairs)
    ours = not why and stopping.of_repairs(repairs) is None
    return {
        "name": " and ".join(names),
        "probability": guided.weighed.cures(names),
        "minutes": repairing.minutes(guided, repairs) if ours else None,
        "price": sum(one.price for one in repairs),
        "currency": guided.machine.currency,
        "by": list(dict.fromkeys(one.by for one in repairs)),
        "barred": bool(why),
        "why_barred": repairing.IN_SHORT[why] if why else None,
        "cautions": list(repairing.minded(guided, repairs)) if ours else [],
    }
