"""What is said of live parts, and of the meter, stands where a lead comes to them or a cover is off, nowhere else."""

from __future__ import annotations

import pytest

from halfsplit.machine import library
from halfsplit.operate import condition as conditions
from halfsplit.plan import powering, safely, taken
from halfsplit.plan.safely import Safely
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.service import isolating, wording
from halfsplit.work.hazards import CAUTIONS, PROVING_DEAD, Hazard, Kind
from halfsplit.work.state import JobState, with_fronts
from tests.rehearse.benches import adviser

LIVE, DEAD = "{}: {}".format(*CAUTIONS[Hazard.LIVE]), "{}: {}".format(*PROVING_DEAD)


def taken_by(asked: Adviser, state: JobState, safe: Safely | None, step: Step) -> tuple[str, JobState, Safely]:
    """A step in words, how the machine stands after it, and all that is done."""
    machine = asked.bench.machine
    after = taken.after(machine, state, step)
    done = safely.prepared(machine, safe.state if safe else safely.begin(machine), state, after, step)
    return wording.sentence(asked.bench.predictor, state, step, bays_needed(machine, step), done.kinds), after, done


@pytest.mark.parametrize("name", library.names())
def test_the_meter_is_proved_before_the_first_live_reading(name: str) -> None:
    """Every live reading as the first thing of a job: the meter is proved first, on what is known to be live or to
    prove the machine dead; read once more in the same state of power, nothing of it is said again."""
    asked = adviser(name)
    read = [step for step in asked.steps.usual if step.live]
    said = 0
    for step in read:
        told, state, done = taken_by(asked, JobState(), None, step)
        assert (wording.METER_FIRST in told) != (isolating.PROVED in told)
        if wording.METER_FIRST in told:
            assert told.index(wording.METER_FIRST) < told.casefold().index("meter at")
        again, _, _ = taken_by(asked, state, done, step)
        assert wording.METER_FIRST not in again
        said += wording.METER_FIRST in told
    assert said or all(bays_needed(asked.bench.machine, step) for step in read)


@pytest.mark.parametrize("name", library.names())
def test_a_closed_machine_is_run_without_a_word_of_live_parts(name: str) -> None:
    """Every run with all covers on, as the owner left it and with the power brought back: no probe, no open cover, no
    such caution; a live reading right after it has it."""
    asked = adviser(name)
    machine = asked.bench.machine
    read = next(step for step in asked.steps.usual if step.live)
    for state in (JobState(), JobState(condition=conditions.condition(machine, isolated=True))):
        for step in asked.steps.usual:
            if step.kind != "symptom" or step.asks or not powering.powered(machine, step) or bays_needed(machine, step):
                continue
            _, after, done = taken_by(asked, state, None, step)
            if done.kinds & {Kind.TURN, Kind.EXCHANGE}:
                continue
            assert {LIVE, DEAD}.isdisjoint(done.cautions)
            assert LIVE in taken_by(asked, after, done, read)[2].cautions


@pytest.mark.parametrize("name", library.names())
def test_beside_an_open_cover_live_parts_are_minded(name: str) -> None:
    """The power brought back beside an open cover to look on: live parts; a cover put on first, the machine live until
    then: what is said of live parts until it is proved dead."""
    asked = adviser(name)
    machine, seen = asked.bench.machine, {Kind.WATCH: 0, Kind.RUN: 0}
    for bay in machine.bays:
        opened = frozenset(with_fronts(machine, (bay,)))
        if not all(machine.bays[one].runs for one in opened):
            continue
        for dead in (True, False):
            state = JobState(opened, conditions.condition(machine, isolated=dead))
            begun = safely.begin(machine)._replace(opened=True, live=(not dead,) * len(machine.supply.isolates))
            for step in asked.steps.usual:
                if step.kind != "symptom" or step.asks or not powering.powered(machine, step):
                    continue
                after = taken.after(machine, state, step)
                done = safely.prepared(machine, begun, state, after, step)
                kind = Kind.WATCH if after.open_bays else Kind.RUN
                assert kind in done.kinds
                if kind is Kind.WATCH:
                    assert LIVE in done.cautions
                    assert any(caution.startswith("WARNING: The machine may start") for caution in done.cautions)
                elif not dead:
                    assert DEAD in done.cautions
                    assert LIVE not in done.cautions
                seen[kind] += 1
    assert all(seen.values()) or name == "coil-cooktop"
