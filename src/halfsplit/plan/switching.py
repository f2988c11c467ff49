"""The conditions that steps need as the modes of a problem of arrays, and the minutes from each to each.

Knows conditions and hot parts; nothing of what a step tells.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.machine import feeding, model, twins
from halfsplit.modes.fault import Repair
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.plan import cock, heat, powering, problem
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.work import handling, minutes, places, stopping
from halfsplit.work.hazards import Pipe
from halfsplit.work.state import Cock, JobState, to_open, with_fronts


@dataclass(frozen=True)
class Mode:
    """A condition (None: isolated, however it is set), and whether hands come to what gets hot.

    `as_left`: no condition at all, the machine stands as its owner left it. `opened`: as warm as opening leaves it.
    `stored`: hands are in reach of a capacitor, which has been discharged for it. `unproved`: left isolated, and not
    proved dead since the job was taken up again.
    `pipe`: what is done in it has to do with gas pipe.
    """

    at: Condition | None = None
    hot: bool = False
    as_left: bool = False
    opened: bool = False
    stored: bool = False
    unproved: bool = False
    pipe: Pipe = Pipe.AWAY

    @property
    def isolated(self) -> bool:
        """Whether the machine is isolated in it, and proved dead."""
        return not self.unproved and (not self.as_left if self.at is None else self.at.isolated)


@dataclass(eq=False)
class Modes:
    """The modes of a job from where things stand. The first is how the machine stands now.

    What our own runs have heated is waited for on the way to a hot mode, less the time in which hands isolate and open.
    A run that is only planned counts as cold again once hands have been anywhere else: an approximation, as good as no
    other work is planned there. So does what was discharged in plans once hands have been out of its reach, and a
    gas cock that was shut counts as open.
    """

    machine: model.Machine
    state: JobState
    known: list[Mode] = field(init=False)
    opening: dict[Mode, float] = field(init=False, default_factory=dict)
    """The fewest minutes that anything done in a hot mode spends opening first."""

    def __post_init__(self) -> None:
        now = self.state.condition
        stored = minutes.discharged(self.machine, self.state)
        unproved = now is not None and self.state.unproved
        shut = Pipe.BESIDE if self.state.cock in (Cock.SHUT, Cock.APART) else Pipe.AWAY
        self.known = [Mode(now, as_left=now is None, stored=stored, unproved=unproved, pipe=shut)]

    def of_steps(self, offered: Sequence[Step]) -> list[int]:
        """The mode of each step: a look from outside fits any, one inside wants the machine isolated."""
        return [self._of_step(step, bays_needed(self.machine, step)) for step in offered]

    def _of_step(self, step: Step, bays: tuple[str, ...]) -> int:
        if step.condition is None and not bays:
            return problem.ANY_MODE
        dead = step.condition is None or step.condition.isolated
        hot = heat.touches_hot(self.machine, step) if dead else powering.opens_hot(self.machine, self.state, step)
        opened = bool(step.condition and self.machine.warmth_behind(bays))
        stored = dead and self._stored(bays)
        lasting = step.condition.lasting if step.condition else None
        gas = cock.pipe(self.machine, step)
        return self._number(Mode(lasting, hot, opened=opened, stored=stored, pipe=gas), bays)

    def _stored(self, bays: tuple[str, ...]) -> bool:
        return bool(places.charge(self.machine, self.state.open_bays.union(with_fronts(self.machine, bays))))

    def of_repairs(self, sets: Iterable[Sequence[Repair]]) -> list[int]:
        """The mode of sets of repairs: isolated where hands go to the machine or it is left to another trade, else any.

        Twins that stand exchanged are put back for it, each in its place.
        """
        return [self._of_repairs(repairs) for repairs in sets]

    def _of_repairs(self, repairs: Sequence[Repair]) -> int:
        if stopping.of_repairs(repairs):
            return self.handing_over
        mine = [one for one in repairs if handling.hands_in(self.machine, one)]
        bays = tuple(bay for one in mine for bay in one.bays)
        hot = heat.hot_at(self.machine, bays, [one.subject for one in mine])
        gas = cock.beside_for(self.machine, self.state, *mine)
        return self._number(Mode(hot=hot, stored=self._stored(bays), pipe=gas), bays) if mine else problem.ANY_MODE

    @property
    def handing_over(self) -> int:
        """The mode in which a machine is left to others."""
        return self._number(Mode(), ())

    def _number(self, mode: Mode, bays: tuple[str, ...]) -> int:
        if mode not in self.known:
            self.known.append(mode)
        if mode.hot:
            opened = sum(self.machine.bays[bay].open_minutes for bay in to_open(self.machine, self.state, bays))
            self.opening[mode] = min(opened, self.opening.get(mode, opened))
        return self.known.index(mode)

    def switching(self) -> Array:
        """(M, M) minutes from each mode to each."""
        plain = [replace(mode, hot=False, stored=False, pipe=Pipe.AWAY) for mode in self.known]
        apart = list(dict.fromkeys(plain))
        changing = np.array([[self._changing(was, at) for at in apart] for was in apart])
        number = [apart.index(mode) for mode in plain]
        beside = (self._cooling, self._discharging, self._turning)
        waiting = [[sum(minutes_of(was, at) for minutes_of in beside) for at in self.known] for was in self.known]
        return np.asarray(changing[np.ix_(number, number)] + np.array(waiting))

    def uncovering(self) -> Array:
        """(M, M) minutes more from each mode to each where a cover comes off on the way; a machine that is set anyhow
        is isolated."""
        return np.array([[self._uncovering(was, mode) for mode in self.known] for was in self.known])

    def _uncovering(self, was: Mode, mode: Mode) -> float:
        if mode.at is None:
            return 0.0
        return minutes.to_uncover(self.machine, was.at, mode.at, self._isolated(was))

    def _changing(self, was: Mode, mode: Mode) -> float:
        """Without cooling; nothing goes back to how the owner left it."""
        if was == mode or mode.as_left:
            return 0.0
        if mode.at is None:
            back = minutes.exchanging(self.machine, was.at, None)
            return back + (0.0 if self._isolated(was) else self.machine.handwork.isolate)
        before = was.at if was.at or was.as_left else Condition(mode.at.setting, True)
        left = mode.at.position(WARMTH) if mode.opened else ""
        return minutes.changing(self.machine, before, mode.at, left, self._isolated(was))

    def _cooling(self, was: Mode, mode: Mode) -> float:
        touched = mode.hot or heat.moves_hot(self.machine, self._exchange(was), self._exchange(mode))
        touched = touched or (mode.at is not None and heat.turns_hot(self.machine, was.at, mode.at))
        if not touched or (was.hot and (was.at is None or was.at.isolated)):
            return 0.0
        ran = was != self.known[0] and was.at is not None and powering.runs(self.machine, was.at)
        isolating = 0.0 if self._isolated(was) else self.machine.handwork.isolate
        return max(0.0, (self._cools if ran else self.state.warm) - isolating - self.opening.get(mode, 0.0))

    def _discharging(self, was: Mode, mode: Mode) -> float:
        if not mode.stored or (was.stored and self._isolated(was)):
            return 0.0
        return minutes.to_discharge(self.machine)

    def _turning(self, was: Mode, mode: Mode) -> float:
        """The gas cock shut for hands beside the pipe, and open again for what should burn."""
        shut = was.pipe is Pipe.BESIDE
        turned = {Pipe.BESIDE: not shut, Pipe.LIT: shut}.get(mode.pipe, False)
        return self.machine.handwork.cock * turned

    def _isolated(self, mode: Mode) -> bool:
        """Whether the machine is proved dead in a mode; with its plug out for a reading at the wall as it is now, where
        nothing is opened for that."""
        if mode.at is None or mode.at.isolated or powering.runs(self.machine, mode.at):
            return mode.isolated
        if feeding.plug_bay(self.machine):
            return False
        return self.state.isolated

    def _exchange(self, mode: Mode) -> twins.Exchange:
        return mode.at.exchange if mode.at else ()

    @cached_property
    def _cools(self) -> float:
        return places.cooling(self.machine)
