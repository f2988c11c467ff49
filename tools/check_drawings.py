#!/usr/bin/env python3
"""Draws every machine of the library under every single fault and reads each picture back.

    .venv/bin/python tools/check_drawings.py [MACHINE]...

Across, down and the circuit of every part, in the setting in which the machine does its work and at rest. Prints what
is wrong and how much was drawn; exits 1 if anything is wrong. Minutes of work: the tests draw a sample of the same.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from halfsplit.machine import library  # noqa: E402
from tests.service import fault_pictures, pictures  # noqa: E402


def swept(name: str) -> tuple[int, int, list[str]]:
    """How many faults and pictures of a machine were looked at, and all that is wrong with them."""
    shower = fault_pictures.Shower()
    faults = fault_pictures.faults(name)
    drawn, wrong = 0, []
    for setting in (fault_pictures.usual(name), pictures.REST):
        for fault in faults:
            for asked, sheet, picture in shower.shown(name, setting, fault):
                drawn += 1
                found = fault_pictures.wrong(asked, sheet, picture)
                wrong += [f"{name}, {setting or 'at rest'}, {fault}, {asked}: {text}" for text in found]
    return len(faults), drawn, wrong


def main(names: list[str]) -> int:
    """Sweeps the machines named, or all."""
    bad = 0
    for name in names or library.names():
        start = time.monotonic()
        faults, drawn, wrong = swept(name)
        print(*wrong, sep="\n", end="\n" if wrong else "")
        print(f"{name}: {faults} faults, {drawn} pictures, {len(wrong)} findings, {time.monotonic() - start:.0f} s")
        bad += len(wrong)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
