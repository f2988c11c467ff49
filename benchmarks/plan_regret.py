"""How far the chooser is from exact search, beside simpler ways of working; and how fast it answers.

    python benchmarks/plan_regret.py --count 1200 --write

prints the tables and, with --write, puts them into docs/explanation/planning.md between its markers. Every
way is followed to the end in every branch, so each cost is an exact expectation, not a sample. Exact search
is the judge and is switched off inside the chooser.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT)]

from halfsplit.plan import choose, exact, nodes, policies, rollout, tree  # noqa: E402
from halfsplit.plan import problem as arrays  # noqa: E402
from halfsplit.plan.nodes import Node  # noqa: E402
from halfsplit.plan.policies import Policy  # noqa: E402
from halfsplit.plan.problem import Problem  # noqa: E402
from tests.plan import plan_instances  # noqa: E402
from tools import pages  # noqa: E402

PAGE = ROOT / "docs" / "explanation" / "planning.md"
SEARCHED = 120
MOST_STATES = 1_000_000
PRODUCTION = choose.DEFAULT._replace(exact_nodes=0)
ONE_LEVEL = PRODUCTION._replace(budget=rollout.Budget(level=1))


class Followed:
    """Exact expected cost of base policies on one problem; what a node computes is kept between policies."""

    def __init__(self, problem: Problem) -> None:
        self.nodes = nodes.Nodes(problem)
        self.root = self.nodes.root(arrays.start(problem))

    def cost(self, policy: Policy) -> float:
        """Expected cost of a policy from the start [min]."""
        known: dict[int, float] = {}
        return self._cost(self.root, policy, known)

    def _cost(self, node: Node, policy: Policy, known: dict[int, float]) -> float:
        if id(node) not in known:
            move = policy(node)
            branches = self.nodes.branches(node, move)
            later = sum(chance * self._cost(after, policy, known) for chance, after in branches)
            known[id(node)] = node.minutes(move) + later
        return known[id(node)]


def front_to_back(problem: Problem) -> list[int]:
    """Tests by how many bays lie before them, then by place: a checklist from the front of the machine."""
    depth = problem.test_bays.sum(axis=1)
    return sorted(range(len(depth)), key=lambda test: (depth[test], problem.test_masks[test], test))


def cheapest_first(problem: Problem) -> list[int]:
    """Tests by their minutes with everything closed."""
    return [int(test) for test in np.argsort(problem.at(0, 0).test, kind="stable")]


def best_fixed(problem: Problem, followed: Followed) -> float:
    """The least cost of a fixed order found by moving one test at a time, from the better given order."""
    random = np.random.default_rng(len(problem.prior))
    orders = [front_to_back(problem), cheapest_first(problem)]
    best, order = min((followed.cost(policies.fixed(order)), order) for order in orders)
    for _ in range(SEARCHED):
        tried = list(order)
        tried.insert(int(random.integers(len(order))), tried.pop(int(random.integers(len(order)))))
        cost = followed.cost(policies.fixed(tried))
        best, order = (cost, tried) if cost < best else (best, order)
    return best


def chosen(problem: Problem, limits: choose.Limits) -> float:
    """Exact expected cost of taking the chooser's advice in every state."""
    rule = lambda state: choose.choose(problem, state, limits).action  # noqa: E731
    return tree.cost_of(problem, arrays.start(problem), rule)


def costs(problem: Problem) -> dict[str, float]:
    """Expected cost [min] of every way of working, exact search first."""
    followed = Followed(problem)
    return {
        "exact search": exact.solve(problem, arrays.start(problem)).cost,
        "**the chooser** (roll-out of the roll-out)": chosen(problem, PRODUCTION),
        "one roll-out only": chosen(problem, ONE_LEVEL),
        "one step ahead": followed.cost(policies.one_step),
        "information per minute, until 0.9 sure": followed.cost(policies.by_information(0.9)),
        "information per minute, until 0.7 sure": followed.cost(policies.by_information(0.7)),
        "best fixed order found by search": best_fixed(problem, followed),
        "fixed order, cheapest test first": followed.cost(policies.fixed(cheapest_first(problem))),
        "fixed order, front to back": followed.cost(policies.fixed(front_to_back(problem))),
        "half-split by count": followed.cost(policies.half_split()),
        "repairs in the order p/C, no tests": followed.cost(policies.in_order),
    }


