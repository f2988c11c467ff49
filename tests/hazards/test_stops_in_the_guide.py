"""Every stop, as a person is led to it: what is said, that nothing else is offered, and that undo takes it back."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from halfsplit.cli import conversation, talking
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading
from halfsplit.machine.expand.symptoms import SMELL
from halfsplit.operate import condition as conditions
from halfsplit.plan import whole
from halfsplit.predict.readings import Probe
from halfsplit.service import advising, diagnosing, following, guiding
from halfsplit.service.guiding import Guided
from halfsplit.work import stopping
from halfsplit.work.hazards import STOPS
from tests.cli.words import run

HERE = Path(__file__).parent
REFRIGERATOR = str(HERE / "small-refrigerator.yaml")
GAS = str(HERE.parent / "gas" / "gas-air-heater.yaml")
COLD = f.Perceived("it is cold", False)


@pytest.fixture(scope="module")
def benches() -> dict[str, guiding.Guided]:
    """A diagnosis of each machine at its beginning."""
    return {name: guiding.Guided(advising.adviser(Bench(loading.load(name)))) for name in (REFRIGERATOR, GAS)}


def low_volts(meter: str) -> f.Reading:
    """100 V where 120 V should be, at the wall."""
    at = conditions.condition(loading.load(REFRIGERATOR), {"plug": "out"})
    return f.Reading(Probe(meter, "receptacle.L", "receptacle.N"), at, 100.0, step=0.1, text="100.0 V")


def cools() -> f.Perceived:
    """It cools all the same while the repairer looks: nothing but the volts is wrong."""
    return f.Perceived("it is cold", True, conditions.usual(loading.load(REFRIGERATOR)), "repairer")


CASES: dict[str, tuple[str, list[f.Finding]]] = {
    "tingling frame": (REFRIGERATOR, [COLD, f.Perceived("cabinet tingles", True)]),
    "burnt receptacle": (REFRIGERATOR, [COLD, f.Look("receptacle", "burnt")]),
    "water on the floor": (REFRIGERATOR, [COLD, f.Perceived(stopping.WATER, True)]),
    "sealed refrigerant system": (
        REFRIGERATOR,
        [f.Perceived("compressor runs", True), COLD],
    ),
    "fixed wiring": (
        REFRIGERATOR,
        [COLD, f.Perceived("compressor runs", True), low_volts("volts"), low_volts("low-impedance volts"), cools()],
    ),
    "smell of gas": (GAS, [f.Perceived("air is warm", False), f.Perceived(SMELL, True)]),
}


def told(begun: guiding.Guided, findings: Sequence[f.Finding]) -> guiding.Guided:
    """With these findings."""
    for one in findings:
        begun = begun.told(one)
    return begun


def _on_and_on(held: conversation.Conversation) -> None:
    while True:
        held.go_on()


def led(guided: guiding.Guided, typed: Sequence[str], monkeypatch: pytest.MonkeyPatch) -> tuple[str, guiding.Guided]:
    """What the guide says from here while these lines are typed, and where it stands then."""
    monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{line}\n" for line in typed)))
    out = io.StringIO()
    held = conversation.Conversation(talking.Talk(out), None)
    held.guided = guided
    with pytest.raises(talking.Stop):
        _on_and_on(held)
    return " ".join(out.getvalue().split()), held.now


@pytest.mark.parametrize("rule", CASES)
def test_the_guide_stops_with_the_reason(
    rule: str, benches: dict[str, guiding.Guided], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The rule and what to do; no answer and no Enter leads past it; undo takes the finding back and goes on."""
    machine, findings = CASES[rule]
    guided = told(benches[machine], findings)
    said, _ = led(guided, ["", "yes", "118 V"], monkeypatch)
    assert f"{rule}." in said
    assert f"STOP. {STOPS[rule].say}" in said
    assert "is no answer to a stop" in said
    assert "Repair:" not in said
    assert guided.due == ()
    said, after = led(guided, ["undo"], monkeypatch)
    assert "Taken back" in said
    assert [x for x in after.findings if not isinstance(x, f.TakenBack)] == [*findings[:-1]]
    assert after.advice is None or after.advice.step.kind != advising.STOP


@pytest.mark.parametrize("rule", CASES)
def test_diagnose_advises_nothing_but_the_stop(rule: str, benches: dict[str, guiding.Guided]) -> None:
    """As data: one step, of the kind stop, with the rule among its cautions and a reason."""
    machine, findings = CASES[rule]
    asked = benches[machine].asked
    (step,) = diagnosing._next(advising.advise(asked, asked.bench.weigh(findings)), ())
    assert step["kind"] == "stop"
    assert STOPS[rule].say in step["text"]
    assert step["cautions"][0].endswith(f"{rule}.")
    assert step["reason"]


