"""Two faults at once, led by the guide and typed line by line: what the proof run shows leads to the second fault."""

from __future__ import annotations

import io
import re
from typing import Any

import numpy as np
import pytest

from halfsplit.cli import conversation, ending
from halfsplit.cli.held import STANDS_IN_THE_WAY
from halfsplit.cli.talking import Stop, Talk
from halfsplit.evidence import finding as f
from halfsplit.machine import loading
from halfsplit.modes import listing
from halfsplit.plan import proof
from halfsplit.rehearse.truth import Hidden, Truth, World, answer
from halfsplit.service import proof_cards, repairing
from halfsplit.service.proof_cards import Check
from halfsplit.work.refusals import NoMeter
from tests.cli.typed import type_in

READ = " show at "
"""In what is asked where a number of the meter's was named."""
MOST = 60
"""So many lines are typed at most."""


class Person(Talk):
    """Stands before a machine with hidden faults, does what is asked, and types what is found; `undoes`: once, what the
    proof run has shown is taken back and typed anew."""

    def __init__(self, truth: Truth, complaint: str, undoes: bool = False) -> None:
        super().__init__(io.StringIO())
        self.truth, self.told, self.undoes = truth, [complaint, ""], undoes
        self.held = conversation.Conversation(self, None, asks=False)
        self.made: list[str] = []
        self.typed: list[str] = []

    @property
    def said(self) -> str:
        """All that was said, on one line."""
        assert isinstance(self.out, io.StringIO)
        return " ".join(self.out.getvalue().split())

    def ask(self, prompt: str) -> str:
        """What is typed there."""
        print(f"{prompt} >", file=self.out)
        if len(self.typed) == MOST:
            raise Stop
        self.typed.append(self._typed(prompt))
        return self.typed[-1]

    def _typed(self, prompt: str) -> str:
        if prompt.startswith("Number and yes or no"):
            return self.told.pop(0)
        if prompt.startswith("Done and checked"):
            due = [one.name for one in self.held.now.due]
            self.made += due
            self.truth.repaired(self.made)
            return "no" if self.wrong() else "yes"
        if prompt.startswith(ending.NAMED):
            return " ".join(dict.fromkeys(str(number) for number in self.wrong()))
        if READ in prompt:
            asked = (one for one in self._checks() if not one.seen and prompt.startswith(f"{one.number}:"))
            at = prompt.rpartition(READ)[2].split("?")[0].split(" (")[0]
            return self._reads(next(one for one in asked if one.step.probe and one.step.probe.red == at))
        if self.undoes and self.held.now.before_proof:
            self.undoes = False
            return "undo"
        if self.held.now.wet:
            return "off"
        assert self.held.now.advice is not None
        found = answer(self.truth, self.held.now.advice.step)
        if isinstance(found, f.Perceived):
            return "yes" if found.there else "no"
        return found.sees if isinstance(found, f.Look) else found.text if isinstance(found, f.Reading) else ""

    def _checks(self) -> tuple[Check, ...]:
        return repairing.work(self.held.now, self.held.now.due).proof.checks

    def wrong(self) -> list[int]:
        """The numbers of what is not as it must be, as the machine is now."""
        return [one.number for one in self._checks() if not self._as_it_must_be(one)]

    def _as_it_must_be(self, one: Check) -> bool:
        if one.seen:
            return self.truth.perceived(one.step.at, one.at, False) == one.there
        found = answer(self.truth, one.step)
        assert isinstance(found, f.Reading)
        return proof.is_as_it_should(self.held.now.bench, one.step, found)

    def _reads(self, one: Check) -> str:
        found = answer(self.truth, one.step)
        assert isinstance(found, f.Reading)
        return found.text


def hidden(machine: str, *called: str) -> Truth:
    """A machine with these faults in their first sizes; nobody is mistaken."""
    known = listing.by_name(loading.load(machine))
    first, *others = (known[one] for one in called)
    also = [Hidden(one, one.alternatives[0][1]) for one in others]
    rng = np.random.default_rng(5)
    return Truth(loading.load(machine), first, first.alternatives[0][1], rng, World(mistaken=0.0), also=also)


