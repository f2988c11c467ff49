"""Where one job stands in a repair problem; what an action costs there and what may follow it is told by `nodes`.

Knows the arrays of `problem`; decides nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

from halfsplit.plan import worth
from halfsplit.plan.problem import Floats, Ints, Problem


@dataclass(frozen=True, eq=False)
class State:
    """Where a job stands. `posterior` (F,) sums to one; `opened` are the open bays as bits; `left` (T,) how often each
    test may still be done; `mode` the present mode. `seen`: whether something was found that is unlike a healthy
    machine, or nothing has to be seen."""

    posterior: Floats
    left: Ints
    opened: int = 0
    mode: int = 0
    seen: bool = True


def start(problem: Problem) -> State:
    """The state before anything is known beyond the prior, with everything closed."""
    return State(problem.prior, problem.times.copy(), seen=not problem.seeing)


def to_see(problem: Problem, seen: bool, sure: float) -> float:
    """Minutes to see the complaint before a repair that is `sure` (0..1) to cure.

    >>> from halfsplit.plan.problem import Repairs, Tests, build
    >>> made = build([1], Tests((), ()), Repairs([[1]], [9.0]), seeing=24.0)
    >>> to_see(made, False, 0.9), to_see(made, True, 0.9), to_see(made, False, 0.99)
    (24.0, 0.0, 0.0)
    """
    return 0.0 if seen or sure >= worth.SURE else problem.seeing
