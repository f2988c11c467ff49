"""A proof run in words: a card for each setting, with all that is to be seen or read in it, and how it is numbered.

Plain data; what stands on the cards is worked out in `service/proof_run`. Knows neither what was found nor who reads.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.operate.condition import Condition
from halfsplit.plan import proof
from halfsplit.plan.steps import Step
from halfsplit.quantity.display import duration

FIRST = 0
"""The number of all that is shaken and read to the frame: the others stay as they are where nothing is."""
DEAD = "Before it runs, as the list for putting together says:"
"""The head of what is shaken and read to the frame."""
NOT_PROVED = "Nothing is tried while the power has to stay off: that it works is not proved yet."
UNMEASURED = (
    "The frame's bond and the insulation cannot be measured with this meter: the power stays off until somebody has "
    "measured them, with one that reads volts and ohms."
)


@dataclass(frozen=True)
class Check:
    """One thing that must be as on a healthy machine: a symptom (`there` or not), or what the meter shows."""

    number: int
    """What is seen all through has one number, in every card that it is seen in."""
    step: Step
    said: str
    """All of it in words."""
    there: bool = False
    short: str = ""
    """In a few words, where the same was asked in full before."""
    cautions: tuple[str, ...] = ()
    """What is to be minded on the way to it, each with its signal word."""
    card: int = 0
    """The number of its card."""

    @property
    def seen(self) -> bool:
        """Whether it is seen; else it is read."""
        return self.step.kind == "symptom"

    @property
    def at(self) -> Condition:
        """The setting of its run."""
        assert self.step.condition is not None
        return self.step.condition

    def is_right(self, bench: Bench, shown: f.Finding) -> bool:
        """Whether what was found there is as it must be."""
        if isinstance(shown, f.Reading):
            return proof.is_as_it_should(bench, self.step, shown)
        return isinstance(shown, f.Perceived) and shown.there == self.there

    def found(self, well: bool) -> f.Perceived:
        """What is found where it is as it must be, or is not."""
        return f.Perceived(self.step.at, self.there == well, self.at, "repairer")


@dataclass(frozen=True)
class Line:
    """One line of a card, with the checks that it asks for; `minded`: what stands before it, each with its signal
    word."""

    text: str
    checks: tuple[Check, ...] = ()
    minded: tuple[str, ...] = ()


@dataclass(frozen=True)
class Card:
    """What is done in one go: one setting with all that is seen in it, or the clamp in one after another. `head`: its
    number of how many, how the controls stand, its minutes, what cover is off."""

    head: str
    lines: tuple[Line, ...]
    checks: tuple[Check, ...]
    """All that is asked for in it, in the order in which it is done."""
    number: int = 0
    """0: what comes before the power, on the list for putting together."""
    through: tuple[Check, ...] = ()
    """What must be so on several cards, and is told before them."""

    @property
    def minded(self) -> tuple[str, ...]:
        """All that is to be minded in it, each with its signal word."""
        through = (one for check in self.through for one in check.cautions)
        return tuple(dict.fromkeys((*through, *(one for line in self.lines for one in line.minded))))

    @property
    def below(self) -> Iterator[tuple[tuple[str, ...], str]]:
        """What stands below its head, in order: what is to be minded, where something is new to the power state, and
        then what is to be done or seen; "" for what is seen all through, which is told before the cards."""
        if through := tuple(dict.fromkeys(one for check in self.through for one in check.cautions)):
            yield through, ""
        yield from ((line.minded, line.text) for line in self.lines)

    def sentences(self) -> Iterator[str]:
        """All of it, in order."""
        yield self.head
        for minded, text in self.below:
            yield from minded
            yield from (text,) if text else ()


@dataclass(frozen=True)
class ProofRun:
    """A whole proof run. `through`: what must be so on several cards, told once; `minutes`: all of them."""

    cards: tuple[Card, ...] = ()
    through: tuple[str, ...] = ()
    minutes: float = 0.0
    opens: bool = False
    """Whether a cover is opened for it."""
    rest: tuple[str, ...] = ()
    """How the controls are left, where the last run has left some otherwise."""
    left: tuple[str, ...] = ()
    """What its owner sees in days of use."""
    cautions: tuple[str, ...] = ()
    """All that is to be minded in it, each with its signal word."""
    holds: str = ""
    """Which checks show that the repair holds, where they are far fewer."""
    unmeasured: bool = False
    """Whether the power stays off since the meter cannot measure what comes before it."""

    @property
    def checks(self) -> tuple[Check, ...]:
        """All of them, in order."""
        return tuple(check for card in self.cards for check in card.checks)

    @property
    def run(self) -> tuple[Card, ...]:
        """The cards of what is done under power."""
        return tuple(card for card in self.cards if card.number)

    @property
    def ran(self) -> bool:
        """Whether it is run at all; not where the power has to stay off."""
        return bool(self.run)

    def stood(self, told: int) -> list[Condition]:
        """The settings in which the machine has stood where so many of the cards under power were told; of all of them
        where none was, for they may be known from before."""
        return [check.at for card in (self.run[:told] if told else self.run) for check in card.checks]

    @property
    def in_use(self) -> ProofRun:
        """Without what the list for putting together says already: on paper no number is typed."""
        return replace(self, cards=self.run)

    @property
    def dead(self) -> tuple[str, ...]:
        """What comes before the power, in words."""
        return tuple(text for card in self.cards if not card.number for text in card.sentences())

    @property
    def head(self) -> tuple[str, ...]:
        """What stands before the cards: minutes and how many, what shows that the repair holds, what must be so all
        through."""
        if not self.ran:
            return ()
        many = len(self.run)
        told = f"In all: some {duration(self.minutes)}, {many} card{'s' if many > 1 else ''}."
        return (told, *([self.holds] if self.holds else ()), *self.through)

    @property
    def ends(self) -> tuple[str, ...]:
        """What comes after the last card."""
        return (*self.rest, *self.left)

    def sentences(self) -> tuple[str, ...]:
        """All of it, in order."""
        cards = (text for card in self.run for text in card.sentences())
        return (*self.dead, *self.head, *(cards if self.ran else self.not_proved), *self.ends)

    @property
    def not_proved(self) -> tuple[str, ...]:
        """What is said where it is not run."""
        return (*((UNMEASURED,) if self.unmeasured else ()), NOT_PROVED)
