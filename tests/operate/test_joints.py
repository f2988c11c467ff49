"""Joints: what a bad one cuts, and what a clamp round it shows."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.circuit.assembly import Assembly, joint_at
from halfsplit.machine import library, loading
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.operate.effect import HEALTHY, effect
from halfsplit.operate.settle import Operation


def test_a_burnt_block_cuts_the_cord_from_the_machine() -> None:
    """The terminal stays live from the cord, and nothing behind its joint is fed."""
    machine = loading.load("vented-dryer")
    operation = Operation(machine)
    _, changes = listing.by_name(machine)["joint terminal block.L1: off"].alternatives[0]
    at = conditions.condition(machine, machine.settings["high heat"])
    (herd,) = operation.settle(at, [effect(operation.assembly, changes)])
    block, fuse, neutral = (
        operation.assembly.nodes[t] for t in ("terminal block.L1", "block fuse.1", "terminal block.N")
    )
    assert abs(herd.volts[0, block] - herd.volts[0, neutral]) > 115
    assert abs(herd.volts[0, fuse] - herd.volts[0, neutral]) < 60
    assert not herd.other


@pytest.mark.parametrize(
    ("name", "setting", "terminal", "low", "high"),
    [("vented-dryer", "high heat", "terminal block.L1", 24, 29), ("refrigerator", "cooling", "cord block.L", 0.8, 2.0)],
)
def test_the_feed_s_amps_go_through_the_joint(name: str, setting: str, terminal: str, low: float, high: float) -> None:
    """A clamp at the block shows what the machine takes; common practice, no source."""
    machine = loading.load(name)
    operation = Operation(machine)
    (herd,) = operation.settle(conditions.condition(machine, machine.settings[setting]), [HEALTHY])
    assert low < abs(herd.amps[0, operation.assembly.branches[joint_at(terminal)]]) < high


@pytest.mark.parametrize("name", library.names())
def test_every_joint_lies_in_the_way_of_something(name: str) -> None:
    """Where wires meet before they reach a terminal, the terminal itself leads on: the joint is no dead end."""
    built = Assembly(loading.load(name))
    ends = np.concatenate([built.tail, built.head])
    for wires in (n for n in built.nodes if n.startswith("wires at ")):
        terminal = wires.removeprefix("wires at ")
        assert (ends == built.nodes[terminal]).sum() > 1, terminal
