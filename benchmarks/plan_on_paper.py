"""The whole plan on paper: how long it takes to make, and how hidden faults end in it against what it claims.

    python benchmarks/plan_on_paper.py [--jobs N] [--least PER_CENT]

Faults are drawn as likely as they are believed after the complaint; each hidden machine solves its own drawn values.
"""

from __future__ import annotations

import argparse
import time

import numpy as np

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.machine import loading, model
from halfsplit.plan import whole
from halfsplit.plan.score import Adviser
from halfsplit.rehearse.truth import Truth, answer
from halfsplit.service import following

COMPLAINTS = {
    "vented-dryer": (f.Perceived("drum turns", True), f.Perceived("air is warm", False)),
    "water-heater": (f.Perceived("water gets hot", False),),
    "refrigerator": (f.Perceived("food is cold", False),),
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


def followed(asked: Adviser, root: following.Plan, jobs: int) -> tuple[int, int, int]:
    """How many of so many jobs end in their repair, in a wrong one, and off the sheet or handed over."""
    rng, ends = np.random.default_rng(1), [0, 0, 0]
    for _ in range(jobs):
        truth = hidden(root.due.weighed, asked.bench.machine, rng)
        end = root.follow(lambda step, truth=truth: answer(truth, step))  # type: ignore[misc]
        if end is None or not end.due.repairs:
            ends[2] += 1
        else:
            ends[0 if truth.fault and truth.fault.repair.name in end.due.repairs else 1] += 1
    return ends[0], ends[1], ends[2]


def main() -> None:
    """Prints a row for each machine."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=300)
    parser.add_argument("--least", type=float, default=1.0)
    given = parser.parse_args()
    print("| machine | boxes | made in | cured: claimed | found | wrong repair: claimed | found |")
    print("|---|---:|---:|---:|---:|---:|---:|")
    for name, told in COMPLAINTS.items():
        asked = Adviser(Bench(loading.load(name)))
        began = time.perf_counter()
        root = following.plan(asked, told, given.least / 100)
        taken = time.perf_counter() - began
        claim, (cured, wrong, _) = whole.claim(root), followed(asked, root, given.jobs)
        known = 1 - root.due.weighed.unexplained
        row = (claim.cured / known, cured / given.jobs, claim.wrong, wrong / given.jobs)
        shares = " | ".join(f"{share:.3f}" for share in row)
        print(f"| {name} | {sum(1 for _ in root.walk())} | {taken:.1f} s | {shares} |")


if __name__ == "__main__":
    main()
