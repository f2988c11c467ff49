"""Covers that go on before the job is done, for a run or after the clamp: told with all that was undone behind them."""

from __future__ import annotations

from itertools import islice

import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading
from halfsplit.plan import powering, taken
from halfsplit.service import closing, proof_run, tasks, wording
from halfsplit.work import together
from halfsplit.work.fasteners import fasteners
from halfsplit.work.state import JobState, with_fronts
from halfsplit.work.together import Task
from tests.rehearse.benches import adviser

BEHIND = ("also", "ground", "no bond", "connector", "cover")
"""The tasks by which a bay is closed, whatever the power."""
NAMES = ("vented-dryer", "vented-dryer-3-wire", "water-heater", "refrigerator", "coil-cooktop")


def by_the_list(name: str, bays: tuple[str, ...]) -> list[Task]:
    """How the list for putting together closes these bays."""
    machine = loading.load(name)
    return [one for one in together.closing(machine, together.Undone(bays)).tasks if one.kind in BEHIND]


@pytest.mark.parametrize("name", NAMES)
def test_all_behind_a_cover_is_told_as_the_list_tells_it(name: str) -> None:
    """Each bay with those in front of it: the same tasks in the same order, whether or not the earth is measured."""
    machine = loading.load(name)
    for bay in machine.bays:
        bays = with_fronts(machine, (bay,))
        for earth in (True, False):
            made = together.covers(machine, bays, earth)
            assert [one for one in made if one.kind != "earth"] == by_the_list(name, bays)
            assert [one.kind for one in made].count("earth") == (earth and bool(machine.frame))


def test_a_dryer_is_put_together_for_a_run_with_belt_and_connectors() -> None:
    """From each of its open bays to a run: belt, each connector, each fastener, and what its file says to mind."""
    asked = adviser("vented-dryer")
    machine, predictor = asked.bench.machine, asked.bench.predictor
    open_bays = frozenset(with_fronts(machine, ("drum housing",)))
    dead = next(s for s in asked.steps.usual if s.probe and not s.live)
    state = JobState(open_bays, taken.after(machine, JobState(), dead).condition)
    runs = [s for s in asked.steps.usual if s.kind == "symptom" and powering.shut_to_run(machine, state, s)]
    assert runs
    for step in islice(runs, 5):
        told = wording.sentence(predictor, state, step, ())
        for bay in powering.shut_to_run(machine, state, step):
            held, _ = fasteners(machine.bays[bay].fasteners)
            assert f"Close the {bay}: {', '.join(map(str, held))}." in told
            plugged = (f"Plug the connector of {one} in again, if it is not." for one in machine.bays[bay].unplugs)
            assert all(one in told for one in plugged)
        assert told.index("Belt back on the idler.") < told.index("Close the drum housing")
        assert told.index("Close the drum housing") < told.index("bring the power back")
        minded = tasks.acknowledge(wording.shutting(machine, state, step))
        assert any("fold the drum seal" in one for one in minded)


@pytest.mark.parametrize("name", NAMES)
def test_what_the_clamp_had_open_is_closed_whole(name: str) -> None:
    """Fasteners, ground screws and the frame's bond before the power; what is to be minded comes before it."""
    machine = loading.load(name)
    made = proof_run.of_repairs(Bench(machine), [])
    closed = made.run[0].lines[-1].text
    opened = [bay for bay in machine.bays if f"Close the {bay}" in closed]
    assert opened
    for task in by_the_list(name, tuple(opened)):
        assert tasks.sentence(machine, task) in closed
    assert "below 1 ohm" in closed
    assert closed.index("below 1 ohm") < closed.index("Power last.")
    own = tasks.acknowledge(together.covers(machine, opened, True))
    assert set(own) <= set(made.cautions)


def test_a_cover_that_is_opened_for_ohms_to_the_frame_is_closed_and_counted() -> None:
    """The water heater's upper cover after a repair behind the lower one: opened and closed with its screws,
    counted and among the minutes, the cable's earth measured while it is uncovered."""
    heater = loading.load("water-heater")
    made = closing.closing(heater, findings=[f.Tried("replace lower thermostat", True)])
    kinds = [task["kind"] for task in made["tasks"]]
    covers = [task["at"] for task in made["tasks"] if task["kind"] == "cover"]
    assert covers == ["lower cover", "upper cover"] or covers == ["upper cover", "lower cover"]
    held = [task for task in made["tasks"] if task["kind"] in ("cover", "fasten")]
    counts = [one["count"] for task in held for one in task["fasteners"]]
    assert sum(counts) == sum(one["count"] for one in made["fasteners"])
    assert made["minutes"] == sum(heater.bays[bay].close_minutes for bay in covers)
    told = made["tasks"][kinds.index("insulation")]["text"]
    proved = "prove it dead there too (meter proved before and after, on a source known to be live): volts between"
    ends = "limit.1, limit.3, jacket.metal and the earth conductor of the cable, each pair"
    assert f"open the upper cover (2 x 1/4 in hex), {proved} {ends}; ohms from limit.1" in told
    assert kinds.index("insulation") < kinds.index("earth") < kinds.index("cover")
    assert "the earth conductor of the cable" in made["tasks"][kinds.index("earth")]["text"]
