"""Two faults at once, led by the guide and typed line by line: what the proof run shows leads to the second fault."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pytest

from halfsplit.cli import conversation, ending
from halfsplit.cli.talking import Stop, Talk
from halfsplit.evidence import finding as f
from halfsplit.machine import loading
from halfsplit.modes import listing
from halfsplit.plan import proof
from halfsplit.rehearse.truth import Hidden, Truth, World, answer
from halfsplit.service import repairing
from halfsplit.service.trial import Check

MOST = 60
"""So many lines are typed at most."""


class Person(Talk):
    """Stands before a machine with hidden faults, does what is asked, and types what is found; `undoes`: once, what the
    proof run has shown is taken back and typed anew."""

    def __init__(self, truth: Truth, complaint: str, undoes: bool = False) -> None:
        super().__init__(io.StringIO())
        self.truth, self.told, self.undoes = truth, [complaint, ""], undoes
        self.held = conversation._Held(self, None, asks=False)
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
        if prompt == ending.NAMED:
            return " ".join(str(number) for number in self.wrong())
        if "what does the clamp show" in prompt:
            return self._reads(self._checks()[int(prompt.split(":")[0]) - 1])
        if self.undoes and self.held.now.trial:
            self.undoes = False
            return "undo"
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
        least, most = proof.as_it_should(self.held.now.bench, one.step)
        return least <= (found.value or 0.0) <= most

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
    assert tried == [{"made": "replace upper element", "cured": "yes"}]
    lasts = [one["symptom"] for one in found["findings"] if one.get("symptom", {}).get("what") == "hot water lasts"]
    assert [one["value"] for one in lasts if one.get("by") == "repairer"][-1] == "no"
