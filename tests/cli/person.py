"""A person at `halfsplit guide --own` with a machine in which faults are hidden: types what the machine shows, and now
and then refuses, takes back, names what was wrong in the proof run, goes another way about a repair, or stops.

Knows the guide from within, so that it can answer; judges nothing of what is told.
"""

from __future__ import annotations

import io
import os
import random
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from typing import cast
from unittest.mock import patch

import numpy as np

from halfsplit.cli import conversation, curing, main, talking
from halfsplit.cli.cards import Named
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step
from halfsplit.rehearse import trials
from halfsplit.rehearse.truth import Truth, answer
from halfsplit.rehearse.two_faults import TwoFaults
from halfsplit.service.proof_cards import FIRST, Check

UNWRAPPED = 1_000_000
"""So wide a screen that every paragraph is a line of its own, as the reader wants them."""


@dataclass(frozen=True)
class Habits:
    """How often a person does what: refuses a step, takes something back, goes card by card, says no without a number,
    goes back from a repair, and after how many steps they stop at last. `two`: how often two faults are hidden."""

    refuses: float = 0.12
    undoes: float = 0.06
    by_card: float = 0.6
    names: float = 0.8
    goes_back: float = 0.12
    stops: float = 0.02
    further: float = 0.0
    two: float = 0.3
    steps: int = 24


@dataclass
class Person(io.StringIO):
    """The keyboard: each line that is read is worked out from what the screen asks and what the machine shows."""

    number: int
    habits: Habits = Habits()
    steps: int = 0
    seen: int = 0
    typed: list[str] = field(default_factory=list)
    repaired: set[str] = field(default_factory=set)
    waiting: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__()
        self.dice = random.Random(self.number)
        self.held: conversation.Conversation | None = None
        self.named: Named | None = None
        self.truth: Truth | None = None

    # ---- what is read from the keyboard -------------------------------------------------------------------------

    def readline(self, size: int | None = -1) -> str:  # type: ignore[override]
        """The next line; it stands on the screen too, as in a terminal."""
        screen = cast("io.StringIO", sys.stdout).getvalue()
        since, self.seen = screen[self.seen :], len(screen)
        line = self.line(since.rsplit("\n", 1)[-1], since)
        self.typed.append(line)
        print(line)
        self.seen += len(line) + 1
        return f"{line}\n"

    def line(self, prompt: str, since: str) -> str:
        """What is typed at a prompt."""
        if len(self.typed) > 400:
            return "stop"
        if self.waiting:
            return self.waiting.pop(0)
        for begins, typed in self.prompts().items():
            if prompt.startswith(begins):
                return typed(prompt)
        return self.at_check(prompt) if prompt[:1].isdigit() else self.at_step(since)

    def prompts(self) -> dict[str, Callable[[str], str]]:
        """What is typed, by how a prompt begins."""
        return {
            "Number and yes or no": lambda _: self.complaint(),
            "[Enter or ok": lambda _: "" if self.dice.random() < 0.97 else self.dice.choice(["undo", "cannot"]),
            "What stands in the way": self.in_the_way,
            "Done and checked": lambda _: self.at_repair(),
            "Done, nothing to be read": lambda _: self.at_repair(),
            "All so?": lambda _: self.at_card(),
            "Which numbers were not": lambda _: self.numbers(),
            "Wrong before": self.wrong_before,
            "Was the machine put together": lambda _: self.dice.choice(["yes", "no"]),
            "Is the machine put together": lambda _: self.dice.choice(["yes", "no", "begun"]),
            "Card": lambda _: self.dice.choice(["yes", ""]),
            "Cards": lambda _: self.dice.choice(["yes", ""]),
            "[undo if it can be made": lambda _: self.at_danger("stop"),
            "[off": lambda _: self.at_danger("off"),
            "[anyway": lambda _: self.at_danger("anyway"),
            "[undo if that was not so": lambda _: self.at_danger("stop"),
        }

    def at_danger(self, usual: str) -> str:
        """At a stop, or what is handed over."""
        return self.dice.choices([usual, "undo", "stop"], [0.8, 0.1, 0.1])[0]

    def complaint(self) -> str:
        """What the owner has told, one after the other."""
        assert self.held is not None
        if self.truth is None:
            self.truth, told = hidden(self.held.now.asked, self.number, self.habits.two)
            names = list(self.held.now.machine.symptoms)
            self.waiting = [f"{names.index(x.what) + 1} {said(x)}" for x in told if isinstance(x, f.Perceived)]
            self.waiting.append("")
        return self.waiting.pop(0)

    def in_the_way(self, _: str) -> str:
        """One of the first choices, or nothing after all."""
        return self.dice.choice(["1", "1", "1", "2", "undo"])

    def at_step(self, since: str) -> str:
        """The answer to the step that is shown, and to what stands alongside now and then; or something else."""
        assert self.held is not None
        assert self.truth is not None
        advice = self.held.now.advice
        self.steps += 1
        if advice is None or self.steps > self.habits.steps or self.dice.random() < self.habits.stops:
            return "stop"
        if self.dice.random() < self.habits.refuses:
            return self.dice.choice(["skip", "cannot"])
        if self.dice.random() < self.habits.undoes:
            return "undo"
        if "Thought further" in since:
            return "take"
        if self.dice.random() < self.habits.further:
            return "further"
        steps = [advice.step, *(one.step for one in self.held.now.alongside)]
        many = self.dice.choice([1, len(steps)])
        return "; ".join(said(answer(self.truth, step)) for step in steps[:many])

    # ---- a repair and its proof run -----------------------------------------------------------------------------

    def at_repair(self) -> str:
        """Whether all is as it must be, once repairs are made."""
        assert self.held is not None
        assert self.truth is not None
        assert self.named is not None
        if self.named.claimed:
            return self.dice.choice(["yes", ""])
        if self.dice.random() < self.habits.goes_back:
            return self.dice.choice(["undo", "cannot"])
        made = {one.name for one in self.held.now.due or ()} | set(self.held.now.proved)
        self.repaired |= made
        self.truth.repaired(self.repaired)
        if not self.named.proof.checks:
            return "yes"
        wrong = self.wrong([one for one in self.named.proof.checks if one.number == FIRST])
        if wrong:
            return "0"
        if not self.named.proof.ran:
            return "yes"
        if self.dice.random() < self.habits.by_card and not self.named.read:
            return ""
        return "no" if self.wrong(self.named.proof.checks) else "yes"

    def at_card(self) -> str:
        """What of a card was not as it must be."""
        assert self.named is not None
        card = self.named.proof.run[self.named.card - 1]
        wrong = self.wrong(card.checks)
        return " ".join(sorted({str(one.number) for one in wrong}))

    def wrong(self, checks: object) -> list[Check]:
        """The checks that are not as they must be."""
        assert self.held is not None
        assert self.truth is not None
        bench: Bench = self.held.now.bench
        found = []
        for one in checks:  # type: ignore[attr-defined]
            if not one.is_right(bench, answer(self.truth, one.step)):
                found.append(one)
        return found

    def numbers(self) -> str:
        """The numbers that were not as they must be; nothing now and then."""
        assert self.named is not None
        checks = self.named.proof.checks
        before = self.wrong([one for one in checks if one.number == FIRST])
        wrong = before or self.wrong(checks)
        if self.dice.random() > self.habits.names and not before:
            return ""
        return " ".join(sorted({str(one.number) for one in wrong}))

    def at_check(self, prompt: str) -> str:
        """What the meter shows at one check, or the card on which something was not so."""
        assert self.named is not None
        assert self.truth is not None
        number = int(prompt.split(":")[0])
        if "on which card" in prompt:
            return ""
        for one in self.named.proof.checks:
            if one.number == number and not one.seen and not one.is_right(self.bench, found := self.shows(one.step)):
                return said(found)
        return ""

    @property
    def bench(self) -> Bench:
        """Of the guide."""
        assert self.held is not None
        return self.held.now.bench

    def shows(self, step: Step) -> f.Finding:
        """What the machine gives."""
        assert self.truth is not None
        return answer(self.truth, step)

    def wrong_before(self, prompt: str) -> str:
        """How something that was wrong before is now."""
        assert self.held is not None
        for what, symptom in self.held.now.machine.symptoms.items():
            if (symptom.question or what)[1:] in prompt and self.dice.random() < 0.8:
                return said(self.shows(Step("symptom", None, at=what)))
        return ""


