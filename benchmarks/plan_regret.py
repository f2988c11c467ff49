"""How far the product's planner and the chooser are from exact search, beside simpler ways; and how fast it is.

    python benchmarks/plan_regret.py --count 1200 --write

prints the tables and, with --write, puts them into docs/explanation/planning.md between its markers. Every
way is followed to the end in every branch, so each cost is an exact expectation, not a sample. Exact search
is the judge and is switched off inside the planner and the chooser.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT)]

from benchmarks import orders, ways  # noqa: E402
from halfsplit.plan import advise, choose, exact, policies, rollout, states, tree, worth  # noqa: E402
from halfsplit.plan.problem import Problem  # noqa: E402
from halfsplit.plan.tree import Followed  # noqa: E402
from halfsplit.work import prices  # noqa: E402
from tests.plan import plan_instances  # noqa: E402
from tools import pages  # noqa: E402
from tools.kept import Kept  # noqa: E402

PAGE = ROOT / "docs" / "explanation" / "planning.md"
PRODUCTION = choose.DEFAULT._replace(exact_nodes=0)
ONE_LEVEL = PRODUCTION._replace(budget=rollout.Budget(level=1))
PRODUCT = advise.LIMITS._replace(exact_nodes=0)
LEAST, LEAST_BY_RULE = "exact search", "exact search under the product's stopping rule"
PLANNER, ONE_STEP = "**the product's planner**", "one step ahead as the product does it"
CALL_BACKS = {
    "as drawn, 5 to 90 minutes": 0.0,
    "90 minutes more (`prices.AGAIN`), as the product's arrays have it": prices.AGAIN,
    "150 minutes more (`worth.WRONG_REPAIR`), the least that the rule takes it for": worth.WRONG_REPAIR,
}
"""What a wrong repair costs, and how many minutes more that is than drawn."""


def chooser(problem: Problem, limits: choose.Limits) -> tree.Rule:
    """Taking the chooser's advice in every state."""
    return lambda state: choose.choose(problem, state, limits).action


def chosen(problem: Problem, limits: choose.Limits) -> float:
    """Exact expected cost of the chooser [min]."""
    return tree.cost_of(problem, states.start(problem), chooser(problem, limits))


def by_the_product(problem: Problem) -> dict[str, Followed]:
    """Both leasts, of all plans and of those under the product's stopping rule, and what the product does."""
    rules = {
        LEAST: ways.least(problem),
        LEAST_BY_RULE: ways.least(problem, ways.PRODUCT_STOPS),
        PLANNER: ways.product(problem, PRODUCT),
        ONE_STEP: ways.of_policy(problem, policies.as_advised),
    }
    return {way: ways.followed(problem, rule) for way, rule in rules.items()}


def others(problem: Problem) -> dict[str, Followed]:
    """All other ways of working."""
    rules = {
        "**the chooser** (roll-out of the roll-out)": chooser(problem, PRODUCTION),
        "the chooser, one roll-out only": chooser(problem, ONE_LEVEL),
    }
    followed = {
        "one step ahead on the price of repairs": policies.one_step,
        "information per minute, until 0.9 sure": policies.by_information(0.9),
        "information per minute, until 0.7 sure": policies.by_information(0.7),
        "best fixed order found by search": policies.fixed(orders.best_fixed(problem)),
        "fixed order, cheapest test first": policies.fixed(orders.cheapest_first(problem)),
        "fixed order, front to back": policies.fixed(orders.front_to_back(problem)),
        "half-split by count": policies.half_split(),
        "repairs in the order p/C, no tests": policies.in_order,
    }
    rules |= {way: ways.of_policy(problem, policy) for way, policy in followed.items()}
    return {way: ways.followed(problem, rule) for way, rule in rules.items()}


class Measured:
    """What each way comes to on the problems of the first seeds. `call_back` [min]: what a wrong repair costs more;
    `kept`: a folder in which a run that was cut goes on."""

    def __init__(self, count: int, every: bool = True, call_back: float = 0.0, kept: Path | None = None) -> None:
        self.call_back = call_back
        done = Kept(kept, f"regret-{call_back:g}-{'every' if every else 'product'}")
        for seed in range(len(done.jobs), count):
            given = ways.with_call_back(plan_instances.drawn(seed), call_back)
            done.add(by_the_product(given) | (others(given) if every else {}))
        self.found = [{way: Followed(*one) for way, one in job.items()} for job in done.jobs[:count]]

    def minutes(self, way: str) -> np.ndarray:
        """Expected cost [min] a problem; the right repair is not charged with a call-back."""
        return np.array([found[way].minutes for found in self.found]) - self.call_back

    def regret(self, way: str, least: str = LEAST) -> np.ndarray:
        """How much more than the least a way costs [%], a problem."""
        return np.asarray(100.0 * (self.minutes(way) / self.minutes(least) - 1.0))

    def first_right(self, way: str) -> float:
        """Mean probability that the first repair is right [%]."""
        return 100.0 * float(np.mean([found[way].first_right for found in self.found]))


