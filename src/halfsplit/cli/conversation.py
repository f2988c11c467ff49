"""The talk of `halfsplit guide`: asks, listens, and passes what was typed to the guided diagnosis.

Knows sentences and the words that may be typed at any time; decides nothing about faults.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from halfsplit.cli import complaining, ending, wanting
from halfsplit.cli.heeding import Heed
from halfsplit.cli.offering import Offers
from halfsplit.cli.output import patience, percent
from halfsplit.cli.talking import Back, Stop, Talk, near
from halfsplit.errors import NotUnderstood, Refused
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.modes.fault import Repair
from halfsplit.quantity.display import duration
from halfsplit.rehearse import truth as truths
from halfsplit.service import (
    advising,
    after_repair,
    answers,
    closing,
    guiding,
    machines,
    meaning,
    naming,
    proof_run,
    refusing,
    remembering,
    repairing,
    unlisted,
)
from halfsplit.service.advising import STOP, Advice
from halfsplit.service.further import Further
from halfsplit.service.guiding import Guided
from halfsplit.service.leaving import Limits
from halfsplit.service.proof_run import ProofRun

WORDS = "why, causes, further, skip, cannot, undo, stop"
TAKEN = "WHAT WAS THOUGHT FURTHER"
"""Said of repairs that are made though a step was advised."""
STANDS_IN_THE_WAY = "What stands in the way? (undo: nothing does)"


@dataclass(frozen=True)
class Asked:
    """What was asked for: the machine's file (None: one is chosen), own findings, the fault that is drawn, a shop's
    pace, what the owner would spend."""

    file: str | None = None
    own: bool = False
    seed: int | None = None
    pace: str = ""
    worth: float | None = None


def hold(talk: Talk, asked: Asked, further: Further | None = None, asks: bool = True) -> dict[str, Any]:
    """The whole conversation; what was found, as data. `further` thinks while the person reads; None: nothing does.
    `asks`: each new caution is acknowledged before the rest is shown; else it is shown and listed only."""
    held = _Held(talk, further, asks)
    try:
        held.run(asked)
    except Stop:
        held.stop()
    finally:
        if further:
            further.stop()
    return held.as_data()


class _Held:
    """One conversation."""

    def __init__(self, talk: Talk, further: Further | None, asks: bool = True) -> None:
        self.talk = talk
        self.heed = Heed(talk, asks)
        self.offers = Offers(talk, further)
        self.guided: Guided | None = None
        self.secret: truths.Truth | None = None
        self.cured: str | None = None
        self.repaired: Guided | None = None
        self.left: Guided | None = None
        self.stands, self.dead_first = "", tuple[str, ...]()  # how it is taken to stand, not told yet

    def as_data(self) -> dict[str, Any]:
        """What was found and done."""
        findings = self.guided.all_findings if self.guided else ()
        return {
            "findings": [findings_file.written(found) for found in findings],
            "cured": self.cured,
            "hidden": self.fault,
            "acknowledge": self.heed.all_shown,
        }

    def stop(self) -> None:
        """Says what is known where the talk ends early."""
        found = self.guided.all_findings if self.guided else ()
        self.talk.say("Stopped. Nothing is lost; found so far:" if found else "Stopped.")
        for one in found:
            self.talk.say(f"- {one.label}", 2)
        for one in (*self.dead_first, *([self.stands] if self.stands else ())):
            self.talk.say(one, 2)
        told = self.guided in (None, self.repaired, self.left)
        if self.guided and self.secret is None and not told:
            ending.tell_left(self.talk, self.guided)

    @property
    def fault(self) -> str | None:
        """The hidden fault, if there is one."""
        return self.secret.fault.name if self.secret and self.secret.fault else None

    # ---- the way through ----------------------------------------------------------------------------------

    def run(self, asked: Asked) -> None:
        name = asked.file or complaining.choose_machine(self.talk)
        machine = machines.load(name, asked.pace)
        self.talk.words = partial(naming.told, machine)
        with patience("Working out once what every fault of this machine would show"):
            key = machines.key(name)
            adviser = advising.adviser(remembering.bench(machine, key), key)
        self.guided = Guided(adviser, limits=Limits(asked.worth))
        own = asked.own or (asked.file is None and complaining.own(self.talk))
        self.talk.say()
        self.talk.say(f"{machine.title}. At any time type one of: {WORDS}.")
        if own:
            complaining.asked(self.talk, machine.symptoms, self.tell, self.undo)
        else:
            self.secret = complaining.of_hidden(self.talk, adviser, asked.seed, self.tell)
        try:
            while self.cured is None:
                self.go_on()
        finally:
            remembering.keep(adviser.bench, key)

    def tell(self, found: f.Finding) -> None:
        """One symptom as told by the owner."""
        self.guided = self.now.told(found)
        self.talk.say(f"- {found.label}", 2)

    @property
    def now(self) -> Guided:
        """The state of the diagnosis."""
        assert self.guided is not None
        return self.guided

    def go_on(self) -> None:
        """One more step, or the repair."""
        due = self.now.due
        if due:
            self.repair(due)
        elif self.now.advice is None:
            ending.tell_nothing_left(self.talk, self.now)
            if self.put_together(None):
                raise Stop
        else:
            self.step(self.now.advice)

    # ---- a step -------------------------------------------------------------------------------------------

    def step(self, advice: Advice) -> None:
        """Shows a step, its cautions first, and deals with what is typed until it has an answer, or is gone."""
        before = self.now
        self.talk.say()
        always = self.now.always
        new = [one for one in advice.acknowledge if one not in always]
        if not self.heeded(new, () if advice.step.kind == STOP else always, advice):
            return
        self.show(advice)
        if self.now.leaves and not self.put_together(advice):
            return
        self.offers.begin(before)
        while self.now is before:
            self.heard(self.talk.ask(self.prompt(advice)), advice)

    def show(self, advice: Advice) -> None:
        """The step: what to do, then what each outcome would mean; of a stop its danger too."""
        for caution in advice.cautions if advice.step.kind == STOP else ():
            self.talk.say(caution, 2)
        time = "" if advice.step.kind == STOP else f"  ({duration(advice.minutes)})"
        self.talk.say(f"NEXT  {advice.text}{time}")
        for outcome in advice.outcomes:
            self.talk.say(f"- {outcome}", 6)
        if advice.step.kind == STOP:
            ending.tell_stop(self.talk, self.now, advice)
        beside = self.now.alongside
        for one in beside:
            self.talk.say(f"{one.when}: {one.sentence}", 6)
        if beside and self.secret is None:
            self.talk.say(answers.AT_ONCE, 6)

    def heeded(self, new: Sequence[str], known: Sequence[str], advice: Advice | None) -> bool:
        """Whether the cautions are acknowledged; False where something was taken back or set aside instead."""
        before = self.now
        self.heed.at(len(before.findings), advising.standing(before.asked, before.findings).isolated)
        words: dict[str, Callable[[], None]] = {"undo": self.undo, "cannot": lambda: self.cannot(advice)}
        return self.heed.asked(new, known, words, lambda: self.now is not before)

    def put_together(self, advice: Advice | None) -> bool:
        """Tells how the machine is put together and left, its cautions first; False where that was taken back."""
        closed = guiding.put_together(self.now, ())
        if not self.heeded((), closing.acknowledge(closed), advice):
            return False
        ending.put_together(self.talk, self.now, closed)
        self.left = self.now
        return True

    def prompt(self, advice: Advice) -> str:
        """What may be typed."""
        if advice.step.kind == STOP:
            return f"[{self.after_stop}]"
        return f"[{wanting.wanted(advice)}]" if self.secret is None else f"[Enter: do it; or {wanting.wanted(advice)}]"

    def heard(self, typed: str, advice: Advice) -> None:
        """Does what a word asks for, or takes the answer."""
        word: Callable[[Advice], None] | None = self.words().get(typed.lower())
        if word is not None:
            word(advice)
        elif advice.step.kind == STOP:
            said = f"{answers.quoted(typed)} is no answer to a stop. " if typed else ""
            self.talk.say(f"{said}Type {self.after_stop}.")
        elif typed:
            self.answer(typed, advice)
        elif self.secret is not None:
            self.do(advice)
        elif not self.offers.tell(self.now):
            self.help(advice)

    def words(self) -> dict[str, Callable[[Advice], None]]:
        """What may be typed at any time."""
        return {
            "why": self.why, "causes": self.causes, "further": lambda _: self.offers.ask(self.now), "take": self.take,
            "skip": self.skip, "cannot": self.cannot, "undo": self.undo, "anyway": self.anyway, "help": self.help,
        } | ({"off": self.breaker_off} if self.now.wet else {})  # fmt: skip

    @property
    def after_stop(self) -> str:
        """What may be typed at a stop."""
        off = "off once the breaker is off and the floor is dry, " if self.now.wet else ""
        anyway = "anyway to go on all the same, " if self.now.may_go_on else ""
        return f"{off}{anyway}undo if that was not so, or stop"

    def breaker_off(self, _: Advice) -> None:
        """Goes on after water on the floor."""
        self.guided = self.now.breaker_off()

    def anyway(self, _: Advice) -> None:
        """Goes on though it costs too much, or nothing shows."""
        try:
            self.guided = self.now.anyway()
        except Refused as refusal:
            self.talk.say(str(refusal))

    def do(self, advice: Advice) -> None:
        """Takes the machine's own answer."""
        assert self.secret is not None
        found = truths.answer(self.secret, advice.step)
        self.talk.say(found.label, 2)
        self.guided = self.now.told(found)
        self.repaired = None
        self.best()

    def answer(self, typed: str, advice: Advice) -> None:
        """Takes an answer, or says what would be understood."""
        before = self.now
        try:
            after = before.answered(advice.step, typed)
        except NotUnderstood as refusal:
            self.talk.say(f"{refusal} {near(typed, self.words())}".rstrip())
            return
        new = after.findings[len(before.findings) :]
        noted = unlisted.sentences(before.machine, new)
        slip = near(typed, self.words()) if noted else ""
        if slip:
            self.talk.say(f"{answers.quoted(typed)} is not among what may be seen here. {slip}")
            return
        self.guided = after
        self.repaired = None  # told anew: the machine does not stand as it was put together
        for said in (*(found.label for found in new if len(new) > 1), *noted):
            self.talk.say(said, 2)
        self.best()

    def best(self) -> None:
        """In one line what is believed now."""
        ranked = self.now.ranked
        if ranked:
            said = " + ".join(ranked[0].faults) or "nothing is wrong"
            self.talk.say(f"Likeliest now: {said} ({percent(ranked[0].probability)}).", 2)

    def why(self, advice: Advice) -> None:
        """Why this step, what its minutes go into, and why the best cause is believed."""
        self.talk.say(f"{advice.reason} {advice.spent}".rstrip(), 2)
        reasons = list(meaning.weights(self.now.reasons()))
        if reasons:
            best = " + ".join(self.now.ranked[0].faults) or "nothing is wrong"
            self.talk.say(f"What each finding does to the odds of the likeliest cause, {best}:", 2)
        for label, weight in reasons:
            self.talk.say(f"{weight:>24}  {label}", 2)

    def causes(self, _: Advice) -> None:
        """The possible causes."""
        ending.tell_causes(self.talk, self.now)
        self.talk.say(f"{percent(self.now.weighed.unexplained):>8}  something this file does not say", 2)

    def take(self, _: Advice | None) -> None:
        """What was offered, instead of what is shown."""
        self.guided = self.offers.taken(self.now)

    def skip(self, advice: Advice) -> None:
        """Another step instead."""
        if advice.step.kind == STOP:
            self.talk.say(f"Type {self.after_stop}.")
        else:
            self.guided = self.now.without(advice.step)

    def cannot(self, advice: Advice | None) -> None:
        """Asks what stands in the way, and plans around it for the rest of the job."""
        if advice is None:
            self.talk.say("There is no way around that here. Type undo, to take the last thing back, or stop.", 2)
            return
        if advice.step.kind == STOP:
            self.talk.say(f"Type {self.after_stop}.")
            return
        guided = self.now
        choices = refusing.of_step(guided.machine, guided.standing, advice.step)
        said = [one.said for one in choices]
        try:
            which = self.talk.chosen(STANDS_IN_THE_WAY, said, shown=True, undo=True) if len(said) > 1 else 0
        except Back:
            self.talk.say("Nothing is set aside.", 2)
            return
        self.guided = guided.without(choices[which].refused)
        self.talk.say(f"Planned around: {said[which]}." if len(said) > 1 else "Set aside.", 2)

    def undo(self, _: Advice | None = None) -> None:
        """Takes back what was chosen or refused since the last finding, else that finding."""
        try:
            before = self.now
            self.guided = before.undone()
            self.talk.say(f"Taken back: {wanting.taken_back(before)}", 2)
            if self.now.standing.isolated and not before.standing.isolated:
                self.talk.say(ending.DEAD_FIRST, 2)
                self.talk.say(ending.POWER_IS_ON, 2)
                self.heed.anew()
        except Refused as refusal:
            self.talk.say(str(refusal))

    def help(self, advice: Advice) -> None:
        """What may be typed."""
        if advice.step.kind == STOP:
            self.talk.say(f"Type {self.after_stop}.")
            return
        first = "Type" if self.secret is None else "Press Enter, and the machine answers; or type"
        self.talk.say(f"{first} {wanting.wanted(advice)}{wanting.example(advice)}, or one of: {WORDS}.")

    # ---- the end ------------------------------------------------------------------------------------------

    def repair(self, due: Sequence[Repair]) -> None:
        """Tells the repair and all that follows, and asks whether it cured; only that where the answer was taken back:
        the repair stays made, and the machine put together."""
        work = repairing.work(self.now, due)
        if self.now is not self.repaired and not self.tell_repair(due, work):
            return
        self.repaired = self.now
        self.answered(self.is_cured(due, work.proof), due, work)

    def answered(self, cured: str, due: Sequence[Repair], work: repairing.Work) -> None:
        """Goes on after what was said of a repair (`ending.as_it_must_be`)."""
        match cured:
            case "yes":
                self.done(work)
            case "no":
                self.go_on_after(due, work.proof)
            case _:
                before = self.now
                self.take(None) if cured == "take" else self.undo()
                if self.now is not before and ending.is_closed_by_now(self.talk, work.proof.ran):
                    self.guided = self.now.put_together(work.proof.ran)
                    self.heed.anew()

    def done(self, work: repairing.Work) -> None:
        """The repairs are made, and all is as it must be; not proved where the power has to stay off."""
        made = [x.repair for x in self.now.earlier if isinstance(x, f.Tried) and x.cured is not False]
        self.guided = self.now.told(*(f.Tried(name, True if work.proof.ran else None) for name in work.names))
        if not work.proof.ran:
            self.talk.say(proof_run.NOT_PROVED, 2)
            raise Stop
        self.cured = " and ".join((*made, *work.names))
        self.talk.say(f"Proved: {self.cured}. Nothing is left to do.")

    def tell_repair(self, due: Sequence[Repair], work: repairing.Work) -> bool:
        """What is due, why, and all that is done; False where that was taken back instead."""
        self.talk.say()
        likeliest = " + ".join(self.now.ranked[0].faults) or "nothing is wrong"
        why = "ENOUGH IS KNOWN" if self.now.is_sure else "NO STEP IS WORTH ITS MINUTES ANY MORE"
        why = TAKEN if self.now.chosen else why
        self.talk.say(f"{why} ({percent(self.now.made_first[1])} sure): {work.name}.")
        self.talk.say(f"Likeliest: {likeliest} ({percent(self.now.ranked[0].probability)}).", 2)
        if not self.heeded(work.acknowledge, closing.acknowledge(work.closed), None):
            return False
        ending.tell_repairs(self.talk, self.now, work)
        return True

    def go_on_after(self, due: Sequence[Repair], proof: ProofRun) -> None:
        """What was not as it must be, where a person can say so, and the search goes on from there."""
        named = ending.Named(proof)
        try:
            if self.secret:  # of what was wrong before all is there still
                named.seen += after_repair.asked_for(self.now, (), proof.ran)
            else:
                ending.ask_what_is_wrong(self.talk, self.now, named)
        except Back:
            self.undo()
            return
        except Stop:
            self.take_what_is_wrong(due, named)
            raise
        self.take_what_is_wrong(due, named)
        self.talk.say(ending.LEFT, 2)
        self.heed.anew()
        if self.heeded(self.dead_first, (), None) and self.stands:
            self.talk.say(self.stands, 2)
        self.stands, self.dead_first = "", ()
        self.heed.anew()

    def take_what_is_wrong(self, due: Sequence[Repair], named: ending.Named) -> None:
        """The machine is another from here on, and taken to stand as the list for putting together left it."""
        shown = named.shown(self.now)
        ending.tell_framed(self.talk, self.now, due, shown)
        with patience("Working out what is left after this repair"):
            self.guided = after_repair.after(self.now, due, shown, named.ran)
        if not self.now.in_danger:  # else nobody goes to the machine now
            self.stands = ending.STANDS[named.ran]
            self.dead_first = (ending.DEAD_FIRST,) if named.ran and named.proof.opens else ()

    def is_cured(self, due: Sequence[Repair], proof: ProofRun) -> str:
        """Whether all is as it must be (`ending.as_it_must_be`); while that is done it thinks further."""
        if self.secret is None:
            self.offers.begin(self.now)
            return ending.as_it_must_be(self.talk, self.now, due, proof, self.offers)
        fault = self.secret.fault
        cured = fault is not None and fault.repair.is_done_by([one.name for one in due])
        self.talk.say(f"The hidden fault was {self.fault}: cured." if cured else "It is not cured.", 2)
        return "yes" if cured else "no"
