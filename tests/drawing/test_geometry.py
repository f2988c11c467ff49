"""What the lines of a wiring picture say, read back from the SVG alone and compared with the sheet."""

from __future__ import annotations

import pytest

from halfsplit.drawing import check, circuit, wiring
from halfsplit.drawing.sheet import Sheet
from tests.drawing import netlists, samples, shut_in

WAYS = {"across": wiring.across, "down": wiring.down}


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("name", samples.MACHINES)
def test_a_machine_is_drawn_as_it_is_wired(name: str, way: str) -> None:
    """The netlist read from the lines is the sheet's, nothing lies on anything, every chip says its wire's colour.

    But a lead may lie on words where no way is free.
    """
    sheet = samples.MACHINES[name]()
    picture = WAYS[way](sheet).svg
    shut = set(shut_in.unavoidable(picture))
    assert [finding for finding in check.findings(picture, sheet) if finding not in shut] == []


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("name", samples.MACHINES)
def test_a_machine_has_no_crossing_and_few_bends(name: str, way: str) -> None:
    """No two wires cross, and there is at most half a bend for each element."""
    sheet = samples.MACHINES[name]()
    reading = check.read(WAYS[way](sheet).svg)
    assert check.crossings(reading) == []
    assert check.bends(reading) <= 0.5 * len(sheet.elements)


def _circuits() -> list[tuple[str, str]]:
    return [
        (name, part)
        for name in ("dryer", "water heater", "refrigerator")
        for part in sorted({element.part for element in samples.MACHINES[name]().elements})
    ]


@pytest.mark.parametrize(("name", "part"), _circuits())
def test_the_circuit_of_every_part_fits_a_phone(name: str, part: str) -> None:
    """Each circuit is at most 390 px wide at full size, has no crossing and is drawn as it is wired."""
    sheet = samples.MACHINES[name]()
    picture = circuit.drawn(sheet, part)
    reduced = circuit.reduced(sheet, part)
    assert picture.width <= circuit.PHONE
    assert check.crossings(check.read(picture.svg)) == []
    assert check.findings(picture.svg, reduced) == []


def _facing(sheet: Sheet) -> float:
    """Scale at which the sheet fills A4 (794 by 1123 px at 96 px an inch), whichever way it is turned."""
    picture = wiring.across(sheet)
    return max(min(wide / picture.width, tall / picture.height) for wide, tall in ((794, 1123), (1123, 794)))


@pytest.mark.parametrize("name", samples.MACHINES)
def test_a_machine_fits_a4_at_three_quarters_of_its_size(name: str) -> None:
    """A4 need not shrink the whole machine below 0.75."""
    assert _facing(samples.MACHINES[name]()) >= 0.75


@pytest.mark.parametrize("seed", range(0, 40, 4))
def test_random_netlists_flow_down_as_they_are_wired(seed: int) -> None:
    """Down the page, where rungs are pushed together, random netlists read back too."""
    sheet, _ = netlists.netlist(seed, most=40)
    assert check.findings(wiring.down(sheet).svg, sheet) == []