def said(found: f.Finding) -> str:
    """A finding as it is typed."""
    match found:
        case f.Perceived():
            return "yes" if found.there else "no"
        case f.Look():
            return found.sees
        case f.Reading():
            return found.text
    raise AssertionError(found)


def hidden(asked: Adviser, number: int, two: float) -> tuple[Truth, list[f.Finding]]:
    """A machine with one or two faults, and what its owner tells."""
    rng, machine = np.random.default_rng(number), asked.bench.machine
    if rng.random() < two:
        return TwoFaults(asked, trials.Asked(machine)).hidden(rng)
    return trials.Rehearsal(asked, trials.Asked(machine)).hidden(rng)


@contextmanager
def watching(person: Person) -> Iterator[None]:
    """The guide with this person at it, on a screen on which no paragraph is wrapped."""

    class Seen(conversation.Conversation):
        """Lets the person see what the guide holds."""

        def __init__(self, *args: object, **more: object) -> None:
            super().__init__(*args, **more)  # type: ignore[arg-type]
            person.held = self

    def named(*args: object, **more: object) -> Named:
        person.named = Named(*args, **more)  # type: ignore[arg-type]
        return person.named

    with ExitStack() as stack:
        stack.enter_context(patch.object(conversation, "Conversation", Seen))
        stack.enter_context(patch.object(curing, "Named", named))
        stack.enter_context(patch.object(talking, "WIDTH", UNWRAPPED))
        stack.enter_context(patch.dict("os.environ"))
        os.environ.pop("COLUMNS", None)  # tests that run side by side have it
        stack.enter_context(patch("sys.stdin", person))
        yield


def session(machine: str, number: int, habits: Habits = Habits()) -> str:
    """All that stood on the screen in one session, what was typed with it."""
    person, screen = Person(number, habits), io.StringIO()
    words = ["guide", machine, "--own", *(() if habits.further else ("--no-further",))]
    with watching(person), redirect_stdout(screen), redirect_stderr(io.StringIO()) as wrong:
        code = main(words)
    assert code == 0, (wrong.getvalue(), screen.getvalue()[-2000:])
    return screen.getvalue()


if __name__ == "__main__":
    print(session(sys.argv[1], int(sys.argv[2])))
