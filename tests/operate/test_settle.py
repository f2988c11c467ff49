"""Settling always ends, keeps every fault once, and ends only where nothing wants to move or something chatters."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.circuit import dense
from halfsplit.machine import library, loading
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.operate import settle
from halfsplit.operate.effect import HEALTHY, Effect, edits
from halfsplit.operate.settle import Operation, Settled
from halfsplit.predict.candidates import singles

NAMES = library.names()


def drawn(operation: Operation, seed: int, count: int) -> list[Effect]:
    """Effects of none to four faults at once."""
    rng = np.random.default_rng(seed)
    variants = singles(operation.assembly, listing.faults(operation.machine)).variants
    found = []
    for _ in range(count):
        made = HEALTHY
        for k in rng.choice(len(variants), rng.integers(5)):
            made = made.with_(variants[k].effect)
        found.append(made)
    return found


def anywhere(operation: Operation, seed: int) -> conditions.Condition:
    """Every control and the warmth drawn, wires lifted now and then."""
    rng = np.random.default_rng(seed)
    given = {name: str(rng.choice(places)) for name, places in conditions.positions(operation.machine).items()}
    wired = sorted({end for wire in operation.machine.wires for end in wire.ends})
    lift = rng.choice(wired, rng.integers(3), replace=False).tolist()
    return conditions.condition(operation.machine, given, bool(rng.integers(4) == 0), lift)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("seed", range(3))
def test_it_ends_with_every_fault_once(name: str, seed: int) -> None:
    """Random faults together in random conditions: each is a member of exactly one herd."""
    operation = Operation(loading.load(name))
    effects = drawn(operation, seed, 60)
    herds = operation.settle(anywhere(operation, seed), effects)
    assert sorted(np.concatenate([herd.members for herd in herds]).tolist()) == list(range(60))


@pytest.mark.parametrize("name", NAMES)
def test_nothing_wants_to_move_where_it_ends(name: str) -> None:
    """Solved anew by the dense solver, no device wants another state, but where it is halted or chatters."""
    operation = Operation(loading.load(name))
    effects = drawn(operation, 11, 40)
    for seed in (21, 22):
        at = anywhere(operation, seed)
        for herd in operation.settle(at, effects) if not at.isolated else ():
            _still(operation, effects, herd)


def _still(operation: Operation, effects: list[Effect], herd: Settled) -> None:
    net = operation.assembly.under_power(herd.state)
    for member in herd.members[:4].tolist():
        solved = dense.solve(net, edits(effects[member].operations, net))
        volts, amps = solved.v[None], solved.i[None, : net.branches]
        for device in operation.moved:
            other = device.name in herd.other
            stays = bool(device.wants(other, volts, amps)[0]) == other
            assert stays or device.name in effects[member].halted or herd.chatters, (device.name, member)


def test_each_fault_settles_by_itself() -> None:
    """Alone, a fault settles as it does among hundreds."""
    operation = Operation(loading.load("vented-dryer"))
    at = conditions.condition(operation.machine, operation.machine.settings["high heat"])
    effects = drawn(operation, 31, 120)
    for herd in operation.settle(at, effects):
        member = int(herd.members[0])
        (alone,) = operation.settle(at, [effects[member]])
        assert (alone.other, alone.hummed, alone.chatters) == (herd.other, herd.hummed, herd.chatters)
        assert np.abs(alone.volts[0] - herd.volts[0]).max() < 1e-5


def test_the_stages_of_a_pressed_start() -> None:
    """Set, held, let go, then warmed; an isolated machine has one stage and its feed is off."""
    machine = loading.load("vented-dryer")
    given = dict(machine.settings["high heat"]) | {"warmth": "hot"}
    found = settle.stages(machine, conditions.condition(machine, given))
    assert [stage.positions.get("start", "as before") for stage in found] == [
        "untouched",
        "held",
        "untouched",
        "as before",
    ]
    assert [stage.warmth for stage in found] == ["cold", "", "", "hot"]
    (dead,) = settle.stages(machine, conditions.condition(machine, given, isolated=True))
    assert dead.positions["plug"] == "out"
    assert dead.positions["start"] == "untouched"
