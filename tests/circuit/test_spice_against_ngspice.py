"""Both solvers and the decks, judged by the circuit simulator ngspice."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.circuit import dense, fast, spice
from halfsplit.circuit import network as nw
from tests.circuit import networks
from tests.judges import ngspice

pytestmark = pytest.mark.usefixtures("ngspice")


@pytest.mark.parametrize("seed", range(24))
def test_phasors_agree(seed: int) -> None:
    """Random networks with couplings and none to three edits: every node within 1e-6 of the highest volts."""
    rng = np.random.default_rng(seed)
    network = networks.random_network(rng, networks.Recipe(16, 6, True, coupled=seed % 3 > 0))
    edits = networks.random_edits(rng, network, seed % 4, True)
    names = [f"Part {node}.L{node % 3}" for node in range(network.nodes)]
    printed = ngspice.run(spice.deck(network, edits, names, 60.0, "a random network"))
    judge = np.array([printed[label] for label in spice.node_labels(names)])
    highest = np.abs(judge).max()
    assert np.abs(dense.solve(network, edits).v - judge).max() <= 1e-6 * highest
    assert np.abs(fast.Factored(network).solve(edits).v - judge).max() <= 1e-6 * highest


@pytest.mark.parametrize("seed", range(8))
def test_ohms_agree(seed: int) -> None:
    """Joined pairs within 1e-6; pairs that closed branches do not join are over 40 Mohm in both."""
    rng = np.random.default_rng(seed)
    network = networks.random_network(rng, networks.Recipe(14, 4, False, False, True, 1e-10))
    edits = networks.random_edits(rng, network, seed % 4, False)
    pairs = np.array([(a, b) for a in range(0, 14, 2) for b in range(1, 14, 3) if a != b])
    printed = ngspice.run(spice.ohms_deck(network, edits, pairs))
    judge = np.array([printed[f"ohms_{p}"].real for p in range(len(pairs))])
    found = fast.Factored(network).resistances([edits], pairs)[0]
    assert np.allclose(found[judge < 4e7], judge[judge < 4e7], rtol=1e-6, atol=1e-9)
    assert np.all(found[judge >= 4e7] > 4e7)


def test_ideal_conductors_and_one_sided_strays() -> None:
    """0 ohm branches, a negative conductive part, inductive strays: each element kind the deck can hold."""
    network = nw.Network(
        4, np.array([0, 1, 2, 3]), np.array([1, 2, 3, 0]), np.array([0, 0, 5 - 7j, 3j]),
        np.array([True] * 4), np.array([120, 0, 0, 0]), ((2, 3, -2 - 1j), (3, 1, 0.5j), (1, 2, 1.0)),
        np.array([0, 1e-6, -1e-6j, 1e-6j]), 0,
    )  # fmt: skip
    printed = ngspice.run(spice.deck(network, (nw.Bridge(1, 3, 0),), ["GND", "a", "A", "7"], 50.0))
    judge = np.array([printed[label] for label in ("n_gnd", "a", "a_2", "n_7")])
    assert np.allclose(dense.solve(network, (nw.Bridge(1, 3, 0),)).v, judge, rtol=1e-9, atol=1e-9)


def test_names_can_be_read_back_from_the_comments() -> None:
    """Every label is unique and its comment line gives the name it stands for, line breaks flattened."""
    rng = np.random.default_rng(1)
    network = networks.random_network(rng, networks.Recipe(6, 2))
    names = ["heater.L1", "heater-l1", "Heater L1", "zz_b1", "gnd", "two\nlines"]
    text = spice.deck(network, (), names, 60.0, "first\nsecond")
    assert text.startswith("first second\n* ")
    told = dict(line[2:].split(" = ") for line in text.splitlines() if line.startswith("* "))
    assert list(told) == spice.node_labels(names)
    assert list(told.values()) == [" ".join(name.split()) for name in names]
    assert len(ngspice.run(text)) == 6


def test_a_deck_needs_a_frequency_and_all_names() -> None:
    """0 Hz and a missing name are refused in words."""
    network = networks.random_network(np.random.default_rng(1), networks.Recipe(6, 2))
    with pytest.raises(ValueError, match="frequency above 0 and 6 node names"):
        spice.deck(network, (), ["a"] * 6, 0.0)
    with pytest.raises(ValueError, match="6 node names"):
        spice.deck(network, (), ["a"] * 5, 50.0)


def test_the_judge_does_not_hide_a_failure() -> None:
    """A deck that ngspice cannot solve raises with the simulator's own words."""
    with pytest.raises(RuntimeError, match=r"(?i)singular|error"):
        ngspice.run("two sources in parallel\nv1 a 0 1\nv2 a 0 2\n.control\nop\nprint v(a)\nquit\n.endc\n.end\n")
