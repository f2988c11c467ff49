"""What is left where the plan on paper leaves a job: its order, its probabilities, and what is not on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import pytest

from halfsplit.evidence import finding as f
from halfsplit.operate import condition as conditions
from halfsplit.plan import pricing, whole, worth
from halfsplit.plan.shown import Outcome
from halfsplit.predict.readings import Probe
from halfsplit.service import after_repair, following, off_the_sheet, refusing, repairing, replaying
from halfsplit.service.following import Plan
from halfsplit.service.guiding import Guided
from halfsplit.service.off_the_sheet import Way
from halfsplit.work import stopping
from halfsplit.work.hazards import STOPS
from halfsplit.work.refusals import NoMeter
from tests.rehearse.benches import adviser
from tests.service.test_following import TOLD

LEAST = 0.02
each_machine = pytest.mark.parametrize("name", ["water-heater", "refrigerator"])


@cache
def plan(name: str) -> Plan:
    """The plan of a machine's commonest complaint."""
    return following.plan(Guided(adviser(name), TOLD[name]), LEAST)


@cache
def ways(name: str) -> tuple[Way, ...]:
    """The ways off it."""
    return tuple(off_the_sheet.ways(plan(name), LEAST))


def in_turn(guided: Guided, made: set[str]) -> Iterator[tuple[str, ...]]:
    """The rule, slowly: again and again the likeliest of what is left where that is sure or not ours, else the one of
    ours with the most probability for its price."""
    machine, state, known = guided.machine, guided.standing, guided.bench.repairs
    left = {names: p for names, p in guided.weighed.by_repair.items() if not made.issuperset(names)}
    while left:
        likeliest = max(left, key=lambda names: left[names])
        ours = [x for x in left if not pricing.handed_over(machine, state, *(known[one] for one in x))]
        if left[likeliest] < worth.SURE and likeliest in ours:
            prices = {x: pricing.repair_price(machine, state, *(known[one] for one in x)) for x in ours}
            likeliest = max(ours, key=lambda names: left[names] / prices[names])
        yield likeliest
        made = made | set(likeliest)
        left = {names: p for names, p in left.items() if not made.issuperset(names)}


def test_what_is_left_stands_in_the_order_in_which_it_is_made() -> None:
    """By probability to price, the likeliest first where that is not ours; first what the guide would make first. That
    is not the order of probability everywhere."""
    by_probability = []
    for way in (*ways("water-heater"), *ways("refrigerator")):
        guided, found = way.guided, off_the_sheet.left(way)
        cures = [guided.weighed.cures(names) for names in found]
        assert all(one >= off_the_sheet.LEAST for one in cures)
        if guided.made_first[0] and guided.weighed.cures(guided.made_first[0]) >= off_the_sheet.LEAST:
            assert found[0] == guided.made_first[0]
        likely = (
            names
            for names in in_turn(guided, guided.made)
            if guided.weighed.cures(names) >= off_the_sheet.LEAST and guided.made.isdisjoint(names)
        )
        expected = [names for names, _ in zip(likely, range(off_the_sheet.MOST), strict=False)]
        assert found == (expected if guided.made_first[0] or way.in_vain else [])
        by_probability.append(cures == sorted(cures, reverse=True))
    assert not all(by_probability)


