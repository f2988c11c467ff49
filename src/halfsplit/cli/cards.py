"""The proof run card by card in the talk of `halfsplit guide`: Enter goes on, what was not so is typed by its number.

What is to be minded on a card is acknowledged like that of a step, before what it belongs to is shown. Knows sentences
and what is typed; decides nothing about faults.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial

from halfsplit.cli.heeding import Heed
from halfsplit.cli.talking import Back, Talk
from halfsplit.errors import NotUnderstood
from halfsplit.evidence import finding as f
from halfsplit.operate.condition import Condition
from halfsplit.service import answers, proof_shown, proof_words
from halfsplit.service.guiding import Guided
from halfsplit.service.proof_cards import FIRST, Card, Check, ProofRun
from halfsplit.work.hazards import gravest_first

CHECKED = {
    True: "Done and checked: is the complaint gone, and all as it must be? "
    "(Enter: card by card / yes / no / why / causes / further / cannot / undo)",
    False: "Done and checked, the power left off: was all that was read as it must be? "
    "(yes / no / why / causes / further / undo)",
}
"""What is asked after a repair, by whether its proof run is run."""
UNREAD = (
    "Done, nothing to be read, the power left off: is it put together as listed? "
    "(yes / why / causes / further / cannot / undo)"
)
"""What is asked where nothing is read of it either."""
NEXT = "All so? (Enter: {then} / the numbers that were not, as in: {example} / cannot / undo)"
"""What is asked at a card."""
LAST_CARD = "that was the last"
UNSHOWN = "{cards} not shown, nor the {word} on {them}: done all the same? (yes / Enter: card by card)"
"""What is asked once where all is said to be so before a card was shown on which something is to be minded."""
INSTEAD = "undo", "cannot"
"""What may be typed at what is to be minded on a card, as at the question below it."""
ON_WHICH = "{number}: on which card? ({cards}; Enter: {first} / undo)"
"""How it is asked where what is seen all through was not so."""


@dataclass
class Named:
    """What was said of a proof run that did not go as it must, as far as it was told, wherever the person stops: what
    was found wrong, by check, none where nobody can name it; and of what was wrong before, how it is `seen` now."""

    proof: ProofRun
    heed: Heed
    found: dict[Check, f.Finding] = field(default_factory=dict)
    seen: list[f.Perceived] = field(default_factory=list)
    card: int = 0
    """The number of the card that was told last."""
    typed: str = ""
    """Numbers that were typed at it."""
    read: int = 0
    """The number of the last card that was ever told."""
    claimed: bool = False
    """Whether all was said to be so, and it is asked of what was `unread`."""
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
        if self.claimed:
            return self._of_unread()
        if not self.card:
            return CHECKED[self.proof.ran] if self.proof.checks else UNREAD
        numbers = sorted(check.number for check in self.proof.run[self.card - 1].checks)
        example = " ".join(map(str, sorted({numbers[0], numbers[-1]})))
        return NEXT.format(then=LAST_CARD if self.card == len(self.proof.run) else "the next card", example=example)

    def _of_unread(self) -> str:
        """Asks whether the cards that were not shown were done."""
        cards = proof_words.ranged([card.number for card in self.unread])
        word = gravest_first(one for card in self.unread for one in card.minded)[0].split(":")[0]
        if len(self.unread) > 1:
            return UNSHOWN.format(cards=f"Cards {cards} were", word=word, them="them")
        return UNSHOWN.format(cards=f"Card {cards} was", word=word, them="it")

    @property
    def stood(self) -> list[Condition]:
        """The settings of the cards that were told; of all where none was, for they may be known from before."""
        told = (self.proof.run[: self.read] if self.read else self.proof.run) if self.ran else ()
        return [check.at for card in told for check in card.checks]

    @property
    def unread(self) -> tuple[Card, ...]:
        """The cards on which something is to be minded, and that were not told."""
        return tuple(card for card in self.proof.run[self.read :] if card.minded)

    def all_so(self) -> bool:
        """Whether all is taken to be so where that is said of the whole run: not before it was asked of what is
        `unread`. Of a program nothing is asked; what is to be minded is told it all the same."""
        if self.claimed or not self.unread:
            return True
        self.claimed = self.heed.asks
        if not self.claimed:
            self._heeded(gravest_first(one for card in self.unread for one in card.minded))
        return not self.claimed

    def go_on(self, talk: Talk) -> str:
        """Tells the next card, what is to be minded first; after the last, what is left to be done. What was typed
        instead of minding it; "" for nothing."""
        self.claimed = False
        if self.card == len(self.proof.run):
            for text in self.proof.ends:
                talk.say(text, 4)
            self.card = 0
            return ""
        card = self.proof.run[self.card]
        talk.say(card.head, 2)
        for minded, text in card.below:
            if word := self._heeded(minded):
                return word
            if text:
                talk.say(text, 4)
        self.card, self.read = card.number, max(card.number, self.read)
        return ""

    def _heeded(self, minded: Sequence[str]) -> str:
        """Has acknowledged what the automaton found new to the power state on the way to a line; "" once it is, else
        what was typed instead."""
        typed: list[str] = []
        self.heed.anew()
        self.heed.asked(minded, (), {one: partial(typed.append, one) for one in INSTEAD}, lambda: bool(typed))
        return "".join(typed)

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
