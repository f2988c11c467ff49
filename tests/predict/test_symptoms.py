"""What a person perceives, as laws that hold whatever the supply: of lamps by their own volts, of metal by its own."""

from __future__ import annotations

import pytest

from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading, model
from halfsplit.operate import condition as conditions

LAMP_BOX = """format: halfsplit machine 1
machine: Lamp box
kind: test
provenance: For the tests.
supply:
  system: {system}
  meets: {meets}
frame: body
controls:
  selector: [off, on]
settings:
  on: {{selector: on}}
parts:
  body: {{type: frame, in: base}}
  block: {{type: {block}, in: base}}
  knob: {{type: selector switch, control: selector, in: base, chart: {{P-1: [on]}}}}
  dropper: {{type: heater, ohms: {dropper} ohm, hot: 1, in: base}}
  lamp: {{type: lamp, volts: {volts} V, watts: 10 W, in: base}}
wires:
  - BK  block.{live}  knob.P
  - BK  knob.1  dropper.1
  - RD  dropper.2  lamp.1
  - BU  lamp.2  block.{back}
symptoms:
  lights: {{lit: [lamp]}}
bays:
  base: {{behind: outside, open: 2 min, close: 2 min}}
"""
SUPPLIES = {
    "120": ("120 V, plug", "{L: block.L, N: block.N, PE: body.metal}", "cord block", "L", "N", 120.0),
    "230": ("230 V, plug", "{L: block.L, N: block.N, PE: body.metal}", "cord block", "L", "N", 230.0),
    "a leg of two": (
        "120/240 V split phase, 4 wires",
        "{L1: block.L1, L2: block.L2, N: block.N, PE: body.metal}",
        *("terminal block", "L1", "N", 120.0),
    ),
    "both legs": (
        "120/240 V split phase, 4 wires",
        "{L1: block.L1, L2: block.L2, N: block.N, PE: body.metal}",
        *("terminal block", "L1", "L2", 240.0),
    ),
}


def lamp_box(supply: str, rated: float, share: float) -> model.Machine:
    """A lamp for so many volts that gets this share of them from a supply, through what takes the rest."""
    system, meets, block, live, back, gives = SUPPLIES[supply]
    ohms = rated**2 / 10.0 * max(gives / (share * rated) - 1, 1e-4)
    words = {"system": system, "meets": meets, "block": block, "live": live, "back": back}
    return loading.load_text(LAMP_BOX.format(**words, dropper=f"{ohms:.6f}", volts=f"{rated:g}"), "box")


def lights(machine: model.Machine) -> float:
    """How surely the lamp of the healthy machine is seen to light when it is on."""
    bench = Bench(machine)
    at = conditions.condition(machine, {"selector": "on"})
    return float(bench.predictor.symptom_itself("lights", at, bench.singles.effects[:1])[0])


@pytest.mark.parametrize("supply", SUPPLIES)
@pytest.mark.parametrize("rated", [12.0, 60.0, 110.0])
def test_a_lamp_at_its_rated_volts_is_lit_and_at_a_third_is_not(supply: str, rated: float) -> None:
    """Whatever the supply gives and whatever the lamp is made for, its own rated volts decide."""
    assert lights(lamp_box(supply, rated, 1.0)) > 0.99
    assert lights(lamp_box(supply, rated, 1 / 3)) < 0.01


def test_a_lamp_of_the_supply_s_own_volts_is_lit() -> None:
    """A 230 V lamp on 230 V, and a 240 V lamp across both legs."""
    assert lights(lamp_box("230", 230.0, 1.0)) > 0.99
    assert lights(lamp_box("both legs", 240.0, 1.0)) > 0.99


def test_a_lamp_that_is_open_is_dark_with_all_volts_across_it() -> None:
    """No current: the volts across it do nothing."""
    machine = lamp_box("230", 230.0, 1.0)
    bench = Bench(machine)
    at = conditions.condition(machine, {"selector": "on"})
    told = bench.predictor.symptom_itself("lights", at, bench.singles.effects)
    broken = [
        row
        for row, variant in enumerate(bench.singles.variants)
        if any(bench.singles.faults[i].name == "lamp: burnt out" for i in variant.faults)
    ]
    assert broken
    assert told[broken].max() < 0.01


def tingles(text: str) -> float:
    """How surely the symptom `tingles` is felt on the healthy machine of a text when it is on."""
    bench = Bench(loading.load_text(text, "box"))
    at = conditions.condition(bench.machine, {"selector": "on"})
    return float(bench.predictor.symptom_itself("tingles", at, bench.singles.effects[:1])[0])


def test_the_metal_that_is_named_tingles_with_a_frame_or_without() -> None:
    """What is on a leg gives a shock and what is on neutral or earth gives none, whatever `frame:` says."""
    system, meets, *_ = SUPPLIES["120"]
    words = {"system": system, "meets": meets, "block": "cord block", "live": "L", "back": "N"}
    text = LAMP_BOX.format(**words, dropper="1", volts="120")
    for frame in ("frame: body\n", ""):
        framed = text.replace("frame: body\n", frame)
        for metal, felt in (("knob.1", True), ("lamp.2", False), ("body", False), ("[body, lamp.1]", True)):
            told = tingles(framed.replace("symptoms:\n", f"symptoms:\n  tingles: {{tingles: {metal}}}\n"))
            assert (told > 0.99) is felt, (frame, metal)
            assert felt or told < 0.01
