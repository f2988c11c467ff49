"""The talk of `halfsplit guide`, from the choice of the machine to its end, steps and repairs in turn.

Knows sentences; decides nothing about faults.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Any

from halfsplit.cli import complaining, ending
from halfsplit.cli import findings as written
from halfsplit.cli.curing import Curing
from halfsplit.cli.held import Held
from halfsplit.cli.output import patience
from halfsplit.cli.stepping import WORDS, Stepping
from halfsplit.cli.talking import Stop, Talk
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.service import advising, machines, naming, proving, remembering
from halfsplit.service.further import Further
from halfsplit.service.guiding import Guided
from halfsplit.service.leaving import Limits


@dataclass(frozen=True)
class Asked:
    """What was asked for: the machine's file (None: one is chosen), own findings, the fault that is drawn, a shop's
    pace, what the owner would spend, the file of what was found before ("": nothing was)."""

    file: str | None = None
    own: bool = False
    seed: int | None = None
    pace: str = ""
    worth: float | None = None
    found: str = ""


def hold(talk: Talk, asked: Asked, further: Further | None = None, asks: bool = True) -> dict[str, Any]:
    """The whole conversation; what was found, as data. `further` thinks while the person reads; None: nothing does.
    `asks`: each new caution is acknowledged before the rest is shown; else it is shown and listed only."""
    held = Conversation(talk, further, asks)
    try:
        held.run(asked)
    except Stop:
        held.stop()
    finally:
        if further:
            further.stop()
    return held.as_data()


class Conversation(Held):
    """One conversation, from the choice of the machine to its end."""

    def __init__(self, talk: Talk, further: Further | None, asks: bool = True) -> None:
        super().__init__(talk, further, asks)
        self.stepping, self.curing = Stepping(self), Curing(self)

    def as_data(self) -> dict[str, Any]:
        """What was found and done."""
        findings = (*self.guided.all_findings, *self.guided.cannot) if self.guided else ()
        return {
            "findings": [findings_file.written(self.times.of(found)) for found in findings],
            "cured": self.cured,
            "hidden": self.fault,
            "acknowledge": self.heed.all_shown,
        }

    def stop(self) -> None:
        """Says what is known where the talk ends early."""
        found = (*self.guided.all_findings, *self.guided.cannot) if self.guided else ()
        self.talk.say("Stopped. Nothing is lost; found so far:" if found else "Stopped.")
        for one in found:
            self.talk.say(f"- {self.times.label(one)}", 2)
        for one in (*self.dead_first, *([self.stands] if self.stands else ())):
            self.talk.say(one, 2)
        told = self.guided in (None, self.repaired, self.left)
        if self.guided and self.secret is None and not told:
            ending.tell_left(self.talk, self.begun(self.guided.advice))

    def run(self, asked: Asked) -> None:
        """All of it, until a repair is proved; Stop where it ends before."""
        name = asked.file or complaining.choose_machine(self.talk)
        machine = machines.load(name, asked.pace)
        self.talk.words = partial(naming.told, machine)
        before = written.read(machine, asked.found) if asked.found else None
        with patience("Working out once what every fault of this machine would show"):
            key = machines.key(name)
            adviser = advising.adviser(remembering.bench(machine, key), key)
        self.guided = Guided(adviser, limits=Limits(asked.worth))
        adviser.steps.price_ahead(self.guided.standing)  # while the owner tells
        own = asked.own or (before is None and asked.file is None and complaining.own(self.talk))
        self.talk.say()
        self.talk.say(f"{machine.title}. At any time type one of: {WORDS}.")
        if before is not None:
            self.guided = complaining.resumed(self.talk, self.guided, before)
        elif own:
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

    def go_on(self) -> None:
        """One more step, or the repair."""
        due, proved = self.now.due, " and ".join(self.now.proved)
        if proved:
            self.cured = proved
            self.talk.say(f"Proved: {proved}. Nothing is left to do.")
        elif awaited := proving.awaited(self.now):
            self.curing.prove(awaited)
        elif due:
            self.curing.repair(due)
        elif self.now.advice is None:
            ending.tell_nothing_left(self.talk, self.now)
            if self.put_together(None):
                raise Stop
        else:
            self.stepping.step(self.now.advice)
