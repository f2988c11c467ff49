#!/usr/bin/env python3
"""How often the guide leads a person to both of two hidden faults, by what they name of a proof run.

    .venv/bin/python benchmarks/led_to_both.py [--count N] [MACHINE...]

They name every number that was not as it must be, the first alone (they stop there), or none (Enter). Nothing is
refused. The same pairs as the rehearsals draw, in which all of a proof run is seen (`halfsplit rehearse --faults two`).
Each share with its 95 % interval (Wilson).
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np

from halfsplit.evidence.weighing import Bench
from halfsplit.machine import library, loading
from halfsplit.plan import setups
from halfsplit.rehearse.summary import wilson
from tests.rehearse.led_steps import Person, Sessions

PERSONS = {
    "all that is wrong": Person(two=1.0, refuses=False, names=1.0, stops=0.0, takes_back=0.0),
    "the first alone": Person(two=1.0, refuses=False, names=1.0, first_only=True, stops=0.0, takes_back=0.0),
    "nothing": Person(two=1.0, refuses=False, names=0.0, stops=0.0, takes_back=0.0),
}


def both_found(sessions: Sessions, count: int) -> int:
    """In how many sessions nothing is wrong any more at the end."""
    found = 0
    for number in range(count):
        for _ in sessions.session(np.random.default_rng([0, number])):
            pass
        found += sessions.truth is not None and not sessions.truth.hidden
    return found


def main() -> None:
    """The command."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("machines", nargs="*", default=library.names())
    asked.add_argument("--count", type=int, default=40)
    given = asked.parse_args()
    for name in given.machines:
        adviser = setups.Setups(Bench(loading.load(name)))
        for named, person in PERSONS.items():
            found = both_found(Sessions(adviser, person), given.count)
            low, high = wilson(found, given.count)
            print(f"{name}, named {named}: {found} of {given.count}, {low:.1%} to {high:.1%}", flush=True)


if __name__ == "__main__":
    main()
