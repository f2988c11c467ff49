"""The circuit simulator ngspice run over many decks in few processes, its answers read from its binary output.

A deck's elements stay as they were exported; only its control block, which prints each node, is replaced by one
that appends the solution to a file. One process then sources the decks one after the other.
"""

from __future__ import annotations

import re
import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.judges import ngspice

_CONTROL = ".control\n"
_DATA = b"Binary:\n"


@dataclass(frozen=True)
class Answer:
    """What one deck gave: the names of its vectors, lower case, and their values (phasors)."""

    names: tuple[str, ...]
    values: NDArray[Any]

    def at(self, labels: Sequence[str]) -> NDArray[Any]:
        """The phasors of the nodes of these labels."""
        place = {name: index for index, name in enumerate(self.names)}
        return np.asarray(self.values[..., [place[f"v({label})"] for label in labels]])


def run(decks: Sequence[str], hertz: float, seconds: float = 300.0) -> list[Answer]:
    """One answer per deck, in order. Raises RuntimeError where a deck has none, with the simulator's own words."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        for number, deck in enumerate(decks):
            (place / f"{number}.cir").write_text(_to_file(deck, place / "out.raw", hertz), encoding="utf-8")
        words = _process(_master(place, len(decks)), seconds)
        answers = _read((place / "out.raw").read_bytes()) if (place / "out.raw").exists() else []
    if len(answers) != len(decks):
        raise RuntimeError(f"{len(decks)} decks gave {len(answers)} answers:\n{ngspice.complaint(words)}")
    return answers


def run_in_time(deck: str, seconds: float = 300.0) -> Answer:
    """The waveforms of a deck of elements and a `.tran` line; `.save` says which."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "out.raw"
        commands = f".control\nset filetype=binary\nrun\nwrite {place}\nquit\n.endc\n.end\n"
        words = _process(deck + commands, seconds)
        if re.search(r"aborted|singular|^Error", words, re.IGNORECASE | re.MULTILINE) or not place.exists():
            raise RuntimeError(f"no waveforms:\n{ngspice.complaint(words)}")
        return _read(place.read_bytes())[0]


def _to_file(deck: str, place: Path, hertz: float) -> str:
    elements, _ = deck.split(_CONTROL)
    f = repr(float(hertz))
    commands = ["set filetype=binary", "set appendwrite", f"ac lin 1 {f} {f}", f"write {place}"]
    return "\n".join([f"{elements}.control", *commands, ".endc", ".end", ""])


def _master(place: Path, count: int) -> str:
    each = (f"source {place}/{number}.cir\ndestroy all\nremcirc" for number in range(count))
    return "\n".join(["decks one after the other", "r1 a 0 1", ".control", *each, "quit", ".endc", ".end", ""])


def _process(deck: str, seconds: float) -> str:
    done = subprocess.run(
        ["ngspice", "-b", "/dev/stdin"], input=deck, capture_output=True, text=True, timeout=seconds, check=False
    )
    return done.stdout + done.stderr


def _read(raw: bytes) -> list[Answer]:
    """Every plot of a binary file: `No. Variables: n`, the names, `Binary:`, then doubles or complex doubles.

    Values are (n,) where a plot has one point, else (points, n).
    """
    answers: list[Answer] = []
    start = 0
    while (end := raw.find(_DATA, start)) >= 0:
        lines = raw[start:end].decode().splitlines()
        head = dict(line.split(": ", 1) for line in lines if ": " in line)
        names = tuple(line.split("\t")[2].lower() for line in lines if line.startswith("\t"))
        kind = np.dtype(np.complex128 if "complex" in head["Flags"] else np.float64)
        count = len(names) * int(head["No. Points"])
        values = np.frombuffer(raw, kind, count, end + len(_DATA)).reshape(-1, len(names))
        answers.append(Answer(names, values[0] if len(values) == 1 else values))
        start = end + len(_DATA) + count * kind.itemsize
    return answers
