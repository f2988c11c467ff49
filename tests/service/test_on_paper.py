"""What a box of the plan on paper says of how a job ends and how the machine is left."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from halfsplit.cli import paper
from halfsplit.evidence import finding as f
from halfsplit.machine import cautions
from halfsplit.operate import condition as conditions
from halfsplit.plan.whole import Box
from halfsplit.predict.readings import Probe
from halfsplit.service import advising, following
from halfsplit.service.guiding import Guided
from halfsplit.work import stopping
from halfsplit.work.hazards import CAUTIONS, STOPS, Hazard
from tests.rehearse.benches import adviser
from tests.service.test_following import TOLD, each_machine, plan


def kinds(box: Mapping[str, Any]) -> list[tuple[str, str | None]]:
    """The tasks by which a box has the machine put together: kind and place."""
    return [(task["kind"], task["at"]) for task in box["put_together"]["tasks"]]


def at_once(machine: str, *found: f.Finding) -> dict[str, Any]:
    """The box at which a plan from nothing stands after findings."""
    due = following.rule(Guided(adviser(machine), found[:1]))(found)
    return following.as_data(Box(1, 1.0, found, due))


@each_machine
def test_no_repair_box_is_another_trades_work(name: str) -> None:
    """What is another trade's is handed over in the words of its stop, opened for nothing, and no cure is claimed."""
    bench, handed = adviser(name).bench, 0
    for box, told in zip(plan(name).walk(), paper.boxes(following.as_data(plan(name))), strict=True):
        assert advising.not_ours(bench, box.due.repairs) is None
        if told["kind"] == "hand over" and told["rule"]:
            assert STOPS[told["rule"]].say in told["text"]
            covers = {at for kind, at in kinds(told) if kind == "cover"}
            assert covers <= box.due.told.standing.open_bays
            assert box.due.cures == 0
            handed += 1
    assert handed or name != "refrigerator"


def test_another_trades_work_is_handed_over_where_a_row_of_boxes_ends_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """After the deepest box of a row, though a step would still pay, what is likeliest by far is not written down as a
    repair."""
    told, root = following.as_data(plan("refrigerator")), plan("refrigerator")
    rows = [box.findings[:-1] for box, one in zip(root.walk(), paper.boxes(told), strict=True) if one.get("rule")]
    monkeypatch.setattr(following, "DEEPEST", 0)
    ended = [(row, at_once("refrigerator", *row)) for row in rows]
    sealed = [row for row, one in ended if one.get("rule") == "sealed refrigerant system"]
    monkeypatch.undo()
    assert [at_once("refrigerator", *row)["kind"] for row in sealed] == ["step"] * len(sealed) != []


