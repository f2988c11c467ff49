"""Which single slip of the pen would explain what is odd about a file: a wire's end, two wires, a mark of a chart.

Each slip is undone in turn as changes to the one network, all of them settled together, and what is odd is counted
again. Knows the survey and the readings seen on a healthy machine; not what a person did.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from halfsplit.audit import loads
from halfsplit.audit.survey import Survey
from halfsplit.circuit.network import Array
from halfsplit.machine import model, primitives, tree
from halfsplit.machine.rules.facts import Flaw, own_wires
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.operate.effect import HEALTHY, Effect, Operation
from halfsplit.predict import healthy
from halfsplit.predict.readings import Readings

__all__ = ["Mend", "mends", "proposed"]

MOST_MENDS = 4
"""Where more explain it equally well, none is told: they would be guesses."""
TRIPPED = 20
"""A breaker that trips is so many times as odd as one load without volts."""


@dataclass(frozen=True)
class Mend:
    """One slip undone: its place, the sentence, and its changes; `where` limits them to positions of a control."""

    path: tree.Path
    sentence: str
    effect: Effect
    where: tuple[str, str] | None = None

    def at(self, condition: Condition) -> Effect:
        """Its effect in a condition."""
        if self.where is None or condition.position(self.where[0]) == self.where[1]:
            return self.effect
        return HEALTHY


def proposed(survey: Survey) -> Iterator[Flaw]:
    """The few slips that explain what is odd best, each as a problem at its place; none where many do."""
    found = mends(survey)
    for mend in found if len(found) <= MOST_MENDS else ():
        yield Flaw(mend.path, mend.sentence, "Look at it on the sheet first: it would explain all that is odd.")


def mends(survey: Survey) -> list[Mend]:
    """The slips that leave least that is odd, in the order of the file; none where none helps."""
    now = int(oddness(survey, [Mend((), "", HEALTHY)])[0])
    found: list[tuple[int, Mend]] = []
    for alike in ([*_wire_ends(survey), *_wire_pairs(survey)], [*_marks(survey)]):
        work = _of_work(survey, alike)
        rows = np.flatnonzero(work < now).tolist()
        helping = [alike[row] for row in rows]
        found += zip((work[rows] + _of_readings(survey, helping)).tolist(), helping, strict=True)
    least = min((odd for odd, _ in found), default=now)
    return [mend for odd, mend in found if odd == least < now]


# ---- what is odd ------------------------------------------------------------------------------------------


def oddness(survey: Survey, every: Sequence[Mend]) -> Array:
    """(mends,) how much is odd under each: loads fed wrongly, what trips or chatters, readings that differ."""
    return np.asarray(_of_work(survey, every) + _of_readings(survey, every))


def _of_work(survey: Survey, every: Sequence[Mend]) -> Array:
    """(mends,) what is odd about the machine at work."""
    most = np.zeros((len(every), len(survey.loads)))
    odd = np.zeros(len(every), int)
    trips = {d.name for d in survey.machine.devices.values() if isinstance(d, primitives.Overcurrent)}
    for at in _tried(survey) if every else ():
        for herd in survey.operation.settle(at, _effects(every, at)):
            most[herd.members] = np.maximum(most[herd.members], survey.across(herd.volts))
            odd[herd.members] += TRIPPED * bool(trips & herd.other) + 2 * bool(herd.chatters)
    return np.asarray(odd + loads.amiss(survey, most).sum(axis=1))


def _effects(every: Sequence[Mend], at: Condition) -> tuple[Effect, ...]:
    return tuple(mend.at(at) for mend in every)


def _tried(survey: Survey) -> list[Condition]:
    """The named settings, and from the first of them each control and the warmth elsewhere by itself."""
    known = conditions.positions(survey.machine)
    usual = dict(next(iter(survey.machine.settings.values()), ()))
    moved = [(name, p) for name in (*survey.by_hand, conditions.WARMTH) for p in known.get(name, ())]
    alone = (conditions.condition(survey.machine, usual | {name: p}) for name, p in moved)
    return list(dict.fromkeys([*survey.named, *alone]))


def _of_readings(survey: Survey, every: Sequence[Mend]) -> Array:
    """(mends,) how many readings of a healthy machine differ."""
    readings = Readings(survey.operation)
    odd = np.zeros(len(every), int)
    everywhere = tuple(mend.effect for mend in every)  # one tuple for all readings: what was settled for it is kept
    limited = any(mend.where for mend in every)
    for seen in survey.machine.seen if every else ():
        at = conditions.of_seen(survey.machine, seen)
        effects = _effects(every, at) if limited else everywhere
        odd += healthy.differs(readings, survey.machine, seen, effects)[0]
    return odd


# ---- the slips --------------------------------------------------------------------------------------------


def _wire_ends(survey: Survey) -> Iterator[Mend]:
    """An end of a wire at another terminal of the same part."""
    for wire, path in own_wires(survey.sheet):
        for side in (0, 1):
            for other in _beside(survey, wire.ends[side]):
                if other not in wire.ends:
                    sentence = f"Were this wire at {other} instead of {wire.ends[side]}, it would fit."
                    yield Mend(path, sentence, Effect(_moved(survey, wire, side, other)))


def _wire_pairs(survey: Survey) -> Iterator[Mend]:
    """Two wires of one part on each other's terminals."""
    ends = [(w, path, side, w.ends[side]) for w, path in own_wires(survey.sheet) for side in (0, 1)]
    for (one, path, a, first), (two, _, b, second) in combinations(ends, 2):
        apart = one is not two and first != second and model.part_of(first) == model.part_of(second)
        if apart and second not in one.ends and first not in two.ends:
            sentence = f"Were this wire at {second}, and the {_colour(two)} one there at {first}, it would fit."
            changes = (*_moved(survey, one, a, second), *_moved(survey, two, b, first))
            yield Mend(path, sentence, Effect(changes))


def _marks(survey: Survey) -> Iterator[Mend]:
    """A mark of a contact chart more, or one less."""
    for contact in survey.own_contacts:
        path = survey.chart_path(contact)
        when = contact.when[0] if path and len(contact.when) == 1 else None
        if isinstance(when, primitives.ByControl):
            k = survey.built.branches[contact.name]
            for position in survey.machine.controls[when.control].positions:
                closed = position in when.positions
                effect = Effect((Operation("open" if closed else "shut", k),))
                does = "open" if closed else "closed"
                sentence = f"Were this contact {does} at '{position}', it would fit."
                yield Mend(path, sentence, effect, (when.control, position))


def _beside(survey: Survey, terminal: str) -> list[str]:
    """The other terminals of a terminal's part."""
    part = survey.machine.parts[model.part_of(terminal)]
    return [other for other in part.reachable if other != terminal]


def _moved(survey: Survey, wire: model.Wire, side: int, to: str) -> tuple[Operation, ...]:
    """The wire off at one of its ends and on at another terminal."""
    k = survey.built.branches[wire.name]
    stays = int(survey.built.head[k] if side == 0 else survey.built.tail[k])
    return Operation("open", k), Operation("bridge", k, wire.ohms, stays, survey.built.nodes[to])


def _colour(wire: model.Wire) -> str:
    return "".join(wire.colours)
