"""A step in the talk of `halfsplit guide`: shown, its cautions first, and what is typed there until it has an answer.

Knows sentences and the words that may be typed at a step; decides nothing about faults.
"""

from __future__ import annotations

from collections.abc import Callable

from halfsplit.cli import ending, handing_over, timing, wanting
from halfsplit.cli.held import Held
from halfsplit.cli.output import percent
from halfsplit.cli.talking import near
from halfsplit.errors import NotUnderstood, Refused
from halfsplit.quantity.display import duration
from halfsplit.rehearse import truth as truths
from halfsplit.service import answers, doubting, meaning, naming, read_as, unlisted
from halfsplit.service.advising import STOP, Advice

WORDS = f"why, causes, further, skip, cannot, {timing.EXAMPLE}, undo, stop"


class Stepping:
    """Deals with the steps of a talk."""

    def __init__(self, held: Held) -> None:
        self.held, self.talk = held, held.talk

    def step(self, advice: Advice) -> None:
        """Shows a step, its cautions first, and deals with what is typed until it has an answer, or is gone."""
        before = self.held.now
        self.talk.say()
        always = self.held.now.always
        new = [one for one in advice.acknowledge if one not in always]
        if not self.held.heeded(new, () if advice.step.kind == STOP else always, advice):
            return
        self.show(advice)
        if self.held.now.leaves and not self.held.put_together(advice):
            return
        if advice.rule in handing_over.TRADES:
            handing_over.tell_note(self.talk, self.held.now, self.held.now.made_first[0])
        self.held.offers.begin(before)
        while self.held.now is before:
            self.heard(self.talk.ask(self.prompt(advice)), advice)

    def show(self, advice: Advice) -> None:
        """The step: what to do, then what each outcome would mean; of a stop its danger too."""
        self.held.shown = self.held.now
        for caution in advice.cautions if advice.step.kind == STOP else ():
            self.talk.say(caution, 2)
        time = "" if advice.step.kind == STOP else f"  ({duration(advice.minutes)})"
        self.talk.say(f"NEXT  {advice.text}{time}")
        for outcome in advice.outcomes:
            self.talk.say(f"- {outcome}", 6)
        if advice.step.kind == STOP:
            ending.tell_stop(self.talk, self.held.now, advice)
        beside = self.held.now.alongside
        for one in beside:
            self.talk.say(f"{one.when}: {one.sentence}", 6)
        if beside and self.held.secret is None:
            self.talk.say(answers.AT_ONCE, 6)
        self.held.now.price_what_follows()

    def prompt(self, advice: Advice) -> str:
        """What may be typed."""
        if advice.step.kind == STOP:
            return f"[{self.held.after_stop}]"
        all_of_it = "do all of it" if self.held.now.alongside else "do it"
        first = "" if self.held.secret is None else f"Enter: {all_of_it}; or "
        return f"[{first}{wanting.wanted(advice)}]"

    def heard(self, typed: str, advice: Advice) -> None:
        """Does what a word asks for, or takes the answer."""
        word: Callable[[Advice], None] | None = self.words().get(typed.lower())
        if word is not None:
            word(advice)
        elif self.held.took(typed):
            return
        elif advice.step.kind == STOP:
            said = f"{answers.quoted(typed)} is no answer to a stop. " if typed else ""
            self.talk.say(f"{said}Type {self.held.after_stop}.")
        elif typed:
            self.answer(typed, advice)
        elif self.held.secret is not None:
            self.do(advice)
        elif not self.held.offers.tell(self.held.now):
            self.help(advice)

    def words(self) -> dict[str, Callable[[Advice], None]]:
        """What may be typed at any time."""
        held = self.held
        return {
            "why": self.why, "causes": self.causes, "further": lambda _: held.offers.ask(held.now), "take": held.take,
            "skip": self.skip, "cannot": held.cannot, "undo": held.undo, "anyway": self.anyway, "help": self.help,
        } | ({"off": self.breaker_off} if held.now.wet else {})  # fmt: skip

    def breaker_off(self, _: Advice) -> None:
        """Goes on after water on the floor."""
        self.held.guided = self.held.now.breaker_off()

    def anyway(self, _: Advice) -> None:
        """Goes on though it costs too much, or nothing shows."""
        try:
            self.held.guided = self.held.now.anyway()
        except Refused as refusal:
            self.talk.say(str(refusal))

    def do(self, advice: Advice) -> None:
        """Takes the machine's own answer, and those to all that stands alongside, as one step."""
        assert self.held.secret is not None
        steps = (advice.step, *(one.step for one in self.held.now.alongside))
        found = [truths.answer(self.held.secret, step) for step in steps]
        for one in found:
            self.talk.say(one.label, 2)
        self.held.guided = self.held.now.told(*found)
        self.best()

    def answer(self, typed: str, advice: Advice) -> None:
        """Takes an answer, or says what would be understood."""
        before = self.held.now
        try:
            after = before.answered(advice.step, typed)
        except NotUnderstood as refusal:
            self.talk.say(f"{refusal} {near(typed, (*self.words(), timing.WORD))}".rstrip())
            return
        new = after.findings[len(before.findings) :]
        noted = unlisted.sentences(before.machine, new)
        slip = near(typed, self.words()) if noted else ""
        if slip:
            self.talk.say(f"{answers.quoted(typed)} is not among what may be seen here. {slip}")
            return
        self.held.guided = after
        self.held.times.answered(new)
        doubted = doubting.sentences(before.weighed, after.weighed, new)
        for said in (*(found.label for found in new if len(new) > 1), *noted, *read_as.sentences(new), *doubted):
            self.talk.say(said, 2)
        self.best()

    def best(self) -> None:
        """In one line what is believed now."""
        ranked = self.held.now.ranked
        weighed = self.held.now.weighed
        if doubting.is_unsaid(weighed):
            self.talk.say(f"Likeliest now: {naming.UNSAID} ({percent(weighed.unsaid)}).", 2)
        elif ranked:
            said = " + ".join(ranked[0].faults) or "nothing is wrong"
            self.talk.say(f"Likeliest now: {said} ({percent(ranked[0].probability)}).", 2)

    def why(self, advice: Advice) -> None:
        """Why this step, what its minutes go into, and why the best cause is believed."""
        self.talk.say(f"{advice.reason} {advice.spent}".rstrip(), 2)
        reasons = list(meaning.weights(self.held.now.reasons()))
        if reasons:
            best = " + ".join(self.held.now.ranked[0].faults) or "nothing is wrong"
            self.talk.say(f"What each finding does to the odds of the likeliest cause, {best}:", 2)
        for label, weight in reasons:
            self.talk.say(f"{weight:>24}  {label}", 2)

    def causes(self, _: Advice) -> None:
        """The possible causes."""
        ending.causes(self.talk, self.held.now)

    def skip(self, advice: Advice) -> None:
        """Another step instead."""
        if advice.step.kind == STOP:
            self.talk.say(f"Type {self.held.after_stop}.")
        else:
            self.held.set_aside(advice)
            self.held.guided = self.held.now.without(advice.step)

    def help(self, advice: Advice) -> None:
        """What may be typed."""
        if advice.step.kind == STOP:
            self.talk.say(f"Type {self.held.after_stop}.")
            return
        first = "Type" if self.held.secret is None else "Press Enter, and the machine answers; or type"
        self.talk.say(f"{first} {wanting.wanted(advice)}{wanting.example(advice)}, or one of: {WORDS}.")