@each_machine
def test_a_row_that_is_cut_is_left_out_and_not_handed_over(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a step would still pay and no repair is due nobody is told that nothing pays: the row is weighed anew."""
    monkeypatch.setattr(following, "DEEPEST", 3)
    root = following.plan(Guided(adviser(name), TOLD[name]), budget=40)
    assert not any(box.due.cut for box in root.walk())
    for box, told in zip(root.walk(), paper.boxes(following.as_data(root)), strict=True):
        if told["kind"] == "hand over" and told["text"] is None:
            assert following.rule(Guided(adviser(name), box.findings))(box.findings).step is None


def test_a_stop_leaves_the_machine_as_the_list_for_closing_has_it() -> None:
    """A burner that was set for a reading is set back, the breaker is left off with a tag."""
    machine = adviser("coil-cooktop").bench.machine
    dead = conditions.condition(machine, {"left front": "low"}, isolated=True)
    read = f.Reading(Probe("ohms", "receptacle.prong L1", "receptacle.prong L2"), dead, 27.0, text="27")
    found = at_once("coil-cooktop", f.Perceived("left front glows", False), read, f.Look("receptacle", "burnt"))
    assert found["kind"] == "stop"
    assert kinds(found) == [("meter", None), ("setting", "left front"), ("tag", "breaker")]
    said = " ".join(line.text for line in paper.box(found).lines)
    assert "Before you leave it: Put together, in this order:" in said


def test_water_that_was_seen_says_where_to_go_on() -> None:
    """The search goes on by weighing anew, since no box follows; what is open is closed before it is left."""
    machine = adviser("refrigerator").bench.machine
    at = conditions.condition(machine, {"defrost": "defrost"}, isolated=True)
    read = f.Reading(Probe("ohms", "door switch.NO", "door switch.NC"), at, 80.0, text="80")
    warm, wet = f.Perceived("food is cold", False), f.Perceived(stopping.WATER, True, None, "repairer")
    found = at_once("refrigerator", warm, read, wet)
    assert ("cover", "kick plate") in kinds(found)
    assert ("setting", "defrost") in kinds(found)
    assert "weigh anew, see below" in " ".join(line.text for line in paper.box(found).lines)


def test_where_nobody_goes_to_the_machine_no_list_is_told() -> None:
    """A frame that tingles: the stop alone."""
    found = at_once("vented-dryer", f.Perceived("cabinet tingles", True))
    assert found["put_together"] is None
    assert len(paper.box(found).lines) == 2


def test_a_cure_is_not_claimed_of_what_a_second_fault_may_show() -> None:
    """A tank that is said to give no hot water with its lower element open: with a second fault beside it weighed it
    cures less surely, and the box says that the owner was mistaken where it does."""
    machine = adviser("water-heater").bench.machine
    dead = conditions.condition(machine, (), isolated=True)

    def read(red: str, black: str, value: float | None) -> f.Reading:
        return f.Reading(Probe("ohms", red, black), dead, value, text="OL" if value is None else f"{value}")

    good = (read("limit.1", "upper element.1", 0.3), read("upper element.1", "upper element.2", 13.0),
            read("limit.3", "limit.4", 0.3))  # fmt: skip
    next_, first = "upper thermostat.next", "upper thermostat.first"
    off = (read("limit.3", next_, None), read(first, next_, None))
    found = (f.Perceived("water gets hot", False), *good, *off, read("lower element.1", "lower element.2", None))
    box = at_once("water-heater", *found)
    assert box["kind"] == "repair"
    assert box["repair"]["name"] == "replace lower element"
    alone = adviser("water-heater").bench.weigh(found).by_repair["replace lower element",]
    assert following.LIKELY < box["repair"]["probability"] < alone - 0.05
    said = "Where it cures, the owner was mistaken in: Does a cold tank give any hot water within an hour? no."
    assert said in [line.text for line in paper.box(box).lines]


@each_machine
def test_what_is_minded_in_the_proof_run_stands_there_alone(name: str) -> None:
    """A repair that wants no live hands says nothing of live parts, though its proof run does, beside its check; what
    is acknowledged in the talk has both."""
    seen = 0
    for box in paper.boxes(following.as_data(plan(name))):
        if box["kind"] != "repair":
            continue
        live = f"DANGER: {CAUTIONS[Hazard.LIVE][1]}"
        moving = f"WARNING: {CAUTIONS[Hazard.MOVING][1]}"
        told = box["repair"]["cautions"]
        wall = any("At the wall" in text for text in box["repair"]["before_closing"])
        assert not {live, moving} & set(told) or wall, (box["box"], told)
        proof = {text for text in box["repair"]["proof"] if text.startswith(cautions.WORDS)}
        assert proof <= set(box["repair"]["acknowledge"])
        seen += live in proof or moving in proof
    assert seen


@each_machine
def test_no_box_leads_nowhere(name: str) -> None:
    """A step is told where one of its outcomes at least leads on to an end of the sheet; what it would have left stands
    among what the box before it leaves out."""
    for box in plan(name).walk():
        if box.due.step is not None:
            assert any(way.then for way in box.ways), box.number
            assert any(not end.ways for end in box.walk())
