"""Valid bounds of the expected cost to a proven repair. Knows nodes; decides nothing."""

from __future__ import annotations

from halfsplit.plan import nodes
from halfsplit.plan.problem import Problem
from halfsplit.plan.states import State


def told(problem: Problem, state: State) -> float:
    """Lower bound [min]: the fault is told for nothing, then it is opened, repaired and closed.

    Sum over faults of p times the cheapest (repair + access); what no plan can beat.

    >>> from halfsplit.plan import problem as arrays, states
    >>> tests = arrays.Tests([[[1, 0], [0, 1]]], [2.0])
    >>> two = arrays.build([1, 1], tests, arrays.Repairs(arrays.cures_from([0, 1]), [4.0, 8.0]))
    >>> told(two, states.start(two))
    6.0
    """
    return float(problem.at(state.opened, state.mode).floor @ state.posterior)


def looking_ahead(problem: Problem, state: State) -> float:
    """Lower bound [min]: one move must be paid for before the fault is told; never below `told`."""
    return nodes.Nodes(problem).root(state).bound


def untested(problem: Problem, state: State) -> float:
    """Upper bound [min]: repairs in the order p/C, no tests, each bay opened once."""
    return nodes.one_after_another(nodes.Nodes(problem).root(state))
