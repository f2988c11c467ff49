"""The words that a person at the guide reads, told back by a reader that knows nothing but these and the machine's file:
in whole sessions nothing of it is wrong, and where a sentence is dropped the reader finds that it is missing."""

from __future__ import annotations

import re
from functools import cache

import pytest

from halfsplit.machine import loading
from tests.cli.person import session
from tests.cli.reads_back import wrong_in

GAS, OVEN = "tests/gas/glow-igniter-dryer.yaml", "tests/supplies/built-in-oven.yaml"
HEATER, DISHWASHER = "tests/supplies/room-heater.yaml", "tests/supplies/wired-dishwasher.yaml"
SESSIONS = [
    *(("water-heater", number) for number in range(8)),
    *((GAS, number) for number in (3, 5, 8, 9, 12, 14, 15)),
    *((OVEN, number) for number in (0, 2, 15, 20)),
    *((HEATER, number) for number in (1, 2, 22, 23)),
    *((DISHWASHER, number) for number in (0, 3, 15)),
    *(("refrigerator", number) for number in (4, 16)),
    *(("coil-cooktop", number) for number in (7, 14)),
    ("vented-dryer", 1),
]


@cache
def screen(machine: str, number: int) -> str:
    """All that stood on the screen in a session."""
    return session(machine, number)


def complaints(machine: str, told: str) -> list[str]:
    """What the reader finds wrong in it."""
    return wrong_in(told, loading.load(machine))


@pytest.mark.parametrize(("machine", "number"), SESSIONS)
def test_nothing_is_wrong_in_the_words_of_a_session(machine: str, number: int) -> None:
    """Refusals, steps taken back and repairs that do not cure among them."""
    assert complaints(machine, screen(machine, number)) == []
