"""What an action costs in a state of a repair problem, and what may follow it, with every fault and test kept: the slow
and obvious way to what `plan/nodes` tells of a node, and its judge.

Knows the arrays of a problem; decides nothing.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from halfsplit.plan import states
from halfsplit.plan.problem import GONE, Action, Problem
from halfsplit.plan.states import State


class Branch(NamedTuple):
    """One outcome of an action. `outcome` is the test's outcome, or for a repair 1 works, 0 does not; `state`
    is None when the machine works."""

    probability: float
    outcome: int
    state: State | None


def minutes(problem: Problem, state: State, action: Action) -> float:
    """What an action costs here [min]: bays not yet open (with their closing), change of mode, itself, and the
    complaint where a repair wants it seen."""
    here = problem.at(state.opened, state.mode)
    if action.kind == "test":
        return float(here.test[action.which])
    sure = float((problem.cures @ state.posterior).max())
    return float(here.repair[action.which]) + states.to_see(problem, state.seen, sure)


def branches(problem: Problem, state: State, action: Action) -> list[Branch]:
    """What can follow an action, most probable first; probabilities sum to one."""
    after = _after_test if action.kind == "test" else _after_repair
    found = after(problem, state, action)
    return sorted(found, key=lambda branch: (-branch.probability, branch.outcome))


def _after_test(problem: Problem, state: State, action: Action) -> list[Branch]:
    joint = problem.shows[action.which] * state.posterior
    totals = joint.sum(axis=1)
    left = state.left.copy()
    left[action.which] -= 1
    moved = problem.opened_by(action, state.opened), problem.mode_after(action, state.mode)
    seen = state.seen | problem.unlike[action.which]
    return [
        Branch(float(totals[o]), int(o), State(joint[o] / totals[o], left, *moved, bool(seen[o])))
        for o in np.flatnonzero(totals > GONE)
    ]


def _after_repair(problem: Problem, state: State, action: Action) -> list[Branch]:
    cured = problem.cures[action.which]
    works = float(state.posterior[cured].sum())
    rest = np.where(cured, 0.0, state.posterior)
    found = [Branch(works, 1, None)] if works > GONE else []
    if rest.sum() > GONE:
        moved = problem.opened_by(action, state.opened), problem.mode_after(action, state.mode)
        found.append(Branch(float(rest.sum()), 0, State(rest / rest.sum(), state.left, *moved)))
    return found
