"""Pictures of the library's machines under faults, read back; tools/check_drawings.py does the same for every fault."""

from __future__ import annotations

import pytest

from halfsplit.machine import library
from tests.depth import some
from tests.service import fault_pictures

STEP = 45
"""One fault in so many, from the start of the list on, and those that were hard to draw."""

HARD = [
    ("vented-dryer", "motor: wires at line and start swapped"),
    ("vented-dryer", "timer: wires at line and neutral swapped"),
    ("vented-dryer", "timer: wires at neutral and buzzer swapped"),
    ("vented-dryer", "wire start switch.2 to timer.neutral: broken"),
    ("vented-dryer", "terminal block: wires at N and L2 swapped"),
    ("vented-dryer", "heater: front coil to frame"),
    ("vented-dryer-3-wire", "heater: front coil to frame"),
    ("vented-dryer-3-wire", "wire terminal block.L2 to motor.heat 2: chafed to frame"),
    ("water-heater", "wire limit.4 to upper element.2: chafed to frame"),
    ("refrigerator", "compressor: wires at S and R swapped"),
    ("refrigerator", "defrost timer: wires at 2 and 3 swapped"),
    ("refrigerator", "receptacle: PE contact loose"),
]


def _cases() -> list[tuple[str, str]]:
    spread = [(name, fault) for name in library.names() for fault in fault_pictures.faults(name)[::STEP]]
    return list(dict.fromkeys([*HARD, *some(spread, 6)]))


@pytest.fixture(scope="module")
def shower() -> fault_pictures.Shower:
    """Draws what no other case has drawn."""
    return fault_pictures.Shower()


@pytest.mark.parametrize(("name", "fault"), _cases())
def test_a_fault_is_drawn_without_a_finding(name: str, fault: str, shower: fault_pictures.Shower) -> None:
    """Across, down and each circuit: drawn as wired, with the least number of crossings, circuits fit a phone."""
    for asked, sheet, picture in shower.shown(name, fault_pictures.usual(name), fault):
        assert fault_pictures.wrong(asked, sheet, picture) == [], asked
