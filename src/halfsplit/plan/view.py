"""A job on a machine as a problem of arrays, and what its indices stand for.

Knows the steps that are followed, the posterior as columns, bays, conditions and prices; searches nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from halfsplit.circuit.network import Array
from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.plan import options, outlook, powering, pricing, problem, score, switching
from halfsplit.plan.problem import Action
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.work import minutes, prices, refusals, stopping
from halfsplit.work.state import JobState


class Seen(NamedTuple):
    """Before a repair that is not sure: (K, O) whether an outcome makes it needless to see the complaint, and the
    minutes that seeing it takes."""

    unlike: Array
    minutes: float


class Way(NamedTuple):
    """One way to go on: a step, or where that is None the `repairs`; none of them to hand over.

    `expected`: minutes to a proven repair if this is done now, prices as minutes.
    """

    step: Step | None
    expected: float
    repairs: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class View:
    """The problem of one job, and what its indices stand for: steps, and sets of repairs (the last: handing over)."""

    problem: problem.Problem
    steps: tuple[Step, ...]
    repairs: tuple[tuple[str, ...], ...]

    def actions(self, usual: Sequence[Step]) -> list[Action]:
        """Steps as actions, those that are not followed left out."""
        return [Action("test", self.steps.index(step)) for step in usual if step in self.steps]

    def way(self, option: options.Option) -> Way:
        """An option in the words of the machine."""
        if option.action.kind == "test":
            return Way(self.steps[option.action.which], option.expected_cost)
        return Way(None, option.expected_cost, self.repairs[option.action.which])


def of_job(
    asked: score.Adviser, state: JobState, few: outlook.Condensed, chosen: Sequence[Step],
    names: dict[int, tuple[str, ...]], seen: Seen,
) -> View:  # fmt: skip
    """The view of a job. few: the posterior as columns; chosen: the steps followed; names: of repairs; seen: what the
    complaint's being seen first depends on.

    What the file does not say is no column: it costs every plan the same, and if any step could tell something about
    it, plans would buy readings only to tell it from the rest.
    """
    machine = asked.bench.machine
    modes = switching.Modes(machine, state)
    tests = _tests(asked, state, few.shows, chosen, modes, seen.unlike)
    repairs = _Repairs(asked, state, [names[n] for n in dict.fromkeys(few.repair_of.tolist())])
    cures = repairs.as_arrays(few.repair_of, names, modes)
    switch, uncovering = modes.switching(), modes.uncovering()
    made = problem.build(few.prior, tests, cures, _bays(machine, state), switch, seen.minutes, uncovering)
    return View(made, tuple(chosen), (*repairs.sets, ()))


def _bays(machine: model.Machine, state: JobState) -> problem.Bays:
    """The bays; what is open costs nothing more, and where the supply lands dead may have to be proved once more."""
    place = {name: number for number, name in enumerate(machine.bays)}
    closed = [(bay, name not in state.open_bays) for name, bay in machine.bays.items()]
    return problem.Bays(
        [place.get(bay.behind, problem.OUTSIDE) for bay, _ in closed],
        [(bay.open_minutes + minutes.proving(machine, state, bay.name)) * shut for bay, shut in closed],
        [bay.close_minutes * shut for bay, shut in closed],
    )


def _numbers(machine: model.Machine, bays: Sequence[str]) -> list[int]:
    place = {name: number for number, name in enumerate(machine.bays)}
    return [place[bay] for bay in bays if bay in place]


def _tests(
    asked: score.Adviser, state: JobState, shows: Array, chosen: Sequence[Step], modes: switching.Modes,
    unlike: ArrayLike = (),
) -> problem.Tests:
    machine = asked.bench.machine
    bays = [bays_needed(machine, step) for step in chosen]
    return problem.Tests(
        shows,
        [
            pricing.hands_at(machine, state, step)
            + pricing.running_at(machine, state, step)
            + minutes.provoking(machine, step.condition)
            + _shutting(machine, state, step)
            for step in chosen
        ],
        [_numbers(machine, some) for some in bays],
        modes.of_steps(chosen),
        (),
        [int(step.live) for step in chosen],
        unlike,
    )


def _shutting(machine: model.Machine, state: JobState, step: Step) -> float:
    """Minutes to close what must be closed for the machine to run, and to open it again."""
    shut = [machine.bays[bay] for bay in powering.shut_to_run(machine, state, step)]
    return sum(bay.open_minutes + bay.close_minutes for bay in shut)


class _Repairs:
    """Sets of repairs with their prices; the last hands over what cannot be reached."""

    def __init__(self, asked: score.Adviser, state: JobState, sets: list[tuple[str, ...]]) -> None:
        self.machine, self.sets = asked.bench.machine, sets
        self.known = asked.bench.repairs
        self.bays = [self._bays_of(names) for names in sets]
        self.barred = [self._bars(state, names) for names in sets]

    def as_arrays(self, repair_of: Array, names: dict[int, tuple[str, ...]], modes: switching.Modes) -> problem.Repairs:
        """The repairs of these columns; a barred one is handed over."""
        last = len(self.sets)
        cures = np.zeros((last + 1, len(repair_of)), bool)
        for column, number in enumerate(repair_of.tolist()):
            row = self.sets.index(names[number])
            cures[last if self.barred[row] else row, column] = True
        hourly, van = self.machine.handwork.hourly, self.machine.van
        price = [prices.price_together(self._of(some), hourly, van).minutes for some in self.sets]
        price.append(prices.HANDING_OVER.minutes)
        bays = [*(_numbers(self.machine, some) for some in self.bays), []]
        return problem.Repairs(cures, price, bays, [*modes.of_repairs(map(self._of, self.sets)), modes.handing_over])

    def _of(self, names: tuple[str, ...]) -> list[Repair]:
        return [self.known[name] for name in names]

    def _bars(self, state: JobState, names: tuple[str, ...]) -> bool:
        """Whether what cannot be done here stands in the way of a set of repairs that is ours."""
        repairs = self._of(names)
        return not stopping.of_repairs(repairs) and refusals.bars_repairs(self.machine, state, repairs)

    def _bays_of(self, names: tuple[str, ...]) -> tuple[str, ...]:
        """The bays that a set of repairs wants open: none where it is left to another trade."""
        repairs = self._of(names)
        return () if stopping.of_repairs(repairs) else tuple(bay for one in repairs for bay in one.bays)
