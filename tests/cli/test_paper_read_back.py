"""The plan on paper, told back by a reader that knows its words and the machine's file alone: along every path nothing
is wrong with them, and where a sentence is dropped or another stands in its place the reader finds it."""

from __future__ import annotations

import re
from functools import cache

import pytest

from halfsplit.machine import loading
from tests.cli.reads_paper import paper, wrong_in

HEATER, FAN = "water-heater", "tests/hazards/boxed-capacitor-fan.yaml"
GAS, FRIDGE = "tests/gas/gas-air-heater.yaml", "tests/hazards/small-refrigerator.yaml"
ROOM = "tests/supplies/room-heater.yaml"
COLD = ("water gets hot", "no")
PAPERS: dict[str, tuple[str, tuple[str, str], tuple[str, ...]]] = {
    "heater": (HEATER, COLD, ()),
    "heater, no ohms": (HEATER, ("hot water lasts", "no"), ("ohms",)),
    "fan": (FAN, ("fan hums", "yes"), ()),
    "gas": (GAS, ("air is warm", "no"), ()),
    "wet": (FRIDGE, ("water on the floor", "yes"), ()),
    "heater, begun": (HEATER, COLD, ()),
    "room heater, no amps": (ROOM, ("air is warm", "no"), ("amps",)),
}
"""By name: the machine, what was told of it, what cannot be done. Small machines; sheets with no more than 20 boxes."""


BEGUN = {
    "heater, begun": "- reading: {meter: ohms, red: upper element.1, black: upper element.2, lift: [upper element.1], "
    "value: 12.5}"
}
"""What was found before a paper was printed, with the machine left open for it."""


@cache
def sheet(name: str) -> str:
    """A plan on paper."""
    machine, (what, value), cannot = PAPERS[name]
    told = f"- symptom: {{what: {what}, value: {value}}}\n{BEGUN.get(name, '')}"
    return paper(machine, told, cannot, ("--boxes", "20"))


def complaints(name: str, told: str) -> list[str]:
    """What the reader finds wrong in it."""
    return wrong_in(told, loading.load(PAPERS[name][0]))


@pytest.mark.parametrize("name", PAPERS)
def test_nothing_is_wrong_in_the_words_of_a_paper(name: str) -> None:
    """Every path from the first box to a repair, to where it hands over or stops, and off the sheet."""
    assert complaints(name, sheet(name)) == []


DEAD = r" and prove it dead \(meter proved before and after, on a source known to be live\)"
LANDED = r"Prove it dead \(meter proved [^)]+\): [^.]+\.[^.]+\.[^.]+\.metal and [^.]+\. "
LEFT = r"\|     Before you leave it here: .+\n"
MISSING = {
    "breaker off": ("heater", r"Isolate the machine \(breaker off, locked\)\. ", "", "told open with the power"),
    "prove dead": ("fan", DEAD, "", "before it is proved dead"),
    "prove dead inside": ("heater", LANDED, "", "before it is proved dead"),
    "discharge": ("fan", r"Discharge start capacitor: .+? 0 V\. ", "", "beside a charge"),
    "shut the gas": ("gas", r"Shut the gas cock \([^)]+\)\. ", "", "cock perhaps open"),
    "cool": ("room heater, no amps", r"Let it cool: 10 min [^.]+\. (?=[^.]+\. Still)", "", "before it has cooled"),
    "close": ("heater", r"\| \[ \] +\d+  Close the upper cover: .+\n", "", "power beside open covers"),
    "wires back": ("heater", r"\| \[ \] +\d+  Wires back on upper element\.1: .+\n", "", "perhaps off"),
    "how it stands": ("room heater, no amps", r"Still set: [^.]+\. ", "", "a dead reading told without how"),
    "power last": ("gas", r"\| \[ \] +\d+  Power last, .+\n", "", "off by the words"),
    "frame's bond": ("heater", r"\| \[ \] +\d+  Before the power: .+\n", "", "frame's bond"),
    "closed before it is open": ("gas", r"Open the burner box \(2 x PH2\)\. ", "", "told closed that is closed"),
    "live parts": ("heater", r"\| DANGER: Live parts\. .+\n", "", "without the caution of live parts"),
    "live at the head": ("heater", r"-- LIVE, ", "-- ", "its head says not LIVE"),
    "no tag": ("heater", r"; breaker off, with a tag: do not switch on", "", "without power, and no tag"),
    "left open": ("heater", r"leave it here: close the upper cover; ", "leave it here: ", "upper cover perhaps open"),
    "left without a word": ("heater", LEFT, "", "nothing says how the machine is"),
    "left charged": ("fan", r"isolate it at the breaker, and prove it dead; discharge the start capacitor; ",
                     "isolate it at the breaker, and prove it dead; ", "told closed beside a charge"),
    "left hot to hands": ("heater", r"isolate it at the breaker, and prove it dead; ", "", "with the power perhaps on"),
    "gas left open": ("gas", r"; shut the gas; ", "; ", "the gas perhaps open"),
    "gas left open in vain": ("gas", r"; gas shut; covers", "; covers", "the gas perhaps open"),
    "in vain": ("heater", r"breaker off; covers closed; ", "", "nothing has switched it off"),
    "one box twice": ("heater", r"go to 3 ", "go to 2 ", "was come to already"),
    "whence": ("heater", r"come here, from 1 ", "come here, from 2 ", "does not name the box that leads here"),
    "no such box": ("heater", r"go to 3 ", "go to 99", "is gone to and not there"),
    "what else is found": ("heater", rf"\| \[ \] If you see something else.+\n{LEFT}", "", "no place to go on"),
    "write": ("heater", r"\| write: - reading.+\n", "", "does not say what to write"),
    "written otherwise": ("fan", r"lift: \[[^]]+\]", "lift: []", "written with no wire off"),
    "stop": ("gas", r"\| \[ \] burnt, .+?: STOP: .+\n\|     Before.+\n", "", "and the box says otherwise"),
    "gas in the proof run": ("gas", r"At a yes to .+: STOP: .+\n", "", "ends the work, and the proof run says nothing"),
    "what is left": ("heater", r"\n  1  24\.2 to", "\n  1  23.2 to", "of which box 1 says nothing"),
    "left charged by the list": ("fan", r", a capacitor discharged", "", "what is left does not say"),
    "left at last": ("heater", r"Before you leave the machine: ", "", "how the machine is left at last"),
    "begun": ("heater, begun", r"It is taken to stand as it was left: .+\n", "", "told back that is on"),
    "begun elsewhere": ("heater, begun", r"left: open: upper cover", "left: open: lower cover", "lower cover perhaps"),
    "new words": ("heater", r"\| Repair: ", "| Lick both terminals. Repair: ", "does not know"),
}  # fmt: skip
"""What is dropped: from which paper, how it reads there, what stands instead, and what the reader says."""


@pytest.mark.parametrize("what", MISSING)
def test_a_sentence_that_is_missing_is_found(what: str) -> None:
    """A whole paper without one sentence, or with another: something is wrong, and it is said what."""
    name, pattern, instead, says = MISSING[what]
    told = sheet(name)
    assert re.search(pattern, told), pattern
    found = complaints(name, re.sub(pattern, instead, told, count=1))
    assert any(says in one for one in found), found
