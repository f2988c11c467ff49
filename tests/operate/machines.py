"""Small machines of the tests' own: a relay that cuts its own coil, and two loads that share a neutral."""

from __future__ import annotations

from pathlib import Path

from halfsplit.machine import loading, model, primitives

TWO_LOADS = """format: halfsplit machine 1
machine: Two loads
kind: test
provenance: For the tests.
supply:
  system: 120/240 V split phase, 4 wires
  breaker: 30 A
  cable: 10 AWG 1 m
  cord: 10 AWG 1 m
  meets: {{L1: block.L1, L2: block.L2, N: block.N, PE: cabinet.metal}}
frame: cabinet
parts:
  block: {{type: terminal block, in: box}}
  cabinet: {{type: frame, in: outside}}
  first: {{type: heater, ohms: {first} ohm, hot: 1, in: box}}
  second: {{type: heater, ohms: {second} ohm, hot: 1, in: box}}
wires:
  - BK  10 AWG 0.1 m  block.L1  first.1
  - WH  10 AWG 0.1 m  first.2  block.N
  - WH  10 AWG 0.1 m  block.N  second.1
  - RD  10 AWG 0.1 m  second.2  block.L2
symptoms:
  warm: {{heat from: [first, second], at least: 10 W, ask: "Is it warm?"}}
bays:
  box: {{behind: outside, open: 1 min, close: 1 min}}
"""


def two_loads(folder: Path, first: float, second: float) -> model.Machine:
    """Heaters of these ohms from each leg to a common neutral."""
    place = folder / "two.yaml"
    place.write_text(TWO_LOADS.format(first=first, second=second), encoding="utf-8")
    return loading.load(str(place))


def buzzing(pulls: float = 80.0, drops: float = 40.0) -> model.Machine:
    """One leg, and a relay whose own contact, closed at rest, feeds its coil: it buzzes as long as it is fed."""
    parts = [
        model.Part("house", "house", "house", "outside", ("L", "N", "PE"), house=True),
        model.Part("relay", "relay", "relay", "outside", ("A", "B", "C")),
    ]
    volts, ohms = primitives.exactly(120.0), primitives.exactly(0.01)
    at_rest = (primitives.ByDevice("relay.armature", False),)
    elements: list[primitives.Element] = [
        primitives.Source("house.leg", "house", ("house.N", "house.L"), volts, 0.0, 0.05 + 0.03j),
        primitives.Contact("house.bond", "house", ("house.N", "house.PE"), ohms),
        primitives.Contact("relay.contact", "relay", ("relay.A", "relay.B"), ohms, at_rest),
        primitives.Impedance("relay.coil", "relay", ("relay.B", "relay.C"), primitives.exactly(900.0), 1 + 0.5j),
    ]
    wires = (
        model.Wire("to coil", ("house.L", "relay.A"), ("BK",), 0.01),
        model.Wire("back", ("relay.C", "house.N"), ("WH",), 0.01),
    )
    return model.Machine(
        "buzzing", "A relay that cuts its own coil", "test",
        model.Supply("single", 60.0, (), ("house.L",), "house.PE", True),
        {}, {}, {part.name: part for part in parts}, {element.name: element for element in elements},
        {"relay.armature": primitives.Relay("relay.armature", "relay", "relay.coil", pulls, drops)},
        (), wires, {}, {}, "",
    )  # fmt: skip