def regrets(count: int) -> dict[str, np.ndarray]:
    """Regret of every way against exact search [%], one number a seed."""
    measured = Measured(count)
    return {way: measured.regret(way) for way in list(measured.found[0])[1:]}


def regret_table(measured: Measured) -> str:
    """The table of regrets against the least of all plans."""
    count = len(measured.found)
    noisy = np.arange(count) % plan_instances.NOISY == 0
    head = (
        f"{count} problems, {int(noisy.sum())} of them with three tests that err. Regret: how much more than"
        " exact search free of any rule, in per cent of its cost. First right: how probably the first repair is.\n\n"
        "| way of working | mean | 95th percentile | worst | mean, none errs | mean, three err | optimal in"
        " | first right |\n|---|---:|---:|---:|---:|---:|---:|---:|\n"
    )
    return head + "\n".join(_row(way, measured, noisy) for way in measured.found[0])


def rule_table(by_call_back: dict[str, Measured]) -> str:
    """The product's planner against both leasts, by what a wrong repair costs."""
    count = len(next(iter(by_call_back.values())).found)
    head = (
        f"{count} problems; regret in per cent: mean, 95th percentile and worst.\n\n"
        "| a wrong repair costs | way of working | against the least of all plans | against the least under the rule"
        " | first right |\n|---|---|---:|---:|---:|\n"
    )
    rows = [
        f"| {wrong} | {way} | {_against(measured, way, LEAST)} | {_against(measured, way, LEAST_BY_RULE)}"
        f" | {measured.first_right(way):.1f} % |"
        for wrong, measured in by_call_back.items()
        for way in (LEAST, LEAST_BY_RULE, PLANNER, ONE_STEP)
    ]
    return head + "\n".join(rows)


def _against(measured: Measured, way: str, least: str) -> str:
    if way == least:
        return "0"
    if way == LEAST:
        return ""
    values = measured.regret(way, least)
    numbers = values.mean(), np.percentile(values, 95), values.max()
    return ", ".join(f"{max(number, 0.0):.2f}" for number in numbers)


def middling_table(count: int) -> str:
    """The chooser's regret on problems beyond the size at which it searches exactly itself."""
    problems = [plan_instances.middling(seed) for seed in range(count)]
    best = np.array([exact.solve(one, states.start(one), ways.MOST_STATES).cost for one in problems])
    found = 100.0 * (np.array([chosen(one, PRODUCTION) for one in problems]) / best - 1.0)
    head = f"{count} problems of 20 faults and 20 tests that do not err, 8 bays; regret in per cent.\n\n"
    head += "| way of working | mean | 95th percentile | worst | optimal in |\n|---|---:|---:|---:|---:|\n"
    numbers = [found.mean(), np.percentile(found, 95), found.max()]
    told = " | ".join(f"{max(number, 0.0):.3f}" for number in numbers)
    return f"{head}| **the chooser** | {told} | {100.0 * (found < 1e-6).mean():.1f} % |"


def _row(way: str, measured: Measured, noisy: np.ndarray) -> str:
    values = measured.regret(way)
    overall = [values.mean(), np.percentile(values, 95), values.max()]
    numbers = [*overall, values[~noisy].mean(), values[noisy].mean()]
    share = 100.0 * (values < 1e-6).mean()
    cells = " | ".join(f"{max(number, 0.0):.3f}" for number in numbers)
    return f"| {way} | {cells} | {share:.1f} % | {measured.first_right(way):.1f} % |"


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
    answers = choose.improve(problem, states.start(problem), PRODUCTION)
    began = time.process_time()
    times = [time.process_time() - began for _ in answers]
    return 1000.0 * times[0], 1000.0 * times[-1]


def main() -> None:
    """Read the command line, compute, print, write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=1200, help="problems compared with exact search")
    parser.add_argument("--middling", type=int, default=60, help="middling problems compared with exact search")
    parser.add_argument("--large", type=int, default=20, help="large problems timed")
    parser.add_argument("--kept", type=Path, help="folder in which what was followed is kept")
    parser.add_argument("--write", action="store_true", help="put the tables into the page")
    asked = parser.parse_args()
    drawn = Measured(asked.count, kept=asked.kept)
    dearer = {
        wrong: Measured(asked.count, False, more, asked.kept) if more else drawn for wrong, more in CALL_BACKS.items()
    }
    tables = {
        "speed": speed_table(asked.large),
        "middling": middling_table(asked.middling),
        "regret": regret_table(drawn),
        "stopping": rule_table(dearer),
    }
    print("\n\n".join(tables.values()))
    if asked.write:
        for name, table in tables.items():
            pages.write(PAGE, name, f"{table}\n")


if __name__ == "__main__":
    main()
