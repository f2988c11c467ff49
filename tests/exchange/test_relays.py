"""A relay with its twin: two that plug in beside each other change places, and the fault goes with one or stays."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading, twins
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import undoing
from halfsplit.plan.setups import Setups
from halfsplit.rehearse.random_steps import Sessions
from halfsplit.rehearse.truth import Truth, World
from halfsplit.service import advising
from halfsplit.service.guiding import Guided
from halfsplit.work import refusals, together
from halfsplit.work.hazards import Kind
from tests.rehearse.watcher import of_sessions

CABINET = loading.load(str(Path(__file__).parent / "two-relays.yaml"))
PAIR = ("upper relay", "lower relay")
TOLD = (f.Perceived("upper lights", False), f.Perceived("lower lights", True))


@cache
def bench() -> Bench:
    """The bench of the cabinet."""
    return Bench(CABINET)


def beginning() -> Guided:
    """One lamp stays dark, the other lights."""
    return Guided(advising.adviser(bench()), TOLD)


def exchanged() -> Condition:
    """Both switched on, the relays in each other's sockets."""
    return conditions.condition(CABINET, dict(CABINET.settings["both"]), exchange=PAIR)


def test_two_relays_that_plug_in_are_twins() -> None:
    """And their exchange is among the steps."""
    assert twins.twins(CABINET) == (PAIR,)
    steps = [one for one in beginning().asked.table.steps if one.condition and one.condition.exchange]
    assert {one.at for one in steps} >= {"upper lights", "lower lights"}


@pytest.mark.parametrize(
    ("fault", "upper", "lower"),
    [
        ("upper relay: coil open", True, False),
        ("upper relay: contact open", True, False),
        ("upper lamp: burnt out", False, True),
        ("upper switch: 1-2 burnt open", False, True),
    ],
)
def test_the_fault_goes_with_the_relay_or_stays(fault: str, upper: bool, lower: bool) -> None:
    """What then lights, and what is due: the relay where the upper lamp lights now, else not."""
    hidden = next(one for one in bench().faults if one.name == fault)
    exactly = World(spread=0.0, mistaken=0.0)
    machine = Truth(CABINET, hidden, hidden.alternatives[0][1], np.random.default_rng(0), exactly)
    lights = [machine.perceived(what, exchanged(), False) for what in ("upper lights", "lower lights")]
    assert lights == [upper, lower]
    found = [f.Perceived(one, there, exchanged(), "repairer")
             for one, there in zip(("upper lights", "lower lights"), lights, strict=True)]  # fmt: skip
    before = beginning().weighed.by_repair[("replace upper relay",)]
    after = beginning().told(*found).weighed.by_repair[("replace upper relay",)]
    assert after > 0.9 if upper else after < before / 5


def test_who_reads_nothing_is_told_to_exchange_them() -> None:
    """Whoever will do no reading, and cannot open what lies behind: the exchange is among the first steps, and the list
    for putting together has the relays back in their own sockets."""
    guided = beginning()
    readings = {one for one in guided.asked.table.steps if one.kind == "reading"}
    refused = readings | {refusals.CannotOpen("inner panel"), refusals.NoOwner()}
    offered = advising.advise(guided.asked, guided.weighed, refused, count=12)
    steps = [one.step for one in offered if one.step.exchange]
    assert steps
    was = undoing.after(CABINET, [steps[0]])
    assert set(was.exchange) == set(PAIR)
    assert "exchange" in [task.kind for task in together.closing(CABINET, was, "").tasks]


def test_random_sessions_on_relays_are_safe() -> None:
    """Read by the watcher; among them some in which the relays change places."""
    sessions = Sessions(Setups(bench()))
    found, kinds = of_sessions(sessions, seed=3, count=60)
    assert not found
    assert Kind.EXCHANGE in kinds
