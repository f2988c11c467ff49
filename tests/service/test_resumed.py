"""A job that is taken up again from a file: nothing counts as proved any more, and what was found, opened and lifted
stays so; what is told for the next step is priced.
"""

from __future__ import annotations

import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.plan import pricing, safely, taken
from halfsplit.plan.ahead import Ahead
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.service import advising, guiding, repairing, replaying
from halfsplit.service.guiding import Guided
from halfsplit.work import safety
from halfsplit.work.hazards import Kind
from tests.depth import some
from tests.rehearse.benches import NAMES, adviser

HEATER = """
- symptom: {what: water gets hot, value: no}
- reading: {meter: ohms, red: upper element.1, black: upper element.2, lift: [upper element.1], value: 12.8}
"""
HANDS = frozenset({Kind.OHMS, Kind.LOOK, Kind.PROVOKE, Kind.CLOSE, Kind.OPEN, Kind.LIFT, Kind.REFIT, Kind.TURN})
each_machine = pytest.mark.parametrize("name", NAMES)


def heater(text: str = HEATER) -> Guided:
    """A water heater where these findings have led."""
    machine = adviser("water-heater").bench.machine
    return replaying.replayed(adviser("water-heater"), findings_file.read(text, "findings.yaml", machine))


def opened(name: str) -> Guided:
    """A machine that stands isolated and open after a reading of ohms behind the most covers, with a wire off."""
    asked = adviser(name)
    dead = [one for one in asked.steps.usual if one.probe and one.probe.meter == "ohms" and not one.live]
    lifted = [one for one in dead if one.condition and one.condition.lift and not one.condition.provoke]
    step = max(lifted, key=lambda one: len(bays_needed(asked.bench.machine, one)))
    return Guided(asked, (_read(step),))


def prepared(guided: Guided, step: Step) -> safely.Safely:
    """All that is done for a step from where a job stands."""
    before = guided.standing
    safe = advising.safe_so_far(guided.asked, guided.findings)
    return safely.prepared(guided.machine, safe, before, taken.after(guided.machine, before, step), step)


def possible(guided: Guided) -> list[Step]:
    """Every seventh step that can be done from here."""
    allowed = guided.asked.allowed(guided.standing)
    return [step for step, can in zip(guided.asked.steps.usual, allowed, strict=True) if can][::7]


@each_machine
def test_nothing_counts_as_proved_and_all_else_stays(name: str) -> None:
    """Meter, earth, dead and cautions are to be had anew; covers, wires, controls, what was found and what is believed
    are as they were."""
    before, after = opened(name), opened(name).resumed()
    safe = advising.safe_so_far(after.asked, after.findings)
    assert (safe.dead, safe.meter, safe.earth, safe.cautions) == (safety.Dead.UNKNOWN, False, False, frozenset())
    assert advising.safe_so_far(before.asked, before.findings).dead is safety.Dead.PROVED
    assert safe.opened
    assert (before.standing.isolated, after.standing.isolated) == (True, False)
    for part in ("open_bays", "condition", "done", "lifted"):
        assert getattr(before.standing, part) == getattr(after.standing, part)
    assert after.weighed.by_repair == before.weighed.by_repair
    assert after.all_findings == before.all_findings


@each_machine
def test_dead_is_proved_anew_before_hands_and_priced(name: str) -> None:
    """Whatever comes next with hands inside is isolated and proved dead first, which the words say and the price has;
    no step is cheaper than without the break, and one that proves nothing costs the same."""
    before, after = opened(name), opened(name).resumed()
    machine, isolate = after.machine, after.machine.handwork.isolate
    inside = live = 0
    for step in some(possible(after), 60):
        kinds = prepared(after, step).kinds
        assert not kinds & HANDS or step.asks or Kind.PROVE_DEAD in kinds
        cost, was = (pricing.cost_of(machine, one.standing, step) for one in (after, before))
        if Kind.PROVE_DEAD not in kinds:
            assert cost == was
            continue
        assert cost.power >= isolate
        assert cost.minutes > was.minutes - 1e-9
        text = advising.advice_for(after.asked, after.weighed, step).text
        assert "prove it dead" in text.lower()
        inside, live = inside + (not step.live), live + step.live
    assert inside > 10
    assert live or name == "refrigerator"