@pytest.mark.parametrize("rule", CASES)
def test_at_a_danger_nothing_is_known_to_be_enough(
    rule: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Neither as data nor for people is a repair due beside a stop at a danger, nor a finding to be taken again; where
    it is another trade's repair, that is known to be enough."""
    machine, findings = CASES[rule]
    place = tmp_path / "findings.yaml"
    place.write_text(json.dumps([findings_file.written(one) for one in findings]), encoding="utf-8")
    said = run(capsys, "diagnose", machine, str(place)).out
    enough = diagnosing.diagnose(loading.load(machine), findings)["enough"]
    assert f"STOP. {STOPS[rule].say}" in said
    handed_over = rule in ("sealed refrigerant system", "fixed wiring")
    assert enough["known"] is handed_over
    assert enough["known"] or not enough["sure"]
    for word in ("nough is known", "likeliest", "Take this finding again"):
        assert handed_over or word not in said


def test_a_burnt_receptacle_is_tagged(benches: dict[str, guiding.Guided], monkeypatch: pytest.MonkeyPatch) -> None:
    """The talk ends with how the machine is left, not with the stop alone."""
    machine, findings = CASES["burnt receptacle"]
    said, _ = led(told(benches[machine], findings), ["ok"], monkeypatch)
    for word in ("Put together, in this order", f"do not switch on; {STOPS['burnt receptacle'].tag}"):
        assert word in said


@pytest.mark.parametrize("rule", ["sealed refrigerant system", "fixed wiring"])
def test_what_is_not_ours_is_handed_over_closed(
    rule: str, benches: dict[str, guiding.Guided], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Local codes and the licensed trade, the likeliest cause, how the machine is put together, and what is written
    down for who takes over: what is due, whose work it is, what was found, how it is left."""
    machine, findings = CASES[rule]
    said, _ = led(told(benches[machine], findings), ["ok"], monkeypatch)
    for word in ("It is not ours to do", "local codes", f"NOTICE: {rule}", "Likeliest", "Put together, in this order"):
        assert word in said
    trade = {"sealed refrigerant system": "certified technician", "fixed wiring": "utility"}[rule]
    note = said[said.index("Write down for who takes over: - Due: ") :]
    for word in (f"It is the work of: {trade}.", f"- Found: {findings[0].label};", "- Left: put together"):
        assert word in note
    assert ("do not switch on" in note) == bool(STOPS[rule].tag)
    assert "for handing over in vain" not in said
    assert "for handing over in vain" in led(told(benches[machine], findings), ["ok", "why"], monkeypatch)[0]


def test_the_search_for_the_leak_goes_on_with_the_breaker_off(
    benches: dict[str, guiding.Guided], monkeypatch: pytest.MonkeyPatch
) -> None:
    """`off` is one more finding, that a file can hold; the danger stays above the steps; nobody asks again."""
    _, findings = CASES["water on the floor"]
    guided = told(benches[REFRIGERATOR], findings)
    said, after = led(guided, ["off"], monkeypatch)
    assert "NEXT STOP" in said
    assert "off once the breaker is off" in said
    assert after.advice is None or after.advice.step.kind != advising.STOP
    assert said.count("DANGER: Breaker first") >= 1
    assert "Is there water on the floor?" not in said
    written = findings_file.written(after.findings[-1])
    assert diagnosing.read_findings(guided.machine, f"[{written}]".replace("True", "yes"), "x") == [after.findings[-1]]
    assert after.undone().wet


def test_water_met_on_the_way_is_a_stop_on_paper(benches: dict[str, guiding.Guided]) -> None:
    """Seen by the repairer while the plan is followed: a box that says so, and neither a step, a repair nor a handing
    over at once."""
    seen = [COLD, f.Perceived(stopping.WATER, True, None, "repairer")]
    rule = following.rule(guiding.Guided(benches[REFRIGERATOR].asked, (COLD,)))
    box = following.as_data(whole.plan(rule, seen, budget=1))
    assert box["kind"] == "stop"
    assert box["text"] == f"STOP. {STOPS[stopping.WATER].say}"
    assert box["cautions"] == [f"DANGER: {stopping.WATER}."]


def test_before_the_visit_the_plan_begins_with_the_breaker_off(benches: dict[str, guiding.Guided]) -> None:
    """Nobody stands in the water yet: the plan is made as from when it may go on."""
    _, findings = CASES["water on the floor"]
    root = following.plan(Guided(benches[REFRIGERATOR].asked, tuple(findings)), budget=3)
    assert following.as_data(root)["kind"] != "stop"
