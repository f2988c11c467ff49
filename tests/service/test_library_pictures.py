"""The wiring pictures of the library's machines, read back from their lines alone."""

from __future__ import annotations

import pytest

from halfsplit.drawing import check, circuit, wiring
from halfsplit.machine import library
from halfsplit.service import machines
from tests.service import pictures

WAYS = {"across": wiring.across, "down": wiring.down}
HOUSE = {"across": None, "down": True}
"""Down the page there is room for the house."""
FAULTS = [
    ("vented-dryer", "high heat", "breaker: half-tripped, L2 dead"),
    ("vented-dryer", "high heat", "receptacle: N contact loose"),
    ("vented-dryer", "low heat", "heater: front coil to frame"),
    ("vented-dryer", "high heat", "joint terminal block.L1: off"),
    ("vented-dryer", "high heat", "wire timer.heat to heat selector.heat: broken"),
    ("vented-dryer-3-wire", "high heat", "strap: left off"),
    ("water-heater", "tank cold", "limit: tripped"),
    ("water-heater", "tank cold", "wire limit.4 to upper element.2: chafed to frame"),
    ("water-heater", "tank cold", "wire service.PE to jacket.metal: chafed to frame"),
    ("refrigerator", "cooling", "starter: open"),
    ("refrigerator", "cooling", "defrost timer: wires at 4 and 2 swapped"),
    ("refrigerator", "cooling", "receptacle: PE contact loose"),
]


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize(("name", "setting"), pictures.cases())
def test_a_machine_is_drawn_as_it_is_wired(name: str, setting: str, way: str) -> None:
    """In every named setting the lines say what the sheet says, without a crossing and with few bends."""
    sheet = pictures.sheet(name, setting, house=HOUSE[way])
    reading = WAYS[way](sheet).svg
    assert check.findings(reading, sheet) == []
    assert check.crossings(check.read(reading)) == []
    assert check.bends(check.read(reading)) <= 0.5 * len(sheet.elements)


@pytest.mark.parametrize(("name", "setting"), pictures.cases())
def test_a_machine_fits_a4(name: str, setting: str) -> None:
    """A4 need not shrink the whole machine below three quarters."""
    picture = wiring.across(pictures.sheet(name, setting))
    assert wiring.a4_scale(picture.width, picture.height) >= 0.75


def _circuits() -> list[tuple[str, str]]:
    return [
        (name, part)
        for name in library.names()
        for part in sorted({element.part for element in pictures.sheet(name, house=True).elements})
    ]


@pytest.mark.parametrize(("name", "part"), _circuits())
def test_the_circuit_of_every_part_fits_a_phone(name: str, part: str) -> None:
    """With breaker and receptacle, each circuit is at most 390 px wide, uncrossed and drawn as it is wired."""
    usual = next(iter(machines.load(name).settings))
    sheet = pictures.sheet(name, usual, house=True)
    picture = circuit.drawn(sheet, part)
    assert picture.width <= circuit.PHONE
    assert check.crossings(check.read(picture.svg)) == []
    assert check.findings(picture.svg, circuit.reduced(sheet, part)) == []


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize(("name", "setting", "fault"), FAULTS)
def test_a_fault_is_drawn_as_it_is(name: str, setting: str, fault: str, way: str) -> None:
    """What a fault opened, altered or joined is an element that reads back as any other."""
    sheet = pictures.sheet(name, setting, house=HOUSE[way], fault=fault)
    assert check.findings(WAYS[way](sheet).svg, sheet) == []


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("name", library.names())
def test_an_isolated_machine_is_drawn_as_it_is(name: str, way: str) -> None:
    """So is a machine that is unplugged or whose breaker is off."""
    sheet = pictures.sheet(name, house=HOUSE[way], isolated=True)
    picture = WAYS[way](sheet)
    assert check.findings(picture.svg, sheet) == []
    assert picture.crossings == 0
