#!/usr/bin/env python3
"""Judges every machine of the library by a circuit simulator, and writes what was found to docs/explanation/judges.md.

    .venv/bin/python tools/judge_library.py [MACHINE...] [--only volts|ohms|settling]

Volts: every setting under every single fault, each distinct network once. Ohms: random pairs of an isolated machine.
Settling: sequences of settings as transient decks. Needs ngspice; minutes to half an hour a machine.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from itertools import islice
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402  (after the number of threads is set)
from numpy.typing import NDArray  # noqa: E402

from halfsplit.machine import library as machines  # noqa: E402
from halfsplit.machine import loading  # noqa: E402
from tests.library import ohms, sequences, sweep  # noqa: E402
from tools import pages  # noqa: E402

PAGE = ROOT / "docs" / "explanation" / "judges.md"
HEAD = ("machine", "judged", "cases", "worst")
Row = tuple[str, str]


def volts(library: sweep.Library) -> Row:
    """Cases and worst error of the volts of all nodes."""
    count, worst, where = 0, 0.0, ""
    for cases, errors in _judged(library):
        count += len(cases)
        if errors.max() > worst:
            worst, where = float(errors.max()), cases[int(errors.argmax())].what
        print(f"\r{library.machine.name}: {count} networks, worst {worst:.1e}", end="", file=sys.stderr, flush=True)
    print(f"\n  worst: {where}", file=sys.stderr)
    return f"{count} networks", f"{worst:.1e} of the largest volts"


def _judged(library: sweep.Library) -> Iterator[tuple[list[sweep.Case], NDArray[np.float64]]]:
    """Chunks with their errors; the simulator solves one while the next is settled."""
    seen: set[sweep.Key] = set()
    cases = (case for at in library.all_conditions() for case in library.cases(at, seen))
    with ThreadPoolExecutor(2) as pool:
        waiting: list[tuple[list[sweep.Case], Future[NDArray[np.float64]]]] = []
        for chunk in sweep.chunks(cases, 250):
            waiting.append((chunk, pool.submit(library.errors, chunk)))
            for done, found in islice(waiting, max(0, len(waiting) - 2)):
                yield done, found.result()
            waiting = waiting[-2:]
        yield from ((done, found.result()) for done, found in waiting)


def resistances(library: sweep.Library) -> Row:
    """Pairs and worst relative error."""
    found = ohms.random_pairs(library, seed=1)
    numbers = [pair for pair in found if pair.judge < ohms.NUMBER_BELOW]
    worst = max(found, key=lambda pair: pair.error)
    print(f"{library.machine.name}: ohms, worst {worst}", file=sys.stderr)
    return f"{len(numbers)} numbers, {len(found) - len(numbers)} over range", f"{worst.error:.1e} relative"


def settling(library: sweep.Library) -> Row:
    """Sequences in the time domain, and how many ended otherwise than ours."""
    verdicts = [sequences.judged(library, asked) for asked in sequences.drawn(library, seed=1)]
    for verdict in verdicts:
        if not verdict.agrees:
            print(f"{library.machine.name}: {verdict.apart}", file=sys.stderr)
    chatter = sum(bool(verdict.ours.chatters) for verdict in verdicts)
    cases = f"{len(verdicts)} sequences, {chatter} of them chatter"
    return cases, f"{sum(not verdict.agrees for verdict in verdicts)} end otherwise"


JUDGES: dict[str, Callable[[sweep.Library], Row]] = {"volts": volts, "ohms": resistances, "settling": settling}


def main(words: Sequence[str]) -> None:
    """Judges what is asked for and writes each row when it is known."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("machine", nargs="*", help="names of the library; without one, all of it")
    parser.add_argument("--only", choices=list(JUDGES), help="one judge; without it, all")
    asked = parser.parse_args(words)
    for name in asked.machine or machines.names():
        library = sweep.Library(loading.load(name))
        for judge in [asked.only] if asked.only else JUDGES:
            row = JUDGES[judge](library)
            print(f"{name}: {judge}: {row[0]}, worst {row[1]}")
            pages.write_rows(PAGE, "found", HEAD, 2, {(name, judge): row})


if __name__ == "__main__":
    main(sys.argv[1:])
