"""How many settled cases a second the fast solution gives, against a dense one and against ngspice.

    python benchmarks/circuit_speed.py [--cases 4000]

Random networks of near-ideal contacts, one core. Each case is one fault; what is timed is every node's volts.
ngspice alters one resistance at a time in a single process. Also printed: the largest difference from the dense
solution, so that a speed is never quoted for wrong numbers. Figures depend on the machine; the ratios less so.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np

from halfsplit.circuit import dense, fast, spice
from halfsplit.circuit import network as nw
from tests.circuit import networks
from tests.judges import ngspice

SIZES = ((67, 80), (110, 130))
DENSE_CASES = 200
NGSPICE_CASES = 400


def seconds(work: Callable[[], object], repeats: int = 3) -> float:
    """The shortest of some runs."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def altering(network: nw.Network, lists: list[nw.Edits]) -> str:
    """A deck that opens (1e9 ohm) and restores the resistor of one branch after another and solves each time."""
    names = [f"n{node}" for node in range(network.nodes)]
    text = spice.deck(network, (), names, 60.0)
    start = text.index("print v(")
    steps = []
    for (edit,) in lists:
        assert isinstance(edit, nw.Rebranch)
        steps += [f"alter rb{edit.k} = 1e9", "ac lin 1 60 60", "destroy all"]
        steps += [f"alter rb{edit.k} = {float(network.impedance[edit.k].real)!r}"]
    return text[:start] + "\n".join([*steps, "quit", ".endc", ".end", ""])


def resistors(network: nw.Network) -> list[int]:
    """Closed branches whose deck holds a plain resistor."""
    return [int(k) for k in np.flatnonzero(network.closed) if network.impedance[k].real]


def kinds(rng: np.random.Generator, network: nw.Network, ac: bool, cases: int) -> dict[str, list[nw.Edits]]:
    """The lists of cases that are timed."""
    return {
        "any one edit": [networks.random_edits(rng, network, 1, ac) for _ in range(cases)],
        "one branch opened": [(nw.opened(int(k)),) for k in rng.choice(resistors(network), cases)],
        "any two edits": [networks.random_edits(rng, network, 2, ac) for _ in range(cases)],
    }


def measure(nodes: int, branches: int, ac: bool, cases: int) -> None:
    """Times one network and prints a line for each kind of case."""
    rng = np.random.default_rng(nodes)
    network = networks.random_network(rng, networks.Recipe(nodes, branches - nodes + 1, ac))
    kept = seconds(lambda: fast.Factored(network))
    factored = fast.Factored(network)
    print(f"\n{nodes} nodes, {branches} branches, {'AC' if ac else 'DC'}; the inverse once: {kept * 1e3:.1f} ms")
    for name, lists in kinds(rng, network, ac, cases).items():
        rate = cases / seconds(partial(factored.solve_many, lists))
        few = lists[:DENSE_CASES]
        again = len(few) / seconds(partial(solve_plainly, network, few), 1)
        off = max(np.abs(factored.solve(edits).v - dense.solve(network, edits).v).max() for edits in few)
        print(f"  {name:18} {rate:9.0f} cases/s = {rate / again:5.0f} x dense re-solve, off by {off:.1e} V", end="")
        print(f", {rate / simulated(network, lists):5.0f} x ngspice" if ac and name == "one branch opened" else "")


def measure_ohms(nodes: int, branches: int, cases: int) -> None:
    """Times the ohms of every pair of nodes under single edits, in readings a second."""
    rng = np.random.default_rng(nodes)
    network = networks.random_network(rng, networks.Recipe(nodes, branches - nodes + 1, False, dc_stray=1e-10))
    factored, pairs = fast.Factored(network), np.argwhere(np.triu(np.ones((nodes, nodes)), 1))
    for name, lists in list(kinds(rng, network, False, cases).items())[:2]:
        rate = cases * len(pairs) / seconds(partial(factored.resistances, lists, pairs))
        print(f"  ohms of every pair, {name}: {rate:.1e} readings/s")


def solve_plainly(network: nw.Network, lists: list[nw.Edits]) -> None:
    """The dense re-solve that is timed: built and solved once, without the judge's refinement."""
    for edits in lists:
        matrix, b = nw.system(nw.apply(network, edits))
        np.linalg.solve(matrix.toarray(), b)


def simulated(network: nw.Network, lists: list[nw.Edits]) -> float:
    """Cases a second of ngspice, its start taken off."""
    if not ngspice.present():
        return float("nan")
    few = lists[:NGSPICE_CASES]
    full, start = (seconds(partial(ngspice.run, altering(network, part)), 2) for part in (few, few[:1]))
    return (len(few) - 1) / (full - start)


def main() -> None:
    """Measures both sizes in AC and DC."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cases", type=int, default=4000, help="cases of each kind (default 4000)")
    cases = parser.parse_args().cases
    for nodes, branches in SIZES:
        for ac in (True, False):
            measure(nodes, branches, ac, cases)
        measure_ohms(nodes, branches, cases // 20)


if __name__ == "__main__":
    main()
