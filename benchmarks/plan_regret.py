"""How far the product's planner is from exact search, beside simpler ways.

    python benchmarks/plan_regret.py --count 1200 --write

prints the tables and, with --write, puts them into docs/explanation/planning.md between its markers. Every
way is followed to the end in every branch, so each cost is an exact expectation, not a sample. Exact search
is the judge and is switched off inside the planner.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT)]

from benchmarks import orders, simpler, ways  # noqa: E402
from benchmarks.tree import Followed  # noqa: E402
from halfsplit.plan import advise, policies, states, worth  # noqa: E402
from halfsplit.plan.problem import Problem  # noqa: E402
from halfsplit.work import prices  # noqa: E402
from tests.plan import plan_instances  # noqa: E402
from tools import pages  # noqa: E402
from tools.kept import Kept  # noqa: E402

PAGE = ROOT / "docs" / "explanation" / "planning.md"
PRODUCT = advise.LIMITS._replace(exact_nodes=0)
LEAST = "exact search"
PLANNER, ONE_STEP = "**the product's planner**", "one step ahead as the product does it"
OFFERED = "**the guide: one step ahead, and what it offers taken**"
CALL_BACKS = {
    "as drawn, 5 to 90 minutes": 0.0,
    "90 minutes more (`prices.AGAIN`), as the product's arrays have it": prices.AGAIN,
    "150 minutes more (`worth.WRONG_REPAIR`), the least that one step ahead takes it for": worth.WRONG_REPAIR,
}
"""What a wrong repair costs, and how many minutes more that is than drawn."""


def by_the_product(problem: Problem) -> dict[str, Followed]:
    """The least, and what the product does."""
    rules = {
        LEAST: ways.least(problem),
        PLANNER: ways.product(problem, PRODUCT),
        OFFERED: ways.offered(problem, PRODUCT),
        ONE_STEP: ways.of_policy(problem, policies.as_advised),
    }
    return {way: ways.followed(problem, rule) for way, rule in rules.items()}


def others(problem: Problem) -> dict[str, Followed]:
    """All other ways of working."""
    followed = {
        "one step ahead on the price of repairs": policies.one_step,
        "information per minute, until 0.9 sure": simpler.by_information(0.9),
        "information per minute, until 0.7 sure": simpler.by_information(0.7),
        "best fixed order found by search": simpler.fixed(orders.best_fixed(problem)),
        "fixed order, cheapest test first": simpler.fixed(orders.cheapest_first(problem)),
        "fixed order, front to back": simpler.fixed(orders.front_to_back(problem)),
        "half-split by count": simpler.half_split(),
        "repairs in the order p/C, no tests": simpler.in_order,
    }
    return {way: ways.followed(problem, ways.of_policy(problem, policy)) for way, policy in followed.items()}


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

    def regret(self, way: str) -> np.ndarray:
        """How much more than the least a way costs [%], a problem."""
        return np.asarray(100.0 * (self.minutes(way) / self.minutes(LEAST) - 1.0))

    def first_right(self, way: str) -> float:
        """Mean probability that the first repair is right [%]."""
        return 100.0 * float(np.mean([found[way].first_right for found in self.found]))


def regrets(count: int) -> dict[str, np.ndarray]:
    """Regret of every way against exact search [%], one number a seed."""
    measured = Measured(count)
    return {way: measured.regret(way) for way in list(measured.found[0])[1:]}


def regret_table(measured: Measured) -> str:
    """The table of regrets."""
    count = len(measured.found)
    noisy = np.arange(count) % plan_instances.NOISY == 0
    head = (
        f"{count} problems, {int(noisy.sum())} of them with three tests that err. Regret: how much more than"
        " exact search, in per cent of its cost. First right: how probably the first repair is.\n\n"
        "| way of working | mean | 95th percentile | worst | mean, none errs | mean, three err | optimal in"
        " | first right |\n|---|---:|---:|---:|---:|---:|---:|---:|\n"
    )
    return head + "\n".join(_row(way, measured, noisy) for way in measured.found[0])


def price_table(by_call_back: dict[str, Measured]) -> str:
    """The product's ways, by what a wrong repair costs."""
    count = len(next(iter(by_call_back.values())).found)
    head = (
        f"{count} problems; regret in per cent: mean, 95th percentile and worst.\n\n"
        "| a wrong repair costs | way of working | mean | 95th percentile | worst | first right |\n"
        "|---|---|---:|---:|---:|---:|\n"
    )
    rows = [
        f"| {wrong} | {way} | {_numbers(measured.regret(way), 2)} | {measured.first_right(way):.1f} % |"
        for wrong, measured in by_call_back.items()
        for way in (LEAST, PLANNER, OFFERED, ONE_STEP)
    ]
    return head + "\n".join(rows)


def middling_table(count: int) -> str:
    """The planner's regret on problems beyond the size at which it searches exactly itself."""
    problems = [plan_instances.middling(seed) for seed in range(count)]
    best = np.array([ways.solved(one, states.start(one)).cost for one in problems])
    minutes = np.array([ways.followed(one, ways.product(one, PRODUCT)).minutes for one in problems])
    found = 100.0 * (minutes / best - 1.0)
    head = f"{count} problems of 20 faults and 20 tests that do not err, 8 bays; regret in per cent.\n\n"
    head += "| way of working | mean | 95th percentile | worst | optimal in |\n|---|---:|---:|---:|---:|\n"
    return f"{head}| {PLANNER} | {_numbers(found, 3)} | {100.0 * (found < 1e-6).mean():.1f} % |"


def _numbers(values: np.ndarray, places: int) -> str:
    """Mean, 95th percentile and worst, as cells."""
    numbers = values.mean(), np.percentile(values, 95), values.max()
    return " | ".join(f"{max(number, 0.0):.{places}f}" for number in numbers)


def _row(way: str, measured: Measured, noisy: np.ndarray) -> str:
    values = measured.regret(way)
    parts = " | ".join(f"{max(part.mean(), 0.0):.3f}" for part in (values[~noisy], values[noisy]))
    share = 100.0 * (values < 1e-6).mean()
    return f"| {way} | {_numbers(values, 3)} | {parts} | {share:.1f} % | {measured.first_right(way):.1f} % |"


def main() -> None:
    """Read the command line, compute, print, write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=1200, help="problems compared with exact search")
    parser.add_argument("--middling", type=int, default=60, help="middling problems compared with exact search")
    parser.add_argument("--kept", type=Path, help="folder in which what was followed is kept")
    parser.add_argument("--write", action="store_true", help="put the tables into the page")
    asked = parser.parse_args()
    drawn = Measured(asked.count, kept=asked.kept)
    dearer = {
        wrong: Measured(asked.count, False, more, asked.kept) if more else drawn for wrong, more in CALL_BACKS.items()
    }
    tables = {
        "middling": middling_table(asked.middling),
        "regret": regret_table(drawn),
        "call-backs": price_table(dearer),
    }
    print("\n\n".join(tables.values()))
    if asked.write:
        for name, table in tables.items():
            pages.write(PAGE, name, f"{table}\n")


if __name__ == "__main__":
    main()
