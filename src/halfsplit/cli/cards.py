"""The proof run card by card in the talk of `halfsplit guide`: Enter goes on, what was not so is typed by its number.

Knows sentences and what is typed; decides nothing about faults.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from halfsplit.cli.talking import Back, Talk
from halfsplit.errors import NotUnderstood
from halfsplit.evidence import finding as f
from halfsplit.service import answers, proof_shown, proof_words
from halfsplit.service.guiding import Guided
from halfsplit.service.proof_cards import FIRST, Check, ProofRun

CHECKED = {
    True: "Done and checked: is the complaint gone, and all as it must be? "
    "(Enter: card by card / yes / no / why / further / cannot / undo)",
    False: "Done and checked, the power left off: was all that was read as it must be? "
    "(yes / no / why / further / undo)",
}
"""What is asked after a repair, by whether its proof run is run."""
NEXT = "All so? (Enter: {then} / the numbers that were not, as in: {example} / cannot / undo)"
"""What is asked at a card."""
LAST_CARD = "that was the last"
ON_WHICH = "{number}: on which card? ({cards}; Enter: {first} / undo)"
"""How it is asked where what is seen all through was not so."""


@dataclass
class Named:
    """What was said of a proof run that did not go as it must, as far as it was told, wherever the person stops: what
    was found wrong, by check, none where nobody can name it; and of what was wrong before, how it is `seen` now."""

    proof: ProofRun
    found: dict[Check, f.Finding] = field(default_factory=dict)
    seen: list[f.Perceived] = field(default_factory=list)
    card: int = 0
    """The number of the card that was told last."""
    typed: str = ""
    """Numbers that were typed at it."""
    ran: bool = field(init=False)
    """Whether it ran: not where something before that was named and is not as it must be, or not read."""

    def __post_init__(self) -> None:
        self.ran = self.proof.ran

    def shown(self, guided: Guided) -> list[f.Finding]:
        """What the proof run has shown by what was named of it."""
        found = proof_shown.showed(guided.bench, self.proof, guided.findings, self.found) if self.found else []
        return [*found, *self.seen]

    def question(self) -> str:
        """What is asked where the run stands: whether all was as it must be, or at a card what of it was not."""
        if not self.card:
            return CHECKED[self.proof.ran]
        numbers = sorted(check.number for check in self.proof.run[self.card - 1].checks)
        example = " ".join(map(str, sorted({numbers[0], numbers[-1]})))
        return NEXT.format(then=LAST_CARD if self.card == len(self.proof.run) else "the next card", example=example)

    def go_on(self, talk: Talk) -> None:
        """Tells the next card; after the last, what is left to be done."""
        if self.card == len(self.proof.run):
            for text in self.proof.ends:
                talk.say(text, 4)
            self.card = 0
            return
        self.card += 1
        for number, text in enumerate(self.proof.run[self.card - 1].sentences()):
            talk.say(text, 4 if number else 2)

    def meant(self, talk: Talk, numbers: Sequence[int]) -> list[Check]:
        """The checks of these numbers; what is seen all through on the card that was told last, else on the one that
        is said. Raises Back for undo."""
        return [check for number in numbers for check in self._of(talk, number)]

    def _of(self, talk: Talk, number: int) -> list[Check]:
        found = [one for one in self.proof.checks if one.number == number]
        here = [one for one in found if one.card == self.card]
        if number == FIRST or len(found) < 2 or here:
            return found if number == FIRST else here or found
        cards = [one.card for one in found]
        asked = ON_WHICH.format(number=number, cards=proof_words.ranged(cards), first=cards[0])
        while typed := talk.ask(asked):
            if typed.lower() == "undo":
                raise Back
            try:
                on = answers.numbers(typed, cards[-1], cards[0])
            except NotUnderstood as refusal:
                talk.say(f"{refusal} Or undo, or stop.")
                continue
            if some := [one for one in found if one.card in on]:
                return some
        return found[:1]
