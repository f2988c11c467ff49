"""How much of what can be proven closable between one step ahead and the best plan the planner closes, on machines.

    python benchmarks/plan_gap.py [--jobs N] [--kept FOLDER] [--write] [MACHINE ...]
    python benchmarks/plan_gap.py --as-kept --write

Jobs of a machine are rehearsed; in every state that one step ahead passes, the job becomes arrays as for the planner
(`view`), cut to its 10 likeliest causes and the 8 dead steps most worth a price. That is small enough to
prove the least expected minutes of all plans. In the same arrays one step ahead is followed to its end in every branch,
and so are the planner with its production limits, and the guide: one step ahead, and what it offers taken. Their
distances from the proven least are the gap that can be proven closable, and what is left of it. The fault told for
nothing after one step is the bound below which no plan comes, whatever its rule. `--kept`: jobs are kept there, one
file a machine, and a run that was cut goes on; two runs may share the folder while they reckon different machines.
`--as-kept` reckons nothing: the table is of what is there (benchmarks/played where no folder is given).
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT)]

import numpy as np  # noqa: E402  (after the number of threads is set)

from benchmarks import bounds, tree, ways  # noqa: E402
from halfsplit.evidence.weighing import Bench, Weighed  # noqa: E402
from halfsplit.machine import loading  # noqa: E402
from halfsplit.plan import advise, exact, nodes, policies, rollout, setups, states  # noqa: E402
from halfsplit.plan.ahead import Ahead  # noqa: E402
from halfsplit.plan.problem import Problem  # noqa: E402
from halfsplit.rehearse import compare, play, saving, trials  # noqa: E402
from halfsplit.work.state import JobState  # noqa: E402
from tools import machines, pages  # noqa: E402
from tools.kept import PLAYED, Kept  # noqa: E402

PAGE = ROOT / "docs" / "explanation" / "planning-on-machines.md"
MACHINES = machines.in_order()
ROLLED = advise.LIMITS._replace(exact_nodes=0)
"""The planner's limits with exact search switched off."""
SURE = 1.96
"""Standard errors of a 95 % interval."""
CAUSES, STEPS = 10, 8
MOST_STATES = 40_000
NO_GAP = 1e-6
"""Minutes of all jobs together; below it is what adding up leaves."""
KEPT = "closable-gap"
"""What the file of a machine's jobs is called, after its name."""
HEADER = (
    "| machine | jobs | states | too large | the least, proven | one step ahead | gap proven closable "
    "| many steps ahead: closed | without exact search: closed | the guide: closed | fault told after one step "
    "| reckoned at |\n|---|"
    + 11 * "---:|"
    + "\n"
)


class Costs(NamedTuple):
    """Expected minutes of one small problem, or of all those of a job: the proven least, one step ahead, many, many
    with exact search switched off in the planner, the guide where what it offers is taken, and the bound."""

    least: float
    one: float
    many: float
    rolled: float
    guide: float
    bound: float


def small(given: Problem) -> Problem:
    """The problem cut to its likeliest causes and the steps most worth a price; the causes left out are no more.

    What the file does not say is left out too: every step may show anything under it, which exact search cannot follow.
    So are live steps: danger is an order, and not a price that a least could be proven of.
    """
    given = advise.without_live(given)
    said = ~given.cures[-1]
    causes = np.sort(np.argsort(-given.prior * said, kind="stable")[: min(CAUSES, int(said.sum()))])
    cures = given.cures[:, causes]
    helping = np.flatnonzero(cures.any(axis=1))
    prior = given.prior[causes] / given.prior[causes].sum()
    cut = replace(
        given, prior=prior, shows=given.shows[:, :, causes], cures=cures[helping],
        repair_price=given.repair_price[helping], repair_bays=given.repair_bays[helping],
        repair_mode=given.repair_mode[helping], _at={},
    )  # fmt: skip
    root = nodes.Nodes(cut).root(states.start(cut))
    moves = rollout.by_guess(root, rollout.shortlist(root, 2 * STEPS, 0))
    kept = np.array([int(root.tests[m]) for m in moves if m < len(root.tests)][:STEPS], np.intp)
    return replace(
        cut, shows=cut.shows[kept], test_minutes=cut.test_minutes[kept], test_bays=cut.test_bays[kept],
        test_mode=cut.test_mode[kept], times=cut.times[kept], danger=cut.danger[kept], unlike=cut.unlike[kept], _at={},
    )  # fmt: skip


def costs(given: Problem) -> Costs:
    """All costs of a small problem. Raises TooLarge where no least can be proven."""
    start = states.start(given)
    proven = ways.solved(given, start, MOST_STATES).cost
    one = ways.of_policy(given, policies.as_advised)
    rules = one, ways.product(given), ways.product(given, ROLLED), ways.offered(given)
    followed = [tree.cost_of(given, start, rule) for rule in rules]
    return Costs._make([proven, *followed, bounds.looking_ahead(given, start)])


