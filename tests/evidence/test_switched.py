"""A breaker that was switched off to isolate a machine is a breaker that was reset: what is read later says so."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence import switched
from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.machine import model
from halfsplit.operate.condition import condition, usual
from halfsplit.plan import shown
from halfsplit.plan.steps import Step
from halfsplit.predict.candidates import pair
from halfsplit.predict.readings import Probe
from tests.rehearse.benches import bench

RESET = "breaker: switch fully off and on"
HALF = "breaker: half-tripped, L1 dead"
BURNT = "breaker: pole L1 burnt"
FEED = Probe("volts", "limit.1", "limit.3")
ACROSS = Probe("ohms", "limit.1", "limit.3")
COLD = f.Perceived("water gets hot", False)


def belief(weighed: Weighed) -> dict[str, float]:
    """The probability of each single fault."""
    return {"".join(one.faults): one.probability for one in weighed.ranked()}


def volts(machine: model.Machine, value: float) -> f.Reading:
    """The volts that come in, under power."""
    return f.Reading(FEED, condition(machine), value, step=0.1, text=f"{value} V")


def ohms(machine: model.Machine) -> f.Reading:
    """Ohms across both legs, isolated."""
    return f.Reading(ACROSS, condition(machine, isolated=True), 13.0, step=0.1, text="13.0")


def test_full_volts_speak_against_a_tripped_breaker_only_while_nobody_has_switched_it() -> None:
    """Read first, they clear the breaker; read after it was off to isolate, they do not."""
    heater = bench("water-heater")
    found: list[f.Finding] = [COLD, ohms(heater.machine)]
    begun = belief(heater.weigh(found))[HALF]
    first = belief(heater.weigh([COLD, volts(heater.machine, 240.0)]))
    later = belief(heater.weigh([*found, volts(heater.machine, 240.0)]))
    assert first.get(HALF, 0.0) < 0.001
    assert later[HALF] > begun


def test_a_dead_feed_after_it_was_switched_is_no_half_tripped_breaker() -> None:
    """What switching would have mended is not what is wrong: the utility's lost leg is."""
    heater = bench("water-heater")
    found = belief(heater.weigh([COLD, ohms(heater.machine), volts(heater.machine, 0.0)]))
    assert found.get(HALF, 0.0) < 0.01 < found["service: leg L1 lost"]


def test_what_a_reading_would_show_is_told_of_the_breaker_as_it_is_now() -> None:
    """0 V is a likely outcome before the machine was isolated; afterwards no tripped breaker shows it."""
    heater = bench("water-heater")
    step = Step("reading", condition(heater.machine), FEED, places=("limit.1", "limit.3"))
    dead = []
    for isolated in ((), (ohms(heater.machine),)):
        weighed = heater.weigh([COLD, *isolated])
        rows = [row for row, v in enumerate(weighed.candidates.variants) if _name(heater, v.faults) == HALF]
        low = [one for one in shown.outcomes(weighed, step) if one.kind == "range" and one.high < 60.0]
        dead.append(sum(float(one.jointly[rows].sum()) for one in low) / belief(weighed)[HALF])
    assert dead[0] > 0.9
    assert dead[1] < 0.01


def _name(known: Bench, faults: tuple[int, ...]) -> str:
    return "".join(known.faults[one].name for one in faults)


def test_an_owner_tells_of_the_weeks_before() -> None:
    """Asked after the machine was isolated, they speak of the breaker as it was."""
    heater = bench("water-heater")
    asked = f.Perceived("water gets hot", False, usual(heater.machine), "owner")
    isolated = ohms(heater.machine)
    assert belief(heater.weigh([isolated, asked])) == pytest.approx(belief(heater.weigh([asked, isolated])))
    seen = f.Perceived("water gets hot", False, usual(heater.machine), "repairer")
    assert belief(heater.weigh([isolated, seen])).get(HALF, 0.0) < belief(heater.weigh([isolated, asked]))[HALF] / 10


@pytest.mark.parametrize(
    ("name", "at"), [("water-heater", {"breaker": "off"}), ("vented-dryer", {"breaker": "off"}), ("vented-dryer", {})]
)
def test_the_handle_is_found_from_the_machine(name: str, at: dict[str, str]) -> None:
    """A plug that is out resets nothing; a breaker that stands off does, and so does isolating at it."""
    known = bench(name)
    found = f.Perceived("breaker trips", False, condition(known.machine, at), "repairer")
    made = switched.mended(known.machine, known.repairs.values(), [found])
    assert made == ({RESET} if at else set())
    apart = switched.mended(known.machine, known.repairs.values(), [], isolated=True)
    assert apart == ({RESET} if known.machine.supply.hard_wired else set())


def test_of_two_faults_the_other_is_left() -> None:
    """A half-tripped breaker beside an open element leaves the element; a burnt pole stays what it is."""
    known = bench("water-heater").singles
    row = {known.faults[v.faults[0]].name: s for s, v in reversed(list(enumerate(known.variants))) if v.faults}
    both = known.also([pair(known.variants[row[HALF]], known.variants[row["upper element: open"]])])
    left = switched.left(both, frozenset({RESET}))
    assert left[-1] == row["upper element: open"]
    assert left[row[HALF]] == 0
    assert left[row[BURNT]] == row[BURNT]
    assert np.array_equal(left[left], left)
