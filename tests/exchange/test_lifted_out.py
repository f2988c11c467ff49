"""A part that plugs in is read lifted out of its socket: what it then shows, costs, wants and is called.

The judge is the machine made anew with the socket's grips ending in the air.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading, model, primitives, twins
from halfsplit.operate import condition as conditions
from halfsplit.operate.effect import HEALTHY, Effect, effect
from halfsplit.operate.settle import Operation
from halfsplit.plan import barring, pricing, safely, taken
from halfsplit.plan.setups import Setups
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe, Readings
from halfsplit.service import advising, closing, refusing, sheets, standing
from halfsplit.work import minutes, refusals
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState
from tests.rehearse import benches

COOKTOP = loading.load("coil-cooktop")
BURNER, BLADES = "left front burner", ("left front burner.1", "left front burner.2")
OUT = conditions.condition(COOKTOP, isolated=True, lift=BLADES)
ACROSS = Step("reading", OUT, Probe("ohms", *BLADES), places=BLADES)
COLD = f.Perceived("left front glows", False)


def asked() -> Setups:
    """The adviser of the cooktop."""
    return benches.guide("coil-cooktop")


def in_the_air(machine: model.Machine) -> model.Machine:
    """The machine in which the receptacle of the left front burner grips nothing."""
    part = machine.parts[BURNER]
    air = {blade: f"{BURNER}.air {number}" for number, blade in enumerate(BLADES)}

    def freed(element: primitives.Element) -> primitives.Element:
        a, b = element.ends
        return element if element.part == BURNER else replace(element, ends=(air.get(a, a), air.get(b, b)))

    elements = {name: freed(element) for name, element in machine.elements.items()}
    parts = dict(machine.parts) | {BURNER: replace(part, terminals=(*part.terminals, "air 0", "air 1"))}
    return replace(machine, elements=elements, parts=parts)


@pytest.mark.parametrize("pair", [
    BLADES, ("left front receptacle.1", "left front receptacle.2"), ("left front receptacle.1", "cabinet.metal"),
    ("terminal block.L1", "left front receptacle.1"), ("receptacle.prong L1", "receptacle.prong L2"),
])  # fmt: skip
@pytest.mark.parametrize("named", ["", "all high"])
def test_it_shows_what_it_would_with_nothing_gripped(pair: tuple[str, str], named: str) -> None:
    """Under every single fault, at its blades, at the socket that it left, and from the plug."""
    setting = dict(COOKTOP.settings[named]) if named else {}
    at = conditions.condition(COOKTOP, setting, isolated=True, lift=BLADES)
    probe, bench = Probe("ohms", *pair), asked().bench
    operation = Operation(in_the_air(COOKTOP))
    judge = Readings(operation)
    changed = [c for fault in bench.faults for _, c in fault.alternatives]
    effects = [HEALTHY, *(effect(operation.assembly, c) for c in changed)]
    there = np.asarray(judge.read(probe, replace(at, lift=()), effects).value)
    here = np.asarray(bench.predictor.readings.read(probe, at, [HEALTHY, *_effects(bench)]).value)
    over = np.isinf(here) & np.isinf(there) | (np.minimum(here, there) > 1e7)
    assert np.allclose(here[~over], there[~over], rtol=1e-6)
    assert len(here) > 300


def _effects(bench: Bench) -> list[Effect]:
    built = bench.predictor.operation.assembly
    return [effect(built, changes) for fault in bench.faults for _, changes in fault.alternatives]


def test_it_shows_its_own_ohms_and_nothing_else() -> None:
    """27 ohm and the leads however the knobs stand; and the socket that it left is open."""
    bench = asked().bench
    high = conditions.condition(COOKTOP, dict(COOKTOP.settings["all high"]), isolated=True, lift=BLADES)
    for at in (OUT, high):
        assert bench.predictor.reading(Probe("ohms", *BLADES), at).value[0] == pytest.approx(27.0, abs=0.4)
    socket = Probe("ohms", "left front receptacle.1", "left front receptacle.2")
    assert bench.predictor.reading(socket, OUT).value[0] > 1e6


def test_no_lead_goes_into_a_socket() -> None:
    """Where a lead is laid on what plugs in, that part is out with all its blades and the machine isolated."""
    found = 0
    for step in asked().table.steps:
        parts = {model.part_of(place) for place in step.places if place in COOKTOP.gripped}
        if step.kind != "reading" or not parts:
            continue
        found += 1
        assert step.condition is not None
        assert step.condition.isolated
        assert parts <= set(twins.pulled(COOKTOP, step.condition.lift))
        for part in parts:
            assert {blade for blade in COOKTOP.gripped if model.part_of(blade) == part} <= set(step.condition.lift)
    assert found >= 4
    odd = asked().table.odd
    assert COOKTOP.gripped.keys().isdisjoint(odd.terminals)


def test_it_costs_once_what_lifting_a_part_costs() -> None:
    """Not once a blade; as much to plug it in again, and nothing while it stays out."""
    lifts = COOKTOP.parts[BURNER].lifts
    rest = replace(OUT, lift=())
    assert minutes.changing(COOKTOP, rest, OUT) == minutes.changing(COOKTOP, OUT, rest) == lifts
    assert minutes.changing(COOKTOP, OUT, OUT) == 0
    assert pricing.cost_of(COOKTOP, JobState(), ACROSS).lifting == lifts


def test_a_burner_that_was_on_has_cooled_before_it_is_lifted() -> None:
    """Dead, proved and cool before hands take it out, though it lies outside every cover; the caution is shown."""
    ran = JobState(condition=conditions.usual(COOKTOP))
    done = safely.prepared(COOKTOP, safely.begin(COOKTOP), ran, taken.after(COOKTOP, ran, ACROSS), ACROSS)
    kinds = [doing.kind for doing in done.doings]
    assert kinds.index(Kind.PROVE_DEAD) < kinds.index(Kind.COOL) < kinds.index(Kind.LIFT) < kinds.index(Kind.OHMS)
    assert any("Hot parts" in caution for caution in done.cautions)


def test_it_is_said_plainly_and_put_back() -> None:
    """Lifted out in the step; plugged in again by the next that wants it in, and by the list at the end."""
    weighed = asked().bench.weigh((COLD,))
    told = advising.advice_for(asked(), weighed, ACROSS).text
    assert f"Lift the {BURNER} out." in told
    assert "wires off" not in told
    assert "Photograph" not in told
    found = f.Reading(ACROSS.probe, OUT, 27.1, step=0.1)  # type: ignore[arg-type]
    after = asked().bench.weigh((COLD, found))
    glows = Step("symptom", conditions.usual(COOKTOP), at="left front glows")
    assert f"Plug the {BURNER} in again." in advising.advice_for(asked(), after, glows).text
    made = closing.closing(COOKTOP, findings=(found,))
    assert any(f"Plug the {BURNER} in" in task["text"] for task in made["tasks"])


def test_who_cannot_lift_it_is_not_asked_to() -> None:
    """It is among what may stand in the way, and bars every step that wants it out."""
    choices = dict(refusing.of_step(COOKTOP, JobState(), ACROSS))
    refused = choices[f"the {BURNER} will not lift out"]
    assert refused == refusals.CannotLift(BURNER)
    assert barring.bars(COOKTOP, JobState(refused=frozenset({refused})), ACROSS)


def test_an_empty_socket_is_drawn_as_no_fault() -> None:
    """Its contacts are open since the part is off, and say so."""
    drawn = sheets.sheet(standing.standing(COOKTOP, OUT))
    words = {line for element in drawn.elements if element.part == "left front receptacle" for line in element.lines}
    assert "taken off" in words
    assert not any("fault" in word for word in words)
