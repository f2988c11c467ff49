"""A step that wants heat is not advised on a machine that was found to stay cold."""

from __future__ import annotations

from halfsplit.evidence import finding as f
from halfsplit.operate.condition import condition
from halfsplit.plan import fitting, score
from halfsplit.plan.steps import QUESTION
from halfsplit.service import advising
from halfsplit.work import warms
from tests.rehearse.benches import guide


def healthy(name: str) -> tuple[warms.Shows, score.Adviser]:
    """What the healthy machine shows, and its adviser."""
    adviser = guide(name)
    return fitting.healthy(adviser), adviser


def test_a_cold_dryer_is_not_asked_to_get_hot() -> None:
    """Neither by the rule nor in what is advised; the same condition is fine where nothing says it stays cold."""
    shows, adviser = healthy("vented-dryer")
    machine = adviser.bench.machine
    cold = [f.Perceived("drum turns", True), f.Perceived("air is warm", False)]
    hot = condition(machine, {"cycle": "automatic", "warmth": "hot"})
    assert not warms.can_be_met(machine, cold, hot, shows)
    assert warms.can_be_met(machine, cold[:1], hot, shows)
    advised = advising.advise(adviser, adviser.bench.weigh(cold))
    assert len(advised) == advising.COUNT
    assert all(
        "hot" not in str(one.step.condition and dict(one.step.condition.setting).get("warmth")) for one in advised
    )


def test_air_only_staying_cold_says_nothing_is_wrong_with_the_heat() -> None:
    """A symptom that is rightly absent on AIR ONLY, and heat that ends when hot, are not a machine that stays cold."""
    shows, adviser = healthy("vented-dryer")
    for what in ("keeps heating when hot", "air only is warm", "one load dries in time"):
        assert not warms.stays_cold(adviser.bench.machine, [f.Perceived(what, False)], shows)


def test_no_heat_where_a_healthy_machine_gives_none_says_nothing() -> None:
    """Cool air on AIR ONLY, looked for in that setting, is no machine that stays cold; on HIGH it is."""
    shows, adviser = healthy("vented-dryer")
    machine = adviser.bench.machine
    for setting, cold in (("air only", False), ("high heat", True)):
        found = f.Perceived("air is warm", False, condition(machine, machine.settings[setting]), "repairer")
        assert warms.stays_cold(machine, [found], shows) is cold


def test_nobody_feels_a_small_heater_in_a_machine_that_stays_cold() -> None:
    """Whether LOW was milder than HIGH is not asked of a cold dryer; where nothing says that it stays cold, it is. What
    a large heater does can be told of any."""
    shows, adviser = healthy("vented-dryer")
    machine, cold = adviser.bench.machine, [f.Perceived("air is warm", False)]
    for what, small in (("low heat is milder", True), ("air only is warm", False), ("motor hums", False)):
        assert warms.can_be_felt(machine, cold, what, shows) is not small
        assert warms.can_be_felt(machine, [], what, shows)
    question = next(q for q in adviser.table.steps if q.kind == QUESTION and q.at == "low heat is milder")
    assert not fitting.fits(adviser, cold, question)
    assert fitting.fits(adviser, [f.Perceived("drum turns", True)], question)


def test_a_refrigerator_gets_colder_without_heat() -> None:
    """Colder than rest needs no heater."""
    shows, adviser = healthy("refrigerator")
    machine = adviser.bench.machine
    found = [f.Perceived("frost melts in defrost", False)]
    assert warms.can_be_met(machine, found, condition(machine, {"warmth": "cold"}), shows)