def led(person: Person, machine: str) -> dict[str, Any]:
    """The whole talk; what was found."""
    person.held.run(conversation.Asked(machine, own=True))
    return person.held.as_data()


# ---- typed by hand ----------------------------------------------------------------------------------------


class Typing(Person):
    """Types these at the end of the first repair, then stops."""

    def __init__(self, typed: list[str]) -> None:
        super().__init__(hidden("water-heater", "upper element: open"), "1 no")
        self.ending = typed
        self.ends_there = False

    def _typed(self, prompt: str) -> str:
        asked = "Done and checked", ending.WRONG_BEFORE, ending.NAMED, STANDS_IN_THE_WAY
        ends = prompt.startswith(asked) or READ in prompt
        if (not ends or self.ends_there) and self.ending_begun:
            raise Stop
        return self.ending.pop(0) if ends and self.ending else super()._typed(prompt)

    @property
    def ending_begun(self) -> bool:
        """Whether the first repair was told and answered."""
        return any(one in ("no", "undo") for one in self.typed) and not self.ending


VAIN: list[Any] = [
    {"repair": {"made": "replace upper element", "cured": "no"}},
    {"symptom": {"what": "water gets hot", "value": "no", "by": "repairer",
                 "set": {"breaker": "on", "warmth": "cold tank"}}},
    {"closed": {"power": "on"}},
]  # fmt: skip
"""What is found where a repair did not cure and nothing else was named."""


def ended(*typed: str) -> tuple[Typing, list[Any]]:
    """The talk with these typed after the first repair, and what was found from there on."""
    person = Typing([*typed])
    with pytest.raises(Stop):
        led(person, "water-heater")
    found = person.held.as_data()["findings"]
    tried = next((n for n, one in enumerate(found) if "repair" in one), len(found))
    return person, found[tried:]


def test_with_none_named_the_complaint_is_asked_for() -> None:
    """There still, the repair did not cure, and what was repaired is good now."""
    person, found = ended("no", "", "maybe", "no")
    assert "Wrong before (6 in the list): Does a cold tank give any hot water within an hour? Now: yes" in person.said
    assert "'maybe' is neither yes nor no." in person.said
    assert found == VAIN
    assert ending.LEFT in person.said
    assert not any("upper element: open" in one.faults for one in person.held.now.ranked)


def test_with_none_named_the_complaint_may_be_gone() -> None:
    """Then the repair has cured it, and something else is wrong; where it was not looked at nothing is said of it."""
    _, found = ended("no", "", "yes")
    assert found[0] == {"repair": {"made": "replace upper element", "cured": "yes", "well": "no"}}
    assert found[1]["symptom"] == VAIN[1]["symptom"] | {"value": "yes"}
    _, found = ended("no", "", "")
    assert found == [VAIN[0], VAIN[2]]


def test_the_complaint_named_is_no_cure() -> None:
    """Its number: the repair is recorded as one that did not cure; what shows at once before it was seen, nothing after
    it, since nobody need have gone on."""
    _, found = ended("no", "6")
    assert found[0] == {"repair": {"made": "replace upper element", "cured": "no"}}
    told = {one["symptom"]["what"]: one["symptom"]["value"] for one in found[1:-1]}
    assert told == {"breaker trips": "no", "water gets hot": "no"}


def test_what_the_clamp_shows_is_asked_for() -> None:
    """A number of the clamp's wants what was read; a slip there or in the numbers is answered."""
    person, found = ended("no", "2 x 99", "2", "furlongs", "0.1 A")
    assert "'x' and '99' are no numbers from 0 to 11. Type those that you mean, as in: 2 4. Or undo" in person.said
    assert "'furlongs' is not understood as what a meter shows at amps" in person.said
    (read,) = [one["reading"] for one in found if "reading" in one]
    assert (read["meter"], read["red"], read["value"]) == ("amps", "limit.1", "0.1 A")
    assert found[0] == {"repair": {"made": "replace upper element", "cured": "no"}}  # nobody looked at the water yet


