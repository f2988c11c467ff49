"""Whether the planner keeps danger as an order, judged by exact search: no live step while the best plan without any
costs at most the excess more.

    python benchmarks/danger_order.py [--count N] [--first SEED] [--excess MINUTES] [--slower TIMES]
                                       [--rolled] [--middling] [--states N]

Random problems (`tests/plan/plan_instances`), half of the tests marked live, the dead ones made slower. In every state
that the planner passes both least costs are proven: of all plans, and of all plans without live tests.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT)]

import numpy as np  # noqa: E402  (after the number of threads is set)

from benchmarks import branching, ways  # noqa: E402
from halfsplit.plan import advise, exact, nodes, options, states, worth  # noqa: E402
from halfsplit.plan.options import Choice, Limits  # noqa: E402
from halfsplit.plan.problem import Problem  # noqa: E402
from halfsplit.plan.states import State  # noqa: E402
from tests.plan import plan_instances  # noqa: E402

SLOWER = 4.0
"""A dead test takes up to so many times its minutes, or few live ones would spare the excess."""


class Judged(NamedTuple):
    """A state that the planner passes: what it says there, whether that is live, and the least costs, proven."""

    choice: Choice
    live: bool
    dead: float
    free: float

    @property
    def more(self) -> float:
        """Minutes that the best plan without live tests costs more."""
        return self.dead - self.free


def problem(seed: int, make: Callable[[int], Problem] = plan_instances.drawn, slower: float = SLOWER) -> Problem:
    """The problem of a seed with about half of its tests live, the dead ones up to so many times slower."""
    given, random = make(seed), np.random.default_rng([seed, 1])
    danger = (random.random(len(given.danger)) < 0.5).astype(np.int64)
    times = np.where(danger, 1.0, random.uniform(1.0, slower, len(danger)))
    return replace(given, danger=danger, test_minutes=given.test_minutes * times, _at={})


def judged(given: Problem, limits: Limits = advise.LIMITS, most: int = 10**6) -> Iterator[Judged]:
    """Every state that the planner passes, the soonest reached first, at most so many."""
    free, dead = (exact.Exact(one, ways.MOST_STATES) for one in (given, advise.without_live(given)))
    choose, keys = ways.advised(given, limits), nodes.Nodes(given)
    met: set[nodes.Key] = set()
    left: list[State] = [states.start(given)]
    while left and len(met) < most:
        state = left.pop(0)
        key = keys.root(state).key
        if key in met:
            continue
        met.add(key)
        choice = choose(state)
        live = bool(options.danger(given, choice.action))
        yield Judged(choice, live, dead.solve(state).cost, free.solve(state).cost)
        left += [branch.state for branch in branching.branches(given, state, choice.action) if branch.state]


class Counted(NamedTuple):
    """States passed, live steps in them, and those whose dead plan costs at most the excess more; problems that begin
    within it, and those of them that have a live step later on, which the rule allows where what was found calls for
    it."""

    states: int = 0
    live: int = 0
    broken: int = 0
    within: int = 0
    later: int = 0

    def and_of(self, found: list[Judged], excess: float) -> Counted:
        """With one problem more."""
        live = [one for one in found if one.live]
        within = found[0].more <= excess
        more = len(found), len(live), sum(one.more <= excess for one in live), within, within and bool(live)
        return Counted._make(a + int(b) for a, b in zip(self, more, strict=True))


def main() -> None:
    """The command."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--count", type=int, default=300)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--excess", type=float, default=worth.EXCESS)
    asked.add_argument("--slower", type=float, default=SLOWER)
    asked.add_argument("--rolled", action="store_true", help="exact search switched off in the planner")
    asked.add_argument("--middling", action="store_true", help="20 faults and 20 tests")
    asked.add_argument("--states", type=int, default=10**6, help="so many states of each problem")
    given = asked.parse_args()
    limits = advise.LIMITS._replace(excess=given.excess)
    limits = limits._replace(exact_nodes=0) if given.rolled else limits
    make, counted = plan_instances.middling if given.middling else plan_instances.drawn, Counted()
    for seed in range(given.first, given.first + given.count):
        found = list(judged(problem(seed, make, given.slower), limits, given.states))
        counted = counted.and_of(found, given.excess)
        for one in found:
            if one.live and one.more <= given.excess:
                print(f"seed {seed}: {one.choice.action} is live; dead plans {one.more:.2f} min more", flush=True)
    print(counted)


if __name__ == "__main__":
    main()
