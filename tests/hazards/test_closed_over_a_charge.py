"""Covers that go on over a charge after the machine was under power: discharged before, told, priced, and watched."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading, model
from halfsplit.operate import condition as conditions
from halfsplit.plan import pricing, safely, taken
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.service import wording
from halfsplit.work import safety
from halfsplit.work.hazards import CAUTIONS, Hazard, Kind
from halfsplit.work.state import JobState
from tests.rehearse.watcher import Watcher

TEXT = (Path(__file__).parent / "capacitor-start-fan.yaml").read_text("utf-8")
OWN = ("motor.C", "motor.R")


@pytest.fixture(scope="module")
def fan(tmp_path_factory: pytest.TempPathFactory) -> model.Machine:
    """The fan with something that takes its time to be seen, for which no cover stays off over live parts."""
    place = tmp_path_factory.mktemp("fan") / "slow-fan.yaml"
    slow = 'running: [motor], takes: 5 min, ask: "Does it still turn after five minutes?"'
    text = TEXT.replace("  fan hums:", f"  fan keeps turning: {{{slow}}}\n  fan hums:")
    place.write_text(text, "utf-8")
    return loading.load(str(place))


def course(fan: model.Machine) -> Iterator[tuple[JobState, Step, safely.Safely]]:
    """Volts across the motor, its room open; then the run with the covers on."""
    at = conditions.condition(fan, {"selector": "fan"})
    state, safe = JobState(), safely.begin(fan)
    volts = Step("reading", at, Probe("volts", *OWN), places=OWN)
    for step in (volts, Step("symptom", at, at="fan keeps turning")):
        then = taken.after(fan, state, step)
        done = safely.prepared(fan, safe, state, then, step)
        yield state, step, done
        state, safe = then, done.state


def test_it_is_discharged_before_hands_close_a_cover_over_it(fan: model.Machine) -> None:
    """Isolated, proved dead, discharged once, then both covers; the words, the caution and the price have it."""
    _, (state, step, done) = course(fan)
    kinds = [doing.kind for doing in done.doings]
    assert kinds.count(Kind.DISCHARGE) == 1
    assert kinds.index(Kind.PROVE_DEAD) < kinds.index(Kind.DISCHARGE) < kinds.index(Kind.CLOSE)
    assert ": ".join(CAUTIONS[Hazard.CHARGE]) in done.cautions
    told = wording.sentence(Bench(fan).predictor, state, step, (), done.kinds)
    wanted = ("prove it dead", "Discharge start capacitor", "Close the motor room", "bring the power back")
    places = [told.find(one) for one in wanted]
    assert -1 not in places, told
    assert places == sorted(places)
    cost = pricing.cost_of(fan, state, step)
    assert cost.discharging == pytest.approx(fan.handwork.discharge + 20 / 60)
    assert cost.power >= fan.handwork.isolate + fan.handwork.energise


def test_the_watcher_sees_a_cover_closed_over_a_charge(fan: model.Machine, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where closing needs nothing discharged."""

    def dangers() -> list[str]:
        watcher = Watcher(fan, True)
        return [danger for _, step, done in course(fan) for danger in watcher.reads(step, done.doings)]

    assert not dangers()
    monkeypatch.setitem(safety.NEEDS, Kind.CLOSE, safety.NEEDS[Kind.CLOSE]._replace(discharged=False))
    assert any(danger.startswith("a cover closed over a charge") for danger in dangers())
