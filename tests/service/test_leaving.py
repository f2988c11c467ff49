"""The work ends where it costs more than it is worth and where the complaint does not show, or goes on all the same."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.errors import Refused
from halfsplit.evidence import finding as f
from halfsplit.evidence.well import shows_nothing_wrong
from halfsplit.machine.handwork import Handwork
from halfsplit.operate import condition as conditions
from halfsplit.plan.steps import Step
from halfsplit.rehearse.truth import Truth, answer
from halfsplit.service import advising, diagnosing, following, leaving
from halfsplit.service.guiding import Guided
from halfsplit.service.leaving import NOT_REPRODUCED, NOT_WORTH_IT, WHATEVER, Limits
from halfsplit.work import prices
from tests.rehearse.benches import adviser, bench

HEATER = bench("water-heater").machine
LEAKS = (f.Perceived("water on the floor", True), f.Look("drain valve", "fine"), f.Look("tank", "wet"))
USUAL = conditions.usual(HEATER)
OFF = conditions.condition(HEATER, {"breaker": "off"})
COLD = f.Perceived("water gets hot", False)


def leaking(worth: float | None) -> Guided:
    """A tank that leaks, its water seen with the breaker off, for an owner who would spend so much."""
    guided = Guided(adviser("water-heater"), limits=Limits(worth))
    for found in LEAKS:
        guided = guided.told(found)
    return guided.breaker_off()


# ---- not worth it ------------------------------------------------------------------------------------------


def test_a_repair_costs_its_parts_and_all_the_work_on_it() -> None:
    """Two repairs behind one cover open it once; the price is that of the file and of the hours."""
    known = bench("water-heater").repairs
    one, other = known["replace upper element"], known["replace upper thermostat"]
    cover = HEATER.bays["upper cover"]
    assert one.bays == other.bays == ("upper cover",)
    opening = cover.open_minutes + cover.close_minutes + HEATER.handwork.isolate
    work = one.minutes + other.minutes + opening + prices.PROOF
    expected = one.price + other.price + work * Handwork().hourly / 60
    assert leaving.costs(bench("water-heater"), [one.name, other.name]) == pytest.approx(expected)


def test_what_costs_more_than_it_is_worth_ends_the_work_with_its_price() -> None:
    """A tank that leaks, for an owner who would spend 300: the stop says what it costs; nothing is due."""
    guided = leaking(300.0)
    advice = guided.advice
    assert advice is not None
    assert (advice.step.kind, advice.rule) == (advising.STOP, NOT_WORTH_IT)
    cost = leaving.costs(bench("water-heater"), ["tank: replace the whole appliance"])
    assert f"about {cost:.0f} {HEATER.currency}" in advice.reason
    assert "would spend 300 at most" in advice.reason
    assert guided.due == ()
    assert guided.leaves


def test_what_is_due_is_not_known_where_any_would_cost_too_much() -> None:
    """`enough` beside that stop: known where one set of repairs is sure, not where it need not be known which is."""
    unsure = diagnosing.diagnose(HEATER, [COLD], limits=Limits(5.0))["enough"]
    assert (unsure["known"], unsure["sure"]) == (False, False)
    sure = diagnosing.diagnose(HEATER, leaking(None).findings, limits=Limits(300.0))["enough"]
    assert (sure["known"], sure["sure"]) == (True, True)


@pytest.mark.parametrize("worth", [None, 5000.0])
def test_what_is_worth_it_goes_on(worth: float | None) -> None:
    """Without a limit, and below it, the same job goes on as ever."""
    advice = leaking(worth).advice
    assert advice is None or advice.rule == ""


def test_whichever_dear_repair_it_is_need_not_be_known() -> None:
    """Where every repair costs more than the owner would spend, not a single step is worth it."""
    told = bench("water-heater").weigh([COLD])
    assert max(told.by_repair.values()) < 0.5
    (step,) = advising.advise(adviser("water-heater"), told, limits=Limits(5.0))
    assert step.rule == NOT_WORTH_IT


def test_the_owner_may_want_it_all_the_same() -> None:
    """Anyway: the stop is passed over for the rest of the job, and that is taken back like anything else."""
    guided = leaking(300.0)
    after = guided.anyway()
    assert after.advice is None or after.advice.rule == ""
    assert after.undone() is guided
    with pytest.raises(Refused, match="passed over"):
        after.anyway()


def test_a_danger_is_not_passed_over() -> None:
    """Water on the floor waits for the breaker, whatever the owner would spend."""
    wet = Guided(adviser("water-heater"), LEAKS[:1], limits=Limits(300.0))
    assert wet.wet
    assert not wet.may_go_on
    with pytest.raises(Refused):
        wet.anyway()


def test_diagnose_stops_too() -> None:
    """As data: one step, of the kind stop."""
    findings = leaking(None).findings
    (step,) = diagnosing.diagnose(HEATER, findings, limits=Limits(300.0))["next"]
    assert step["kind"] == "stop"
    assert step["cautions"] == [f"NOTICE: {NOT_WORTH_IT}."]
    assert all(one["kind"] != "stop" for one in diagnosing.diagnose(HEATER, findings, limits=Limits(5000.0))["next"])


# ---- not reproduced ----------------------------------------------------------------------------------------


def seen(what: str, there: bool) -> f.Perceived:
    """Perceived by the repairer, as the machine is usually run."""
    return f.Perceived(what, there, USUAL, "repairer")


@pytest.mark.parametrize(
    ("findings", "nothing_wrong"),
    [
        ([COLD], False),
        ([COLD, seen("water gets hot", False)], False),
        ([COLD, seen("water gets hot", True)], True),
        ([COLD, seen("water gets hot", True), f.Look("upper element", "burnt")], False),
        ([COLD, f.Perceived("turns lukewarm soon", True), seen("water gets hot", True)], False),
        ([seen("water gets hot", True)], False),
        ([COLD, f.Perceived("water gets hot", False, OFF, "repairer")], False),
    ],
    ids=[
        "not looked for", "it shows", "it does not", "something else is wrong", "one of two", "no complaint",
        "with the breaker off",
    ],
)
def test_nothing_wrong_shows_where_the_complaint_was_looked_for_in_vain(
    findings: list[f.Finding], nothing_wrong: bool
) -> None:
    """All that was complained of, and nothing else that a fault makes ten times likelier. What was put together or
    taken back in between tells nothing of that."""
    assert shows_nothing_wrong(bench("water-heater").weigh(findings)) == nothing_wrong
    burnt = f.TakenBack(f.Look("upper element", "burnt"))
    between = [found for one in findings for found in (f.Closed(True), burnt, one)]
    assert shows_nothing_wrong(bench("water-heater").weigh(between)) == nothing_wrong


def test_a_complaint_that_never_shows_ends_in_a_stop_that_says_so() -> None:
    """A healthy machine, led by the guide: it ends as not reproduced, with nothing bought, and may be gone on with."""
    guided = Guided(adviser("water-heater"), (COLD,))
    for _ in range(40):
        advice = guided.advice
        assert advice is not None
        if advice.rule:
            break
        guided = guided.told(healthy_answer(guided, advice.step))
    assert guided.advice is not None
    assert guided.advice.rule == NOT_REPRODUCED
    assert guided.due == ()
    going_on = guided.anyway()
    assert going_on.advice is None or going_on.advice.rule == ""
    on_paper = following.as_data(following.plan(Guided(adviser("water-heater"), guided.findings)))
    assert on_paper["kind"] == "stop"
    assert NOT_REPRODUCED in on_paper["cautions"][0]


def healthy_answer(guided: Guided, step: Step) -> f.Finding:
    """What the healthy machine shows."""
    truth = Truth(guided.machine, None, (), np.random.default_rng(2))
    return answer(truth, step)


def test_no_limit_is_the_usual() -> None:
    """Nothing is too dear, and every rule holds."""
    assert Limits(None, frozenset()) == WHATEVER
