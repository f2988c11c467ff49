"""A bench whose predictions are kept from one run to the next: only what has not been asked before is worked out.

A prediction depends on the machine and the condition alone, not on what was found, so that the next diagnosis of the
same machine finds most of what it needs. What is kept is exact: the numbers are those that would be worked out anew.
Readings and symptoms are kept together, the herds of each condition by themselves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from halfsplit.circuit.assembly import State
from halfsplit.circuit.network import Array
from halfsplit.evidence import weigh
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import model
from halfsplit.operate.condition import Condition, usual
from halfsplit.operate.effect import Effect
from halfsplit.operate.settle import Settled
from halfsplit.plan import insulated, steps
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import Probe, Reading, Readings
from halfsplit.service import kept, questions

MOST_READINGS = 80
"""So many readings of a machine are kept, the last ones used (a quarter of a megabyte each on a dryer)."""


@dataclass
class Memory:
    """Predictions of the single faults of one machine."""

    readings: dict[tuple[Probe, Condition], Reading] = field(default_factory=dict)
    symptoms: dict[tuple[str, Condition, bool], Array] = field(default_factory=dict)
    healthy: dict[tuple[str, Condition], bool] = field(default_factory=dict)


CLASSES = kept.named(Memory, Probe, Condition, Reading)
HERDS = kept.named(Settled, State)


class RememberingReadings(Readings):
    """Readings that look for the herds of single faults in the cache folder before they are settled."""

    def __init__(self, like: Readings, key: str, whose: tuple[Effect, ...]) -> None:
        super().__init__(like.operation, like.meter)
        self.key, self.whose = key, whose

    def settled(self, condition: Condition, effects: Sequence[Effect]) -> list[Settled]:
        """The herds of a condition."""
        if effects is not self.whose:
            return super().settled(condition, effects)
        name = kept.key("herds", self.key, repr(condition))
        found = kept.get(name, HERDS | kept.arrays())
        if isinstance(found, list) and sum(len(herd.members) for herd in found) == len(effects):
            return [self._whole(herd) for herd in found]
        if condition.isolated:
            self.operation.ran(self.whose, self.herds(usual(self.operation.machine), self.whose))
        made = super().settled(condition, effects)
        kept.put(name, [_lean(herd) for herd in made])
        return made

    def _whole(self, herd: Settled) -> Settled:
        """A herd as it was, the volts and amps of an isolated machine at zero again."""
        if herd.volts.size:
            return herd
        nothing, count = np.zeros(1, complex), len(herd.members)
        volts, amps = (np.broadcast_to(nothing, (count, n)) for n in (len(self.built.nodes), len(self.built.tail)))
        return replace(herd, volts=volts, amps=amps)


def _lean(herd: Settled) -> Settled:
    """A herd without the zeros of an isolated machine, and with arrays of its own."""
    none = np.zeros((0, 0), complex)
    volts, amps = (none, none) if not herd.volts.any() else (herd.volts, herd.amps)
    return replace(herd, positions=dict(herd.positions), volts=volts, amps=amps)


class Remembering(Predictor):
    """A predictor that looks into a memory first; `learnt` says whether anything was added to it."""

    def __init__(self, like: Predictor, memory: Memory, key: str) -> None:
        super().__init__(like.operation, like.candidates, like.readings.meter)
        self.readings = RememberingReadings(like.readings, key, self.found_effects)
        self.memory = memory
        self.learnt = False

    def _read(self, probes: Sequence[Probe], at: Condition) -> list[Reading]:
        """What the meter would show; only what is not remembered is worked out."""
        known = self.memory.readings
        new = [probe for probe in probes if (probe, at) not in known]
        if new:
            known.update(zip(((probe, at) for probe in new), super()._read(new, at), strict=True))
            self.learnt = True
        for probe in probes:
            known[probe, at] = known.pop((probe, at))  # the last used stand last
        return [known[probe, at] for probe in probes]

    def symptom(self, what: str, at: Condition, by_owner: bool) -> Array:
        """(S,) probability that a person says yes."""
        key = (what, at, by_owner)
        if key not in self.memory.symptoms:
            self.memory.symptoms[key], self.learnt = super().symptom(what, at, by_owner), True
        return self.memory.symptoms[key]

    def healthy_shows(self, what: str, at: Condition) -> bool:
        """Whether the healthy machine shows a symptom."""
        if (what, at) not in self.memory.healthy:
            self.memory.healthy[what, at], self.learnt = super().healthy_shows(what, at), True
        return self.memory.healthy[what, at]


def bench(machine: model.Machine, key: str, worked_on_before: bool = False) -> Bench:
    """A bench that remembers what was predicted for the machine of this key ("": nothing is kept)."""
    made = Bench(machine, worked_on_before)
    if not key:
        return made
    memory = kept.get(kept.key("predictions", key), CLASSES | kept.arrays())
    made.predict_with(Remembering(made.predictor, memory if _fits(memory, made) else Memory(), key))
    return made


def _fits(memory: object, made: Bench) -> bool:
    """Whether a kept memory speaks of as many variants as the machine has."""
    count = len(made.singles.variants)
    if not isinstance(memory, Memory):
        return False
    sizes = [*map(len, memory.symptoms.values()), *(len(reading.value) for reading in memory.readings.values())]
    return all(size == count for size in sizes)


def keep(used: Bench, key: str) -> None:
    """Keeps what a bench has learnt, for the next run."""
    predictor = used.predictor
    if not isinstance(predictor, Remembering) or not predictor.learnt:
        return
    memory = predictor.memory
    last = dict(list(memory.readings.items())[-MOST_READINGS:])
    kept.put(kept.key("predictions", key), replace(memory, readings=last))
    predictor.learnt = False


def learn_the_usual(used: Bench) -> None:
    """Every symptom as an owner may have met it, what of a setting decides an owner's answer, and what ohms to the
    frame have to show: what any diagnosis asks."""
    for at, _ in weigh.usual_conditions(used.predictor):
        for what in used.machine.symptoms:
            used.predictor.symptom(what, at, True)
    for step in steps.questions(used.machine):
        questions.question(used.predictor, step.at, step.met)
    if used.machine.frame:
        insulated.shorts(used.predictor)