def test_what_comes_off_again_is_minded_again() -> None:
    """The machine was run meanwhile, closed: the danger behind the cover is told before that comes off again."""
    person, _ = ended("no", "3 6", "0.1 A")
    assert ending.STANDS[True] in person.said
    after = person.said.rpartition(ending.STANDS[True])[2]
    danger = after.index("DANGER: upper cover: 240 V behind it")
    assert danger < after.index("Open the upper cover")


def test_where_something_leads_to_the_frame_it_is_put_together_without_power() -> None:
    """Wherever in the list that was read: what follows isolates, opens and minds anew."""
    person, _ = ended("no", "0", "0.3k", "OL")
    assert ending.STANDS[False] in person.said
    assert ending.STANDS[True] not in person.said
    assert "DANGER: upper cover: 240 V behind it" in person.said.rpartition(ending.STANDS[False])[2]


def test_where_hands_were_is_looked_at_first_for_what_leads_to_the_frame() -> None:
    """The cover that was opened for the repair is named; not where the frame is clear."""
    person, _ = ended("no", "0", "0.3k", "OL")
    assert ending.FRAMED.format(bays="upper cover") in person.said
    person, _ = ended("no", "3", "0.1 A")
    assert "leads to the frame." not in person.said


def test_what_was_not_read_any_more_is_passed_over() -> None:
    """Who finds the first to the frame need not read the second; with none read the power stays off all the same."""
    _, found = ended("no", "0", "0.3k", "")
    assert [one["reading"]["red"] for one in found if "reading" in one] == ["limit.1"]
    person, found = ended("no", "0", "", "")
    assert person.said.count(ending.NAMED) == 1
    assert found == [{"repair": {"made": "replace upper element", "cured": "untried"}}, {"closed": {"power": "off"}}]
    assert ending.STANDS[False] in person.said


def test_what_is_read_as_it_must_be_is_not_taken_to_be_wrong() -> None:
    """An element draws 18.75 A at 240 V: said so, and asked once more; with none left the complaint is still there."""
    person, found = ended("no", "3", "18.8 A", "", "no")
    assert "that is as it must be, so it is not taken to be wrong." in person.said
    assert found == VAIN
    _, found = ended("no", "3 6", "18.8 A")
    assert [one for one in found if "reading" in one] == []
    seen = [(one["symptom"]["what"], one["symptom"]["value"]) for one in found if "symptom" in one]
    assert ("water gets hot", "no") in seen


def test_where_something_leads_to_the_frame_nothing_else_was_seen() -> None:
    """The power stays off: of the run nothing is recorded, nor whether the repair cured; and the search goes on."""
    person, found = ended("no", "0 6", "0.3k", "OL")
    assert "0: what does the meter show at limit.1?" in person.said
    assert "that is as it must be, so it is not taken to be wrong." in person.said
    assert found[0] == {"repair": {"made": "replace upper element", "cured": "untried"}}
    (read,) = [one["reading"] for one in found if "reading" in one]
    assert (read["meter"], read["red"], read["black"]) == ("ohms", "limit.1", "jacket.metal")
    assert not [one for one in found if "symptom" in one]
    assert ending.LEFT in person.said


@pytest.mark.parametrize(
    "typed", [("undo",), ("no", "undo"), ("no", "3", "undo"), ("no", "0", "OL", "undo"), ("no", "", "undo")]
)
def test_undo_at_the_end_takes_the_last_finding_back(typed: tuple[str, ...]) -> None:
    """Wherever it is typed there: no repair is recorded."""
    person, found = ended(*typed)
    assert found == []
    assert person.held.now.before_proof is None


