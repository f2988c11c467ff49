"""Water on the floor that no repair explains keeps the power off at the end too: the list, the proof run, `closing`."""

from __future__ import annotations

from halfsplit.evidence import finding as f
from halfsplit.service import closing, guiding, proof_cards, proof_run, proof_shown, repairing
from halfsplit.work import stopping
from halfsplit.work.refusals import NoPower
from tests.rehearse.benches import bench, guide

HEATER = bench("water-heater").machine
WET = (f.Perceived("water gets hot", False), f.Perceived(stopping.WATER, True), stopping.breaker_off(HEATER))
ELEMENT, VALVE = "replace upper element", "replace drain valve"
SWITCHED_ON = "Power last, hands clear"


def work(findings: tuple[f.Finding, ...], name: str, *refused: object) -> repairing.Work:
    """What one repair takes after these findings."""
    asked = guide("water-heater")
    guided = guiding.Guided(asked, findings, frozenset(refused))
    return repairing.work(guided, [asked.bench.repairs[name]])


def told(made: repairing.Work) -> str:
    """Its list in words."""
    return " ".join(closing.sentences(HEATER, made.closed))


def test_a_repair_that_leaves_the_water_leaves_the_power_off() -> None:
    """Of an element that is replaced beside a puddle: no power, a tag, nothing tried, the water told before."""
    found = (f.Look("drain valve", "fine"), f.Look("tank", "fine"))
    made = work((*WET, *found), ELEMENT)
    assert SWITCHED_ON not in told(made)
    assert "with a tag on it" in told(made)
    assert not made.proof.ran
    assert any("Breaker first" in one for one in made.acknowledge)
    dry = work(WET[:1], ELEMENT)
    assert SWITCHED_ON in told(dry)
    assert dry.proof.checks
    assert not any("Breaker first" in one for one in dry.acknowledge)


def test_a_repair_that_explains_the_water_is_tried() -> None:
    """Of the valve that was seen to drip; what it lets out is looked at for drips before the power."""
    made = work((*WET[1:], f.Look("drain valve", "wet"), f.Look("tank", "fine")), VALVE)
    assert SWITCHED_ON in told(made)
    assert made.proof.checks
    assert any("Breaker first" in one for one in made.acknowledge)


def test_what_the_person_said_of_the_power_holds_at_the_end() -> None:
    """Nothing is tried under power, and nothing read at the wall of a dryer whose breaker is switched."""
    assert not work(WET[:1], ELEMENT, NoPower()).proof.ran
    asked = guide("vented-dryer")
    name = next(name for name in asked.bench.repairs if name.startswith("breaker: switch"))
    opened = f.Look("thermal fuse", "fine")
    for refused, reads in ((frozenset(), True), (frozenset({NoPower()}), False)):
        guided = guiding.Guided(asked, (f.Perceived("air is warm", False), opened), refused)
        said = " ".join(repairing.work(guided, [asked.bench.repairs[name]]).before_closing)
        assert ("red on" in said) == reads


def test_closing_leaves_the_power_off_after_a_repair_in_vain() -> None:
    """And after one that cured it says what must be seen."""
    vain = closing.closing(HEATER, findings=(*WET, f.Tried("replace limit", False)))
    assert "power" not in {task["kind"] for task in vain["tasks"]}
    assert "tag" in {task["kind"] for task in vain["tasks"]}
    assert vain["proof"][-1] == proof_cards.NOT_PROVED
    assert [one.strip()[0] for one in vain["proof"][1:-1]] == ["0", "0"]
    cured = closing.closing(HEATER, findings=(*WET, f.Tried(VALVE, True)))
    assert "tag" not in {task["kind"] for task in cured["tasks"]}
    assert len(cured["proof"]) > 3


def test_nobody_says_that_the_water_is_gone_by_not_naming_it() -> None:
    """A check of the same run that was named leaves the puddle unsaid; an owner's no takes nothing back."""
    asked = bench("water-heater")
    run = proof_run.of_repairs(asked, [VALVE], WET)
    water = {one.number for one in run.checks if one.step.at == stopping.WATER}
    assert water
    first = next(one for one in run.checks if one.seen and one.number not in water)
    shown = proof_shown.showed(asked, run, WET, {first: first.found(False)})
    assert first.found(False) in shown
    assert not any(isinstance(x, f.Perceived) and x.what == stopping.WATER for x in shown)
    assert stopping.barred((*WET, f.Perceived(stopping.WATER, False)))
    assert not stopping.barred((*WET, f.Perceived(stopping.WATER, False, None, "repairer")))
