"""Sequences of settings with a fault, for the judge of what a machine does to itself.

Every named setting of the healthy machine, faults that change what settles, and faults drawn at random. Shared by
the tests and by the command that judges the whole library.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from halfsplit.machine import model, primitives
from halfsplit.modes.fault import Fault
from halfsplit.operate import condition as conditions
from halfsplit.operate.effect import effect
from halfsplit.operate.settle import Settled
from halfsplit.plan import steps
from tests.judges import sequence
from tests.library.sweep import Library

TELLING, DRAWN = 16, 8
"""Faults that settle otherwise than a healthy machine, and faults of any kind."""


@dataclass(frozen=True)
class Sequence:
    """A setting (how it is reached follows from it) and a fault in one of its alternatives; -1: none."""

    setting: conditions.Setting
    fault: int = -1
    alternative: int = 0


def drawn(library: Library, seed: int, at_most: int = 16) -> list[Sequence]:
    """Distinct sequences of one machine, at least twenty; from `at_most` of its settings, drawn as well."""
    rng = np.random.default_rng(seed)
    known = conditions.live_settings(library.machine)
    settings = [known[k] for k in sorted(rng.permutation(len(known))[:at_most].tolist())]
    telling = _telling(library, settings)
    chosen = rng.permutation(len(telling))[:TELLING].tolist()
    found = [*(Sequence(setting) for setting in settings), *(telling[k] for k in chosen)]
    return list(dict.fromkeys([*found, *_any(library, settings, rng)]))


def _any(library: Library, settings: list[conditions.Setting], rng: np.random.Generator) -> Iterator[Sequence]:
    faults = [k for k, fault in enumerate(library.faults) if not fault.owner_only]
    for _ in range(DRAWN):
        fault = int(rng.choice(faults))
        setting = _meddled(library, settings[rng.integers(len(settings))], rng)
        yield Sequence(setting, fault, int(rng.integers(len(library.faults[fault].alternatives))))


def _meddled(library: Library, setting: conditions.Setting, rng: np.random.Generator) -> conditions.Setting:
    """The setting with one of the hand's controls somewhere else."""
    hands = list(steps.hand_controls(library.machine).values())
    if not hands:
        return setting
    control = hands[rng.integers(len(hands))]
    given = dict(setting) | {control.name: str(rng.choice(control.positions))}
    return conditions.condition(library.machine, given).setting


def _telling(library: Library, settings: list[conditions.Setting]) -> list[Sequence]:
    """Faults after which other devices are in their other state than in a healthy machine, chatter among them."""
    found: dict[tuple[int, frozenset[str], frozenset[str]], Sequence] = {}
    for setting in settings:
        herds = library.operation.settle(conditions.Condition(setting), library.effects)
        usual = next(herd for herd in herds if 0 in herd.members)
        for herd in herds:
            if herd.other != usual.other or herd.chatters:
                for variant in herd.members.tolist():
                    made = _sequence(library, setting, variant)
                    if not library.faults[made.fault].owner_only:
                        found.setdefault((made.fault, herd.other, herd.chatters), made)
    return list(found.values())


def _sequence(library: Library, setting: conditions.Setting, variant: int) -> Sequence:
    fault = library.variants[variant].faults[0]
    first = next(k for k, v in enumerate(library.variants) if v.faults == (fault,))
    return Sequence(setting, fault, variant - first)


@dataclass(frozen=True)
class Verdict:
    """One sequence: what settled in ours, and the judge's course."""

    what: str
    machine: model.Machine
    ours: Settled
    judge: sequence.Course

    @property
    def agrees(self) -> bool:
        """The same devices in their other state, both still; or both never come to rest."""
        if self.ours.chatters:
            return all(self.judge.moves(device) > 2 for device in self.ours.chatters)
        return self.judge.still and self._by_handle(self.judge.end) == self._by_handle(self.ours.other)

    def _by_handle(self, other: frozenset[str]) -> set[str]:
        """Poles under one handle trip together: which of them began it is no state of its own."""
        devices = self.machine.devices
        return {devices[d].part if isinstance(devices[d], primitives.Overcurrent) else d for d in other}

    @property
    def apart(self) -> str:
        """Where they differ, in words."""
        ours, judge = self.ours.other, self.judge.end
        only = f"only ours {sorted(ours - judge)}, only the judge {sorted(judge - ours)}"
        return f"{self.what}: {only}, still {self.judge.still}"


def judged(library: Library, asked: Sequence) -> Verdict:
    """Both, for one sequence."""
    fault: Fault | None = library.faults[asked.fault] if asked.fault >= 0 else None
    changes = fault.alternatives[asked.alternative][1] if fault else ()
    steps_to_it = sequence.stages(library.machine, dict(asked.setting))
    course = sequence.run(library.machine, steps_to_it, changes)
    made = effect(library.built, changes)
    (herd,) = library.operation.settle(conditions.Condition(asked.setting), [made])
    return Verdict(f"{asked.setting}, {fault.name if fault else 'healthy'} {changes}", library.machine, herd, course)