def test_who_stops_is_told_how_to_leave_the_machine() -> None:
    """With a cover off: what is closed, and the power; after something that leads to the frame a tag, and no power.
    At a step that is shown what it opens too, since it may have been begun, and isolating first."""
    person = Stopping(["OL"])
    with pytest.raises(Stop):
        led(person, "water-heater")
    person.held.stop()
    left = person.said.rpartition(ending.LEFT_NOW)[2]
    assert "Close the upper cover" in left
    assert "Power last" in left
    framed, _ = ended("no", "0", "0.3k", "OL")
    framed.held.stop()
    assert "No power: breaker off, with a tag on it" in framed.said.rpartition(ending.LEFT_NOW)[2]
    person = Stopping([])
    with pytest.raises(Stop):
        led(person, "water-heater")
    person.held.stop()
    left = person.said.rpartition(ending.LEFT_NOW)[2]
    off = "Isolate the machine (breaker off, locked) and prove it dead"
    assert left.index(off) < left.index("Close the upper cover")


@pytest.mark.parametrize(
    ("typed", "cured"),
    [(("no",), "no"), (("no", "0"), "untried"), (("no", "0", "0.3k"), "untried"), (("no", "3"), "no")],
)
def test_who_stops_in_what_was_wrong_leaves_it_as_far_as_it_was_told(typed: tuple[str, ...], cured: str) -> None:
    """The repair is on record, how the machine is taken to stand is said, and where the frame may be live it is
    tagged."""
    person = Typing([*typed])
    person.ends_there = True
    with pytest.raises(Stop):
        led(person, "water-heater")
    person.held.stop()
    found = person.held.as_data()["findings"]
    assert [one["repair"]["cured"] for one in found if "repair" in one] == [cured]
    assert ending.STANDS[cured == "no"] in person.said
    assert ("with a tag on it" in person.said.rpartition("Stopped")[2]) == (cured == "untried")
    assert ("0.3k" in [one["reading"]["value"] for one in found if "reading" in one]) == ("0.3k" in typed)
    assert (ending.DEAD_FIRST in person.said.rpartition("Stopped")[2]) == (cured == "no")


class Stopping(Person):
    """Answers these, then stops."""

    def __init__(self, typed: list[str]) -> None:
        super().__init__(hidden("water-heater", "upper element: open"), "1 no")
        self.answers = typed

    def _typed(self, prompt: str) -> str:
        if prompt.startswith("Number and yes or no"):
            return self.told.pop(0)
        if not self.answers:
            raise Stop
        return self.answers.pop(0)


def test_what_is_not_proved_is_not_cured() -> None:
    """Water that no repair explains keeps the power off: yes is no cure then, and the repair is recorded as untried."""
    person = Typing(["yes"])
    person.told = ["1 no", "6 yes", ""]
    with pytest.raises(Stop):
        led(person, "water-heater")
    found = person.held.as_data()
    assert found["cured"] is None
    assert proof_cards.NOT_PROVED in person.said
    assert found["findings"][-1] == {"repair": {"made": "replace upper element", "cured": "untried"}}


# ---- card by card -----------------------------------------------------------------------------------------


def carded(monkeypatch: pytest.MonkeyPatch, *typed: str) -> tuple[str, list[Any]]:
    """The talk with these typed once a water heater's lower element is replaced; what is said then, and what is found
    after the repair."""
    first = ["2 no", "1 yes", "3 no", "4 no", "7 no", "", "OL"]
    type_in(monkeypatch, (*first, *typed))
    out = io.StringIO()
    found = conversation.hold(Talk(out), conversation.Asked("water-heater", own=True), None, asks=False)["findings"]
    tried = next((n for n, one in enumerate(found) if "repair" in one), len(found))
    return " ".join(out.getvalue().split()).partition("Prove it:")[2], found[tried:]


def test_enter_goes_from_card_to_card(monkeypatch: pytest.MonkeyPatch) -> None:
    """One at a time, yes at one being of that one; after the last it is asked whether all was so."""
    said, found = carded(monkeypatch, "", "yes", "", "stop")
    assert said.index("In all: some ") < said.index("All through cards 2 to 4: 1 breaker trips: no")
    assert [f"Card {number} of 4:" in said for number in (1, 2, 3, 4)] == [True, True, True, False]
    assert said.count("All so? (Enter: the next card / the numbers that were not, as in: ") == 3
    assert found == []
    said, found = carded(monkeypatch, *[""] * 5, "yes")
    assert "All so? (Enter: that was the last /" in said
    assert said.rindex("Done and checked") > said.index("Card 4 of 4:")
    assert found == [{"repair": {"made": "replace lower element", "cured": "yes"}}]


