"""Sessions of a person whose meter lacks volts or ohms, read by the watcher: nothing is done that only those prove."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from halfsplit.plan import barring, safely
from halfsplit.rehearse.random_steps import Sessions
from halfsplit.work import refusals
from halfsplit.work.hazards import Kind
from tests.rehearse import led_steps
from tests.rehearse.benches import adviser
from tests.rehearse.watcher import Watcher, of_sessions

OHMS = frozenset({refusals.NoMeter("ohms")})
ONE = frozenset({refusals.NoMeter("volts")})
VOLTS = ONE | {refusals.NoMeter("low-impedance volts")}
LACKING = {"ohms": OHMS, "one of the volts": ONE, "volts": VOLTS, "all": OHMS | VOLTS}
COUNT = 60


@cache
def sessions(name: str, lacks: str) -> Sessions:
    """The random sessions of a machine with such a meter."""
    return Sessions(adviser(name), lacks=LACKING[lacks])


@pytest.mark.parametrize("name", ["water-heater", "vented-dryer"])
@pytest.mark.parametrize("lacks", LACKING)
def test_no_random_session_wants_what_the_meter_lacks(name: str, lacks: str) -> None:
    """Without volts no hand is in it and no cover off; with either of them it is proved dead; without ohms no power
    comes back once it was open."""
    found, kinds = of_sessions(sessions(name, lacks), seed=11, count=COUNT)
    assert not found
    inside = {Kind.OPEN, Kind.PROVE_DEAD, Kind.REPAIR}
    assert kinds >= inside if refusals.proving(LACKING[lacks]) else not kinds & {*inside, Kind.OHMS, Kind.LIFT}
    assert {Kind.RUN, Kind.ASK, Kind.LOOK} <= kinds
    assert (Kind.PROVE_BOND in kinds) == (lacks == "one of the volts")


@pytest.mark.parametrize(
    ("lacks", "said"),
    [
        ("ohms", "the frame's bond on a meter that cannot measure it"),
        ("ohms", "power on a machine that was open, its frame not measured"),
        ("volts", "proved dead on a meter without volts"),
    ],
)
def test_the_watcher_sees_what_the_meter_cannot_prove(
    lacks: str, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the meter's lack held against its own readings alone, as it was once."""
    monkeypatch.setattr(barring, "_is_unproved", lambda *_: False)
    monkeypatch.setattr(refusals, "unproved", lambda *_: False)
    monkeypatch.setattr(refusals, "measures", lambda _: said.startswith("the frame"))
    found, _ = of_sessions(Sessions(adviser("water-heater"), lacks=LACKING[lacks]), seed=11, count=COUNT)
    assert said in found


@pytest.mark.parametrize("lacks", ["ohms", "volts"])
def test_the_guide_leads_around_what_the_meter_lacks(lacks: str) -> None:
    """To the repair and its proof run, or to where it hands over: without ohms repaired and not powered, without volts
    never opened."""
    asked, repairs, steps = adviser("water-heater"), 0, 0
    made = led_steps.Sessions(asked, led_steps.Person(lacks=LACKING[lacks]))
    for number in range(12):
        watcher = Watcher(asked.bench.machine, safely.facts(asked.bench.machine).capacitor)
        for state, step, done in made.session(np.random.default_rng([12, number])):
            assert not set(watcher.reads(step, done.doings, state.refused))
            repairs += Kind.REPAIR in done.kinds
            steps += step is not None
    assert steps > 10
    assert bool(repairs) == (lacks == "ohms")
