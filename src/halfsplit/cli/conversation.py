"""The talk of `halfsplit guide`: asks, listens, and passes what was typed to the guided diagnosis.

Knows sentences and the words that may be typed at any time; decides nothing about faults.
"""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Callable, Sequence
from typing import Any, TextIO

from halfsplit.cli.output import patience, percent
from halfsplit.errors import NotUnderstood, Refused
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.modes.fault import Repair
from halfsplit.rehearse import truth as truths
from halfsplit.service import advising, closing, guiding, hidden, machines, remembering
from halfsplit.service.advising import STOP, Advice
from halfsplit.service.guiding import Guided

WORDS = "why, causes, skip, undo, stop"
WIDTH = 92


class Stop(Exception):
    """The person has stopped."""


class Talk:
    """Sentences out, lines in."""

    def __init__(self, out: TextIO) -> None:
        self.out = out

    def say(self, text: str = "", indent: int = 0) -> None:
        """One paragraph, wrapped."""
        lead = " " * indent
        lines = textwrap.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=lead + "  ") or [""]
        print("\n".join(lines), file=self.out)

    def ask(self, prompt: str) -> str:
        """One line, tidied. Raises Stop at the end of the input and for the word stop."""
        print(f"{prompt} > ", end="", file=self.out, flush=True)
        line = sys.stdin.readline()
        typed = line.strip()
        if not line or typed.lower() in ("stop", "quit", "exit"):
            raise Stop
        return typed


def hold(talk: Talk, file: str | None, own: bool, seed: int | None) -> dict[str, Any]:
    """The whole conversation; what was found, as data."""
    held = _Held(talk)
    try:
        held.run(file, own, seed)
    except Stop:
        talk.say("Stopped. Nothing is lost: the findings so far are listed above.")
    return held.as_data()


