"""The words that a person at the guide reads, told back by a reader that knows them and the machine's file alone: in
whole sessions nothing is wrong with them, and where a sentence is dropped the reader finds that it is missing."""

from __future__ import annotations

import re
from functools import cache

import pytest

from halfsplit.machine import loading
from tests.cli.person import session
from tests.cli.reads_back import wrong_in
from tests.depth import DEEP

GAS, OVEN = "tests/gas/glow-igniter-dryer.yaml", "tests/supplies/built-in-oven.yaml"
HEATER, DISHWASHER = "tests/supplies/room-heater.yaml", "tests/supplies/wired-dishwasher.yaml"
SESSIONS = [
    *(("water-heater", number) for number in (1, 2, 4)),
    *((GAS, number) for number in (5, 8, 14, 16, 115, 116)),
    *((OVEN, number) for number in (0, 15)),
    *((HEATER, number) for number in (2, 14, 22)),
    *((DISHWASHER, number) for number in (0, 132)),
    ("refrigerator", 16),
    ("coil-cooktop", 104),
    ("vented-dryer", 9),
]
"""Found to hold repairs that do not cure, proof runs that are broken off, refusals of all kinds."""


@cache
def screen(machine: str, number: int) -> str:
    """All that stood on the screen in a session."""
    return session(machine, number)


def complaints(machine: str, told: str) -> list[str]:
    """What the reader finds wrong in it."""
    return wrong_in(told, loading.load(machine))


def dropped(told: str, pattern: str, instead: str = "") -> str:
    """A session without the first sentence of this pattern, or with another instead."""
    assert re.search(pattern, told), pattern
    return re.sub(pattern, instead, told, count=1)


ISOLATED = r" and prove it dead \(meter proved before and after, on a source known to be live\)"
BACK = r"Take the leads off, clear your hands, and bring the power back\. "
BOND = r"Ohms from cabinet.metal to the earth .+?; else leave the power off\. "
MISSING = {
    "prove dead": (GAS, 5, ISOLATED, "", "before it is proved dead"),
    "breaker off": ("water-heater", 2, r"Isolate the machine \(breaker off, locked\)\. ", "", "told open with"),
    "plug out": (GAS, 8, r"Isolate the machine \(plug out\)", "Wait", "does not know"),
    "power back": (GAS, 5, BACK, "", "off by the words"),
    "power last": ("refrigerator", 16, r"\d+  Power last, hands clear: plug in\.", "", "off by the words"),
    "plug in again": (HEATER, 14, r" Plug it in again, but not where it is burnt\.", "", "off by the words"),
    "close": ("water-heater", 2, r"\d+  Close the upper cover: .+", "", "power beside open covers (upper cover)"),
    "close what is behind": (GAS, 14, r"\d+  Close the drum space: .+", "", "told closed before"),
    "open what is in front": (GAS, 14, r"Open the top \(2 x PH2\)\. ", "", "told open before top"),
    "wires back": ("water-heater", 2, r"\d+  Wires back on .+", "", "perhaps off"),
    "frame's bond": (GAS, 5, BOND, "", "frame's bond"),
    "live parts": (GAS, 5, r"  DANGER: Live parts\. .+\n", "", "without the caution of live parts"),
    "prove the meter": (GAS, 5, r"Prove the meter first on a source that you know to be live\. ", "", "was not proved"),
    "cool": (GAS, 5, r"Let it cool: 10 min after it last ran\. ", "", "before it has cooled"),
    "shut the gas": (GAS, 8, r"Shut the gas cock \(on the gas pipe behind the dryer\)\. ", "", "cock perhaps open"),
    "how it stands": ("coil-cooktop", 104, r"Still set: [^.]+\. ", "", "a dead reading told without how"),
    "set back": (GAS, 16, r" Set back what the proof run has set: .+", "", "which was set before"),
    "tag": (GAS, 14, r"\d+  No power: breaker off, .+", "", "no tag told"),
    "new words": ("water-heater", 2, r"Repair: ", "Lick both terminals. Repair: ", "does not know"),
}
"""What is dropped: from which session, how it reads there, what stands instead, and what the reader says."""


DROPPED_FROM = list(dict.fromkeys(missing[:2] for missing in MISSING.values()))
"""The sessions from which something is dropped: read back anyway."""


@pytest.mark.parametrize(("machine", "number"), SESSIONS if DEEP else DROPPED_FROM)
def test_nothing_is_wrong_in_the_words_of_a_session(machine: str, number: int) -> None:
    """Refusals, steps taken back and repairs that do not cure among them."""
    assert complaints(machine, screen(machine, number)) == []


@pytest.mark.parametrize("what", MISSING)
def test_a_sentence_that_is_missing_is_found(what: str) -> None:
    """The whole session is told without one sentence: something is wrong, and it is said what."""
    machine, number, pattern, instead, says = MISSING[what]
    found = complaints(machine, dropped(screen(machine, number), pattern, instead))
    assert any(says in one for one in found), found
