"""The circuit simulator ngspice run over many decks in few processes, its answers read from its binary output.

A deck's elements stay as they were exported; only its control block, which prints each node, is replaced by one
that appends the solution to a file. One process then sources the decks one after the other.
"""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tests.judges import ngspice

_CONTROL = ".control\n"


@dataclass(frozen=True)
class Answer:
    """What one deck gave: the names of its vectors, lower case, and their values (phasors)."""

    names: tuple[str, ...]
    values: NDArray[np.complex128]

    def at(self, labels: Sequence[str]) -> NDArray[np.complex128]:
        """The phasors of the nodes of these labels."""
        place = {name: index for index, name in enumerate(self.names)}
        return self.values[[place[f"v({label})"] for label in labels]]


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
    """Every plot of a binary file: `No. Variables: n`, the names, `Binary:`, then n complex doubles."""
    answers: list[Answer] = []
    start = 0
    while (end := raw.find(b"Binary:\n", start)) >= 0:
        lines = raw[start:end].decode().splitlines()
        names = tuple(line.split("\t")[2].lower() for line in lines if line.startswith("\t"))
        data = end + len(b"Binary:\n")
        start = data + 16 * len(names)
        answers.append(Answer(names, np.frombuffer(raw, np.complex128, len(names), data)))
    return answers