class _Held:
    """One conversation."""

    def __init__(self, talk: Talk) -> None:
        self.talk = talk
        self.guided: Guided | None = None
        self.secret: truths.Truth | None = None
        self.cured: str | None = None

    def as_data(self) -> dict[str, Any]:
        """What was found and done."""
        findings = self.guided.findings if self.guided else ()
        return {
            "findings": [findings_file.written(found) for found in findings],
            "cured": self.cured,
            "hidden": self.fault,
        }

    @property
    def fault(self) -> str | None:
        """The hidden fault, if there is one."""
        return self.secret.fault.name if self.secret and self.secret.fault else None

    # ---- the way through ----------------------------------------------------------------------------------

    def run(self, file: str | None, own: bool, seed: int | None) -> None:
        name = file or self.choose_machine()
        machine = machines.load(name)
        with patience("Working out once what every fault of this machine would show"):
            key = machines.key(name)
            self.guided = Guided(advising.adviser(remembering.bench(machine, key), key))
        if file is None and not own:
            own = (
                self.chosen("Shall a fault be drawn and hidden, or do you type your own findings?", ("drawn", "own"))
                == 1
            )
        self.talk.say()
        self.talk.say(f"{machine.title}. At any time type one of: {WORDS}.")
        self.begin_own() if own else self.begin_hidden(seed)
        while self.cured is None:
            self.go_on()

    def choose_machine(self) -> str:
        """The name of a machine of the library."""
        held = machines.machines()["machines"]
        choice = self.chosen("Which machine?", [one["title"] for one in held], shown=True)
        return str(held[choice]["name"])

    def chosen(self, question: str, choices: Sequence[str], shown: bool = False) -> int:
        """Which of some choices, by its number or the beginning of its words."""
        if shown:
            for number, choice in enumerate(choices, 1):
                self.talk.say(f"{number}  {choice}", 2)
        prompt = question if shown else f"{question} ({' / '.join(choices)})"
        while True:
            typed = self.talk.ask(prompt).lower()
            found = [n for n, c in enumerate(choices) if typed == str(n + 1) or (typed and c.lower().startswith(typed))]
            if len(found) == 1:
                return found[0]
            self.talk.say(f"Type a number from 1 to {len(choices)}." if shown else f"Type {' or '.join(choices)}.")

    def begin_hidden(self, seed: int | None) -> None:
        """Draws a fault; the owner complains."""
        self.secret, told = hidden.draw(self.now.asked, seed)
        self.talk.say("A fault is hidden in it. Press Enter to do a step: the machine answers. The owner says:")
        for found in told:
            self.tell(found)

    def begin_own(self) -> None:
        """Asks what the owner complains of."""
        symptoms = self.now.machine.symptoms
        self.talk.say("What does the owner say? Which of these have you been told?")
        for number, symptom in enumerate(symptoms.values(), 1):
            self.talk.say(f"{number:>2}  {symptom.question or symptom.name}", 2)
        while True:
            typed = self.talk.ask("Number and yes or no, as in: 3 no (Enter: that is all)")
            if not typed:
                return
            self.own_complaint(typed, list(symptoms))

    def own_complaint(self, typed: str, names: Sequence[str]) -> None:
        """One complaint as it was typed."""
        number, _, word = typed.partition(" ")
        if number.isdecimal() and 1 <= int(number) <= len(names) and word.strip().lower() in ("yes", "no", "y", "n"):
            self.tell(guiding.complaint(names[int(number) - 1], word.strip().lower().startswith("y")))
        else:
            self.talk.say(f"Type a number from 1 to {len(names)}, a blank, and yes or no.")

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
            self.nothing_left()
        else:
            self.step(self.now.advice)

    # ---- a step -------------------------------------------------------------------------------------------

    def step(self, advice: Advice) -> None:
        """Shows a step and deals with what is typed until it has an answer, or is gone."""
        self.show(advice)
        before = self.now
        while self.now is before:
            self.heard(self.talk.ask(self.prompt(advice)), advice)

    def show(self, advice: Advice) -> None:
        """The step: cautions first, then what to do, then what each outcome would mean."""
        self.talk.say()
        for caution in advice.cautions:
            self.talk.say(caution, 2)
        self.talk.say(f"NEXT  {advice.text}  ({advice.minutes:.0f} min)")
        for outcome in advice.outcomes:
            self.talk.say(f"- {outcome}", 6)
        for further in self.now.further:
            self.talk.say(f"{advice.meanwhile}: {further.sentence}", 6)

    def prompt(self, advice: Advice) -> str:
        """What may be typed."""
        if advice.step.kind == STOP:
            return "[undo if that was not so, or stop]"
        wanted = {"look": "what you see", "symptom": "yes or no"}.get(advice.step.kind, "what the meter shows")
        return f"[{wanted}]" if self.secret is None else f"[Enter: do it; or {wanted}]"

    def heard(self, typed: str, advice: Advice) -> None:
        """Does what a word asks for, or takes the answer."""
        word: Callable[[Advice], None] | None = self.words().get(typed.lower())
        if word is not None:
            word(advice)
        elif advice.step.kind == STOP:
            self.talk.say("Type undo if that was not so, or stop.")
        elif typed or self.secret is not None:
            self.answer(typed, advice) if typed else self.do(advice)
        else:
            self.talk.say(f"Type {self.prompt(advice)[1:-1]}, or one of: {WORDS}.")

    def words(self) -> dict[str, Callable[[Advice], None]]:
        """What may be typed at any time."""
        return {"why": self.why, "causes": self.causes, "skip": self.skip, "undo": self.undo, "help": self.help}

    def do(self, advice: Advice) -> None:
        """Takes the machine's own answer."""
        assert self.secret is not None
        found = truths.answer(self.secret, advice.step)
        self.talk.say(found.label, 2)
        self.guided = self.now.told(found)
        self.best()

    def answer(self, typed: str, advice: Advice) -> None:
        """Takes an answer, or says what would be understood."""
        try:
            self.guided = self.now.answered(advice.step, typed)
        except NotUnderstood as refusal:
            self.talk.say(str(refusal))
        else:
            self.best()

    def best(self) -> None:
        """In one line what is believed now."""
        ranked = self.now.ranked
        if ranked:
            said = " + ".join(ranked[0].faults) or "nothing is wrong"
            self.talk.say(f"Likeliest now: {said} ({percent(ranked[0].probability)}).", 2)

    def why(self, advice: Advice) -> None:
        """Why this step, and why the best cause is believed."""
        self.talk.say(f"It tells {advice.bits:.2f} bits about which repair is due in {advice.minutes:.0f} minutes.", 2)
        for reason in self.now.reasons():
            self.talk.say(f"{reason['bits']:+5.1f} bits  {reason['label']}", 2)

    def causes(self, _: Advice) -> None:
        """The possible causes."""
        for one in self.now.ranked[:8]:
            self.talk.say(f"{percent(one.probability):>8}  {' + '.join(one.faults) or 'nothing is wrong'}", 2)
        self.talk.say(f"{percent(self.now.weighed.unexplained):>8}  something this file does not say", 2)

    def skip(self, advice: Advice) -> None:
        """Another step instead."""
        self.guided = self.now.set_aside(advice.step)

    def undo(self, _: Advice) -> None:
        """Takes the last finding back."""
        try:
            last = self.now.findings[-1:]
            self.guided = self.now.undone()
            self.talk.say(f"Taken back: {last[0].label}", 2)
        except Refused as refusal:
            self.talk.say(str(refusal))

    def help(self, advice: Advice) -> None:
        """What may be typed."""
        self.talk.say(f"Type {self.prompt(advice)[1:-1]}, or one of: {WORDS}.")

    # ---- the end ------------------------------------------------------------------------------------------

    def repair(self, due: Sequence[Repair]) -> None:
        """Tells the repair, its price and minutes, what to check after, and asks whether it cured."""
        self.talk.say()
        for one in due:
            self.tell_repair(guiding.job(self.now, one))
        self.tell_the_end(due)
        cured = self.is_cured(due)
        if cured is None:
            return
        if cured:
            self.cured = " and ".join(one.name for one in due)
        else:
            for one in due:
                self.guided = self.now.told(f.Tried(one.name, False))

    def tell_repair(self, job: guiding.Job) -> None:
        """One repair."""
        _, repairs = self.now.weighed.enough
        sure = percent(self.now.weighed.by_repair.get(repairs, 0.0))
        self.talk.say(f"ENOUGH IS KNOWN ({sure}): {' + '.join(self.now.ranked[0].faults)}")
        self.talk.say(f"Repair: {job.repair}. {job.minutes:.0f} min, {job.price:.0f} {job.currency} for parts.", 2)
        if job.by != "repairer":
            self.talk.say(f"This is the work of: {job.by}. Local codes rule.", 2)
        for danger in job.dangers:
            self.talk.say(danger, 2)
        if job.isolate:
            self.talk.say(job.isolate, 2)
        if job.opens:
            self.talk.say(f"Open: {', '.join(job.opens)}.", 2)
        for caution in job.cautions:
            self.talk.say(f"CAUTION: {caution}", 2)
        for photograph in job.photographs:
            self.talk.say(photograph, 2)

    def tell_the_end(self, due: Sequence[Repair]) -> None:
        """How the machine is put together, in order, and what the proof run must show."""
        self.tell_closing(due)
        self.talk.say("Afterwards check:", 2)
        for check in guiding.proof_run(self.now):
            self.talk.say(f"- {check}", 4)

    def tell_closing(self, due: Sequence[Repair]) -> None:
        """How the machine is put together after the steps so far and these repairs."""
        self.talk.say("Put together, in this order:", 2)
        for number, sentence in enumerate(closing.sentences(guiding.put_together(self.now, due)), 1):
            self.talk.say(f"{number:>2}  {sentence}", 4)

    def is_cured(self, due: Sequence[Repair]) -> bool | None:
        """Whether the repair cured; None where the last finding was taken back instead."""
        if self.secret is not None:
            fault = self.secret.fault
            cured = fault is not None and fault.repair.name in {one.name for one in due}
            self.talk.say(f"The hidden fault was {self.fault}: cured." if cured else "It is not cured.", 2)
            return cured
        while True:
            typed = self.talk.ask("Done and checked: is the complaint gone? (yes / no / undo)").lower()
            if typed == "undo":
                self.guided = self.now.undone()
                return None
            if typed in ("yes", "y", "no", "n"):
                return typed.startswith("y")

    def nothing_left(self) -> None:
        """No step tells more, and no repair is sure enough."""
        self.talk.say("No further step would tell more. What is known:")
        for one in self.now.ranked[:8]:
            self.talk.say(f"{percent(one.probability):>8}  {' + '.join(one.faults) or 'nothing is wrong'}", 2)
        worst = self.now.weighed.worst_fit()
        if worst is not None:
            self.talk.say(f"If something must be wrong, take this finding again: {worst.label}", 2)
        self.tell_closing(())
        raise Stop
