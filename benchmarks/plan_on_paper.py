"""The whole plan on paper: how long it takes to make, and how hidden faults end in it against what it claims.

    python benchmarks/plan_on_paper.py [--jobs N] [--least PER_CENT] [--write] [MACHINE ...]

Faults are drawn as likely as they are believed after the complaint; each hidden machine solves its own drawn values.
With --write the rows of these machines are put into docs/explanation/before-the-visit.md; those of others stay.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT)]

import numpy as np  # noqa: E402  (after the number of threads is set)

from halfsplit.evidence import finding as f  # noqa: E402
from halfsplit.evidence.weighing import Bench, Weighed  # noqa: E402
from halfsplit.machine import loading, model  # noqa: E402
from halfsplit.plan import whole  # noqa: E402
from halfsplit.plan.score import Adviser  # noqa: E402
from halfsplit.rehearse.truth import Truth, answer  # noqa: E402
from halfsplit.service import following  # noqa: E402
from halfsplit.service.guiding import Guided  # noqa: E402
from tools import pages  # noqa: E402
from tools.kept import LOADED  # noqa: E402

PAGE = ROOT / "docs" / "explanation" / "before-the-visit.md"
TABLE = "on-paper"
HEAD = (
    "machine", "jobs", "boxes", "made in", "cured: claimed", "found", "wrong repair: claimed", "found", "played at",
)  # fmt: skip
COLD = (f.Perceived("drum turns", True), f.Perceived("air is warm", False))
COMPLAINTS = {
    "vented-dryer": COLD,
    "vented-dryer-3-wire": COLD,
    "water-heater": (f.Perceived("water gets hot", False),),
    "refrigerator": (f.Perceived("food is cold", False),),
    "coil-cooktop": (f.Perceived("left front glows", False),),
}


def hidden(weighed: Weighed, machine: model.Machine, rng: np.random.Generator) -> Truth:
    """A machine with one of the possible causes, in the alternative that was drawn with it."""
    candidates, p = weighed.candidates, weighed.posterior.probability
    drawn = int(rng.choice(len(p), p=p / p.sum()))
    faults = candidates.variants[drawn].faults
    if not faults:
        return Truth(machine, None, (), rng)
    fault = candidates.faults[faults[0]]
    alike = [s for s, variant in enumerate(candidates.variants) if variant.faults == faults]
    _, changes = fault.alternatives[alike.index(drawn)]
    return Truth(machine, fault, changes, rng, acting=fault.acting)


def passed(root: following.Plan, truth: Truth) -> Iterator[following.Plan]:
    """The boxes that a job with this truth passes, the first one first, as far as the plan goes."""
    here: following.Plan | None = root
    while here is not None:
        yield here
        if here.due.step is None:
            return
        found = answer(truth, here.due.step)
        here = next((way.then for way in here.ways if way.outcome.holds(found)), None)


def followed(asked: Adviser, root: following.Plan, jobs: int) -> tuple[int, int, int]:
    """How many of so many jobs end in their repair, in a wrong one, and off the sheet or handed over."""
    rng, ends = np.random.default_rng(1), [0, 0, 0]
    for _ in range(jobs):
        truth = hidden(root.due.weighed, asked.bench.machine, rng)
        *_, end = passed(root, truth)
        if not end.due.repairs:
            ends[2] += 1
        else:
            ends[0 if truth.fault and truth.fault.repair.is_done_by(end.due.repairs) else 1] += 1
    return ends[0], ends[1], ends[2]


def row(name: str, jobs: int, least: float) -> pages.Cells:
    """The plan of one machine, its boxes and seconds, and so many jobs against what it claims; least: the share of jobs
    below which a branch is not written down."""
    asked = Adviser(Bench(loading.load(name)))
    began = time.perf_counter()
    root = following.plan(Guided(asked, tuple(COMPLAINTS[name])), least)
    taken = time.perf_counter() - began
    claim, (cured, wrong, _) = whole.claim(root), followed(asked, root, jobs)
    known = 1 - root.due.weighed.unsaid
    shares = (claim.cured / known, cured / jobs, claim.wrong, wrong / jobs)
    boxes = sum(1 for _ in root.walk())
    return (str(jobs), str(boxes), f"{taken:.1f} s", *(f"{share:.3f}" for share in shares), LOADED["commit"])


def main() -> None:
    """The command."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("machines", nargs="*", default=tuple(COMPLAINTS), help=", ".join(COMPLAINTS))
    asked.add_argument("--jobs", type=int, default=1000)
    asked.add_argument("--least", type=float, default=1.0, help="per cent")
    asked.add_argument("--write", action="store_true", help="put the rows into the page")
    given = asked.parse_args()
    if unknown := set(given.machines) - set(COMPLAINTS):
        asked.error(f"no complaint stands here of {', '.join(sorted(unknown))}: add one to COMPLAINTS.")
    least = given.least / 100
    rows: dict[pages.Cells, pages.Cells] = {(name,): row(name, given.jobs, least) for name in given.machines}
    print(pages.table(HEAD, rows))
    if given.write:
        pages.write_rows(PAGE, TABLE, HEAD, 1, rows)


if __name__ == "__main__":
    main()
