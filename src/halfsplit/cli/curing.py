"""A repair in the talk of `halfsplit guide`: told, made, tried, and what is asked where not all is as it must be.

Knows sentences; decides nothing about faults.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from halfsplit.cli import ending, handing_over
from halfsplit.cli.cards import Named
from halfsplit.cli.held import Held
from halfsplit.cli.output import patience, percent
from halfsplit.cli.talking import Back, Stop
from halfsplit.evidence import finding as f
from halfsplit.modes.fault import Repair
from halfsplit.service import after_repair, closing, deciding, proving, refusing, repairing, setting_back

TAKEN = "WHAT WAS THOUGHT FURTHER"
"""Said of repairs that are made though a step was advised."""
NOT_TRIED = "MADE, AND NOT PROVED YET: {names}. Nothing was found wrong since, so it is measured and proved now."
"""Said of repairs after which the power stayed off for want of a meter."""
NO_WAY_AROUND = "There is no way around that here: answer of what you could see."
WITHOUT = "What only that would show is not proved."
"""Said where a proof run goes on without what cannot be had here."""
OF_REPAIR = "That is of the step before the repair; how long the repair took is written into the findings file."
"""Said where a time is typed once the repair was told."""


Proved = repairing.Work | proving.Awaited
"""Repairs whose proof run is told and asked for."""


class Curing:
    """Deals with the repairs of a talk."""

    def __init__(self, held: Held) -> None:
        self.held, self.talk = held, held.talk

    def repair(self, due: Sequence[Repair]) -> None:
        """Tells the repair and all that follows, and asks whether it cured; only that where the answer was taken back:
        the repair stays made, and the machine put together."""
        made = self.held.now is self.held.repaired
        if not made and repairing.barred(self.held.now, due):
            self.hand_over(due)
            return
        work = repairing.work(self.held.now, due)
        if not made and not self.tell_repair(due, work):
            return
        self.held.repaired = self.held.now
        named = Named(work.proof, self.held.heed)
        while (cured := self.is_cured(due, named)) == "cannot":
            around = self.around(due, work, named)
            if around is None:
                return
            work, named = around, Named(around.proof, self.held.heed)
        self.answered(cured, due, work, named)

    def prove(self, awaited: proving.Awaited) -> None:
        """Tells how the power comes back to what was repaired and not tried, and its proof run, and asks whether it
        cured."""
        due = [self.held.now.bench.repairs[name] for name in awaited.names]
        if self.held.now is not self.held.repaired:
            live = [ending.DEAD_FIRST for task in awaited.closed.tasks if task.kind == "isolate"]
            self.talk.say(NOT_TRIED.format(names=" and ".join(awaited.names)))
            if not self.held.heeded((), (*live, *closing.acknowledge(awaited.closed)), None, due):
                return
            ending.tell_proof(self.talk, self.held.now, awaited.closed, awaited.proof, self.held.secret is not None)
        self.held.repaired = self.held.now
        named = Named(awaited.proof, self.held.heed)
        while (cured := self.is_cured(due, named)) == "cannot":
            self.talk.say(NO_WAY_AROUND, 2)
        self.answered(cured, due, awaited, named)

    def hand_over(self, due: Sequence[Repair]) -> None:
        """Tells what is due, why it is not made here, how the machine is left and what is written down for who takes
        over; nothing of the work. Stays there until something else is said."""
        before = self.held.now
        self.tell_due(due)
        self.talk.say(repairing.why_barred(before, due), 2)
        if not self.held.put_together(None, due):
            return
        handing_over.tell_note(self.talk, before, [one.name for one in due])
        self.held.offers.begin(before)
        while self.held.now is before:
            typed = self.talk.ask(handing_over.PROMPT)
            match typed.lower():
                case "undo":
                    self.held.undo()
                case "cannot":
                    self.held.cannot(None, due)
                case "take":
                    self.held.take()
                case _ if not self.asked(due, typed):
                    self.talk.say(handing_over.TYPE, 2)

    def around(self, due: Sequence[Repair], work: repairing.Work, named: Named) -> repairing.Work | None:
        """Asks what the repair, or its proof run, wants that cannot be had here. The run leaves it out, for the rest of
        the job too; a repair that cannot be made is gone from: None."""
        now = self.held.now
        of_repair = refusing.of_repairs(now.machine, now.standing, due)
        of_proof = refusing.of_proof(now.machine, work.proof) if self.held.secret is None else []
        choices = list(dict.fromkeys((*of_repair, *of_proof)))
        if not choices:
            self.talk.say(NO_WAY_AROUND, 2)
            return work
        which = self.held.stands_in_the_way(choices)
        if which is None:
            return work
        if which in of_repair:
            self.talk.say(f"Planned around: {which.said}.", 2)
            self.elsewhere(partial(self.held.refuse, which.refused), named)
            return None
        self.held.guided = self.held.repaired = now.without(which.refused)
        self.talk.say(ending.if_begun(now.machine, "the clamp"), 2)
        self.held.heed.anew()
        self.talk.say(f"Planned around: {which.said}. {WITHOUT}", 2)
        made = repairing.work(self.held.now, due)
        for text in made.proof.head:
            self.talk.say(text, 4)
        return made

    def answered(self, cured: str, due: Sequence[Repair], work: Proved, named: Named) -> None:
        """Goes on after what was said of a repair (`ending.as_it_must_be`)."""
        match cured:
            case "yes":
                self.done(work)
            case "no":
                self.go_on_after(due, named)
            case "take":
                self.elsewhere(self.held.take, named)
            case _:
                self.elsewhere(self.held.undo, named)

    def elsewhere(self, goes: Callable[[], None], named: Named) -> None:
        """Goes from a repair that was told to its end to what came before it or was thought of instead: the machine is
        together by then (and in use, where its proof run is `named` as one that is run), or nothing of the repair was
        begun, as with a hidden fault. Who stops at that question is told of both: the list of the repair, and that of
        what was done before it."""
        before, ran = self.held.now, named.ran
        goes()
        there = self.held.now
        if there is before:
            return
        self.held.guided = before
        try:
            closed = self.held.secret is None and ending.is_closed_by_now(self.talk, ran)
        except Stop:
            self.held.guided = there
            self.talk.say(ending.IF_REPAIR_BEGUN)
            raise
        if closed and named.read:  # in the midst of its proof run
            for said in (*([ending.DEAD_FIRST] if named.proof.opens else ()), self.stands(named)):
                self.talk.say(said, 2)
        self.held.heed.anew()
        self.held.guided = there.put_together(ran) if closed else there

    def asked(self, due: Sequence[Repair], typed: str) -> bool:
        """Tells why the repair is made, the possible causes, or what was thought further, or notes how long the step
        before it took, where that is what was typed; whether it was."""
        now = self.held.now
        match typed.lower():
            case "why":
                for sentence in deciding.why(now, due):
                    self.talk.say(sentence, 2)
            case "causes":
                ending.causes(self.talk, now)
            case "further":
                self.held.offers.ask(now)
            case _ if not self.held.took(typed):
                return False
            case _ if now.last is not None and self.held.times.of(now.last) is not now.last:
                self.talk.say(OF_REPAIR, 2)
        return True

    def done(self, work: Proved) -> None:
        """The repairs are made, and all is as it must be; not proved where the power has to stay off."""
        tried = [x for x in self.held.now.earlier if isinstance(x, f.Tried) and x.cured is not False]
        made = [x.repair for x in tried if x.repair not in work.names]
        still_open = proving.left_open(self.held.now, work.names, work.proof)
        self.held.guided = self.held.now.told(*(f.Tried(name, True if work.proof.ran else None) for name in work.names))
        if not work.proof.ran:
            for said in work.proof.not_proved:
                self.talk.say(said, 2)
            raise Stop
        self.held.cured = " and ".join((*made, *work.names))
        self.talk.say(f"Proved: {self.held.cured}.{'' if still_open else ' Nothing is left to do.'}")
        for said in still_open:
            self.talk.say(said, 2)

    def tell_repair(self, due: Sequence[Repair], work: repairing.Work) -> bool:
        """What is due, why, and all that is done; False where that was taken back instead."""
        self.tell_due(due)
        if not self.held.heeded(work.minded, closing.acknowledge(work.closed), None, due):
            return False
        ending.tell_repairs(self.talk, self.held.now, work, whole=self.held.secret is not None)
        return True

    def tell_due(self, due: Sequence[Repair]) -> None:
        """Which repairs are due, how surely, and why now."""
        self.talk.say()
        likeliest = " + ".join(self.held.now.ranked[0].faults) or "nothing is wrong"
        why = "ENOUGH IS KNOWN" if self.held.now.is_sure else "NO STEP IS WORTH ITS MINUTES ANY MORE"
        why = TAKEN if self.held.now.chosen else why
        self.talk.say(f"{why} ({percent(self.held.now.cures)} sure): {' and '.join(one.name for one in due)}.")
        self.talk.say(f"Likeliest: {likeliest} ({percent(self.held.now.ranked[0].probability)}).", 2)
        if doubt := deciding.doubt(self.held.now.weighed):
            self.talk.say(doubt, 2)

    def go_on_after(self, due: Sequence[Repair], named: Named) -> None:
        """What was not as it must be, where a person can say so, and the search goes on from there."""
        try:
            if self.held.secret:  # of what was wrong before all is there still
                named.seen += after_repair.asked_for(self.held.now, (), named.ran)
            else:
                ending.ask_what_is_wrong(self.talk, self.held.now, named)
        except Back:
            self.elsewhere(self.held.undo, named)
            return
        except Stop:
            self.take_what_is_wrong(due, named)
            raise
        self.take_what_is_wrong(due, named)
        self.talk.say(ending.LEFT, 2)
        self.held.heed.anew()
        if self.held.heeded(self.held.dead_first, (), None) and self.held.stands:
            self.talk.say(self.held.stands, 2)
        self.held.stands, self.held.dead_first = "", ()
        self.held.heed.anew()

    def take_what_is_wrong(self, due: Sequence[Repair], named: Named) -> None:
        """The machine is another from here on, and taken to stand as the list for putting together left it."""
        shown = named.shown(self.held.now)
        ending.tell_framed(self.talk, self.held.now, due, shown)
        with patience("Working out what is left after this repair"):
            self.held.guided = after_repair.after(self.held.now, due, shown, named.ran)
        if not self.held.now.in_danger:  # else nobody goes to the machine now
            self.held.stands = self.stands(named)
            self.held.dead_first = (ending.DEAD_FIRST,) if named.ran and named.proof.opens else ()

    def stands(self, named: Named) -> str:
        """How the machine is taken to stand after a proof run that was broken off, and what goes back for that."""
        stood = named.proof.stood(named.read) if named.ran else ()
        return " ".join((ending.STANDS[named.ran], *setting_back.after_run(self.held.now.machine, stood)))

    def is_cured(self, due: Sequence[Repair], named: Named) -> str:
        """Whether all is as it must be (`ending.as_it_must_be`); while that is done, or read where the machine answers
        by itself, it thinks further."""
        self.held.offers.begin(self.held.now)
        asked = partial(self.asked, due)
        if self.held.secret is None:
            return ending.as_it_must_be(self.talk, self.held.now, named, self.held.offers, asked)
        if instead := ending.is_made(self.talk, asked):
            return instead
        fault = self.held.secret.fault
        cured = fault is not None and fault.repair.is_done_by([one.name for one in due])
        self.talk.say(f"The hidden fault was {self.held.fault}: cured." if cured else "It is not cured.", 2)
        return "yes" if cured else "no"