def regrets(seeds: Sequence[int]) -> dict[str, np.ndarray]:
    """Regret of every way against exact search [%], one number a seed."""
    rows = [costs(plan_instances.drawn(seed)) for seed in seeds]
    best = np.array([row["exact search"] for row in rows])
    return {way: 100.0 * (np.array([row[way] for row in rows]) / best - 1.0) for way in list(rows[0])[1:]}


def regret_table(count: int) -> str:
    """The table of regrets over this many problems."""
    found = regrets(range(count))
    noisy = np.arange(count) % 3 == 0
    head = (
        f"{count} problems, {int(noisy.sum())} of them with three tests that err. Regret: how much more than"
        " exact search, in per cent of its cost.\n\n"
        "| way of working | mean | 95th percentile | worst | mean, none errs | mean, three err | optimal in |\n"
        "|---|---:|---:|---:|---:|---:|---:|\n"
    )
    return head + "\n".join(_row(way, values, noisy) for way, values in found.items())


def middling_table(count: int) -> str:
    """The chooser's regret on problems beyond the size at which it searches exactly itself."""
    problems = [plan_instances.middling(seed) for seed in range(count)]
    best = np.array([exact.solve(one, arrays.start(one), MOST_STATES).cost for one in problems])
    found = 100.0 * (np.array([chosen(one, PRODUCTION) for one in problems]) / best - 1.0)
    head = f"{count} problems of 20 faults and 20 tests that do not err, 8 bays; regret in per cent.\n\n"
    head += "| way of working | mean | 95th percentile | worst | optimal in |\n|---|---:|---:|---:|---:|\n"
    numbers = [found.mean(), np.percentile(found, 95), found.max()]
    told = " | ".join(f"{max(number, 0.0):.3f}" for number in numbers)
    return f"{head}| **the chooser** | {told} | {100.0 * (found < 1e-6).mean():.1f} % |"


def _row(way: str, values: np.ndarray, noisy: np.ndarray) -> str:
    overall = [values.mean(), np.percentile(values, 95), values.max()]
    numbers = [*overall, values[~noisy].mean(), values[noisy].mean()]
    share = 100.0 * (values < 1e-6).mean()
    return f"| {way} | " + " | ".join(f"{max(number, 0.0):.3f}" for number in numbers) + f" | {share:.1f} % |"


def speed_table(count: int) -> str:
    """Milliseconds to the first and to the last answer at 64 tests, 250 faults, 60 repairs."""
    taken = np.array([_answer_times(plan_instances.large(seed)) for seed in range(count)])
    rows = [
        f"| {name} | {np.median(column):.0f} | {np.percentile(column, 95):.0f} | {column.max():.0f} |"
        for name, column in zip(("first answer", "last answer"), taken.T, strict=True)
    ]
    head = (
        f"{count} problems of 64 tests, 250 faults, 60 repairs, 8 bays; milliseconds of processor time, one core.\n\n"
    )
    return head + "| | median | 95th percentile | longest |\n|---|---:|---:|---:|\n" + "\n".join(rows)


def _answer_times(problem: Problem) -> tuple[float, float]:
    answers = choose.improve(problem, arrays.start(problem), PRODUCTION)
    began = time.process_time()
    times = [time.process_time() - began for _ in answers]
    return 1000.0 * times[0], 1000.0 * times[-1]


def main() -> None:
    """Read the command line, compute, print, write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=1200, help="problems compared with exact search")
    parser.add_argument("--middling", type=int, default=60, help="middling problems compared with exact search")
    parser.add_argument("--large", type=int, default=20, help="large problems timed")
    parser.add_argument("--write", action="store_true", help="put the tables into the page")
    asked = parser.parse_args()
    tables = {
        "speed": speed_table(asked.large),
        "middling": middling_table(asked.middling),
        "regret": regret_table(asked.count),
    }
    print("\n\n".join(tables.values()))
    if asked.write:
        for name, table in tables.items():
            pages.write(PAGE, name, f"{table}\n")


if __name__ == "__main__":
    main()
