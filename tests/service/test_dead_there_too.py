"""Dead is proved where what is wired in lands, whenever that is laid bare, whatever was proved behind other covers."""

from __future__ import annotations

from functools import cache
from itertools import product
from pathlib import Path

import pytest

from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.operate import condition as conditions
from halfsplit.plan import safely, score, taken
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.predict.readings import Probe
from halfsplit.service import repairing, wording
from halfsplit.service.guiding import Guided
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState, to_open
from tests.rehearse.benches import adviser

CASE = Path(__file__).parents[1] / "library" / "cases" / "water-heater-208" / "machine.yaml"
HEATERS = ["water-heater", str(CASE)]
THERE_TOO = (
    "Prove it dead there too (meter proved before and after, on a source known to be live): volts between limit.1, "
    "limit.3"
)


@cache
def behind_covers(name: str) -> tuple[score.Adviser, list[Step]]:
    """One step of each kind, power and set of bays, those that run the machine or are read live among them."""
    asked = adviser(name)
    machine = asked.bench.machine
    found = {(s.kind, s.live, bool(s.condition and s.condition.isolated), bays_needed(machine, s)): s
             for s in asked.steps.usual if not s.asks}  # fmt: skip
    return asked, list(found.values())


def fed(machine: model.Machine) -> set[str]:
    """The bays in which what is wired in lands."""
    return {machine.parts[model.part_of(t)].bay for t in machine.supply.meets} & set(machine.bays)


@pytest.mark.parametrize("name", HEATERS)
def test_two_steps_in_a_row_prove_dead_what_they_lay_bare(name: str) -> None:
    """Over all pairs of steps: whoever opens the supply's bay proves it dead there, in the words and to the automaton,
    also where the machine was proved dead behind another cover; nobody does so twice, or for other bays."""
    asked, offered = behind_covers(name)
    machine, too = asked.bench.machine, 0
    for first, second in product(offered, offered):
        between = taken.after(machine, JobState(), first)
        safe = safely.prepared(machine, safely.begin(machine), JobState(), between, first).state
        done = safely.prepared(machine, safe, between, taken.after(machine, between, second), second)
        bays = bays_needed(machine, second)
        told = wording.sentence(asked.bench.predictor, between, second, bays, done.kinds)
        lays_bare = bool(fed(machine) & set(to_open(machine, between, bays)))
        told_off = "Isolate the machine" in told
        assert (THERE_TOO in told) == (lays_bare and not told_off)
        if lays_bare:
            assert "volts between limit.1, limit.3" in told
            hands = second.condition is None or second.condition.isolated
            assert (Kind.PROVE_DEAD in done.kinds) or not hands
            at = told.index("Open the upper cover"), told.index("rove it dead", told.index("Open the upper cover"))
            assert at[0] < at[1] < told.index("eter at" if second.probe else ".", at[1] + 20)
        too += THERE_TOO in told
    assert too


@pytest.mark.parametrize("name", HEATERS)
def test_a_repair_proves_dead_what_it_lays_bare(name: str) -> None:
    """A repair behind the upper cover, the machine proved dead behind the lower one: there too, before hands go in."""
    asked, _ = behind_covers(name)
    dead = conditions.condition(asked.bench.machine, (), isolated=True)
    read = f.Reading(Probe("ohms", "lower element.1", "lower element.2"), dead, 12.8, text="12.8")
    guided = Guided(asked).told(read)
    for repair, there in (("replace limit", True), ("replace lower thermostat", False)):
        first = repairing.work(guided, [asked.bench.repairs[repair]]).first
        assert [one for one in first if "rove it dead" in one] == [one for one in first if one.startswith(THERE_TOO)]
        assert any(one.startswith(THERE_TOO) for one in first) == there