def test_what_was_not_so_is_typed_at_its_card_and_the_rest_is_not_gone_through(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is seen all through has one number, which means the card that is shown."""
    said, found = carded(monkeypatch, "", "", "", "1", "stop")
    assert "Card 4 of 4:" not in said
    (trips,) = [one["symptom"] for one in found if "symptom" in one and one["symptom"]["what"] == "breaker trips"]
    assert (trips["value"], trips["set"]["warmth"]) == ("yes", "top hot")
    assert ending.NAMED not in said


def test_with_no_card_shown_it_is_asked_on_which_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    """Enter means the first; a number on no card of it is answered."""
    for typed, warmth in (("4", "hot tank"), ("", "cold tank")):
        said, found = carded(monkeypatch, "no", "1", *(("9", typed) if typed else ("",)), "stop")
        assert "1: on which card? (2 to 4; Enter: 2 / undo)" in said
        assert ("'9' is no number from 2 to 4." in said) == bool(typed)
        (trips,) = [one["symptom"] for one in found if "symptom" in one and one["symptom"]["what"] == "breaker trips"]
        assert trips["set"]["warmth"] == warmth


# ---- two faults -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("undoes", [False, True])
def test_the_second_fault_is_found_from_what_the_proof_run_shows(undoes: bool) -> None:
    """The upper element is open, and so is the lower: the complaint of a cold tank is gone after the first repair, the
    hot water does not last; named by its number, that leads on to the lower one. Taken back whole and told again it
    leads there too."""
    person = Person(hidden("water-heater", "upper element: open", "lower element: open"), "1 no", undoes)
    found = led(person, "water-heater")
    assert found["cured"] == "replace upper element and replace lower element"
    assert ending.LEFT in person.said
    assert ("Taken back: what the proof run has shown." in person.said) == undoes
    tried = [one["repair"] for one in found["findings"] if "repair" in one]
    assert [one["made"] for one in tried] == ["replace upper element", "replace lower element"]
    assert {one["cured"] for one in tried} == {"yes"}
    assert "Proved: replace upper element and replace lower element. Nothing is left to do." in person.said
    lasts = [one["symptom"] for one in found["findings"] if one.get("symptom", {}).get("what") == "hot water lasts"]
    assert [one["value"] for one in lasts if one.get("by") == "repairer"][-1] == "no"


def test_a_second_fault_to_the_frame_is_found_before_the_power() -> None:
    """The upper element is open, the lower one leads to the frame: what is read there is named by its number, the power
    stays off, and the second repair cures. Of the first nobody knows: the machine was not run after it."""
    person = Person(hidden("water-heater", "upper element: open", "lower element: to frame"), "1 no")
    found = led(person, "water-heater")
    assert person.made == ["replace upper element", "replace lower element"]
    assert found["cured"] == "replace upper element and replace lower element"


def test_a_clamp_that_is_not_there_is_left_out_of_the_proof_run() -> None:
    """Said at the question itself; what it would show is no longer asked for, here and for the rest of the job, whose
    file says so too."""
    person = Typing(["cannot", "undo", "cannot", "there is no clamp for amps"])
    found = led(person, "water-heater")["findings"]
    assert "Nothing is set aside." in person.said
    assert "Planned around: there is no clamp for amps." in person.said
    # the cover may be off by then, and the power on
    assert ending.if_begun(person.held.now.machine, "the clamp") in person.said
    assert NoMeter("amps") in person.held.now.refused
    before, after = (int(one) for one in re.findall(r"In all: some \d+ min, (\d+) card", person.said))
    assert after == before - 1
    made = {"repair": {"made": "replace upper element", "cured": "yes"}}
    assert found[-2:] == [made, {"cannot": {"what": "amps"}}]  # for who goes on from the file
