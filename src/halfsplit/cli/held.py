"""What one talk of `halfsplit guide` holds: the diagnosis as it stands, what was acknowledged and offered; and what may
be typed at a step and at a repair alike.

Knows sentences; which step or repair comes is the diagnosis' to say.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from halfsplit.cli import ending, timing, wanting
from halfsplit.cli.heeding import Heed
from halfsplit.cli.offering import Offers
from halfsplit.cli.talking import Back, Talk
from halfsplit.errors import Refused
from halfsplit.evidence import finding as f
from halfsplit.modes.fault import Repair
from halfsplit.rehearse import truth as truths
from halfsplit.service import advising, closing, proving, refusing
from halfsplit.service.advising import STOP, Advice
from halfsplit.service.further import Further
from halfsplit.service.guiding import Guided
from halfsplit.work.together import Closing

STANDS_IN_THE_WAY = "What stands in the way? (undo: nothing does)"


class Held:
    """The state of one talk. shown, repaired, left: the diagnosis for which a step, a repair, or how the machine is
    left, was told."""

    def __init__(self, talk: Talk, further: Further | None, asks: bool = True) -> None:
        self.talk = talk
        self.heed = Heed(talk, asks, self.took)
        self.times = timing.Times()
        self.offers = Offers(talk, further)
        self.guided: Guided | None = None
        self.secret: truths.Truth | None = None
        self.cured: str | None = None
        self.shown: Guided | None = None
        self.repaired: Guided | None = None
        self.left: Guided | None = None
        self.listed = Closing((), (), 0.0, 1)  # how it was told to be left
        self.stands, self.dead_first = "", tuple[str, ...]()  # how it is taken to stand, not told yet

    @property
    def now(self) -> Guided:
        """The state of the diagnosis."""
        assert self.guided is not None
        return self.guided

    @property
    def fault(self) -> str | None:
        """The hidden fault, if there is one."""
        return self.secret.fault.name if self.secret and self.secret.fault else None

    @property
    def after_stop(self) -> str:
        """What may be typed at a stop."""
        off = "off once the breaker is off and the floor is dry, " if self.now.wet else ""
        anyway = "anyway to go on all the same, " if self.now.may_go_on else ""
        return f"{off}{anyway}undo if that was not so, or stop"

    def heeded(
        self, new: Sequence[str], known: Sequence[str], advice: Advice | None, due: Sequence[Repair] = ()
    ) -> bool:
        """Whether the cautions of a step, or of the repairs `due`, are acknowledged; False where something was taken
        back or set aside instead."""
        before = self.now
        self.heed.at(len(before.findings), advising.standing(before.asked, before.findings).isolated)
        words: dict[str, Callable[[], None]] = {"undo": self.undo, "cannot": lambda: self.cannot(advice, due)}
        return self.heed.asked(new, known, words, lambda: self.now is not before)

    def put_together(self, advice: Advice | None, due: Sequence[Repair] = ()) -> bool:
        """Tells how the machine is put together and left, its cautions first; False where that was taken back. `due`:
        the repairs that are handed over, where that is why."""
        closed = proving.left_as_it_is(self.now)
        live = [ending.DEAD_FIRST for task in closed.tasks if task.kind == "isolate"]
        if not self.heeded((), (*live, *closing.acknowledge(closed)), advice, due):
            return False
        ending.put_together(self.talk, self.now, closed)
        self.left, self.listed = self.now, closed
        return True

    def undo(self, advice: Advice | None = None) -> None:
        """Takes back what was chosen or refused since the last finding, else that finding."""
        try:
            before = self.now
            self.now.undone()  # before anything is said
            self.set_aside(advice)
            begun, self.guided = self.now, self.now.undone()
            self.talk.say(f"Taken back: {wanting.taken_back(before)}", 2)
            if self.now.findings != before.findings:
                self.heed.anew()
                if self.now is before.before_proof:
                    ending.tell_undone(self.talk, begun)
                elif self.left is before and self.secret is None and ending.is_left_so(self.talk, self.listed):
                    self.guided = self.now.put_together(any(one.kind == "power" for one in self.listed.tasks))
                elif before.last in [x.found for x in self.now.findings if isinstance(x, f.TakenBack)]:
                    self.talk.say(ending.PERHAPS_DONE, 2)
        except Refused as refusal:
            self.talk.say(str(refusal))

    def took(self, typed: str) -> bool:
        """Notes how long the step that was answered last took, where that is what was typed; whether it was."""
        word, _, time = typed.partition(" ")
        if word.lower() != timing.WORD:
            return False
        said = self.times.note(self.now.last, time.strip()) if self.secret is None else timing.NOT_YOURS
        self.talk.say(said, 2)
        return True

    def take(self, advice: Advice | None = None) -> None:
        """What was offered, instead of what is shown."""
        other = self.offers.taken(self.now)
        if other is not self.now:
            self.set_aside(advice)
            self.guided = replace(other, findings=self.now.findings)

    def cannot(self, advice: Advice | None, due: Sequence[Repair] = ()) -> None:
        """Asks what stands in the way of a step, or of repairs that are `due` and not begun, and plans around it for
        the rest of the job."""
        if advice is None:
            self._cannot_repair(due)
            return
        if advice.step.kind == STOP:
            self.talk.say(f"Type {self.after_stop}.")
            return
        guided = self.now
        choices = refusing.of_step(guided.machine, guided.standing, advice.step)
        which = self.stands_in_the_way(choices) if len(choices) > 1 else choices[0]
        if which is None:
            return
        self.set_aside(advice, refusing.shut_by(guided.machine, guided.standing, advice.step, which.refused))
        self.refuse(which.refused)
        self.talk.say(f"Planned around: {which.said}." if len(choices) > 1 else "Set aside.", 2)

    def _cannot_repair(self, due: Sequence[Repair]) -> None:
        choices = refusing.of_repairs(self.now.machine, self.now.standing, due)
        if not choices:
            self.talk.say("There is no way around that here. Type undo, to take the last thing back, or stop.", 2)
            return
        which = self.stands_in_the_way(choices)
        if which is not None:
            self.refuse(which.refused)
            self.talk.say(f"Planned around: {which.said}.", 2)

    def refuse(self, refusal: object) -> None:
        """Plans around what cannot be done here, from now on."""
        self.guided = self.now.without(refusal)

    def stands_in_the_way(self, choices: Sequence[refusing.Refusal]) -> refusing.Refusal | None:
        """Which of these it is; None where nothing is, as was said instead."""
        try:
            return choices[self.talk.chosen(STANDS_IN_THE_WAY, [one.said for one in choices], shown=True, undo=True)]
        except Back:
            self.talk.say("Nothing is set aside.", 2)
            return None

    def set_aside(self, advice: Advice | None, shut: Sequence[str] = ()) -> None:
        """A step that was shown and is not ended may have been begun, but for what is behind the bays `shut`."""
        begun = self.begun(advice, shut)
        if advice and begun is not self.now:
            self.guided = begun
            self.heed.anew()
            shown = wanting.shown(self.now.machine, advice.step)
            self.talk.say(ending.if_begun(self.now.machine, shown), 2)

    def begun(self, advice: Advice | None, shut: Sequence[str] = ()) -> Guided:
        """The diagnosis with the step that is shown set aside, where a hand may have begun it: with a hidden fault none
        has."""
        if advice is None or not advice.moves or self.shown is not self.now or self.secret is not None:
            return self.now
        return self.now.set_aside(advice.step, shut)