@each_machine
def test_probabilities_are_those_of_the_same_findings(name: str) -> None:
    """An outcome put among the findings and weighed; after repairs in vain as a file of findings is weighed that says
    so, and that what was complained of is there still."""
    asked, boxes = adviser(name), {box.number: box for box in plan(name).walk()}
    seen = set()
    for way, told in zip(ways(name), off_the_sheet.as_data(plan(name), LEAST), strict=True):
        found = boxes[way.box].findings
        if way.in_vain:
            tried = [f.Tried(one, False) for one in way.in_vain]
            still = [x for x in way.guided.findings if isinstance(x, f.Perceived) and x.by == "repairer"]
            assert {(x.what, x.there) for x in still} >= {(x.what, x.there) for x in TOLD[name] if not x.there}
            weighed = replaying.replayed(asked, (*found, *tried, *still)).weighed
        else:
            outcomes = [one.outcome.finding for one in boxes[way.box].ways if one.then is None]
            assert way.guided.findings[-1] in outcomes
            weighed = asked.bench.weigh((*found, way.guided.findings[-1]))
        for names, one in zip(off_the_sheet.left(way), told["repairs"], strict=True):
            assert one["name"] == " and ".join(names)
            assert one["probability"] == pytest.approx(weighed.cures(names), abs=1e-9)
        assert sum(one["probability"] for one in told["repairs"]) + told["all_else"] == pytest.approx(1)
        seen.add(bool(way.in_vain))
    assert seen == {True, False}


@each_machine
def test_every_way_off_that_is_not_rare_has_its_line(name: str) -> None:
    """Each outcome that is not followed and each repair in vain from its share of jobs on, once, by box."""
    told = {(way.box, way.shows, way.in_vain) for way in ways(name)}
    assert len(told) == len(ways(name))
    assert [way.box for way in ways(name)] == sorted(way.box for way in ways(name))
    for box in plan(name).walk():
        shares = [box.reached * one.outcome.probability for one in box.ways if one.then is None]
        lines = [way for way in ways(name) if way.box == box.number]
        often = sum(share >= off_the_sheet.RARE * LEAST for share in shares)
        assert sum(way.shows is not None for way in lines) == often
        in_vain = box.due.repairs and box.reached * (1 - box.due.cures) >= off_the_sheet.IN_VAIN
        assert [way.in_vain for way in lines if way.shows is None] == ([box.due.repairs] if in_vain else [])


@each_machine
def test_a_repair_in_vain_is_not_left(name: str) -> None:
    """Neither alone nor with another; something else is."""
    vain = [way for way in ways(name) if way.in_vain]
    assert vain
    for way in vain:
        assert not {one for names in off_the_sheet.left(way) for one in names} & set(way.in_vain)
    assert any(off_the_sheet.left(way) for way in vain)


def test_nothing_is_left_after_a_stop() -> None:
    """A burnt receptacle has its line however rare it is, with its stop, and no repair; so it ends any row."""
    complaint = (f.Perceived("left front glows", False),)
    start = Guided(adviser("coil-cooktop"), complaint)
    due = following.rule(start)(complaint)
    burnt, fine = f.Look("receptacle", "burnt"), f.Look("receptacle", "fine")
    outcomes = [Outcome("word", one, 0.001, due.weighed.posterior.probability) for one in (burnt, fine)]
    box = whole.Box(1, 1.0, complaint, due, tuple(whole.Way(one, None) for one in outcomes))
    (line,) = off_the_sheet.as_data(box, LEAST)
    assert line["shows"] == "burnt"
    assert line["stop"].startswith("STOP: burnt receptacle. Switch it off at the breaker")
    assert (line["repairs"], line["all_else"]) == ([], 1.0)
    way = Way(1, "burnt", (), 0.1, start.told(burnt))
    assert stopping.now(start.machine, way.guided.findings)
    assert off_the_sheet.left(way) == []
    assert off_the_sheet.left(way._replace(guided=start.told(fine)))


def test_where_nothing_is_wrong_nothing_is_left() -> None:
    """After a repair that has cured none is named, as none is made."""
    start = Guided(adviser("water-heater"), TOLD["water-heater"])
    guided = after_repair.told_so(start, [f.Tried("replace lower element", True)], ())
    assert guided.made_first[0] == ()
    assert off_the_sheet.left(Way(1, "yes", (), 0.1, guided)) == []


