"""Every state of the safety automaton that any order of allowed steps brings about, beside the world of the checker.

One caution is followed at a time, the others counting as shown always, and the reasons to stop are followed with all
cautions shown. That allows more than there is, never less, and each danger of the checker reads one caution at most, so
that what is safe in each of these enumerations is safe altogether. Of reasons to stop after which the same may still be
done one is followed. What this rests on is tested in test_safety_against_history: hazards and cautions add needs one by
one, a stop only takes away, reasons alike are one, and machines followed with several cautions at once lie within their
enumerations.
"""

from __future__ import annotations

import itertools
from collections import deque
from collections.abc import Iterator
from typing import Any, NamedTuple

from halfsplit.work import safety
from halfsplit.work.hazards import STOPS, Hazard, Kind, Pipe
from halfsplit.work.safety import Facts, Needs, State, Step
from tests.work.history import BARRED, World, dangers, so, then, watched_for, world

MACHINES = [
    Facts(feeds, capacitor, gas, heats)
    for feeds, capacitor, gas, heats in itertools.product((1, 2), (False, True), (False, True), (False, True))
]
"""Every kind of machine that the automaton tells apart, with one feed and with two."""
REASONS = tuple({stop.still: reason for reason, stop in STOPS.items()}.values())
"""One reason to stop for each of what may still be done: the automaton knows no other difference between reasons."""
FOLLOWED: list[tuple[frozenset[Hazard], tuple[str, ...]]] = [
    *((frozenset({hazard}), ()) for hazard in Hazard), (frozenset(), REASONS),
]  # fmt: skip
"""What is followed in the enumerations that together hold everything: these cautions, and these reasons to stop."""
ITS_OWN = (Kind.CAUTION, Kind.STOP, Kind.ISOLATE, Kind.ENERGISE)
"""Kinds whose steps differ by a hazard, a reason or a feed, not by where they are done."""
NO_FACTS: Any = None
"""In the place of a machine's facts: whoever reads one of it fails."""


class Row(NamedTuple):
    """What is allowed in a state: the steps, those that lead to different states once, what must not be so for any."""

    steps: tuple[Step, ...]
    ways: tuple[Step, ...]
    kinds: frozenset[Kind]
    watched: frozenset[str]


class Rows:
    """What is allowed in each state, asked of the automaton once: it is asked without the facts of a machine, so that
    machines share it. Steps with the same needs are asked about together, of whatever kind, and where something stops
    only those that may be done without it, once of each kind."""

    def __init__(self, cautions: frozenset[Hazard], stops: tuple[str, ...], feeds: int) -> None:
        self.shown = frozenset(Hazard) - cautions
        self.steps = every_step(cautions, stops, feeds)
        self._watched = {step: watched_for(step) for step in self.steps}
        self._ways = {step: _way(step) for step in self.steps}
        self._alike: dict[Needs, dict[Kind, list[Step]]] = {}
        for step in self.steps:
            self._alike.setdefault(safety.needs(step), {}).setdefault(step.kind, []).append(step)
        self._known: dict[State, Row] = {}
        self._met: dict[State, list[dict[Kind, list[Step]]]] = {}

    def row(self, state: State) -> Row:
        """The row of a state."""
        state = state._replace(facts=NO_FACTS)
        if state not in self._known:
            steps = tuple(self._allowed(state))
            watched = frozenset[str]().union(*(self._watched[step] for step in steps))
            ways = tuple(dict.fromkeys(self._ways[step] for step in steps))
            self._known[state] = Row(steps, ways, frozenset(step.kind for step in steps), watched)
        return self._known[state]

    def _allowed(self, state: State) -> Iterator[Step]:
        unstopped = state._replace(stopped="")
        if unstopped not in self._met:
            self._met[unstopped] = [kinds for wanted, kinds in self._alike.items() if safety.met(unstopped, wanted)]
        for kinds in self._met[unstopped]:
            for steps in kinds.values():
                if not state.stopped or safety.allowed(state, steps[0]):
                    yield from steps


class Pair(NamedTuple):
    """The automaton's state, and the world as the checker knows it."""

    state: State
    at: World


def reachable(facts: Facts, rows: Rows) -> Iterator[tuple[Pair, Row]]:
    """Every pair that any order of allowed steps brings about, with what is allowed in it: from a machine as it is
    found, and from one of one feed whose power was left off by who had hands in it. (What that wants is measured at the
    frame, however many feeds there are; with two there would be twice as many of the largest enumerations.)"""
    begun = safety.begin(facts)
    starts = [Pair(begun, world(facts))]
    starts += [Pair(begun._replace(loose=True), world(facts, left_off=True))] if facts.feeds == 1 else []
    waiting = deque(as_shown(start, rows.shown) for start in starts)
    seen = {*waiting}
    left: dict[tuple[State, Step], State] = {}
    while waiting:
        pair = waiting.popleft()
        row = rows.row(pair.state)
        yield pair, row
        for way in row.ways:
            key = pair.state, way
            if key not in left:
                left[key] = safety.after(*key)
            follows = as_shown(Pair(left[key], then(pair.at, way)), rows.shown)
            if follows not in seen:
                seen.add(follows)
                waiting.append(follows)


def found(facts: Facts, rows: Rows) -> Iterator[tuple[str, Step, Pair]]:
    """Every danger of an allowed step that can be reached."""
    for pair, row in reachable(facts, rows):
        if row.watched & so(pair.at) or row.kinds & BARRED[pair.at.stopped]:
            yield from ((danger, step, pair) for step in row.steps for danger in dangers(pair.at, step))


LAID_BARE = ((True, False), (False, True), (True, True))
"""What opening a bay may lay bare beyond itself: where the supply lands, and a charge."""


def every_step(cautions: frozenset[Hazard], stops: tuple[str, ...], feeds: int) -> list[Step]:
    """Every kind of step, in a bay and not: by itself, beside each of some hazards, with each thing to do with gas
    pipe; each feed, caution and reason. A run is done with covers closed, never in a bay."""
    steps = [Step(kind, feed=feed) for kind in (Kind.ISOLATE, Kind.ENERGISE) for feed in range(feeds)]
    steps += [Step(Kind.ENERGISE, True, feed) for feed in range(feeds)]
    steps += [Step(Kind.OPEN, supply=supply, charge=charge) for supply, charge in LAID_BARE]
    steps += [Step(Kind.OPEN, cool=True)]
    steps += [Step(Kind.CAUTION, hazard=hazard) for hazard in sorted(cautions)]
    steps += [Step(Kind.STOP, reason=reason) for reason in stops]
    for kind, inside in itertools.product(Kind, (False, True)):
        if kind not in ITS_OWN and not (inside and kind is Kind.RUN):
            steps += [Step(kind, inside, pipe=pipe) for pipe in Pipe]
            steps += [Step(kind, inside, hazards=frozenset({hazard})) for hazard in sorted(cautions)]
    return steps


def _way(step: Step) -> Step:
    """The step as far as what it leaves depends on it: not on hazards, heat and pipe, on the place only where it
    provokes or brings power."""
    placed = step.inside and step.kind in (Kind.PROVOKE, Kind.ENERGISE, Kind.SUPPLY)
    return step._replace(hazards=frozenset(), pipe=Pipe.AWAY, inside=placed, cool=False)


def as_shown(pair: Pair, shown: frozenset[Hazard]) -> Pair:
    """The same with cautions counting as shown."""
    state, at = pair
    if shown <= state.cautions and shown <= at.told:
        return pair
    return Pair(state._replace(cautions=state.cautions | shown), at._replace(told=at.told | shown))
