"""Why a live step leads and no dead one does, or why a live one waits: told in these two cases, and only there."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import fitting, renewed, score, worth
from halfsplit.plan.ahead import Ahead, Planned
from halfsplit.plan.setups import Setups
from halfsplit.plan.view import Way
from halfsplit.quantity.display import duration
from halfsplit.rehearse import compare, play, trials
from halfsplit.service import advising, meaning
from halfsplit.service.guiding import Guided
from halfsplit.work.refusals import NoOwner
from halfsplit.work.state import JobState
from tests.rehearse.benches import NAMES, adviser, bench

TOLD = """
- symptom: {what: air is warm, value: no}
- symptom: {what: one load dries in time, value: no}
- symptom: {what: drum turns, value: yes}
- symptom: {what: drum turns while start is held, value: yes}
- symptom: {what: air flows at the vent, value: yes, set: {cycle: timed, heat: high, start: pressed}}
- symptom: {what: automatic passes when cold, value: no, set: {cycle: automatic}}
"""
BLOWER = """
- symptom: {what: air is warm, value: no}
- symptom: {what: one load dries in time, value: no}
- symptom: {what: drum turns, value: yes}
- symptom: {what: drum turns while start is held, value: yes}
- symptom: {what: air flows at the vent, value: no, set: {cycle: timed, heat: high, start: pressed}}
- look: {at: lint screen, sees: fine}
- symptom: {what: air is warm, value: no, by: repairer, set: {cycle: timed}}
- symptom: {what: air flows at the vent, value: yes, by: repairer, set: {cycle: timed, heat: high, start: pressed}}
- symptom: {what: automatic passes when cold, value: no, set: {cycle: automatic}}
- look: {at: receptacle, sees: fine}
- reading: {meter: ohms, red: cut-off.1, black: cut-off.2, value: 0.2}
- look: {at: heater, sees: fine}
- reading: {meter: ohms, red: motor.line, black: motor.heat 1, set: {cycle: automatic}, value: 10.9}
- look: {at: blower wheel, sees: broken}
"""
"""A dryer that stays cold. On one a look leads though a live reading tells more a minute; on the other, open by now,
that would lead by an estimate, and the plan says no."""
LIVE, WAITS = "Live, since dead steps would take some ", "A live reading would tell more a minute: it waits "


def found(text: str) -> tuple[f.Finding, ...]:
    """The findings of a text."""
    return tuple(findings_file.read(text, "findings.yaml", bench("vented-dryer").machine))


def dryer() -> Setups:
    """The adviser that leads on the dryer."""
    return Setups(bench("vented-dryer"), adviser("vented-dryer").table)


@pytest.fixture
def in_full(monkeypatch: pytest.MonkeyPatch) -> None:
    """Estimates of one step that come true in full, so that by them a live one leads."""
    monkeypatch.setattr(worth, "COMES_TRUE", 1.0)


def heater_open_under_power() -> tuple[Weighed, JobState]:
    """A water heater that stands open under power: dead steps would take far longer."""
    weighed = bench("water-heater").weigh([f.Perceived("water gets hot", False)], with_pairs=False)
    return weighed, JobState(frozenset(bench("water-heater").machine.bays), refused=frozenset({NoOwner()}))


def told_last(first: advising.Advice, others: list[advising.Advice]) -> worth.Order:
    """What was compared, told by the step that leads alone and last of its reason, as to a program."""
    assert (LIVE if first.live else WAITS) in first.reason
    assert first.reason.endswith("accepted." if first.live else "more.")
    assert others
    assert not any(said in one.reason for one in others for said in (LIVE, WAITS))
    assert advising.as_data(first)["reason"] == first.reason
    assert first.scored is not None
    assert first.scored.order is not None
    return first.scored.order


@pytest.mark.parametrize("text", [TOLD, BLOWER])
def test_why_a_live_reading_waits(text: str, in_full: None) -> None:
    """By an estimate, or by the plan where the estimate would let it lead."""
    first, *others = advising.advise(dryer(), bench("vented-dryer").weigh(found(text)))
    assert not first.live
    order = told_last(first, others)
    assert order.dead is not None
    assert (order.dead - order.quickest > worth.EXCESS) == (text != TOLD)


def left_here(asked: Setups, weighed: Weighed, stands: JobState) -> list[score.Scored]:
    """The steps that fit here, as estimates order them."""
    best = asked.next_steps(weighed, stands, fitting.SPARE)
    return score.Adviser.in_order(asked, weighed, stands, fitting.that_fit(asked, weighed, best))


def test_a_live_step_waits_that_an_estimate_would_let_lead(in_full: None) -> None:
    """The plan that looks many steps ahead has the last word: where one without any live step stands dead steps alone
    are left, the one that it begins with first."""
    weighed = bench("vented-dryer").weigh(found(BLOWER))
    asked, stands = dryer(), advising.standing(dryer(), weighed.findings)
    left = left_here(asked, weighed, stands)
    assert left[0].step.live
    assert Ahead(asked).plan(weighed, stands).bars_live
    ordered = asked.in_order(weighed, stands, left)
    assert [one.step for one in ordered] == [one.step for one in left if not one.step.live]


def test_the_plan_says_which_dead_step_leads(monkeypatch: pytest.MonkeyPatch, in_full: None) -> None:
    """The one that the plan without live steps begins with, where it is among those that fit here; the others follow as
    they were, and one alone holds what was compared. Where the plan has live steps, the live one leads; where it begins
    with a repair that is not sure, as the estimate has it."""
    weighed = bench("vented-dryer").weigh(found(BLOWER))
    asked, stands = dryer(), advising.standing(dryer(), weighed.findings)
    left = left_here(asked, weighed, stands)
    dead = [one.step for one in left if not one.step.live]
    compared = worth.Order(40.0, 35.0, ahead=True)
    stands_alone = Planned(Way(dead[2], 40.0), (), "roll-out", 1, (), compared, bars_live=True)
    monkeypatch.setattr(Ahead, "plan", lambda *_: stands_alone)
    ordered = asked.in_order(weighed, stands, left)
    assert [one.step for one in ordered] == [dead[2], *dead[:2], *dead[3:]]
    assert [one.order for one in ordered] == [compared, *[None] * (len(dead) - 1)]
    unsure = Way(None, 40.0, ("replace heater",))
    lets = (replace(stands_alone, bars_live=False), compared), (replace(stands_alone, way=unsure), left[0].order)
    for plan, order in lets:
        monkeypatch.setattr(Ahead, "plan", lambda *_, plan=plan: plan)
        ordered = asked.in_order(weighed, stands, left)
        assert [one.step for one in ordered] == [one.step for one in left]
        assert ordered[0].order == order


def test_after_a_repair_the_planner_that_is_asked_knows_of_it() -> None:
    """The adviser is renewed by then, with another bench; one bench has one planner."""
    asked = dryer()
    planner = asked.far_sighted(asked.bench)
    assert asked.far_sighted(asked.bench) is planner
    made = renewed.after(asked, found(TOLD), ["replace heater"])
    assert isinstance(made, Setups)
    assert made.far_sighted(made.bench).bench is made.bench is not planner.bench


@pytest.mark.parametrize(("name", "job"), [("water-heater", 4), ("water-heater", 10), ("coil-cooktop", 0)])
def test_in_jobs_a_live_step_leads_only_where_the_plan_does_not_bar_it(name: str, job: int) -> None:
    """Every state that a job passes, asked of a planner of its own; what was compared is more than the excess apart,
    and the sentence holds the numbers."""
    asked, met = Setups(bench(name), adviser(name).table), 0
    planner, advised = Ahead(asked), play.as_advised(asked)

    def choose(weighed: Weighed, state: JobState) -> play.Choice | None:
        nonlocal met
        chosen = advised(weighed, state)
        if chosen and chosen[0].live:
            met += 1
            planned = planner.plan(weighed, state)
            assert not (planned.bars_live and planned.way.step)
            first = fitting.next_steps(asked, weighed, state)[0]
            assert first.order is not None
            assert first.order.dead is not None
            more = first.order.dead - first.order.quickest
            assert more > worth.EXCESS
            assert f"{LIVE}{duration(more)} more" in meaning.danger(first.order, live=True)
        return chosen

    compare.Following(trials.Rehearsal(asked, trials.Asked(asked.bench.machine, 0)), choose).trial(job)
    assert (met > 0) == (name == "water-heater")


def test_the_guide_says_so_too(in_full: None) -> None:
    """`why` at the step shown tells the reason of the advice, and nothing of danger where no live step would be
    quicker."""
    guided = Guided(dryer(), found(BLOWER))
    assert guided.advice is not None
    assert WAITS in guided.advice.reason
    plain = Guided(dryer(), (f.Perceived("drum turns", False),)).advice
    assert plain is not None
    assert not plain.live
    assert LIVE not in plain.reason
    assert WAITS not in plain.reason


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_said_where_danger_has_no_say(name: str) -> None:
    """On every machine, shut or with all bays open: where a step leads that is neither live nor slower than a live one,
    no step holds what was compared; else the first alone."""
    machine = bench(name).machine
    wrong = next(
        symptom for symptom in machine.symptoms if symptom in ("air is warm", "water gets hot", "food is cold")
    )
    weighed = bench(name).weigh([f.Perceived(wrong, False)], with_pairs=False)
    for bays in (frozenset[str](), frozenset(machine.bays)):
        steps = adviser(name).next_steps(weighed, JobState(open_bays=bays), 24)
        quicker = [one for one in steps if one.step.live and one.rate > steps[0].rate]
        assert (steps[0].order is not None) <= (steps[0].step.live or bool(quicker))
        assert not any(one.order for one in steps[1:])


def _three(weighed: Weighed) -> tuple[score.Scored, score.Scored]:
    """A dead and a live reading of the dryer that tell alike, the live one in a tenth of the time."""
    known = adviser("vented-dryer").table.steps
    dead = next(one for one in known if one.kind == "reading" and not one.live)
    live = next(one for one in known if one.live)
    cost = adviser("vented-dryer").prices(weighed, JobState()).of(0)[0]
    spent = replace(cost, itself=20.0, opening=0.0, closing=0.0, power=0.0, cooling=0.0)
    slow = score.Scored(dead, 1.0, spent, 20.0)
    return slow, score.Scored(live, 1.0, replace(spent, itself=2.0), 2.0)


def test_what_was_compared_is_of_who_leads_now() -> None:
    """Of a live step with dead ones beside it, of one without, and gone once another leads; the order is the same."""
    weighed = bench("vented-dryer").weigh([f.Perceived("air is warm", False)], with_pairs=False)
    slow, live = _three(weighed)
    lacking = score.unsure(weighed)
    first, second = score.safest_first(weighed, [live, slow])
    assert (first.step, second.step) == (live.step, slow.step)
    assert first.order == worth.order(slow.settling(lacking), live.settling(lacking))
    assert second.order is None
    (alone,) = score.safest_first(weighed, [live])
    assert alone.order == worth.Order(None, live.settling(lacking))
    (dead,) = score.safest_first(weighed, [replace(slow, order=alone.order)])
    assert dead.order is None
    near = replace(slow, cost=replace(slow.cost, itself=2.5), extra=2.5)
    waits, kept = score.safest_first(weighed, [replace(live, order=alone.order), near])
    assert waits.step == near.step
    assert waits.order == worth.order(near.settling(lacking), live.settling(lacking))
    assert kept.order is None


def test_many_steps_ahead_whole_plans_are_compared() -> None:
    """A water heater that stands open under power: a live step leads, whole plans were compared, and it is told."""
    weighed, stands = heater_open_under_power()
    first, *others = Ahead(adviser("water-heater")).next_steps(weighed, stands, 24)
    assert first.step.live
    assert first.order is not None
    assert first.order.ahead
    assert first.order.dead is not None
    assert first.order.dead - first.order.quickest > worth.EXCESS
    assert not any(one.order for one in others)
    assert LIVE in advising.reason(weighed, first, ())