def test_a_box_where_nothing_more_pays_says_what_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """With no room for a step, and no repair likely enough, what is left stands there; not where the work is handed
    over."""
    monkeypatch.setattr(following, "DEEPEST", 0)
    asked, told = adviser("refrigerator"), TOLD["refrigerator"]
    due = following.rule(Guided(asked, told))(told)
    (way,) = off_the_sheet.ways(whole.Box(1, 1.0, told, due), LEAST)
    assert (way.shows, way.in_vain) == (None, ())
    assert off_the_sheet.left(way)
    ended = f.Perceived("cabinet tingles", True)
    handed = following.rule(Guided(asked, (*told, ended)))((*told, ended))
    assert [*off_the_sheet.ways(whole.Box(1, 1.0, told, handed), LEAST)] == []


def test_what_we_do_not_make_has_no_minutes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Another trade's work says whose it is, what lies behind a cover that will not open says so; ours has its
    minutes, parts and cautions."""
    sealed = [one for way in off_the_sheet.as_data(plan("refrigerator"), LEAST) for one in way["repairs"]]
    others = [one for one in sealed if one["by"] != ["repairer"]]
    ours = [one for one in sealed if one["by"] == ["repairer"]]
    assert others
    assert all(one["minutes"] is None and not one["cautions"] and not one["barred"] for one in others)
    assert all(one["minutes"] > 0 for one in ours)
    assert any(one["cautions"] and one["price"] for one in ours)
    monkeypatch.setattr(following, "DEEPEST", 0)
    asked = adviser("water-heater")
    shut = Guided(asked, (f.Perceived("hot water lasts", False),), refusing.named(asked.bench.machine, ["lower cover"]))
    box = whole.Box(1, 1.0, shut.findings, following.rule(shut)(shut.findings))
    (told,) = off_the_sheet.as_data(box, LEAST)
    barred = [one for one in told["repairs"] if one["barred"]]
    assert barred
    assert all(one["minutes"] is None and not one["cautions"] for one in barred)
    assert {one["why_barred"] for one in barred} == {repairing.IN_SHORT[repairing.BARRED]}
    assert {one["why_barred"] for one in told["repairs"] if not one["barred"]} <= {None}
    blind = shut.without(NoMeter("volts")).without(NoMeter("low-impedance volts"))
    box = whole.Box(1, 1.0, blind.findings, following.rule(blind)(blind.findings))
    (told,) = off_the_sheet.as_data(box, LEAST)
    dead = repairing.IN_SHORT[STOPS[stopping.NOT_DEAD].say]
    assert dead in {one["why_barred"] for one in told["repairs"]}


@each_machine
def test_minutes_and_cautions_are_those_of_a_repair_box(name: str) -> None:
    """Where nothing is provoked before the covers close the minutes in short are those that are told at length."""
    seen = 0
    for box in plan(name).walk():
        if not box.due.repairs:
            continue
        guided = box.due.told
        repairs = [guided.weighed.candidates.repairs[one] for one in box.due.repairs]
        work = repairing.work(guided, repairs)
        if not work.before_closing:
            assert repairing.minutes(guided, repairs) == pytest.approx(work.minutes)
            assert repairing.minded(guided, repairs) == work.minded
            seen += 1
    assert seen


def test_a_repair_in_vain_is_not_left_beside_another() -> None:
    """Two elements read open, and one of them replaced in vain: the two together are not named."""
    asked = adviser("water-heater")
    dead = conditions.condition(asked.bench.machine, (), isolated=True)
    read = tuple(
        f.Reading(Probe("ohms", f"{one} element.1", f"{one} element.2"), dead, None, text="OL")
        for one in ("upper", "lower")
    )
    guided = Guided(asked, (*TOLD["water-heater"], *read))
    both = ("replace lower element", "replace upper element")
    assert both in {tuple(sorted(names)) for names in off_the_sheet.left(Way(1, "OL", (), 0.1, guided))}
    after = replace(guided, earlier=(f.Tried(both[0], False),))
    for in_vain in ((), both[:1]):
        named = {one for names in off_the_sheet.left(Way(1, None, in_vain, 0.1, after)) for one in names}
        assert both[0] not in named
