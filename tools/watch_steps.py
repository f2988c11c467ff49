#!/usr/bin/env python3
"""Plays many sessions on the library's machines and has every step read by the watcher of the tests.

    .venv/bin/python tools/watch_steps.py [--chooser random|score|ahead] [--count N] [--first K] [--seed S] [--write]
        [MACHINE...]

Sessions K to K + N - 1 of each machine are played; a session is the same whatever is played before it, so that a long
run can be cut in shards. The person refuses steps, cannot open a bay, has no clamp, has no helper. `random` chooses
blindly among all steps and repairs, some fifty sessions a second; `score` and `ahead` are the guide with either
planner, led to the end of the proof run, with one hidden fault that answers or two. `--write` puts the counts into
docs/explanation/safety.md. Exits 0 when nothing was found that could hurt and nothing was done that was
refused, 1 otherwise.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402  (after the number of threads is set)

from halfsplit.evidence.weighing import Bench  # noqa: E402
from halfsplit.machine import library, loading  # noqa: E402
from halfsplit.modes.fault import Repair  # noqa: E402
from halfsplit.plan import safely, score, setups  # noqa: E402
from halfsplit.plan.ahead import Ahead  # noqa: E402
from halfsplit.plan.steps import Step  # noqa: E402
from halfsplit.rehearse import random_steps  # noqa: E402
from halfsplit.rehearse.emitted import Emitted  # noqa: E402
from tests.rehearse import led_steps  # noqa: E402
from tests.rehearse.watcher import Watcher  # noqa: E402
from tools import pages  # noqa: E402

PAGE = ROOT / "docs" / "explanation" / "safety.md"
DONE = ("steps", "repairs", "things done")
HEAD = ("chooser", "machine", "sessions", *DONE, "unsafe or refused", "seconds")
Session = Callable[[np.random.Generator], Iterator[Emitted]]

CHOOSERS: dict[str, Callable[[score.Adviser], Session]] = {
    "random": lambda adviser: random_steps.Sessions(adviser).session,
    "score": lambda adviser: led_steps.Sessions(adviser).session,
    "ahead": lambda adviser: led_steps.Sessions(Ahead(adviser)).session,
}


def watched(name: str, chooser: str, sessions: range, seed: int) -> tuple[Counter[str], Counter[str]]:
    """These sessions of one machine: what was done, counted, and how often each danger was found."""
    machine = loading.load(name)
    session = CHOOSERS[chooser](setups.Setups(Bench(machine)))
    done, found = Counter[str](), Counter[str]()
    stores = safely.facts(machine).capacitor
    for number in sessions:
        watcher = Watcher(machine, stores)
        for state, step, safe in session(np.random.default_rng([seed, number])):
            done["steps"] += isinstance(step, Step)
            done["repairs"] += isinstance(step, Repair)
            done["things done"] += len(safe.doings)
            found.update(watcher.reads(step, safe.doings, state.refused))
    return done, found


def main() -> int:
    """The command."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("machines", nargs="*", default=library.names())
    asked.add_argument("--chooser", choices=CHOOSERS, default="random")
    asked.add_argument("--count", type=int, default=1000)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--seed", type=int, default=0)
    asked.add_argument("--write", action="store_true", help="put the counts into the page")
    given = asked.parse_args()
    if given.write and (given.first or given.seed):
        asked.error("--write puts the first sessions of seed 0 into the page: leave --first and --seed out.")
    unsafe = 0
    for name in given.machines:
        began = time.monotonic()
        done, found = watched(name, given.chooser, range(given.first, given.first + given.count), given.seed)
        unsafe += sum(found.values())
        counted = ", ".join(f"{done[what]} {what}" for what in DONE)
        seconds = time.monotonic() - began
        print(f"{name}: {given.count} sessions, {counted}, {sum(found.values())} unsafe, {seconds:.0f} s", flush=True)
        if given.write:
            cells = (given.count, *(done[what] for what in DONE), sum(found.values()), f"{seconds:.0f}")
            pages.write_rows(PAGE, "sessions", HEAD, 2, {(given.chooser, name): tuple(map(str, cells))})
        for danger, times in found.most_common():
            print(f"  {times} x {danger}")
    return int(unsafe > 0)


if __name__ == "__main__":
    sys.exit(main())
