#!/usr/bin/env python3
"""Plays many random sessions on the library's machines and has every step read by the watcher of the tests.

    .venv/bin/python tools/watch_steps.py [--count N] [--seed S] [MACHINE...]

Exits 0 when nothing that could hurt was found, 1 otherwise. About 150 sessions a second.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections import Counter
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402  (after the number of threads is set)

from halfsplit.evidence.weighing import Bench  # noqa: E402
from halfsplit.machine import loading  # noqa: E402
from halfsplit.plan import safely, score  # noqa: E402
from halfsplit.rehearse.random_steps import Sessions  # noqa: E402
from tests.rehearse.watcher import Watcher  # noqa: E402

MACHINES = ("vented-dryer", "water-heater", "refrigerator")


def watched(name: str, count: int, seed: int) -> tuple[int, Counter[str]]:
    """So many sessions on one machine: how many steps were done, and how often each danger was found."""
    machine = loading.load(name)
    made = Sessions(score.Adviser(Bench(machine)))
    done, found = 0, Counter[str]()
    for number in range(count):
        watcher = Watcher(machine, safely.facts(machine).capacitor)
        for _, step, safe in made.session(np.random.default_rng([seed, number])):
            done += 1
            found.update(watcher.reads(step, safe.doings))
    return done, found


def main() -> int:
    """The command."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("machines", nargs="*", default=MACHINES)
    asked.add_argument("--count", type=int, default=1000)
    asked.add_argument("--seed", type=int, default=0)
    given = asked.parse_args()
    unsafe = 0
    for name in given.machines:
        done, found = watched(name, given.count, given.seed)
        unsafe += sum(found.values())
        print(f"{name}: {given.count} sessions, {done} steps, {sum(found.values())} unsafe")
        for danger, times in found.most_common():
            print(f"  {times} x {danger}")
    return int(unsafe > 0)


if __name__ == "__main__":
    sys.exit(main())
