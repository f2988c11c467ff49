"""How fast a machine of the library is settled under all its faults, and its table of steps compiled.

    python benchmarks/machine_speed.py [MACHINE ...]

Three rates on one core, with their ratios in the same run: *solved*, one network under every single fault, all
terminals' volts; *settled*, every live condition under every fault from rest through all states that the machine
passes; and for both the same with a dense re-solve of each case, and with ngspice altering one resistor at a time in
one process. Then the seconds to compile the table of distinct outcomes for all pairs, and the memory at its peak.
"""

from __future__ import annotations

import os
import resource
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np

from benchmarks import circuit_speed
from halfsplit.circuit import network as nw
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import library, loading
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.operate.effect import Effect
from halfsplit.operate.networks import Ready
from halfsplit.plan import odd, steps, table

SAMPLE = 12
"""Variants a condition that are settled with the dense solver."""


class Dense:
    """While open, networks are re-solved case by case by the dense solver, as a plain program would."""

    def __enter__(self) -> None:
        self.kept = Ready.solve

        def solve(ready: Ready, effects: Sequence[Effect]) -> tuple[nw.Array, nw.Array]:
            solved = [self.one(ready, effect) for effect in effects]
            return np.array([x[: ready.network.nodes] for x in solved]), np.array(
                [x[ready.network.nodes : ready.network.nodes + ready.network.branches] for x in solved]
            )

        Ready.solve = solve  # type: ignore[assignment, method-assign]

    def __exit__(self, *_: object) -> None:
        Ready.solve = self.kept  # type: ignore[method-assign]

    @staticmethod
    def one(ready: Ready, effect: Effect) -> nw.Array:
        """Volts and amps of one case, built and solved anew."""
        matrix, b = nw.system(nw.apply(ready.factored.network, ready.edits(effect)))
        return np.linalg.solve(matrix.toarray(), b)


def timed(work: Callable[[], object]) -> float:
    """Seconds of one run."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def solved(bench: Bench) -> None:
    """One network, all faults."""
    usual = conditions.live_settings(bench.machine)[1]
    herd = bench.operation.settle(Condition(usual), bench.predictor.found_effects)
    largest = max(herd, key=lambda h: len(h.members))
    ready = bench.operation.networks.ready("power", largest.state, 10**6)
    lists = list({ready.edits(e) for e in bench.predictor.found_effects})
    one_row = [e for e in lists if len(e) == 1 and isinstance(e[0], nw.Rebranch) and not e[0].closed]
    rate = len(lists) / circuit_speed.seconds(lambda: ready.factored.solve_many(lists))
    few = lists[:150]
    dense = len(few) / circuit_speed.seconds(lambda: circuit_speed.solve_plainly(ready.network, few), 1)
    opened = [e for e in one_row if ready.network.impedance[e[0].k].real]  # type: ignore[union-attr]
    print(f"  solved   {rate:9.0f} cases/s = {rate / dense:5.0f} x dense re-solve (every single fault)")
    many = (opened * 20)[:2000]
    rate = len(many) / circuit_speed.seconds(lambda: ready.factored.solve_many(many))
    simulator = circuit_speed.simulated(ready.network, [*opened])
    print(f"  opened   {rate:9.0f} cases/s = {rate / simulator:5.0f} x ngspice (the same branches, opened)")


def settled(bench: Bench) -> None:
    """Every live condition, all faults, all states passed."""
    live = [Condition(setting) for setting in conditions.live_settings(bench.machine)]
    effects = bench.predictor.found_effects
    rng = np.random.default_rng(1)
    some = tuple(effects[int(s)] for s in rng.choice(len(effects), SAMPLE, replace=False))
    took = timed(lambda: [bench.operation.settle(at, effects) for at in live])
    with Dense():
        plain = timed(lambda: [bench.operation.settle(at, some) for at in live])
    rate, dense = len(live) * len(effects) / took, len(live) * len(some) / plain
    print(f"  settled  {rate:9.0f} cases/s = {rate / dense:5.0f} x dense re-solve ({len(live)} conditions)")


def compiled(bench: Bench) -> None:
    """The table of distinct outcomes."""
    offered, strange = steps.steps(bench.machine), odd.odd_steps(bench.machine)
    start = time.perf_counter()
    made = table.compiled(bench.predictor, offered, strange)
    took = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    size = made.outcomes.codes.shape
    print(
        f"  table    {took:.2f} s: {len(offered)} trusted steps, {size[0]} distinct, "
        f"{len(strange)} between other places, {len(made.odd)} distinct, {size[1]} variants; peak {peak:.0f} MB"
    )


def main() -> None:
    """Measures the machines named, or all."""
    for name in sys.argv[1:] or library.names():
        bench = Bench(loading.load(name))
        built = bench.operation.assembly
        print(f"{name}: {len(built.nodes)} nodes, {len(built.tail)} branches, {len(bench.singles.variants)} variants")
        solved(bench)
        settled(bench)
        compiled(bench)


if __name__ == "__main__":
    main()