@each_machine
def test_once_proved_the_job_goes_on_as_ever(name: str) -> None:
    """After the first step with hands inside, state, proofs and prices are those of a job without the break."""
    first = next(
        step for step in possible(opened(name)) if step.kind == "look" and bays_needed(opened(name).machine, step)
    )
    (before, after) = (one.told(f.Look(first.at, "fine")) for one in (opened(name), opened(name).resumed()))
    assert after.standing.isolated
    assert advising.safe_so_far(after.asked, after.findings).dead is safety.Dead.PROVED
    for step in possible(after):
        assert pricing.cost_of(after.machine, after.standing, step) == pricing.cost_of(
            before.machine, before.standing, step
        )


def test_what_hands_do_not_prove_leaves_it_unproved() -> None:
    """A question to the owner changes nothing; neither does a reading that is taken back."""
    asked = heater().resumed().told(f.Perceived("water scalds", False, heater().standing.condition))
    assert not asked.standing.isolated
    back = heater().resumed().undone()
    assert not back.standing.isolated
    assert f.TakenBack(heater().findings[-1]) in back.findings  # type: ignore[arg-type]
    first = guiding.put_together(heater().resumed(), ()).tasks[0]
    assert first.kind == "isolate"
    assert guiding.put_together(heater(), ()).tasks[0].kind != "isolate"


@each_machine
def test_the_planner_counts_it_too(name: str) -> None:
    """In the arrays of many steps ahead what is done dead from here costs isolating more, and once only."""
    before, after = opened(name), opened(name).resumed()
    planner = Ahead(adviser(name))
    was, now = (planner.view(before.weighed, one.standing) for one in (before, after))
    dead = [one for one in was.steps if one in now.steps and one.condition and one.condition.isolated]
    assert dead
    for step in dead:
        places = was.steps.index(step), now.steps.index(step)
        first = [float(one.problem.at(0, 0).test[k]) for one, k in zip((was, now), places, strict=True)]
        assert first[1] - first[0] == pytest.approx(after.machine.handwork.isolate)
        then = [
            float(one.problem.at(0, int(one.problem.test_mode[k])).test[k])
            for one, k in zip((was, now), places, strict=True)
        ]
        assert then[0] == pytest.approx(then[1])


def test_the_repair_is_made_dead_anew() -> None:
    """Where a repair is due at once, isolating comes first and is among its minutes, though the machine stands so."""
    text = HEATER.replace("12.8", "OL")
    due = [one.due for one in (heater(text), heater(text).resumed())]
    assert due[0] == due[1] != ()
    was, now = (repairing.work(one, one.due) for one in (heater(text), heater(text).resumed()))
    assert "prove it dead" in now.first[0]
    assert not any("prove it dead" in one for one in was.first)
    assert now.cost.power == was.cost.power + heater().machine.handwork.isolate
    assert any("upper element" in one and "Photograph" in one for one in now.first)
    assert not any("Photograph upper element" in one for one in was.first)


def test_photographs_are_taken_by_who_works_now() -> None:
    """A wire of a part comes off anew: it is photographed, though the file has another of its wires off before; once
    taken off in this talk it is not photographed again."""
    both, again = (_lifting(*wires) for wires in (("upper element.1", "upper element.2"), ("upper element.1",)))
    told = [_text(one, both) for one in (heater(), heater().resumed())]
    assert ["Photograph upper element" in one for one in told] == [False, True]
    done = heater().resumed().told(_read(both), _read(_lifting()))
    text = _text(done, again)
    assert "Take the wires off upper element.1" in text
    assert "Photograph" not in text


def _lifting(*wires: str) -> Step:
    """Ohms on the water heater with these wires off."""
    return next(
        one
        for one in adviser("water-heater").steps.usual
        if one.condition and one.condition.isolated and one.condition.lift == wires and not one.condition.provoke
    )


def _read(step: Step) -> f.Reading:
    assert step.probe
    assert step.condition
    return f.Reading(step.probe, step.condition, None, text="OL")


def _text(guided: Guided, step: Step) -> str:
    return advising.advice_for(guided.asked, guided.weighed, step).text


def test_a_machine_that_nobody_opened_is_as_it_was() -> None:
    """Where the file holds what an owner told alone, or a machine that runs, nothing is told or priced otherwise."""
    told = heater("- symptom: {what: water gets hot, value: no}")
    assert told.advice is not None
    assert told.resumed().advice is not None
    for step in possible(told)[:40]:
        assert pricing.cost_of(told.machine, told.standing, step) == pricing.cost_of(
            told.machine, told.resumed().standing, step
        )
        assert _text(told, step) == _text(told.resumed(), step)
