"""What `diagnose` says of the file of a led talk is what the guide shows there, after one repair or several."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

import pytest

from halfsplit.cli import conversation, ending
from halfsplit.cli.talking import Stop
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.service import diagnosing, machines, visiting
from halfsplit.service.guiding import Guided
from halfsplit.work import stopping
from tests.cli.test_two_faults_led import READ, Person, hidden
from tests.depth import some

SHOWN = 0.001
"""The guide names possible causes down to this."""
UPPER, LOWER = "upper element: open", "lower element: open"


class Watched(Person):
    """Keeps every state of the talk after a repair; types these first where a repair has ended, and that it has not
    looked at what it is asked for besides."""

    def __init__(self, machine: str, faults: tuple[str, ...], told: tuple[str, ...], typed: tuple[str, ...]) -> None:
        super().__init__(hidden(machine, *faults), told[0])
        self.told, self.ending = [*told, ""], [*typed]
        self.states: list[Guided] = []

    def _typed(self, prompt: str) -> str:
        if self.held.now.before_proof and self.held.now not in self.states:
            self.states.append(self.held.now)
        if prompt.startswith("Done and checked") and self.ending:
            self.made += [one.name for one in self.held.now.due]
            self.truth.repaired(self.made)
            return self.ending.pop(0)
        if prompt.startswith((ending.WRONG_BEFORE, ending.NAMED)) or READ in prompt:
            return self.ending.pop(0) if self.ending else self._not_typed(prompt)
        return super()._typed(prompt)

    def _not_typed(self, prompt: str) -> str:
        return "" if prompt.startswith(ending.WRONG_BEFORE) else super()._typed(prompt)


@dataclass(frozen=True)
class Case:
    """A machine, its hidden faults, what is told of it, what is typed first at the end of repairs; how many repairs it
    takes at least, and how they are on record."""

    machine: str
    faults: tuple[str, ...]
    told: tuple[str, ...]
    typed: tuple[str, ...] = ()
    repairs: int = 1
    cured: frozenset[bool | None] = frozenset({False})


CASES = {
    "cured, not well": Case("water-heater", (UPPER, LOWER), ("1 no",), cured=frozenset({True})),
    "cured, nothing named": Case("water-heater", (UPPER, LOWER), ("1 no",), ("no", "", "yes"), 1, frozenset({True})),
    "in vain": Case("water-heater", (LOWER, UPPER), ("1 no",), ("no", "", "no")),
    "untried": Case("water-heater", (UPPER, "lower element: to frame"), ("1 no",), cured=frozenset({None})),
    "wet, untried": Case(
        "water-heater", (UPPER, LOWER), ("1 no", "6 yes"), ("no", "0", "0.3k", "OL", "yes"), 1, frozenset({None})
    ),
    "wet, two repairs": Case(
        "water-heater", (UPPER, LOWER), ("1 no", "6 yes"), ("no", "0", "", ""), 2, frozenset({None, False})
    ),
    "refrigerator": Case("refrigerator", ("starter: open", "freezer fan: winding open"), ("5 no",)),
    "dryer, two repairs": Case("vented-dryer", ("cut-off: open", "heater: front coil open", "buzzer: open"), ("7 no",),
                               repairs=2),
}  # fmt: skip
TRIED = some([*CASES], 5)
each = pytest.mark.parametrize("case", [CASES[name] for name in TRIED], ids=TRIED)


@cache
def states(case: Case) -> tuple[Guided, ...]:
    """The states of the talk after its first repair."""
    person = Watched(case.machine, case.faults, case.told, case.typed)
    try:
        person.held.run(conversation.Asked(case.machine, own=True))
    except Stop:
        assert person.held.cured is None
    return tuple(person.states)


def judged(case: Case) -> Iterator[Guided]:
    """The first state after each repair, and the last of all."""
    found = states(case)
    for n, one in enumerate(found):
        if n in (0, len(found) - 1) or one.before_proof is not found[n - 1].before_proof:
            yield one


def kept(guided: Guided) -> list[f.Finding]:
    """What was found so far, written to a file and read again."""
    text = json.dumps([findings_file.written(one) for one in guided.all_findings])
    return diagnosing.read_findings(guided.machine, text, "job.yaml")


@cache
def diagnosed(case: Case, guided: Guided) -> dict[str, Any]:
    """What `diagnose` says of that file."""
    return diagnosing.diagnose(guided.machine, kept(guided), key=machines.key(case.machine))


@each
def test_the_talk_has_its_repairs(case: Case) -> None:
    """Each case is what it is called: so many repairs before the last state, on record so."""
    tried = [x for x in states(case)[-1].all_findings if isinstance(x, f.Tried)]
    assert len(tried) >= case.repairs
    assert {x.cured for x in tried} == case.cured
    assert len(list(judged(case))) >= case.repairs


@each
def test_it_ranks_the_same_causes(case: Case) -> None:
    """With the same probabilities, and as much left to what the file does not say."""
    for guided in judged(case):
        found = diagnosed(case, guided)
        ranked = {tuple(one["faults"]): one["probability"] for one in found["candidates"]}
        shown = {one.faults: one.probability for one in guided.ranked}
        assert shown
        assert {name for name, p in ranked.items() if p >= SHOWN} == set(shown)
        assert [ranked[name] for name in shown] == pytest.approx(list(shown.values()), abs=1e-9)
        assert found["unexplained"] == pytest.approx(guided.weighed.unsaid, abs=1e-9)


@each
def test_it_says_the_same_next(case: Case) -> None:
    """The same step, or stop, in the same words with the same dangers; the same repair where one is due."""
    for guided in judged(case):
        found = diagnosed(case, guided)
        step = found["next"][0] if found["next"] else None
        assert (step and step["text"]) == (guided.advice and guided.advice.text)
        assert (step and tuple(step["cautions"])) == (guided.advice and guided.advice.cautions)
        due = " and ".join(one.name for one in guided.due)
        assert (found["enough"]["repair"] if found["enough"]["known"] else "") == due


@each
def test_the_sheet_of_a_visit_begins_there(case: Case) -> None:
    """Its causes are those of the guide, its dangers too."""
    guided = states(case)[0]
    sheet = visiting.sheet(guided.machine, kept(guided), key=machines.key(case.machine))
    wanted = [(list(one.faults), pytest.approx(one.probability)) for one in guided.ranked[: visiting.CAUSES]]
    assert [(one["faults"], one["probability"]) for one in sheet["causes"]] == wanted
    assert sheet["first"] == list(guided.always)


@pytest.mark.parametrize("name", ["in vain", "cured, nothing named", "wet, two repairs"])
def test_the_plan_on_paper_begins_there(name: str) -> None:
    """Its first box is the step that the guide shows; in the wet the one once the breaker is off."""
    guided = next(one for one in states(CASES[name]) if not one.due)
    going = guided.breaker_off() if guided.wet else guided
    asked = visiting.Asked(tree=True, boxes=1)
    tree = visiting.sheet(guided.machine, kept(guided), asked, machines.key(CASES[name].machine))["tree"]
    assert going.advice
    assert (tree["kind"], tree["text"]) == ("step", going.advice.text)


def test_the_water_stands_in_the_file_too() -> None:
    """No power in what `diagnose` says next, and the danger above it, while the water stands; after a repair that was
    tried in the wet a stop, until the breaker is off."""
    stops = []
    for name in ("wet, untried", "wet, two repairs"):
        for guided in judged(CASES[name]):
            (step, *others) = diagnosed(CASES[name], guided)["next"]
            assert guided.always
            assert not any(one["live"] for one in (step, *others))
            stops += [step["rule"]] if step["rule"] else []
    assert stopping.WATER in stops
