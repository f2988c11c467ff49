"""Decks as `export` writes them, run as they are by a circuit simulator, against what `expect` says."""

from __future__ import annotations

import pytest

from tests.cli.words import run
from tests.judges import ngspice as judge

CASES = [
    ("vented-dryer", ["--set", "high heat"], ("terminal block.L1", "terminal block.L2")),
    ("vented-dryer", ["--set", "high heat", "--fault", "cut-off: open"], ("cut-off.1", "cut-off.2")),
    ("vented-dryer", ["--set", "high heat", "--fault", "heater: front coil open"], ("heater.common", "heater.rear")),
    ("water-heater", [], ("upper element.1", "upper element.2")),
    ("refrigerator", [], ("compressor.R", "compressor.C")),
]


def terminals(deck: str) -> dict[str, str]:
    """Name to label, from the comments at the head of a deck."""
    lines = (line[2:].split(" = ") for line in deck.splitlines() if line.startswith("* ") and " = " in line)
    return {name: label for label, name in lines}


@pytest.mark.parametrize(("machine", "words", "pair"), CASES)
def test_the_deck_runs_and_agrees(
    machine: str, words: list[str], pair: tuple[str, str], ngspice: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """The simulator's phasors between two terminals have the magnitude that a meter is expected to show."""
    red, black = pair
    deck = run(capsys, "export", machine, *words, "--to", "spice").out
    volts, labels = judge.run(deck), terminals(deck)
    meter = ("--red", red, "--black", black, "--meter", "volts")
    shown = run(capsys, "expect", machine, *meter, *words, "--json").data["reading"]["value"]
    assert abs(abs(volts[labels[red]] - volts[labels[black]]) - shown) < 1e-3 * max(shown, 1.0)


def test_every_terminal_is_printed(ngspice: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Each terminal of the machine has a phasor, by its name, also on an isolated machine."""
    from halfsplit.service import machines

    deck = run(capsys, "export", "vented-dryer", "--isolated", "--lift", "heater.common", "--to", "spice").out
    volts, labels = judge.run(deck), terminals(deck)
    assert all(labels[name] in volts for name in machines.load("vented-dryer").terminals)


def test_export_to_a_file(tmp_path: object, capsys: pytest.CaptureFixture[str]) -> None:
    """-o writes the deck to a file and nothing to stdout; a folder that is missing is wrong use."""
    from pathlib import Path

    place = Path(str(tmp_path)) / "deck.cir"
    ended = run(capsys, "export", "water-heater", "--to", "spice", "-o", str(place))
    assert (ended.code, ended.out) == (0, "")
    assert place.read_text(encoding="utf-8").rstrip().endswith(".end")
    assert run(capsys, "export", "water-heater", "--to", "spice", "-o", str(place / "deeper")).code == 2
