"""Nobody leaves a machine running beside open covers with bare live parts behind them: they are closed first."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.machine import library
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import WARMTH
from halfsplit.plan import powering, pricing, safely, taken
from halfsplit.plan.steps import bays_needed
from halfsplit.service import wording
from halfsplit.work import waits
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState, with_fronts
from tests.rehearse.benches import adviser

HEATER = adviser("water-heater")


@pytest.mark.parametrize("name", library.names())
def test_what_takes_minutes_is_watched_with_every_cover_on_bare_parts_closed(name: str) -> None:
    """Over every symptom and every open bay, the machine live or dead: after what takes two minutes or a warmth, no
    cover is off over wired parts but the one behind which it shows; what is quick, or read, leaves covers as they are.
    """
    asked = adviser(name)
    machine, met = asked.bench.machine, {True: 0, False: 0}
    wired = {machine.parts[end.split(".")[0]].bay for wire in machine.wires for end in wire.ends}
    for bay in machine.bays:
        opened = frozenset(with_fronts(machine, (bay,)))
        for dead in (True, False):
            state = JobState(opened, conditions.condition(machine, isolated=dead))
            if not dead and not all(machine.bays[one].runs for one in opened):
                continue
            for step in asked.steps.usual:
                if not powering.powered(machine, step) or step.asks or step.condition is None:
                    continue
                needed = set(with_fronts(machine, bays_needed(machine, step)))
                left = taken.after(machine, state, step).open_bays - needed
                warm = step.condition.position(WARMTH) if machine.warmths else ""
                stood = conditions.condition(machine).position(WARMTH) if machine.warmths else ""
                took = machine.symptoms[step.at].takes if step.kind == "symptom" else 0.0
                long = step.kind == "symptom" and took + waits.waiting(machine, stood, warm, False) >= 2.0
                if long:
                    assert not left & wired
                elif all(machine.bays[one].runs for one in opened) and not powering.parting(machine, state, step):
                    assert left >= opened - needed
                met[long] += 1
    assert all(met.values())


def test_the_covers_go_on_and_off_at_their_price_and_are_told() -> None:
    """240 V bare behind the lower cover, read live a moment ago: isolated, closed and powered before it heats a cold
    tank for 20 minutes, which is said with its reason and costs what isolating and opening again take."""
    machine = HEATER.bench.machine
    step = next(s for s in HEATER.steps.usual if s.at == "water gets hot" and not s.asks)
    live = JobState(frozenset({"lower cover"}), step.condition)
    assert powering.shut_to_run(machine, live, step) == ("lower cover",)
    shut = replace(live, open_bays=frozenset())
    hands, bay = machine.handwork, machine.bays["lower cover"]
    off_and_on = hands.isolate + hands.energise
    here, there = (pricing.plain(machine, state, step) for state in (live, shut))
    assert here.cost.minutes - there.cost.minutes == pytest.approx(off_and_on)
    assert here.whole - here.cost.minutes == pytest.approx(bay.open_minutes + bay.close_minutes)
    done = safely.prepared(machine, safely.begin(machine), live, taken.after(machine, live, step), step)
    kinds = [doing.kind for doing in done.doings]
    assert kinds.index(Kind.ISOLATE) < kinds.index(Kind.CLOSE) < kinds.index(Kind.ENERGISE) < kinds.index(Kind.RUN)
    told = wording.sentence(HEATER.bench.predictor, live, step, (), done.kinds)
    order = ["Isolate the machine", wording.LEFT_OPEN, "Close the lower cover", "bring the power back", "20 min"]
    assert sorted(order, key=told.index) == order
    assert told.count("Take the leads off") == 1


def test_where_leads_are_on_it_a_machine_is_not_left() -> None:
    """A live reading behind the open cover, a tank to be heated for it: somebody stays by, and nothing is closed."""
    machine = HEATER.bench.machine
    live = JobState(frozenset({"lower cover"}), conditions.condition(machine))
    read = [s for s in HEATER.steps.usual if s.live and s.condition and s.condition.position(WARMTH) == "hot tank"]
    assert read
    assert not any(powering.shut_to_run(machine, live, step) for step in read)


def test_covers_stay_on_while_a_tank_is_heated_for_leads_behind_them() -> None:
    """Closed, with the power on, first; then isolated, opened and read, as warm as it is by then, at the same price as
    if heated beside the open cover. Where the cover is off, or nothing has to be heated, nothing comes first."""
    asked, started = HEATER, JobState()
    machine, met = asked.bench.machine, 0
    for step in asked.table.steps:
        if not step.live or step.condition is None or not bays_needed(machine, step):
            continue
        warmth = step.condition.position(WARMTH)
        waited = waits.waiting(machine, "", warmth, False)
        first = powering.first_warm(machine, started, step)
        assert first == (warmth if waited >= powering.LEFT_RUNNING else "")
        text = wording.sentence(asked.bench.predictor, started, step, bays_needed(machine, step))
        if first:
            assert text.startswith(f"First let it come to '{warmth}', some ")
            assert text.index("closed and with the power on.") < text.index("Open the")
            assert text.count(warmth) == 1
        assert pricing.cost_of(machine, started, step).waiting == waited
        met += bool(first)
        opened = replace(started, open_bays=frozenset({"upper cover"}))
        assert not powering.first_warm(machine, opened, step)
    assert met
