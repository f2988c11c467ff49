"""What was thought meanwhile in the talk of `halfsplit guide`: told when it is asked for, done only when it is taken.

Knows sentences and the thinking thread; the step shown stays the talk's.
"""

from __future__ import annotations

from halfsplit.cli.output import percent
from halfsplit.cli.talking import Talk
from halfsplit.plan import worth
from halfsplit.quantity.display import duration
from halfsplit.service import advising, naming
from halfsplit.service.further import Further, Thought
from halfsplit.service.guiding import Guided


class Offers:
    """What a thinker has to say of the step shown, or of repairs that are due; no thinker: nothing is thought."""

    def __init__(self, talk: Talk, further: Further | None) -> None:
        self.talk, self.further = talk, further
        self.told: Thought | None = None

    def begin(self, guided: Guided) -> None:
        """Thinks about a step that is shown, or repairs; what was told before was of others."""
        self.told = None
        if self.further:
            self.further.begin(guided)

    def ask(self, guided: Guided) -> None:
        """Tells what was thought meanwhile; who asks for it waits for it."""
        if self.further is None:
            self.talk.say("Nothing thinks further: you began with --no-further. What is shown stands.", 2)
            return
        if not self.further.knows(guided):
            self.talk.say("Thinking further ...", 2)
            self.further.wait()
        if not self.tell(guided, again=True):
            self.talk.say("Thought further: what is shown stands.", 2)

    def tell(self, guided: Guided, again: bool = False) -> bool:
        """Tells, once unless asked `again`, what would be better than what is shown; whether there was anything."""
        thought = self.further.about(guided) if self.further else None
        if thought is None or (thought is self.told and not again):
            return False
        self.told = thought
        if thought.other is None:
            self.talk.say(f"Thinking further came to nothing ({thought.failed}). What is shown stands.", 2)
            return True
        self.talk.say(f"Thought further: {_sentence(guided, thought)} That instead{_why(thought)}.", 2)
        self.talk.say("Type take for that. Until then what is shown above stands.", 2)
        return True

    def taken(self, guided: Guided) -> Guided:
        """With what was offered instead of the step shown; as it was, and said so, where nothing was."""
        if self.told is None or self.told.other is None:
            self.talk.say("Nothing else has been offered here. Type further, to ask for it.", 2)
            return guided
        return guided.instead(self.told.other)


def _why(thought: Thought) -> str:
    """What speaks for it: minutes, or that no live reading is wanted for it."""
    if thought.no_live:
        return f": it wants no live reading, and at most {duration(worth.EXCESS)} longer in all, as expected"
    about = "at least" if thought.at_least else "about"
    return "" if thought.less is None else f", {about} {duration(thought.less)} less expected in all"


def _sentence(guided: Guided, thought: Thought) -> str:
    """The step that was thought of instead, or the repairs; or both, one after the other."""
    left = guided.repairs_left(thought.repairs)
    names = naming.told(guided.machine, " and ".join(one.name for one in left))
    if thought.step is None:
        return f"make a repair now: {names} ({percent(guided.weighed.cures(thought.repairs))} sure)."
    advice = advising.advice_for(guided.asked, guided.weighed, thought.step, guided.not_now)
    then = f" If the complaint shows, a repair next: {names}." if left else ""
    return f"{advice.text} ({duration(advice.minutes)}){then}"