class Reckoned(NamedTuple):
    """The costs of the states of one job, and how many states were too large to prove a least of."""

    states: list[Costs]
    large: int


def passed(rehearsal: trials.Rehearsal, number: int) -> list[Problem]:
    """The small problem of every state that one step ahead passes in a job."""
    planner, as_advised = Ahead(rehearsal.adviser), play.as_advised(rehearsal.adviser)
    met: list[Problem] = []

    def choose(weighed: Weighed, state: JobState) -> play.Choice | None:
        chosen = as_advised(weighed, state)
        if chosen:
            met.append(small(planner.view(weighed, state).problem))
        return chosen

    compare.Following(rehearsal, choose).trial(number)
    return met


def reckoned(problems: Sequence[Problem], said: str = "") -> Reckoned:
    """What the states of one job cost. said: what is told meanwhile."""
    states: list[Costs] = []
    large = 0
    for given in problems:
        try:
            states.append(costs(given))
        except exact.TooLarge:
            large += 1
        print(f"\r{said}, state {len(states)}", end="", file=sys.stderr, flush=True)
    return Reckoned(states, large)


def jobs_of(name: str, kept: Kept, jobs: int, seed: int) -> list[Reckoned]:
    """The first jobs of one machine, those that are kept among them."""
    machine = loading.load(name)
    rehearsal = trials.Rehearsal(setups.Setups(Bench(machine)), trials.Asked(machine, seed))
    for number in range(len(kept.jobs), jobs):
        kept.add(reckoned(passed(rehearsal, number), f"{name}: job {number + 1}"))
    print(file=sys.stderr)
    return read(kept)[:jobs]


def read(kept: Kept) -> list[Reckoned]:
    """The jobs that are kept."""
    return [Reckoned([Costs(*state) for state in states], large) for states, large in kept.jobs]


def row(name: str, jobs: Sequence[Reckoned], commit: str) -> str:
    """One machine as a row of the table; commit: of the code with which its jobs were reckoned.

    States of one job are alike, so every interval is of jobs: each is a ratio of sums over them.
    """
    found = [job.states for job in jobs if job.states]
    every = [state for job in found for state in job]
    mean = Costs._make(map(float, np.mean(every, axis=0)))
    gap = saving.saved(_off(found, "one"), [float(len(job)) for job in found])
    cells = [
        name, len(jobs), len(every), sum(job.large for job in jobs), f"{mean.least:.2f}", f"{mean.one:.2f}",
        f"{1 - gap.share:.2f} ± {SURE * gap.error:.2f}",
        *(_closed(found, way) for way in ("many", "rolled", "guide")), f"{mean.bound:.2f}", commit,
    ]  # fmt: skip
    return "| " + " | ".join(map(str, cells)) + " |"


def _off(found: Sequence[Sequence[Costs]], way: str) -> list[float]:
    """How far a way is off the least in all states of each job together; minutes."""
    return [sum(getattr(state, way) - state.least for state in job) for job in found]


def _closed(found: Sequence[Sequence[Costs]], way: str) -> str:
    """Which share of the gap of one step ahead a way closes, with its 95 % interval."""
    gap = _off(found, "one")
    if sum(gap) < NO_GAP:
        return "no gap"
    closed = saving.saved(_off(found, way), gap)
    return f"{100 * closed.share:.0f} % ± {100 * SURE * closed.error:.0f}"


def main() -> None:
    """The command."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("machines", nargs="*", default=MACHINES)
    asked.add_argument("--jobs", type=int, default=20)
    asked.add_argument("--seed", type=int, default=0)
    asked.add_argument("--write", action="store_true", help="put the table into the page")
    asked.add_argument("--kept", type=Path, help="jobs are kept there")
    asked.add_argument("--as-kept", action="store_true", help="reckon no more: a table of the jobs kept so far")
    given = asked.parse_args()
    folder = given.kept or (PLAYED if given.as_kept else None)
    table = HEADER
    for name in given.machines:
        kept = Kept(folder, f"{name}.{KEPT}", given.as_kept, seed=given.seed)
        jobs = read(kept) if given.as_kept else jobs_of(name, kept, given.jobs, given.seed)
        table += row(name, jobs, kept.under["commit"]) + "\n" if any(job.states for job in jobs) else ""
    if table == HEADER:
        print("No state that could be reckoned is kept or was met: the table stays as it is. Ask for more --jobs.")
        return
    print(table)
    if given.write:
        pages.write(PAGE, "gap", table)


if __name__ == "__main__":
    main()
