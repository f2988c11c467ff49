"""Where one job stands in a repair problem, what an action costs there, and what may follow it.

Knows the arrays of `problem`; decides nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from halfsplit.plan import worth
from halfsplit.plan.problem import GONE, Action, Floats, Ints, Problem


@dataclass(frozen=True, eq=False)
class State:
    """Where a job stands. `posterior` (F,) sums to one; `opened` are the open bays as bits; `left` (T,) how
    often each test may still be done; `mode` the present mode; `tried` the repairs done in vain, in order.
    `seen`: whether something was found that is unlike a healthy machine, or nothing has to be seen."""

    posterior: Floats
    left: Ints
    opened: int = 0
    mode: int = 0
    tried: tuple[int, ...] = ()
    seen: bool = True


class Branch(NamedTuple):
    """One outcome of an action. `outcome` is the test's outcome, or for a repair 1 works, 0 does not; `state`
    is None when the machine works."""

    probability: float
    outcome: int
    state: State | None


def start(problem: Problem, mode: int = 0) -> State:
    """The state before anything is known beyond the prior, with everything closed."""
    return State(problem.prior, problem.times.copy(), 0, mode, seen=not problem.seeing)


def to_see(problem: Problem, seen: bool, sure: float) -> float:
    """Minutes to see the complaint before a repair that is `sure` (0..1) to cure.

    >>> from halfsplit.plan.problem import Repairs, Tests, build
    >>> made = build([1], Tests((), ()), Repairs([[1]], [9.0]), seeing=24.0)
    >>> to_see(made, False, 0.9), to_see(made, True, 0.9), to_see(made, False, 0.99)
    (24.0, 0.0, 0.0)
    """
    return 0.0 if seen or sure >= worth.SURE else problem.seeing


def minutes(problem: Problem, state: State, action: Action) -> float:
    """What an action costs here [min]: bays not yet open (with their closing), change of mode, itself, and the
    complaint where a repair wants it seen."""
    here = problem.at(state.opened, state.mode)
    if action.kind == "test":
        return float(here.test[action.which])
    sure = float((problem.cures @ state.posterior).max())
    return float(here.repair[action.which]) + to_see(problem, state.seen, sure)


def branches(problem: Problem, state: State, action: Action) -> list[Branch]:
    """What can follow an action, most probable first; probabilities sum to one."""
    after = _after_test if action.kind == "test" else _after_repair
    found = after(problem, state, action)
    return sorted(found, key=lambda branch: (-branch.probability, branch.outcome))


def outcome_probabilities(problem: Problem, posterior: Floats) -> Floats:
    """(T, O) probability of every outcome of every test under a posterior (F,)."""
    expected: Floats = problem.shows @ posterior
    return expected


def _after_test(problem: Problem, state: State, action: Action) -> list[Branch]:
    joint = problem.shows[action.which] * state.posterior
    totals = joint.sum(axis=1)
    left = state.left.copy()
    left[action.which] -= 1
    moved = problem.opened_by(action, state.opened), problem.mode_after(action, state.mode)
    seen = state.seen | problem.unlike[action.which]
    return [
        Branch(float(totals[o]), int(o), State(joint[o] / totals[o], left, *moved, state.tried, bool(seen[o])))
        for o in np.flatnonzero(totals > GONE)
    ]


def _after_repair(problem: Problem, state: State, action: Action) -> list[Branch]:
    cured = problem.cures[action.which]
    works = float(state.posterior[cured].sum())
    rest = np.where(cured, 0.0, state.posterior)
    found = [Branch(works, 1, None)] if works > GONE else []
    if rest.sum() > GONE:
        moved = problem.opened_by(action, state.opened), problem.mode_after(action, state.mode)
        after = State(rest / rest.sum(), state.left, *moved, (*state.tried, action.which))
        found.append(Branch(float(rest.sum()), 0, after))
    return found
