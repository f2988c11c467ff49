"""Covers that take two people, where nobody is there to help: what lies open behind one is free, and it stays open."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from halfsplit.machine import loading
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.plan import barring, powering, pricing, safely, score, taken
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.service import refusing
from halfsplit.work import refusals
from halfsplit.work.state import JobState, with_fronts
from tests.rehearse import benches
from tests.rehearse.watcher import Watcher

FILE = Path(__file__).parent / "heavy-dryer.yaml"
MACHINE = loading.load(str(FILE))
OPENED = frozenset({"top", "drum space", "drum housing"})
ALONE = frozenset({refusals.NoHelper()})
STANDS = JobState(OPENED, conditions.condition(MACHINE, isolated=True), ALONE)


def asked() -> score.Adviser:
    """The adviser of the dryer."""
    return benches.adviser(str(FILE))


def dangers(step: Step) -> set[str]:
    """What the watcher says of a step that is done from where the front is off, by one who is alone."""
    watcher, safe = Watcher(MACHINE, False), safely.begin(MACHINE)
    dead = JobState(frozenset(), None)
    opening = Step("look", at="motor", places=("motor",))
    then = taken.after(MACHINE, dead, opening)
    made = safely.prepared(MACHINE, safe, dead, then, opening)
    assert not list(watcher.reads(opening, made.doings))
    stands = replace(then, refused=ALONE)
    done = safely.prepared(MACHINE, made.state, stands, taken.after(MACHINE, stands, step), step)
    return set(watcher.reads(step, done.doings, ALONE))


def offered(state: JobState) -> Iterator[Step]:
    """The steps that nothing bars."""
    yield from (step for step in asked().steps.usual if not barring.bars(MACHINE, state, step))


def test_what_lies_open_behind_a_heavy_cover_is_free() -> None:
    """Dead readings behind the open front are offered to who is alone, as to two; nothing behind a heavy cover that is
    on still."""
    at_motor = [step for step in offered(STANDS) if "drum housing" in bays_needed(MACHINE, step) and not step.live]
    both = list(offered(replace(STANDS, refused=frozenset())))
    assert at_motor
    assert len(at_motor) == len([
        step for step in both
        if "drum housing" in bays_needed(MACHINE, step) and "heater can" not in bays_needed(MACHINE, step)
        and not step.live
    ])  # fmt: skip
    assert not [step for step in offered(STANDS) if "heater can" in bays_needed(MACHINE, step)]
    closed = replace(STANDS, open_bays=frozenset())
    assert not [s for s in offered(closed) if "drum space" in with_fronts(MACHINE, bays_needed(MACHINE, s))]


def test_who_is_alone_closes_no_heavy_cover_for_a_run() -> None:
    """A step for which the open front would have to go on is barred, and offered "nobody to help"; the watcher finds
    every one of those, had it been done, and none of what is offered."""
    both = replace(STANDS, refused=frozenset())
    shut = [s for s in offered(both) if "drum space" in powering.shut_to_run(MACHINE, both, s)]
    assert shut
    for step in shut[::7]:
        assert barring.bars(MACHINE, STANDS, step)
        assert refusals.NoHelper() in [one.refused for one in refusing.of_step(MACHINE, both, step)]
        assert "closed alone though it takes two: drum space" in dangers(step)
    for step in list(offered(STANDS))[::15]:
        assert not [one for one in dangers(step) if "alone" in one]


def test_a_repair_behind_an_open_heavy_cover_is_ours() -> None:
    """It is handed over where a heavy cover is still on, or where the work itself takes two."""
    known = listing.repairs(MACHINE)
    motor, cut_off = known["replace motor"], known["replace cut-off"]
    assert not pricing.handed_over(MACHINE, STANDS, motor)
    assert pricing.handed_over(MACHINE, STANDS, cut_off)
    assert pricing.handed_over(MACHINE, replace(STANDS, open_bays=frozenset()), motor)
    assert pricing.handed_over(MACHINE, STANDS, replace(motor, people=2))
